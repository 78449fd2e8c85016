"""Where the time went: by element, against another run or the best of each; marks typed, tracks brought in."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.pieces import line, wrapped
from paddock.tui.asking import AskingPage, Question
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.engine.where.answer import WhereAnswer
    from paddock.pages.document import Sketch
    from paddock.tui.desk import Desk


class WherePage(ReaderPage, AskingPage):
    """One run of mine at a time; a line of digits is a run's marks."""

    NAME: ClassVar[str] = "where"
    PLACEHOLDER: ClassVar[str] = "marks off the video: 3 s 12.40 1 15.10 … f 58.47"
    HINTS: ClassVar[tuple[str, ...]] = ("where.against", "where.later", "where.earlier", "where.track", "go.course")
    HELP: ClassVar[str] = """
Where on the course a run of yours lost and gained: each element from the mark before it to its own, with a bar to the
right for lost, to the left for gained, and ± the half of its range: the truth lies inside four times in five. Under two
of them nothing is said. {where.later} and {where.earlier} take your next and last run, {where.against} the next to hold
it against: the best of each element, your other runs, other entries with splits.

Marks are read off your own video, a run on one line: its number, then each mark with the player's clock, s for the
start and f for the finish: 3 s 12.40 1 15.10 2 19.86 f 58.47. Where the player stood at the start doesn't matter. A
mark is passed when the front axle passes its cone.
4: brake at the paint is a note on element 4, shown here. {where.track} brings in a receiver's or phone's track.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "against", "against", id="where.against", tooltip="Hold the run against the next one"),
        Binding("r,right", "run(1)", "next run", id="where.later", tooltip="My next run with splits"),
        Binding("o,left", "run(-1)", "run before", id="where.earlier", tooltip="My run before with splits"),
        Binding("j", "track", "track", id="where.track", tooltip="Bring in the track of a run: GPX, NMEA or CSV"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._run: int | None = None
        self._against = 0
        self._asked_of = ""
        self._lines: dict[tuple[int, int, str], Sketch | None] = {}
        self._version = 0

    # showing

    def leaf_lines(self, width: int) -> list[TextLine]:
        """The run in hand; its line is drawn when it has been read."""
        if self._version != self.desk.open_session.version:
            self._version, self._lines = self.desk.open_session.version, {}
        return [*self.asked_lines(width), *self._answer_lines(width)]

    def _found(self) -> WhereAnswer:
        from paddock.engine.where.answer import where

        event, number = self.desk.event, self.desk.number
        choices = self._choices()
        against = choices[self._against % len(choices)]
        return where(event, number, self._day(), self._run, *against)

    def _day(self) -> int:
        """The day in hand where it has splits, else the latest that has."""
        from paddock.engine.where.splits import timed_runs

        days = [self.desk.day, *range(len(self.desk.event.settings.days), 0, -1)]
        return next((day for day in days if timed_runs(self.desk.event, day, self.desk.number)), self.desk.day)

    def _runs(self) -> list[int]:
        from paddock.engine.where.splits import timed_runs

        return [item.run for item in timed_runs(self.desk.event, self._day(), self.desk.number)]

    def _choices(self) -> list[tuple[str | None, str | None]]:
        """What a run can be held against: (run, number) as they are asked for."""
        from paddock.engine.where.splits import best_run, timed_runs

        event, day, mine = self.desk.event, self._day(), self.desk.number
        all_runs = timed_runs(event, day)
        own = tuple(item for item in all_runs if item.number == mine)
        best = best_run(own, event)
        in_hand = self._run or (best.run if best else None)
        found: list[tuple[str | None, str | None]] = [(None, None)] if len(own) > 1 else []
        found += [(f"{item.run}", None) for item in own if item.run != in_hand]
        found += [(None, other) for other in sorted({item.number for item in all_runs} - {mine})]
        return found or [(None, None)]

    def _answer_lines(self, width: int) -> list[TextLine]:
        from paddock.pages.notes import element_blocks
        from paddock.pages.where import line_waits, where_page
        from paddock.render.lines import lines

        try:
            found = self._found()
        except PaddockError as error:
            told = line_waits(self.desk.event, self.desk.folder, self.desk.day, self.desk.number)
            said = [line(), *wrapped(told, width, "strong")] if told else []
            return [*wrapped(f"{error}.", width, "strong"), *said, line(), *wrapped(_EMPTY, width)]
        key = (found.day, found.run, found.number)
        if key not in self._lines:
            self._lines[key] = None
            self.run_worker(self._draw(key, found.official_ms), group="where")
        drawn = self._lines[key]
        more = [*element_blocks(self.desk.event, found.day), *([drawn] if drawn else [])]
        return lines(where_page(found, *more), width)

    async def _draw(self, key: tuple[int, int, str], official_ms: int) -> None:
        """The track is read beside the screen."""
        from paddock.pages.where import sketch_of_run

        drawn = await asyncio.to_thread(sketch_of_run, self.desk.folder, self.desk.event, key, official_ms)
        if drawn is not None and self.stands:
            self._lines[key] = drawn
            self.refresh_page()

    # doing

    def action_against(self) -> None:
        """The next to hold the run against."""
        self._against += 1
        self.refresh_page()

    def action_run(self, by: int) -> None:
        """My run beside."""
        runs = self._runs()
        if not runs:
            self.tell("no run of yours has splits yet")
            return
        try:
            now = self._run or self._found().run
        except PaddockError:
            now = runs[0]
        self._run = runs[(runs.index(now) + by) % len(runs)] if now in runs else runs[0]
        self._against = 0
        self.refresh_page()

    def typed(self, text: str) -> None:
        """What the line means so far."""
        super().typed(text)
        if self.asking is None and text != self._asked_of:
            self._asked_of = ""

    def accept_line(self, value: str) -> None:
        """A run's marks."""
        from paddock.actions.notes import add_note, note_of_element
        from paddock.actions.where import AskedError, log_marks
        from paddock.entry.said import Wrong
        from paddock.entry.splits import read_marks

        desk = self.desk
        if note_of_element(desk.event, self._day(), value):
            if self.do(add_note(desk.event, desk.number, self._day(), desk.clock, value)).kept:
                self.clear()
            return
        found = read_marks(value)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        try:
            run = found.run or self._run or self._found().run
            edit = log_marks(self.desk.event, self.desk.number, self.desk.day, run, found, value == self._asked_of)
        except AskedError as asked:
            self._asked_of = value
            self.tell(str(asked), loud=True)
            return
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        self._asked_of, self._run, self._against = "", run, 0
        if self.do(edit).kept:
            self.clear()

    def action_track(self) -> None:
        """Which run, then which file."""
        self.ask((
            Question("run", "run", "the run of the track, like 3", needed=True, read=_run_of),
            Question("file", "file", "the track: GPX, NMEA or CSV, like ~/tracks/run3.gpx", needed=True),
        ))  # fmt: skip

    def asked(self, answers: Mapping[str, object]) -> None:
        """Read beside the screen, then written."""
        self.tell("reading the track …")
        self.run_worker(self._bring(int(str(answers["run"])), str(answers["file"])), group="track", exclusive=True)

    async def _bring(self, run: int, file: str) -> None:
        from paddock.folders.tracking import bring_track
        from paddock.pages.where import replaced_words
        from paddock.store.disk import typed
        from paddock.words import plural

        desk = self.desk
        key = (desk.day, run, desk.number)
        try:
            saved, brought = await asyncio.to_thread(bring_track, desk.open_session, typed(file), key)
        except PaddockError as error:
            self.tell(str(error), loud=True, stays=True)
            return
        self._run, self._against = run, 0
        self.refresh_page()
        said = f"{plural(brought.placed.fixes, 'fix', 'fixes')}, {plural(brought.written, 'split')} written"
        said += f"; {replaced_words(brought)}" if brought.replaced else ""
        doubts = "; ".join(brought.doubts)
        told = f"saved: track of run {run}: {said}{f'. {doubts}' if doubts else ''}"
        self.tell(told if saved.ok else f"NOT SAVED yet, kept here: {saved.message}", loud=not saved.ok, stays=True)


_EMPTY = (
    "Type a run's marks off your own video, like 3 s 12.40 1 15.10 2 19.86 f 58.47: the run, then each mark with the "
    "player's clock. Or bring in a receiver's track. Two runs are enough to say where the time went."
)


def _run_of(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 0 < int(text) < 100):
        raise ValueError(f"{text!r} is no run: write 3")
    return int(text)
