"""The values of the car: what each is, where to measure it, what happens without it; typed and saved one by one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.render.lines import lines
from paddock.tui.asking import Question
from paddock.tui.screens.car_page import CarPage, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.pages.car import ValueLine
    from paddock.tui.desk import Desk


Typed = tuple[tuple[str, ...], Any]
"""Where a typed value goes, and what it is."""


class ValuesPage(CarPage):
    """The list, and the value in hand in full."""

    NAME: ClassVar[str] = "car"
    PLACEHOLDER: ClassVar[str] = "Enter opens it; or type a figure; - takes it out"
    OF_ROW: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("car.next", "car.find", "go.bar", "go.gears", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Every value of the car in the order of need: targets and limits first, then torques, bar, gears and the rest. Under the
list stands what it is, where to measure it, its bounds, what it is for and what happens without it. ! stands before a
value that can't be, ? before one that is missing or doubtful; {car.next} goes to the next of them, {car.find} finds
one by its name. {car.new} makes a car for the entry in hand, with the values of a similar one where you like.

Type a value and press Enter. A number may have a unit behind it: 60.2in, 2.4bar, 61%. Lists have spaces between the
numbers: 3.6 2.1 1.45. - takes the value out. On setup, fasteners and advice type name = value, like front_bar = 2-2.
Each value is saved as it is accepted; comments in the file stay, {any.undo} takes it back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "next_gap", "next missing", id="car.next", tooltip="The next value that is missing or wrong"),
        Binding("a", "new_car", "new car", id="car.new", tooltip="A car for the entry in hand, from a similar one"),
        Binding("slash", "find", "find", id="car.find", tooltip="Find a value by its name"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._start, desk.value_wanted = desk.value_wanted, ""

    def body(self) -> Iterable[Widget]:
        """The list, then words."""
        yield Grid(name_id="values")
        yield words_board()

    @property
    def grid(self) -> Grid:
        """The values."""
        return self.query_one("#values", Grid)

    @property
    def _values(self) -> tuple[ValueLine, ...]:
        from paddock.pages.car import value_lines

        return self.kept("values", lambda: value_lines(self.car_now))

    def _picked(self) -> ValueLine | None:
        return next((item for item in self._values if item.key == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every value, or what to do where there is no car."""
        from paddock.pages.car import values_table

        named = self.car_now.car is not None or bool(self.car_now.name)
        self.grid.show_table(values_table(self._values if named else ()))
        if named and self.grid.picked is None:
            self.grid.go_to(self._start if self.grid.row(self._start) is not None else self._values[0].key)
        self._say()

    def _say(self) -> None:
        from paddock.pages.car import no_car, value_page

        found = self._picked()
        page = value_page(found) if found else no_car(self.desk.number, self.car_now.findings)
        self.query_one("#under", Board).show(lines(page, self.columns))

    def took_in_hand(self) -> None:
        """Another value in hand."""
        found = self._picked()
        if self.asking is None:
            self.set_label(found.path[-1] if found else "")
        self._say()

    # setting

    def accept_nothing(self) -> None:
        """Open the value in hand for mending."""
        found = self._picked()
        if found is None:
            self.ask(self._new_car())
            return
        hint = "name = value" if found.table else "the value; - takes it out"
        self.ask([Question("value", found.path[-1], hint, needed=True, read=self._read)])
        self.put_old("" if found.table else found.text)

    def _read(self, value: str) -> Typed:
        from paddock.entry.car import read_value

        found = self._picked()
        assert found is not None
        return read_value(found.path, value)

    def accept_line(self, value: str) -> None:
        """The value in hand typed at once, or the name of a new car."""
        if self._picked() is None:
            self._make(value)
            return
        if (made := self.heard(self._read, value)) is not None:
            self._set(made)

    def asked(self, answers: Mapping[str, object]) -> None:
        """A value, a name to find, a new car."""
        if "value" in answers:
            self._set(cast("Typed", answers["value"]))
        elif "find" in answers:
            self._go_to(str(answers["find"]))
        elif "name" in answers:
            self._make(str(answers["name"]), str(answers.get("like", "")))

    def _set(self, made: Typed) -> None:
        from paddock.actions.car import set_value

        done = self.do(set_value(self.car_now.name, *made))
        if done.kept:
            self.clear()
        found = self._picked()
        hard = [item.message for item in found.findings if item.level == "fault"] if found and done.ok else []
        if hard:
            self.tell("; but ".join([done.text, *hard]), loud=True)

    def _new_car(self) -> list[Question]:
        """Its name, and where there are others the one it is like."""
        cars = self.desk.event.cars
        like = (
            [Question("like", "like", f"{', '.join(cars)}: its values are copied", read=self._car_named)]
            if cars
            else []
        )
        return [Question("name", "car's name", "estate", needed=True), *like]

    def _car_named(self, text: str) -> str:
        found = [name for name in self.desk.event.cars if name.startswith(text.strip().lower())]
        if len(found) != 1:
            raise ValueError(f"{text!r}: there are {', '.join(self.desk.event.cars)}")
        return found[0]

    def action_new_car(self) -> None:
        """Another car for the entry in hand."""
        if self.desk.session is not None and not self.nobody():
            self.ask(self._new_car())

    def _make(self, name: str, like: str = "") -> None:
        from paddock.actions.car import new_car

        if self.nobody():
            return
        try:
            edit = new_car(self.desk.number, name, self.desk.event.cars.get(like))
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        if self.do(edit).kept:
            self.clear()

    def action_switch_entry(self) -> None:
        """The other car, from its first value."""
        super().action_switch_entry()
        if self.grid.row_count:
            self.grid.move(-self.grid.row_count)

    # finding

    def action_next_gap(self) -> None:
        """The next value with a mark, from the top again after the last."""
        if self.desk.session is None or not self.grid.row_count:
            return
        after = self._values[self.grid.cursor + 1 :] + self._values[: self.grid.cursor + 1]
        found = next((item for item in after if item.mark), None)
        if found is None:
            self.tell("nothing is missing that bar, balance and gears ask for")
        else:
            self.grid.go_to(found.key)

    def action_find(self) -> None:
        """Ask for a name."""
        self.ask([Question("find", "find", "arms, mass, toe", needed=True)])

    def _go_to(self, words: str) -> None:
        after = self._values[self.grid.cursor + 1 :] + self._values[: self.grid.cursor + 1]
        wanted = words.casefold().split()
        found = next(
            (item for item in after if all(w in f"{item.key} {item.measure.label}".casefold() for w in wanted)), None
        )
        if found is None:
            self.tell(f"no value has {words!r} in its name", loud=True)
        else:
            self.grid.go_to(found.key)
