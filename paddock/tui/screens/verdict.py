"""Was it the change? Verdicts on all changes, the figures behind one, the course, the next test, the season."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.widget import Widget

from paddock.errors import PaddockError
from paddock.pages.document import Document, TextLine, words
from paddock.render.lines import lines
from paddock.tui.reader import ReaderPage, leaf_names
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.engine.field.case import Habits
    from paddock.engine.field.effect import Effect
    from paddock.model.event import Event
    from paddock.pages.effect import SeasonSeen
    from paddock.tui.desk import Desk


_LIST, _FIGURES, _COURSE, _PLAN, _SEASON, _RECORD = range(6)
_NARROW = 56
_BESIDE = 56
"""Cells a leaf wants beside the whole list; with less it stands under it."""


class VerdictPage(ReaderPage):
    """The list with the verdict in hand under or beside it; the other leaves fill the page."""

    NAME: ClassVar[str] = "verdict"
    LEAVES: ClassVar[tuple[str, ...]] = ("changes", "figures", "course", "next test", "season", "record")
    PLACEHOLDER: ClassVar[str] = "Enter: every figure; left and right: course, next test, season"
    HINTS: ClassVar[tuple[str, ...]] = ("verdict.next", "go.changes", "go.home")
    HELP: ClassVar[str] = """
Each change is held against the cars that were left alone: what you gained beyond the field is the extra. helped and
hurt come in three strengths (leans, probably, very likely); can't tell is the usual answer and an honest one. Up and
down take a change in hand, Enter shows every figure behind its verdict. The decision is yours and stands apart: it is
made on the changes page ({go.changes}).

{verdict.before} and {verdict.next} turn to the course (what each run number gave everybody: did I slow, or did
everyone?), to the next test (type how many runs you have left and press Enter; before any change is logged it says
what a test could tell), and to the season: the same changes in the events beside this one, taken together. One event
cannot settle hundredths. Last stands the program's own record: what it would have said at every moment of these
events, held against what came.
"""
    DEFAULT_CSS = """
    VerdictPage #pair { height: 1fr; layout: vertical; }
    VerdictPage #pair.-beside { layout: horizontal; }
    VerdictPage #pair #leaf { height: 1fr; }
    VerdictPage #pair Grid { height: auto; max-height: 50%; }
    VerdictPage #pair.-beside Grid { height: 1fr; max-height: 100%; }
    VerdictPage #pair.-whole Grid { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "turn(1)", "next leaf", id="verdict.next", tooltip="Figures, course, next test, season"),
        Binding("left", "turn(-1)", "leaf before", show=False, id="verdict.before", tooltip="The leaf before"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._habits: Habits | None = None
        self._season: SeasonSeen | str | None = None
        self._record: Document | str | None = None
        self._left: int | None = None
        self._seen: tuple[tuple[int, bool], tuple[Effect, ...]] | None = None

    def body(self) -> Iterable[Widget]:
        """The names of the leaves; the list and a leaf."""
        names = Board(name_id="leaves")
        names.styles.height = "auto"
        yield names
        yield Container(Grid(name_id="verdicts"), Board(name_id="leaf"), id="pair")

    @property
    def grid(self) -> Grid:
        """The list."""
        return self.query_one("#verdicts", Grid)

    # what is judged

    def on_mount(self) -> None:
        """Show this event at once; what other events teach follows."""
        super().on_mount()
        if self.desk.session is not None:
            self.run_worker(self._learn(), group="learn", exclusive=True)

    async def _learn(self) -> None:
        """My usual learning, where the folder lies in a season."""
        from paddock.folders.seasons import habits_beside

        try:
            self._habits = await asyncio.to_thread(habits_beside, self.desk.folder, self.desk.event)
        except PaddockError as error:
            self.tell(str(error))
        if self._habits is not None:
            self.refresh_page()

    def _effects(self) -> tuple[Effect, ...]:
        from paddock.engine.field.season import judged

        key = (self.desk.open_session.version, self._habits is not None)
        if self._seen is None or self._seen[0] != key:
            self._seen = (key, judged(self.desk.event, *([] if self._habits is None else [self._habits])))
        return self._seen[1]

    def _picked(self) -> Effect | None:
        found = self._effects()
        return next((item for item in found if item.change_id == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """The list, and the leaf in hand."""
        from paddock.pages.changes import change_states

        pair = self.query_one("#pair")
        effects = self._effects()
        longest = max((len(item.label) for item in effects), default=20)
        whole = longest + _beside_label(effects, self.size.width)
        beside = self.size.width >= whole + _BESIDE
        pair.set_class(self.leaf != _LIST, "-whole")
        pair.set_class(beside and self.leaf == _LIST, "-beside")
        room = whole if beside else self.columns
        states = {
            id_: (f"{row.day or '?'}.{row.run or '?'}", state)
            for id_, (row, state) in change_states(self.desk.event).items()
        }
        self.grid.styles.width = whole if beside else "1fr"
        label = max(12, room - _beside_label(effects, room))
        rows = [(item.change_id, _cells(item, *states.get(item.change_id, ("", "")), room, label)) for item in effects]
        self.grid.fill(rows, _columns(room, label))
        if self.grid.picked is None and effects:
            self.grid.go_to(effects[0].change_id)
        self.query_one("#leaves", Board).show(leaf_names(self.LEAVES, self.leaf, self.size.width))
        width = self.size.width - 1 - (whole + 1 if beside and self.leaf == _LIST else 0)
        self.board.show(self.leaf_lines(max(20, width)))

    def leaf_lines(self, width: int) -> list[TextLine]:
        """The leaf in hand."""
        return lines(self._document(), width)

    def _document(self) -> Document:
        from paddock.pages.effect import course_page, figures_page, season_page, verdict_page
        from paddock.pages.next_test import plan_page

        desk, found = self.desk, self._picked()
        if self.leaf == _COURSE:
            return course_page(desk.event, desk.number, desk.day)
        if self.leaf == _PLAN:
            return plan_page(desk.event, found, self._left, desk.number)
        if self.leaf in {_SEASON, _RECORD}:
            read = self._season if self.leaf == _SEASON else self._record
            if isinstance(read, str | None):
                return Document("season", (words((read, "warn") if read else _READING),))
            return read if isinstance(read, Document) else season_page(read)
        return verdict_page(desk.event, found) if self.leaf == _LIST else figures_page(desk.event, found)

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The verdict of the change in hand."""
        event.stop()
        self._left = None
        self.show_event()

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap shows every figure."""
        event.stop()
        self.turn_to(_FIGURES)

    # going about

    def turn_to(self, leaf: int) -> None:
        """Another leaf; the season is read when it is first asked for."""
        super().turn_to(leaf)
        if self.leaf == _SEASON and self._season is None and self.desk.session is not None:
            self.run_worker(self._read_season(), group="season", exclusive=True)
        if self.leaf == _RECORD and self._record is None and self.desk.session is not None:
            self.run_worker(self._read_record(), group="record", exclusive=True)

    async def _read_season(self) -> None:
        """The events beside this one, read and judged on the side; this one as it is here."""
        try:
            self._season = await asyncio.to_thread(_pool, self.desk.folder, self.desk.event)
        except PaddockError as error:
            self._season = str(error)
        self.refresh_page()

    async def _read_record(self) -> None:
        """The same events replayed on the side."""
        try:
            self._record = await asyncio.to_thread(_replay, self.desk.folder, self.desk.event, self._told)
        except PaddockError as error:
            self._record = str(error)
        self.refresh_page()

    def _told(self, at: int, of: int) -> None:
        if at < of:
            self.app.call_from_thread(self.tell, f"replayed {at} of {of} events …")

    def accept_empty(self) -> None:
        """Every figure, or back to the list."""
        self.turn_to(_FIGURES if self.leaf == _LIST else _LIST)

    def accept(self, text: str) -> None:
        """So many runs left for the next test."""
        if not (text.isascii() and text.isdecimal() and len(text) <= 2):
            self.tell(f"{text}: a number of runs left is wanted, like 4", loud=True)
            return
        self._left = int(text)
        self.clear()
        self.turn_to(_PLAN)

    def action_leave(self) -> None:
        """Back to the list before home."""
        if self.leaf != _LIST and not self.entry.value:
            self.turn_to(_LIST)
        else:
            super().action_leave()

    def action_step(self, by: int) -> None:
        """The change above or below, or a line."""
        if self.leaf == _LIST:
            self.grid.move(by)
        else:
            super().action_step(by)


_READING = ("reading the events beside this one …", "")


def _beside(folder: Path, here: Event) -> list[Event]:
    """The events beside this one, and this one last."""
    from paddock.folders.seasons import open_season

    folder = folder.resolve()
    return [*(event for name, event in open_season(folder.parent).events if name != folder.name), here]


def _pool(folder: Path, here: Event) -> SeasonSeen:
    """What they show together."""
    from paddock.pages.effect import season_seen

    return season_seen(_beside(folder, here), here.settings.mine.numbers)


def _replay(folder: Path, here: Event, told: Callable[[int, int], None]) -> Document:
    """What was said in them, and what came."""
    from paddock.engine.field.hindsight import hindsight
    from paddock.pages.chances import hindsight_page

    events = sorted(_beside(folder, here), key=lambda event: event.settings.days)
    return hindsight_page(hindsight(events, told), len(events), here.settings.pressure_unit or "psi")


def _beside_label(effects: Sequence[Effect], width: int) -> int:
    """Cells that the other columns of a list ``width`` cells wide take."""
    verdict = max((len(item.verdict) for item in effects), default=7)
    return 6 + verdict + (0 if width < _NARROW else 24)


def _columns(width: int, room: int) -> list[Col]:
    at, change, verdict = Col("at", stays=True), Col("change", most=room), Col("verdict", most=18)
    if width < _NARROW:
        return [at, change, verdict]
    return [Col("no", right=True, stays=True), at, change, verdict, Col("chance", right=True), Col("decided", most=10)]


def _cells(item: Effect, at: str, state: str, width: int, room: int) -> Cells:
    """One change of the list; ``at``: the day and run it came with, which tells it from others cut alike."""
    if width < _NARROW:
        return (at, shortened(item.label, room), item.verdict)
    chance = "-" if item.p_helped is None else f"{100 * item.p_helped:.0f} %"
    return (item.number, at, shortened(item.label, room), item.verdict, chance, state)


def shortened(label: str, room: int) -> str:
    """A label cut in its middle: its beginning, and what it went from and to."""
    if len(label) <= room:
        return label
    words_, tail = label.split(" "), ""
    while words_ and len(tail) + len(words_[-1]) + 1 <= (room * 2) // 3:
        tail = f" {words_.pop()}{tail}"
    return f"{label[: max(1, room - 1 - len(tail))].rstrip()}…{tail.lstrip()}"
