"""The course of the day: its elements in order, named, and their marks on a track's line."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar

from paddock.errors import PaddockError
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.pages.document import Block, Sketch, TextLine
    from paddock.tui.desk import Desk

Key = tuple[int, int, str]


class CoursePage(ReaderPage):
    """A list; a line names an element or puts its mark on the line."""

    NAME: ClassVar[str] = "course"
    PLACEHOLDER: ClassVar[str] = "like 2 slalom at the wall, or 2 at 15.10"
    HINTS: ClassVar[tuple[str, ...]] = ("any.back", "any.undo", "go.where")
    HELP: ClassVar[str] = """
The elements in the order driven. Type an element's number, what it is and its name: 2 slalom at the wall. What it is
puts splits together: slalom, gate, sweeper, box, turnaround, straight; the last one is the finish: 6 finish. 2 out
takes element 2 out with its splits, as 1 takes over the course of day 1. 2: brake at the paint is a note on element 2.

With a track in hand, 2 at 15.10 puts the mark of element 2 where that run was after 15.10 s, as your video tells; start
and finish are put there too, and the splits of all the day's tracks are worked out again. They begin at the launch:
where the clock starts after a run-up, 0 at 2.40 first puts start and finish 2.40 s further on.
"""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._drawn: tuple[int, Key, Sketch | None] | None = None
        self._turn = asyncio.Lock()  # a line waits until the one before it is done

    def leaf_lines(self, width: int) -> list[TextLine]:
        """The day's elements, the line they are on under them."""
        from paddock.actions.where import line_in_hand
        from paddock.engine.where.splits import course_of, official_ms, timed_runs
        from paddock.pages.notes import element_blocks
        from paddock.pages.where import course_page
        from paddock.render.lines import lines

        event, day = self.desk.event, self.desk.day
        key = line_in_hand(event, self.desk.folder, day, self.desk.number)
        more: list[Block] = [*element_blocks(event, day, self.desk.number)]
        version = self.desk.open_session.version
        if key is not None:
            if self._drawn is None or self._drawn[:2] != (version, key):
                self._drawn = (version, key, self._drawn[2] if self._drawn else None)
                self.run_worker(self._draw(version, key, official_ms(event, *key) or 0), group="course")
            more += [self._drawn[2]] if self._drawn[2] else []
        named = f"run {key[1]} of {key[2]}" if key else ""
        page = course_page(course_of(event, day), day, named, len(timed_runs(event, day)), *more)
        return lines(page, width)

    async def _draw(self, version: int, key: Key, official_ms: int) -> None:
        """The track is read beside the screen."""
        from paddock.pages.where import sketch_of_run

        drawn = await asyncio.to_thread(sketch_of_run, self.desk.folder, self.desk.event, key, official_ms)
        if self.stands and self.desk.open_session.version == version:
            self._drawn = (version, key, drawn)
            self.refresh_page()

    def accept(self, text: str) -> None:
        """Do what the line says; tracks are read beside the screen."""
        from paddock.actions.notes import note_of_element
        from paddock.entry.said import Wrong
        from paddock.entry.splits import read_course

        if note_of_element(self.desk.event, self.desk.day, text):
            self.save_note(text)
            return
        found = read_course(text)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        self.clear()
        self.run_worker(self._do(text), group="edit")

    async def _do(self, text: str) -> None:
        from paddock.actions.where import course_edit
        from paddock.entry.splits import CourseLine, read_course

        found = read_course(text)
        assert isinstance(found, CourseLine)
        desk = self.desk
        async with self._turn:
            try:
                edit = await asyncio.to_thread(course_edit, desk.event, desk.folder, desk.day, found, desk.number)
            except PaddockError as error:
                kept = False
                self.tell(f"{text}: {error}" if self.entry.value else str(error), loud=True)
            else:
                kept = self.do(edit).kept
        if not kept and not self.entry.value:
            self.put(text)

    def save_note(self, text: str) -> None:
        """A note on an element."""
        from paddock.actions.notes import add_note

        desk = self.desk
        if self.do(add_note(desk.event, desk.number, desk.day, desk.clock, text)).kept:
            self.clear()

    def accept_empty(self) -> None:
        """What a line does here."""
        self.tell("an element's number, its kind and name: 2 slalom at the wall; Esc goes home")
