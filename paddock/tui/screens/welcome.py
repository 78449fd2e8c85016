"""The first page without a folder: recent events, the example, a new event."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.entry.event import read_days, read_event_value, read_numbers
from paddock.errors import PaddockError, UsageError
from paddock.pages.document import TextLine
from paddock.render.pieces import cut, line, rule, wrapped
from paddock.store.disk import typed
from paddock.tui.asking import AskingPage, Question
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.tui.desk import Desk


def _runs(text: str) -> int:
    runs = read_event_value("runs_per_day", text)
    if not isinstance(runs, int) or not 1 <= runs <= 99:
        raise ValueError(f"{text!r}: how many timed runs a day, like 4")
    return runs


class WelcomePage(AskingPage):
    """``why``: what went wrong with the folder asked for; "" = none was."""

    NAME: ClassVar[str] = "welcome"
    PLACEHOLDER: ClassVar[str] = "a number of the list, or a folder"
    HINTS: ClassVar[tuple[str, ...]] = ("welcome.example", "welcome.new", "welcome.folder")
    HELP: ClassVar[str] = """
An event is a folder of plain text files. {welcome.example} opens an example to try everything on: a copy of yours,
spoil it freely. {welcome.new} asks for a new event's name, days, runs a day and your numbers; the rest is
asked for when it is first missed. Its folder is named after it and made where you are. {welcome.folder} takes the
path of an event's folder. A digit and Enter open an event from the list.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("t", "example", "try the example", id="welcome.example", tooltip="Open an example event to try"),
        Binding("a", "new", "new event", id="welcome.new", tooltip="Make a new event folder"),
        Binding("f", "folder", "open a folder", id="welcome.folder", tooltip="Open an event by its path"),
    ]

    def __init__(self, desk: Desk, why: str = "") -> None:
        super().__init__(desk)
        self._why = why
        self._recent: tuple[Path, ...] = ()
        self._picked = -1

    def body(self) -> Iterable[Widget]:
        """One board."""
        yield Board(name_id="welcome")

    def on_mount(self) -> None:
        """Look for recent events."""
        from paddock.store.personal import read_recent

        self._recent = read_recent()
        super().on_mount()
        if self._why:
            self.tell(self._why, loud=True)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing is open: the pages and the edits of an event wait."""
        if action in ("go", "undo", "redo", "switch_entry"):
            return False
        return super().check_action(action, parameters)

    def top(self) -> tuple[str, str]:
        """No event yet."""
        return "paddock", "no event open"

    def show_opening(self) -> None:
        """What there is to open."""
        width = self.columns
        lines: list[TextLine] = [line("")]
        lines += [*wrapped("Which event?", width, "strong"), ()]
        lines.append(rule("events opened before" if self._recent else "no event was opened here before", width))
        for at, folder in enumerate(self._recent):
            role = "hand" if at == self._picked else ""
            text = f" {at + 1}  {folder.name}   {folder.parent}"
            lines.append(cut(line((text, role, f"recent({at})")), width))
        lines += [(), *_ways(width), (), *self.asked_lines(width)]
        self.query_one("#welcome", Board).show(lines)

    # opening

    def action_enter(self) -> None:
        """No event is needed here."""
        text = self.entry.value.strip()
        self.accept(text) if text else self.accept_empty()

    def accept_line(self, value: str) -> None:
        """A number of the list, or a folder."""
        if value.isascii() and value.isdecimal() and 1 <= int(value) <= len(self._recent):
            self._open(self._recent[int(value) - 1])
        else:
            self._open_typed(value)

    def accept_nothing(self) -> None:
        """The event in hand."""
        if self._picked >= 0:
            self.action_recent(self._picked)

    def _open_typed(self, text: str) -> None:
        try:
            self._open(typed(text))
        except UsageError as error:
            self.tell(str(error), loud=True)

    def _open(self, folder: Path, told: str = "") -> None:
        if not os.path.isfile(folder / "event.toml"):
            self.tell(f"{folder}: there is no event.toml in it, so it is no event folder", loud=True)
            return
        self.clear()
        self.app.call_later(self.paddock.open_folder, folder, told)

    def action_recent(self, at: int) -> None:
        """Open one of the list."""
        self._open(self._recent[at])

    def action_example(self) -> None:
        """Open a copy of the example."""
        from paddock.folders.starting import copy_example

        try:
            self._open(copy_example())
        except PaddockError as error:
            self.tell(str(error), loud=True)

    def action_folder(self) -> None:
        """Take a path."""
        self.ask([Question("open", "folder", "the path of an event's folder", needed=True)])

    def action_new(self) -> None:
        """Ask for a new event."""
        today = self.desk.now().date().isoformat()
        self.ask(
            [
                Question("name", "event's name", "like Quay in October; a path makes it there", needed=True),
                Question("days", "days", "2026-07-11, or 2026-07-11 +1", usual=today, read=read_days),
                Question("runs", "runs a day", usual="4", read=_runs),
                Question("numbers", "my car number", "58, or 58 12 for two", read=read_numbers),
            ]
        )

    def asked(self, answers: Mapping[str, object]) -> None:
        """Open the folder, or make the new event."""
        if "open" in answers:
            self._open_typed(str(answers["open"]))
            return
        from paddock.folders.starting import named_place, new_event

        days, numbers, runs = answers["days"], answers.get("numbers", ()), answers["runs"]
        assert isinstance(days, tuple)
        assert isinstance(numbers, tuple)
        assert isinstance(runs, int)
        try:
            folder, name = named_place(str(answers["name"]), Path())
            new_event(folder, name, days, numbers, runs_per_day=runs)
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        self._open(folder, f"made: the event's files are in the folder {folder}")

    def action_step(self, by: int) -> None:
        """The event above or below in hand."""
        if self._recent:
            self._picked = max(0, min(len(self._recent) - 1, self._picked + by))
            self.show_opening()


def _ways(width: int) -> list[TextLine]:
    ways = (
        ("t", "example", "try the example"),
        ("a", "new", "make a new event"),
        ("f", "folder", "open a folder by its path"),
    )
    return [cut(line((f" {key}  ", "key", action), (text, "", action)), width) for key, action, text in ways]
