"""What the pages about the car share: the car as it is now, worked out once for each state of the event."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar

from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.pieces import join, line, width_of, wrapped
from paddock.tui.asking import AskingPage, Question
from paddock.tui.listing import close_up
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from textual.widget import Widget

    from paddock.engine.car.car_now import CarNow
    from paddock.model.edit import Batch
    from paddock.tui.desk import Desk


T = TypeVar("T")


class CarPage(AskingPage):
    """Base. :meth:`kept` holds what was worked out until the event or the entry in hand changes.

    ``OF_ROW``: what is typed is for the row in hand, so no other comes into hand before it is taken or left.
    """

    OF_ROW: ClassVar[bool] = False

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._kept: dict[Hashable, object] = {}
        self._state: tuple[int, str] = (0, "")
        self._asked_row: str | None = None

    def kept(self, name: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` gives, made once for each state of the event."""
        state = (self.desk.open_session.version, self.desk.number)
        if state != self._state:
            self._kept, self._state = {}, state
        if name not in self._kept:
            self._kept[name] = make()
        return self._kept[name]  # type: ignore[return-value]

    @property
    def car_now(self) -> CarNow:
        """The car of the entry in hand."""
        from paddock.engine.car.car_now import car_now
        from paddock.folders.starting import with_curve

        cars = self.desk.open_session.path / "cars"
        event, number = self.desk.event, self.desk.number
        return self.kept("car", lambda: car_now(event, number, lambda car: with_curve(car, cars)))

    def ask(self, questions: Sequence[Question]) -> None:
        """Begin; the questions are about the row in hand."""
        self._asked_row = self.query_one(Grid).picked
        super().ask(questions)

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """Another row in hand: a question about the one before is not asked any more."""
        event.stop()
        if self.asking is not None and self.query_one(Grid).picked != self._asked_row:
            self.stop_asking()
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """Another row is in hand: show what follows it."""

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap on a row is Enter, but never the answer to a question."""
        event.stop()
        if self.asking is None:
            self.accept_empty()

    def action_step(self, by: int) -> None:
        """The row above or below."""
        if self.asking is None and not self.held_back():
            self.query_one(Grid).move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of rows."""
        if self.asking is None and not self.held_back():
            self.query_one(Grid).page(by)

    def held_back(self) -> bool:
        """Whether the line holds something for the row in hand; that is said."""
        held = self.OF_ROW and bool(self.entry.value)
        if held:
            self.tell("the line is for the row in hand: Enter takes it, Escape empties it", loud=True)
        return held

    def heard(self, read: Callable[[str], T], value: str) -> T | None:
        """What was typed, read; None: it can't be, and the line says why."""
        try:
            return read(value)
        except ValueError as error:
            self.tell(str(error), loud=True)
            return None

    def possible(self, edit: Batch) -> Batch:
        """An edit that can be done. Raises ValueError with a sentence where it can't."""
        try:
            self.desk.open_session.would_be(edit)
        except PaddockError as error:
            raise ValueError(str(error)) from None
        return edit

    def take_first(self, grid: Grid, ids: Sequence[str]) -> None:
        """Put the cursor somewhere where it stands nowhere."""
        if grid.picked is None and ids:
            grid.go_to(ids[0])

    def put_old(self, text: str) -> None:
        """The value as it is, to be mended."""
        self.put(text)
        if text:
            self.tell("type on to mend it, Escape empties the line; Enter saves")

    def nobody(self) -> bool:
        """Whether no entry of mine is named: nothing can be logged then, and the line says so."""
        if not self.desk.number:
            self.tell("whose car? type your numbers on the event's page, @", loud=True)
        return not self.desk.number

    def action_take(self) -> None:
        """A tap on "log it": as Enter on the empty line."""
        self.accept_empty()

    async def open_values(self, key: str) -> None:
        """The page of the car's values, at ``key``, once the event is open."""
        if self.desk.session is not None:
            self.desk.value_wanted = key
            await self.paddock.go("car")

    @property
    def next_run(self) -> int:
        """The run a change is for."""
        from paddock.engine.clock.when import next_run

        return next_run(self.desk.event, self.desk.number, self.desk.day)


def to_confirm(head: str, width: int) -> list[TextLine]:
    """What would be logged, and what a finger needs where the keyboard has Enter and Backspace."""
    taps = line((" log it ", "hand", "take"), "  ", (" leave it ", "key", "leave"))
    *lines, last = wrapped(head, width, "strong")
    whole = join([last, taps])
    return [*lines, whole] if width_of(whole) <= width else [*lines, last, taps]


def words_board() -> Board:
    """The board of words under a table: of one height, so that the table doesn't jump from row to row."""
    under = Board(name_id="under")
    _one_height(under)
    return under


def _one_height(under: Board) -> None:
    under.styles.height, under.styles.max_height = 8, "40%"


def under_short(over: Widget, under: Board, rows: int, page: int) -> None:
    """The words right under a short table; else at the bottom, of one height."""
    if not close_up(over, under, rows, page - 4, 8):
        _one_height(under)
