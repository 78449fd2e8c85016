"""Tyres: four corners with runs, depth, wear and runs left; what to move or buy; depths and moves logged."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.errors import PaddockError
from paddock.render.lines import lines
from paddock.tui.asking import Question
from paddock.tui.screens.car_page import CarPage, to_confirm
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.tyres.putting import Put
    from paddock.pages.document import TextLine
    from paddock.pages.tyres import Beside, TyreLine, Tyres
    from paddock.tui.desk import Desk


class TyresPage(CarPage):
    """The table, the tyre in hand in full, the proposals."""

    NAME: ClassVar[str] = "tyres"
    PLACEHOLDER: ClassVar[str] = "depths of the tyre in hand, inner middle outer: 4.4 4.6 3.1"
    OF_ROW: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("tyres.move", "tyres.values", "tyres.add", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Runs count per car, whoever drives; in brackets those of this event. Runs left are to the floor in tyres.csv by the
worst edge, with an 80 % range in brackets; the wear is shrunk to what the car's other tyres wear.

Up and down take a tyre in hand. Type its depths, inner middle outer, and press Enter: the next one comes in hand. They
stand for the end of the latest day run, before the first run for the start. - leaves an edge out.

{tyres.move} moves tyres from the next run on: front rear, sides, sides front, cross, turn rear (over on the rim), a
tyre for the corner in hand, or four tyres for lf rf lr rr. It says what would stand where before Enter logs it;
{any.undo} takes it back.

{tyres.values} shows every value of the tyre in hand, to be typed and mended: price, limits, date code, a reading that
was wrong. {tyres.add} adds tyres.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "move", "move tyres", id="tyres.move", tooltip="Put tyres on other corners from the next run"),
        Binding("o", "values", "its values", id="tyres.values", tooltip="Price, limits, date code, readings"),
        Binding("a", "add", "add tyres", id="tyres.add", tooltip="New tyres, one or a set, with what they cost"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._beside: Beside | None = None
        self._stamp: object = None
        self._times_read = 0
        self._puts: tuple[Put, ...] = ()
        self._stepped: dict[str, float] = {}

    def body(self) -> Iterable[Widget]:
        """The table, then words."""
        grid = Grid(name_id="tyres")
        grid.styles.height, grid.styles.max_height = "auto", 9
        yield grid
        yield Board(name_id="under")

    @property
    def grid(self) -> Grid:
        """The tyres."""
        return self.query_one("#tyres", Grid)

    @property
    def _tyres(self) -> Tyres:
        from paddock.pages.tyres import Beside, tyres_of

        desk, beside = self.desk, self._beside or Beside()
        return self.kept(("tyres", self._times_read), lambda: tyres_of(desk.event, desk.number, beside))

    @property
    def _unit(self) -> str:
        return self.desk.open_session.unit_of("tread.csv", "inner_mm") or "mm"

    def _picked(self) -> TyreLine | None:
        return self._tyres.line(self.grid.picked)

    # what stands beside the folder is read beside the screens

    def on_mount(self) -> None:
        """Begin reading what stands beside the folder."""
        super().on_mount()
        self._look_beside()

    def opened(self) -> None:
        """The event is open."""
        super().opened()
        self._look_beside()

    def tick(self) -> None:
        """A season may have been written, an event booked."""
        super().tick()
        self._look_beside()

    def on_screen_resume(self) -> None:
        """Shown again."""
        self._look_beside()

    def _look_beside(self) -> None:
        """Read it where it isn't as it was read last."""
        from paddock.folders.seasons import stamp_beside

        if self.desk.session is None:
            return
        stamp = stamp_beside(self.desk.open_session.path)
        if stamp != self._stamp:
            self._stamp = stamp
            self.run_worker(self._read_beside(), exclusive=True, group="beside")

    async def _read_beside(self) -> None:
        from paddock.folders.seasons import booked_beside, earlier_events
        from paddock.pages.tyres import Beside

        folder, event = self.desk.open_session.path, self.desk.event

        def read() -> Beside:
            try:
                return Beside(earlier_events(folder, event), booked_beside(folder))
            except (PaddockError, OSError):
                return Beside()

        found = await asyncio.to_thread(read)
        if found != (self._beside or Beside()) and self.is_mounted:
            self._beside = found
            self._times_read += 1
            self.refresh_page()

    # showing

    def show_event(self) -> None:
        """Everything."""
        from paddock.pages.tyres import table

        tyres = self._tyres
        self.grid.show_table(table(tyres.lines, self._unit))
        self.grid.styles.height = min(9, len(tyres.lines) + 1) if tyres.lines else 0
        self.take_first(self.grid, [item.id for item in tyres.lines])
        self._say()

    def _say(self) -> None:
        self.query_one("#under", Board).show(self._words(self.columns))

    def _words(self, width: int) -> list[TextLine]:
        from paddock.engine.clock.when import next_run
        from paddock.pages.document import Document, words
        from paddock.pages.tyres import NONE_ON, advice, in_hand, move_asked, steppers

        tyres, found, desk = self._tyres, self._picked(), self.desk
        if self._puts:
            head, mind = move_asked(tyres, self._puts, desk.day, next_run(desk.event, desk.number, desk.day))
            return [*to_confirm(head, width), *lines(Document("move", mind), width)]
        if not tyres.lines:
            return lines(Document("tyres", (words(NONE_ON),)), width)
        first = [in_hand(found, self._unit)] if found is not None else []
        if found is not None and found.state is not None:
            first.append(steppers(self._depths(found), bool(self._stepped)))
        return lines(Document("tyres", (*first, *advice(tyres))), width)

    def took_in_hand(self) -> None:
        """Another tyre in hand."""
        self._stepped = {}
        found = self._picked()
        self.set_label(found.id if found and self.asking is None else self.label)
        self._say()

    # depths

    def accept_line(self, value: str) -> None:
        """Depths of the tyre in hand."""
        from paddock.actions.tyres import read_depths

        found = self._picked()
        if found is None or found.state is None:
            self.tell("take a tyre in hand first; m puts tyres on", loud=True)
            return
        try:
            depths = read_depths(value, self._unit)
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        self._log_depths(found.state.tyre, depths)

    def _log_depths(self, tyre: str, depths: dict[str, float]) -> None:
        from paddock.actions.tyres import depth_words, grown, log_depths

        desk = self.desk
        edit, day = log_depths(desk.event, desk.number, desk.day, tyre, depths)
        odd = grown(desk.event, tyre, day, depths)
        when = f"after the runs of day {day}" if day else "before the first run"
        said = f"{tyre} {depth_words((depths.get(edge) for edge in _EDGES), self._unit)} {when}"
        done = desk.apply(edit, said)
        self._after(done.ok, done.kept, done.text, odd)

    def _after(self, ok: bool, kept: bool, said: str, odd: tuple[str, ...]) -> None:
        if kept:
            self._stepped = {}
            self.clear()
            self.refresh_page()
            self.grid.move(1)
        grew = f"; {' and '.join(odd)} deeper than before: measure again" if odd else ""
        self.tell(f"{said}{grew}", loud=not ok or bool(odd))

    def _depths(self, found: TyreLine) -> dict[str, float]:
        """What the steppers stand at, in the file's unit."""
        from paddock.actions.tyres import start_depths

        return start_depths(found.state, self._unit) | self._stepped

    def action_bump(self, edge: str, by: int) -> None:
        """A step of a depth, tapped."""
        found = self._picked()
        if found is None or found.state is None:
            return
        step = 0.5 if self._unit == "32nds" else 0.1
        self._stepped[edge] = round(max(0.0, self._depths(found)[edge] + by * step), 1)
        self._say()

    def accept_nothing(self) -> None:
        """Log what the steppers stand at, where they were moved."""
        from paddock.actions.tyres import read_depths

        found = self._picked()
        if not self._stepped or found is None or found.state is None:
            self.tell("type three depths, or tap - and + under the table")
            return
        depths = self._depths(found)
        self._log_depths(found.state.tyre, read_depths(" ".join(f"{depths[edge]:.1f}" for edge in _EDGES), self._unit))

    # moves

    def action_move(self) -> None:
        """Ask what goes where."""
        if self.desk.session is None or self.nobody():
            return
        found = self._picked()
        corner = found.corner if found else ""
        hint = f"front rear, sides, turn front, a tyre for {corner}" if corner else "four tyres: lf rf lr rr"
        self.ask([Question("move", "move", hint, needed=True, read=self._read_move)])

    def _read_move(self, value: str) -> str:
        from paddock.actions.tyres import read_move

        found = self._picked()
        self._puts = read_move(value, found.corner if found else "", self._tyres.held)
        return value

    def asked(self, answers: Mapping[str, object]) -> None:
        """Ask once more, then log."""
        if "move" in answers and self._puts:
            self.ask([Question("log", "Enter logs it")])
            self.entry.placeholder = "Backspace leaves it"
        elif self._puts:
            self._log()

    def stop_asking(self) -> None:
        """Nothing is asked any more."""
        leaving = self.asking is not None and self.asking.name == "log"
        if leaving:
            self._puts = ()
        super().stop_asking()

    def _log(self) -> None:
        from paddock.actions.tyres import log_move
        from paddock.engine.clock.when import next_run

        desk, tyres, puts = self.desk, self._tyres, self._puts
        run = next_run(desk.event, desk.number, desk.day)
        self._puts = ()
        self.do(log_move(desk.event, tyres.inventory, tyres.held, desk.number, desk.day, run, puts))

    async def action_values(self) -> None:
        """Every value of the tyre in hand."""
        found = self._picked() if self.desk.session is not None else None
        await self._open_values(found.state.tyre if found is not None and found.state is not None else "")

    async def action_add(self) -> None:
        """New tyres."""
        from paddock.tui.screens.tyre_values import NEW

        await self._open_values(NEW)

    async def _open_values(self, wanted: str) -> None:
        if self.desk.session is not None:
            self.desk.value_wanted = wanted
            await self.paddock.go("tyre")

    def action_step(self, by: int) -> None:
        """The tyre above or below."""
        if self.asking is None and not self.held_back():
            self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of tyres."""
        self.action_step(by * 4)


_EDGES = ("inner", "middle", "outer")
