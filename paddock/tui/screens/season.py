"""The season: points around me, what each event left could change, and all my runs, changes and tyres."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widget import Widget

from paddock.errors import PaddockError
from paddock.render.lines import lines
from paddock.render.pieces import line, wrapped
from paddock.tui.reader import ReaderPage, leaf_names
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.folders.seasons import SeasonView
    from paddock.model.event import Event
    from paddock.pages.document import Document, PageTable, TextLine
    from paddock.pages.season_records import RecordTable
    from paddock.tui.desk import Desk


@dataclass(frozen=True, slots=True)
class Shown:
    """A season worked out: two leaves of words, three of rows."""

    view: SeasonView
    words: tuple[Document, Document]
    rows: tuple[RecordTable, RecordTable, RecordTable]
    runs_head: str


class SeasonPage(ReaderPage):
    """Leaves: three of words, then a table each of runs, changes and tyres. Read beside the screens."""

    NAME: ClassVar[str] = "season"
    LEAVES: ClassVar[tuple[str, ...]] = ("points", "to come", "the year", "runs", "changes", "tyres")
    PLACEHOLDER: ClassVar[str] = "left and right turn the leaves; / finds a run, a change, a tyre"
    HINTS: ClassVar[tuple[str, ...]] = ("season.next", "season.find", "season.book", "go.home")
    HELP: ClassVar[str] = """
The season is the directory this event's folder stands in: every event folder there is read, this one as it is on the
screen. {season.before} and {season.next} turn from the points to what is still to come, to what the year taught, and to
all my runs, changes and tyres. The year is worked out when it is first looked at, which takes a while: each change with
its effect and doubt, which pressures were quicker, what a first run puts on by surface and air, wear by course, parts
with their makers' intervals, what cones, gates and mistakes cost.

Points need season.toml in that directory: how points are given, how many are dropped, which events are booked and what
they cost. A row with > is mine; points in brackets are dropped. For each event to come stand the bounds of what it
could change, taken alone; they are no guess of how it will go. {season.book} books events and what they cost.

{season.find} finds rows that have every word typed, in runs, changes or tyres; Enter keeps what was found, Enter on
the empty line shows all again. Under the table stands what has no column.
"""
    DEFAULT_CSS = """
    SeasonPage Grid { display: none; }
    SeasonPage.-rows Grid { display: block; height: 1fr; }
    SeasonPage.-rows #leaf { height: auto; max-height: 5; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "turn(1)", "next leaf", id="season.next", tooltip="Points, to come, the year, runs and more"),
        Binding("left", "turn(-1)", "leaf before", show=False, id="season.before", tooltip="The leaf before"),
        Binding("a", "go('booked')", "book", id="season.book", tooltip="Booked events: book, change, pay, cancel"),
        Binding("slash", "find", "find", id="season.find", tooltip="Find runs, changes or tyres by words"),
    ]

    @dataclass
    class Reading(Message):
        """A folder is being read."""

        text: str

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._shown: Shown | None = None
        self._said = "reading the events beside this one …"
        self._version = 0
        self._wanted = ""
        self._year: tuple[int, Document | str] = (0, _WORKING)

    def body(self) -> Iterable[Widget]:
        """The names of the leaves, a table, a leaf."""
        names = Board(name_id="leaves")
        names.styles.height = "auto"
        yield names
        yield Grid(name_id="rows")
        yield Board(name_id="leaf")

    @property
    def grid(self) -> Grid:
        """Runs, changes or tyres."""
        return self.query_one("#rows", Grid)

    # reading

    def show_event(self) -> None:
        """The leaf in hand; what changed since is worked out beside the screen."""
        if self._version != self.desk.open_session.version:
            self._version = self.desk.open_session.version
            self.run_worker(self._read(self.desk.event), group="season", exclusive=True)
        self._show_leaf()

    async def _read(self, event: Event) -> None:
        folder, today = self.desk.folder.resolve(), self.desk.now().date()
        try:
            view = self._shown.view if self._shown else None
            self._shown = await asyncio.to_thread(_work, view, folder, event, today, self._told)
        except PaddockError as error:
            self._said = str(error)
        self._show_leaf()

    def _told(self, at: int, of: int, name: str) -> None:
        self.post_message(self.Reading(f"reading {name}, {at} of {of} …"))

    def on_season_page_reading(self, event: Reading) -> None:
        """How far the reading has come."""
        event.stop()
        if self._shown is None:
            self._said = event.text
            self._show_leaf()

    # showing

    @property
    def _has_rows(self) -> bool:
        return self._shown is not None and self.leaf >= _ROWS

    def _table(self, shown: Shown) -> PageTable:
        return shown.rows[self.leaf - _ROWS].found(self._wanted)

    def _show_leaf(self) -> None:
        if not self.query("#leaves"):  # left while the season was read
            return
        self.query_one("#leaves", Board).show(leaf_names(self.LEAVES, self.leaf, self.size.width))
        table = self._table(self._shown) if self._shown and self._has_rows else None
        self.set_class(bool(table and table.rows), "-rows")
        self._look_back()
        if table and table.rows:
            self.grid.show_table(table)
            if self.grid.picked is None:
                self.grid.go_to(table.rows[0].id)
        self.board.show(self.leaf_lines(self.columns))

    def leaf_lines(self, width: int) -> list[TextLine]:
        """Words, or what stands under the table."""
        shown = self._shown
        if shown is None:
            return wrapped(self._said, width)
        if self.leaf == _YEAR:
            year = self._year[1]
            return wrapped(year, width) if isinstance(year, str) else lines(year, width)
        if not self._has_rows:
            return lines(shown.words[self.leaf], width)
        table = self._table(shown)
        if not table.rows:
            return wrapped(table.empty, width)
        rest = shown.rows[self.leaf - _ROWS].rest(self.grid.picked or "", self.grid.shown_columns)
        return [*self._heads(shown, len(table.rows), width), *(wrapped(rest, width, "quiet") if rest else [])]

    def _heads(self, shown: Shown, count: int, width: int) -> list[TextLine]:
        problems = shown.view.problems
        said = [line((f"! {len(problems)} left out: see points", "warn"))] if problems else []
        if self._wanted:
            return [*said, *wrapped(f"{count} with {self._wanted}; Enter shows all again", width, "strong")]
        return [*said, *(wrapped(shown.runs_head, width, "strong") if self.leaf == _ROWS else [])]

    def _look_back(self) -> None:
        """Work the year out where it is looked at and isn't as it was."""
        if self.leaf == _YEAR and self._shown is not None and self._year[0] != self._version:
            self._year = (self._version, _WORKING)
            self.run_worker(self._taught(self._shown.view, self._version), group="year", exclusive=True)

    async def _taught(self, view: SeasonView, version: int) -> None:
        try:
            found: Document | str = await asyncio.to_thread(_year, view)
        except PaddockError as error:
            found = str(error)
        self._year = (version, found)
        if self.stands and self.is_attached:
            self._show_leaf()

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The row in hand in full."""
        event.stop()
        self.board.show(self.leaf_lines(self.columns))

    # finding

    def action_find(self) -> None:
        """Letters are what is looked for."""
        if self.leaf < _ROWS:
            self.turn_to(self.LEAVES.index("runs"))
        self.set_writing(True, "find")

    def typed(self, text: str) -> None:
        """The rows follow."""
        if self._has_rows:
            self._wanted = text.strip()
            self._show_leaf()
        elif text:
            self.tell("Enter looks for it in my runs")

    def accept(self, text: str) -> None:
        """Keep what was found; all rows again where that is nothing."""
        if self.leaf < _ROWS:
            self.turn_to(self.LEAVES.index("runs"))
        self._wanted = text
        self._wanted = text if self._shown and self._table(self._shown).rows else ""
        self.clear()
        self.set_writing(False, "")
        self.tell("")
        self.refresh_page()

    def accept_empty(self) -> None:
        """All rows again."""
        self.stopped_writing()

    def stopped_writing(self) -> None:
        """All rows again, commands again."""
        self._wanted = ""
        self.set_writing(False, "")
        self.tell("")
        self.refresh_page()

    def turn_to(self, leaf: int) -> None:
        """Another leaf, its table from the top."""
        super().turn_to(leaf)
        rows = self._table(self._shown).rows if self._shown and self._has_rows else ()
        if rows:
            self.grid.go_to(rows[0].id)

    def action_step(self, by: int) -> None:
        """A row or a line up or down."""
        if self._has_rows:
            self.grid.move(by)
        else:
            super().action_step(by)

    def action_leaf(self, by: int) -> None:
        """A screen up or down."""
        if self._has_rows:
            self.grid.page(by)
        else:
            super().action_leaf(by)


_YEAR, _ROWS = 2, 3
"""Places of leaves: the year, and the first of those with rows."""
_WORKING = "working the year out: every change is judged anew, which takes a few seconds an event …"


def _year(view: SeasonView) -> Document:
    from paddock.pages.year import read_year, year_page

    return year_page(view, read_year(view))


def _work(
    view: SeasonView | None, folder: Path, event: Event, today: date, told: Callable[[int, int, str], None]
) -> Shown:
    """Read the directory once, then put this event in as it is now and work everything out."""
    from paddock.folders.seasons import open_season
    from paddock.pages.season import points_page, to_come_page
    from paddock.pages.season_records import change_list, run_list, run_words, tyre_list

    found = view or open_season(folder.parent, told)
    now = replace(found, events=tuple((name, event if name == folder.name else old) for name, old in found.events))
    return Shown(
        now,
        (points_page(now), to_come_page(now, today)),
        (run_list(now.runs), change_list(now.changes), tyre_list(now.tyres)),
        run_words(now.runs, now.changes),
    )
