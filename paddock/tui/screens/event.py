"""The event itself: name, days, rules, classes, index, my numbers and cars, gauges, forecast; typed, pasted or taken
from a file, saved one by one. A rule that would change the standings says how first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.errors import PaddockError
from paddock.render.lines import lines
from paddock.tui.asking import Question, one_of
from paddock.tui.screens.car_page import CarPage, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.entry.codes import CodeTable
    from paddock.model.edit import Batch
    from paddock.model.event import Event
    from paddock.pages.document import Document
    from paddock.pages.event import EventLine
    from paddock.tui.desk import Desk

_MANY = 30
"""More codes than this are an index table, not the classes of an event."""


class EventPage(CarPage):
    """The list, and the value in hand in full."""

    NAME: ClassVar[str] = "event"
    PLACEHOLDER: ClassVar[str] = "Enter opens it; or type a figure; - takes it out"
    OF_ROW: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("event.next", "event.take", "event.find", "go.entrants", "go.car", "go.home")
    HELP: ClassVar[str] = """
Everything event.toml says, in the order it is needed: ? stands before what is missing, and {event.next} goes to the
next of it. Enter opens the value in hand; type it and press Enter. Under the list stands what it means, where to find
it, and for a rule what comes of it on made-up runs; a tap on a word there takes it.

Days are 2026-07-11, or 2026-07-11 +1 for that day and the next. On classes type ASH, ASH 0.812, or ELM index for a
class that is ranked on index times; a name may follow. On index type FIR 0.82, on gauges pen 0.5 0.3 0.2.

A copied table of classes or of the index can be pasted into the line as it is; {event.take} takes one from a file, or
classes and rules from an earlier event's folder. A change that would alter the standings says how, and asks.
{any.undo} takes anything back; comments and keys of your own stay in the file.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "next_gap", "next missing", id="event.next", tooltip="The next value that is missing or wrong"),
        Binding("a", "from_file", "from a file", id="event.take",
                tooltip="Classes, index, rules from a file or an earlier event"),
        Binding("slash", "find", "find", id="event.find", tooltip="Find a value by its name"),
    ]  # fmt: skip

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._start, desk.value_wanted = desk.value_wanted, ""
        self._codes: CodeTable | None = None
        self._old: Event | None = None
        self._sure: tuple[Batch, Document] | None = None
        self._finishing = False

    def body(self) -> Iterable[Widget]:
        """The list, then words."""
        yield Grid(name_id="values")
        yield words_board()

    @property
    def grid(self) -> Grid:
        """The values."""
        return self.query_one("#values", Grid)

    @property
    def _lines(self) -> tuple[EventLine, ...]:
        from paddock.pages.event import event_lines

        return self.kept("lines", lambda: event_lines(self.desk.event))

    def _picked(self) -> EventLine | None:
        return next((item for item in self._lines if item.id == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every value."""
        from paddock.pages.event import event_table

        self.grid.show_table(event_table(self._lines))
        if self.grid.picked is None:
            self.grid.go_to(self._start if self.grid.row(self._start) is not None else self._lines[0].id)
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """Another value in hand: its name before the line, its words under the list."""
        from paddock.pages.event import codes_page, value_page

        found = self._picked()
        if found is None:
            return
        if self.asking is None:
            self.set_label(found.label.strip().lower())
        page = self._sure[1] if self._sure else codes_page(self._codes) if self._codes else None
        under = lines(page or value_page(self.desk.event, found), self.columns)
        self.query_one("#under", Board).show(under)

    # setting

    def accept_nothing(self) -> None:
        """Open the value in hand for mending."""
        found = self._picked()
        if found is None:
            return
        hint = "a new line" if found.is_list else "the value; - takes it out"
        self.ask([Question("value", found.label.strip().lower(), hint, needed=True, read=self._read)])
        self.put_old("" if found.is_list else found.text)

    def _read(self, text: str) -> Batch:
        """What was typed as an edit that can be done. Raises ValueError with a sentence."""
        from paddock.actions.event import edit_of

        found = self._picked()
        assert found is not None
        edit = edit_of(self.desk.event, found.id, text)
        return self.possible(edit)

    def accept_line(self, value: str) -> None:
        """The value in hand typed at once."""
        if (edit := self.heard(self._read, value)) is not None:
            self._save(edit)

    def asked(self, answers: Mapping[str, object]) -> None:
        """A value, a name to find, a file, what of it to take, or a yes."""
        for name, do in self._ways().items():
            if name in answers:
                do(answers)

    def _ways(self) -> Mapping[str, Callable[[Mapping[str, Any]], object]]:
        return {
            "value": lambda said: self._save(said["value"]),
            "find": lambda said: self._go_to(said["find"]),
            "file": lambda said: self._open(said["file"]),
            "what": self._take_codes,
            "of": lambda said: self._take_event(said["of"]),
            "sure": lambda said: self._settle(said["sure"] == "yes"),
        }

    def _save(self, edit: Batch) -> None:
        """Save, unless the standings would move: then it is asked first."""
        from paddock.pages.event import moved_page
        from paddock.session.loading import standings_of

        session, settings = self.desk.open_session, self.desk.event.settings
        try:
            after = session.would_be(edit)
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        page = None
        if self.desk.event.times and settings != after.settings:
            moved = (session.standings(), standings_of(after))
            page = moved_page(*moved, settings.mine.numbers, settings.rules.decimals)
        if page is None:
            self._do(edit)
            return
        self._sure = (edit, page)
        sure = Question("sure", "sure", "no, or Backspace, leaves it", "yes", read=one_of(yes="yes", no="no"))
        self.ask([sure])

    def _do(self, edit: Batch) -> None:
        if self.do(edit).kept:
            self.clear()
            mine = self.desk.event.settings.mine.numbers
            if self.desk.number not in mine:
                self.desk.number = mine[0] if mine else ""
                self.refresh_page()

    def _settle(self, yes: bool) -> None:
        sure, self._sure = self._sure, None
        if yes and sure is not None:
            self._do(sure[0])
        else:
            self.refresh_page()
            self.tell("left as it was")

    def stop_asking(self) -> None:
        """What waited for a yes is left, and so is a table in hand."""
        super().stop_asking()
        if not self._finishing:
            self._sure = self._codes = self._old = None
            self.took_in_hand()

    def _finish(self) -> None:
        self._finishing = True
        try:
            super()._finish()
        finally:
            self._finishing = False
        if self.asking is None:
            self._codes = self._old = None
            self.took_in_hand()

    def action_take(self) -> None:
        """A tap on what Enter does."""
        self.accept_empty()

    def action_choose(self, word: str) -> None:
        """A tap on a word the value in hand takes."""
        if self.asking is not None:
            self.clear()
            self.stop_asking()
        self.accept_line(word)

    # a table, a file, an earlier event

    def pasted(self, text: str) -> None:
        """A whole table."""
        from paddock.tui.bringing import of_text

        self._show_codes(lambda: of_text(text))

    def action_from_file(self) -> None:
        """Ask which."""
        if self.desk.session is None:
            return
        from paddock.folders.seasons import names_beside

        beside = names_beside(self.desk.folder)
        hint = (
            f"a table's file, or an event: {', '.join(beside[:3])}"
            if beside
            else "a table's file, or an event's folder"
        )
        self.ask([Question("file", "from", hint, needed=True)])

    def _open(self, text: str) -> None:
        from paddock.errors import UsageError
        from paddock.folders.seasons import found_near
        from paddock.session.loading import load
        from paddock.tui.bringing import of_file

        try:
            path = found_near(self.desk.folder, text)
            if not (path / "event.toml").is_file():
                self._show_codes(lambda: of_file(path))
                return
            self._old = load(path)
        except (PaddockError, UsageError) as error:
            self.tell(str(error), loud=True)
            return
        taken = one_of(classes="classes", rules="rules", both="both")
        self.ask([Question("of", "take", "classes (with the index), rules, both", "both", read=taken)])

    def _show_codes(self, read: Callable[[], Any]) -> None:
        """The first table read as codes, shown before anything is saved."""
        from paddock.entry.codes import read_codes

        try:
            self._codes = table = read_codes(read()[0])
        except (PaddockError, ValueError) as error:
            self.tell(str(error), loud=True)
            return
        factors = any(line.factor is not None for line in table.lines)
        usual = "index" if factors and len(table.lines) > _MANY else "both" if factors else "classes"
        asked = [Question("what", "take them as", "classes, index, both", usual,
                          read=one_of(classes="classes", index="index", both="both"))]  # fmt: skip
        if factors:
            now = self.desk.event.settings.index.edition or table.edition
            asked.append(Question("edition", "edition", "which table, which year", now))
        self.ask(asked)

    def _take_codes(self, said: Mapping[str, Any]) -> None:
        from paddock.actions.event import take_codes

        if self._codes is not None:
            self._save(take_codes(self.desk.event, self._codes.lines, said.get("edition"), said["what"]))

    def _take_event(self, what: str) -> None:
        from paddock.actions.event import take_event

        if self._old is not None:
            self._save(take_event(self.desk.event, self._old.settings, what))

    # finding

    def action_next_gap(self) -> None:
        """The next value with a mark, from the top again after the last."""
        if self.desk.session is None:
            return
        after = self._lines[self.grid.cursor + 1 :] + self._lines[: self.grid.cursor + 1]
        found = next((item for item in after if item.missing or item.wrong), None)
        self.grid.go_to(found.id) if found else self.tell("nothing that is asked for is missing")

    def action_find(self) -> None:
        """Ask for a name."""
        self.ask([Question("find", "find", "cone, ties, gauge", needed=True)])

    def _go_to(self, text: str) -> None:
        after = self._lines[self.grid.cursor + 1 :] + self._lines[: self.grid.cursor + 1]
        wanted = text.casefold().split()
        named = ((item.id, f"{item.id} {item.label}".casefold()) for item in after)
        found = next((line for line, name in named if all(word in name for word in wanted)), None)
        self.grid.go_to(found) if found else self.tell(f"no value has {text!r} in its name", loud=True)
