"""The values of a tyre and its set, typed and saved one by one; a set added; a reading of tread mended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.render.lines import lines
from paddock.render.pieces import line
from paddock.tui.asking import Question, one_of
from paddock.tui.screens.car_page import CarPage, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.model.edit import Batch
    from paddock.pages.tyre_values import TyreValue
    from paddock.tui.desk import Desk

NEW = "+"
"""Wanted instead of a tyre: the questions of a new set."""


class TyreValuesPage(CarPage):
    """The list, and the value in hand in full."""

    NAME: ClassVar[str] = "tyre"
    PLACEHOLDER: ClassVar[str] = "Enter opens it; or type a figure; - takes it out"
    OF_ROW: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("tyre.add", "tyre.other", "tyre.alone", "go.tyres", "any.undo")
    HELP: ClassVar[str] = """
Every value of one tyre, then its readings of tread. Enter opens the value in hand; type it and press Enter. A pressure
or a depth may have its unit behind it: 44psi, 3bar, 2mm. - takes a value out, and a reading that was wrong.

Size, price, limits and the like go to the whole set; the date code and the runs before are of each tyre. {tyre.alone}
types for this tyre alone, {tyre.other} takes the next tyre in hand. {tyre.add} adds tyres: a name for each, like F1 F2
R1 R2, then what they are; four can go on the car at once. A new name of a tyre goes into every file.
Each value is saved as it is accepted; {any.undo} takes it back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "add tyres", id="tyre.add", tooltip="New tyres, one or a set, with what they cost"),
        Binding("j", "other", "next tyre", id="tyre.other", tooltip="The next tyre of mine"),
        Binding("m", "alone", "this one/set", id="tyre.alone", tooltip="Type for this tyre alone, or for its set"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._tyre, desk.value_wanted = desk.value_wanted, ""
        self._wants_new = self._tyre == NEW
        self._alone = self._adding = False

    def body(self) -> Iterable[Widget]:
        """Whose, the list, then words."""
        head = Board(name_id="head")
        head.styles.height = 1
        yield head
        yield Grid(name_id="values")
        yield words_board()

    def on_mount(self) -> None:
        """A new set may be what is wanted."""
        super().on_mount()
        if self._wants_new and self.desk.session is not None:
            self._wants_new = False
            self.action_add()

    @property
    def grid(self) -> Grid:
        """The values."""
        return self.query_one("#values", Grid)

    @property
    def _depth(self) -> str:
        return self.desk.open_session.unit_of("tread.csv", "inner_mm") or "mm"

    @property
    def _names(self) -> tuple[str, ...]:
        from paddock.actions.tyre_values import known_tyres

        return self.kept("names", lambda: known_tyres(self.desk.event))

    @property
    def _lines(self) -> tuple[TyreValue, ...]:
        from paddock.pages.tyre_values import tyre_values

        if not self._tyre:
            return ()
        key = ("values", self._tyre, self._alone)
        return self.kept(key, lambda: tyre_values(self.desk.event, self._tyre, self._alone, self._depth))

    def _picked(self) -> TyreValue | None:
        return next((item for item in self._lines if item.id == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every value, or how to begin."""
        from paddock.pages.tyre_values import set_words, values_table

        if self._tyre not in self._names:
            self._tyre = self._names[0] if self._names else ""
        head = set_words(self.desk.event, self._tyre, self._alone) if self._tyre else "no tyres yet"
        self.query_one("#head", Board).show([line((head, "strong"))])
        self.grid.show_table(values_table(self._lines, self.desk.event, self._depth))
        self.take_first(self.grid, [item.id for item in self._lines[1:]])
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """Another value in hand: its name before the line, its words under the list."""
        from paddock.pages.document import Document, words
        from paddock.pages.tyre_values import NO_TYRE, value_page

        found = self._picked()
        if self.asking is None:
            self.set_label(found.label.lower() if found else "")
        page = value_page(found) if found else Document("tyre", (words(NO_TYRE),))
        asked = self.asked_lines(self.columns) if self._adding and self.asking is not None else []
        self.query_one("#under", Board).show(asked or lines(page, self.columns))

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """Another row in hand; new tyres are asked about whatever row that is."""
        if self._adding:
            event.stop()
        else:
            super().on_grid_moved(event)

    # setting

    def accept_nothing(self) -> None:
        """Open the value in hand for mending."""
        found = self._picked()
        if found is None:
            self.action_add()
            return
        self.ask([Question("value", found.label.lower(), "the value; - takes it out", needed=True, read=self._read)])
        self.put_old(found.text)

    def accept_line(self, value: str) -> None:
        """The value in hand typed at once."""
        if (edit := self.heard(self._read, value)) is not None:
            self._save(edit)

    def _read(self, text: str) -> Batch:
        """What was typed as an edit that can be done. Raises ValueError with a sentence."""
        from paddock.actions.tyre_values import drop_tyre, mend_reading, rename_tyre, set_tyre_value
        from paddock.actions.tyres import read_depths
        from paddock.entry.tyres import read_tyre_name, read_tyre_value
        from paddock.pages.tyre_values import unit_typed

        found, event = self._picked(), self.desk.event
        if found is None:
            raise ValueError("there is no tyre yet: a adds some")
        out = text.strip() == "-"
        if found.day is not None:
            edit = mend_reading(found.day, self._tyre, None if out else read_depths(text, self._depth), self._depth)
        elif found.id == "tyre":
            edit = (
                drop_tyre(event, self._tyre)
                if out
                else rename_tyre(event, self._tyre, read_tyre_name(text, self._names))
            )
        else:
            value = read_tyre_value(found.id, text, unit_typed(event, found.id, self._depth), self.desk.now().date())
            edit = set_tyre_value(event, found.who, found.id, value)
        return self.possible(edit)

    def _save(self, edit: Batch) -> None:
        found, names = self._picked(), self._names
        if self.do(edit).kept:
            self.clear()
            if found is not None and found.id == "tyre":
                self._tyre = next((name for name in self._names if name not in names), "")
                self.refresh_page()

    def asked(self, answers: Mapping[str, Any]) -> None:
        """A value, or a new set."""
        self._adding = False
        if "value" in answers:
            self._save(answers["value"])
        elif "names" in answers:
            self._add(answers)

    def stop_asking(self) -> None:
        """Nothing is asked any more."""
        super().stop_asking()
        self._adding = False

    # another tyre, a new set

    def action_other(self) -> None:
        """The next tyre."""
        if self.desk.session is not None and self._names:
            at = self._names.index(self._tyre) if self._tyre in self._names else -1
            self._tyre = self._names[(at + 1) % len(self._names)]
            self.refresh_page()

    def action_alone(self) -> None:
        """For this tyre alone, or for its set."""
        if self.desk.session is not None:
            self._alone = not self._alone
            self.refresh_page()

    def action_add(self) -> None:
        """Ask what they are."""
        if self.desk.session is None:
            return
        from paddock.entry.tyres import read_new_names, read_tyre_value
        from paddock.pages.tyre_values import unit_typed

        event, today = self.desk.event, self.desk.now().date()

        def of(field: str, label: str, hint: str, usual: str = "") -> Question:
            unit = unit_typed(event, field, self._depth)
            shown = f"{hint}, {unit}" if unit else hint
            return Question(field, label, shown, usual, read=lambda text: read_tyre_value(field, text, unit, today))

        asked = [
            Question("names", "names", "a name for each, like F1 F2 R1 R2", needed=True,
                     read=lambda text: read_new_names(text, self._names)),
            of("set", "set", "what they are together: dry 2026"), of("size", "size", "205/50R16"),
            of("kind", "kind", "your own word: street, wet"),
            of("date_code", "date code", "week and year off the wall: 0926"),
            of("price", "price of one", "184.50"), of("min_cold_psi", "lowest cold", "the tyre maker's least"),
            of("max_cold_psi", "highest cold", "off the sidewall: a most, never a target"),
            of("floor_mm", "stop at", "tread you stop at"), of("runs_before", "runs before", "0 is new", "0"),
            of("delivery_days", "days to deliver", "10"),
        ]  # fmt: skip
        if self.desk.number:
            usual = "no" if self._names else "yes"
            on = one_of(yes="yes", no="no")
            asked.append(Question("on", "on the car now", "four names: lf rf lr rr", usual, read=on))
        self._adding = True
        self.ask(asked)

    def _add(self, said: Mapping[str, Any]) -> None:
        from paddock.actions.tyre_values import add_tyres

        names, desk = said["names"], self.desk
        cells = {field: value for field, value in said.items() if field not in ("names", "on")}
        on = (desk.number, desk.day, self.next_run) if said.get("on") == "yes" and len(names) == 4 else None
        if self.do(add_tyres(desk.event, names, cells, on)).kept:
            self._tyre = names[0]
            self.refresh_page()
