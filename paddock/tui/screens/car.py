"""The values of the car: what each is, where to measure it, what happens without it; typed and saved one by one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.tui.asking import Question
from paddock.tui.paint import Piece, TextLine, line, wrapped
from paddock.tui.screens.car_page import CarPage, fault_lines, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.tui.desk import Desk
    from paddock.views.car_values import ValueLine

__all__ = ["ValuesPage"]

Typed = tuple[tuple[str, ...], Any]
"""Where a typed value goes, and what it is."""


class ValuesPage(CarPage):
    """The list, and the value in hand in full."""

    NAME: ClassVar[str] = "car"
    PLACEHOLDER: ClassVar[str] = "Enter opens the value in hand; a figure may be typed at once, - takes it out"
    BEGINS: ClassVar[str] = "-"
    HINTS: ClassVar[tuple[str, ...]] = ("car.next", "car.find", "go.bar", "go.gears", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Every value of the car file in its order: what it is, where to measure it, what happens without it. ! stands before a
value that can't be, ? before one that is missing or doubtful; {car.next} goes to the next of them, {car.find} finds
one by its name.

Type a value and press Enter. A number may have a unit behind it: 60.2in, 2.4bar, 61%. Lists have spaces between the
numbers: 3.6 2.1 1.45. - takes the value out. On setup, fasteners and advice type name = value, like front_bar = 2-2.
Each value is saved as it is accepted; comments in the file stay, {any.undo} takes it back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "next_gap", "next missing", id="car.next", tooltip="The next value that is missing or wrong"),
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
    def takes_words(self) -> bool:
        """Where there is no car yet its name is what is typed."""
        return super().takes_words or (self.desk.session is not None and not self.car_now.name)

    @property
    def grid(self) -> Grid:
        """The values."""
        return self.query_one("#values", Grid)

    @property
    def _values(self) -> tuple[ValueLine, ...]:
        from paddock.views.car_values import values_of

        return self.kept("values", lambda: values_of(self.car_now))

    def _picked(self) -> ValueLine | None:
        return next((item for item in self._values if item.key == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every value, or what to do where there is no car."""
        if self.car_now.car is None and not self.car_now.name:
            self.grid.fill([], [Col("")])
            self._say()
            return
        wide = self.size.width >= 60
        self.grid.fill([(item.key, _cells(item, wide)) for item in self._values], _columns(self.size.width))
        if self.grid.picked is None:
            self._begin()
        self._say()

    def _begin(self) -> None:
        start = self._start if self.grid.row(self._start) is not None else self._values[0].key
        self.grid.go_to(start)

    def _say(self) -> None:
        self.query_one("#under", Board).show(self._words(self.columns))

    def _words(self, width: int) -> list[TextLine]:
        from paddock.views.car_values import caution

        found, now = self._picked(), self.car_now
        if found is None:
            told = f"No car file for {self.desk.number or 'your entry'} yet. Type the car's name and press Enter."
            return [*wrapped(told, width, "strong"), *fault_lines(now.faults, width)]
        measure = found.measure
        unit = f", {measure.unit}" if measure.unit else ""
        lines = wrapped(f"{measure.label}{unit}. {measure.meaning}", width, "strong")
        lines += fault_lines(found.faults, width)
        lines += _told("Where: ", measure.how, width)
        lines += _told("Without it: ", measure.without, width)
        return [*lines, *(wrapped(f"! {under_car}", width, "quiet") if (under_car := caution(found)) else [])]

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
            self.ask([Question("name", "car's name", "estate", needed=True)])
            return
        hint = "name = value" if found.table else "the value; - takes it out"
        self.ask([Question("value", found.path[-1], hint, needed=True, read=self._read)])
        self.put("" if found.table else found.text)

    def _read(self, value: str) -> Typed:
        from paddock.views.car_values import impossible, read_value

        found = self._picked()
        assert found is not None
        path, made = read_value(found, value)
        why = impossible(path, made)
        if why:
            raise ValueError(why)
        return path, made

    def accept_line(self, value: str) -> None:
        """The value in hand typed at once, or the name of a new car."""
        if self._picked() is None:
            self._make(value)
            return
        try:
            made = self._read(value)
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        self._set(made)

    def asked(self, answers: Mapping[str, object]) -> None:
        """A value, a name to find, a new car."""
        if "value" in answers:
            self._set(cast("Typed", answers["value"]))
        elif "find" in answers:
            self._go_to(str(answers["find"]))
        elif "name" in answers:
            self._make(str(answers["name"]))

    def _set(self, made: Typed) -> None:
        from paddock.views.car_values import set_value

        path, value = made
        edit = set_value(self.car_now.name, path, value)
        done = self.desk.apply(edit, edit.label)
        if done.kept:
            self.clear()
        self.refresh_page()
        found = self._picked()
        hard = [fault.message for fault in found.faults if fault.hard] if found and done.ok else []
        self.tell("; but ".join([done.text, *hard]), loud=not done.ok or bool(hard))

    def _make(self, name: str) -> None:
        from paddock.views.car_values import new_car

        if self.nobody():
            return
        try:
            edit = new_car(self.desk.number, name)
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        done = self.desk.apply(edit, edit.label)
        if done.kept:
            self.clear()
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)

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

    def action_step(self, by: int) -> None:
        """The value above or below."""
        if self.asking is None:
            self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of values."""
        if self.asking is None:
            self.grid.page(by)


def _told(head: str, text: str, width: int) -> list[TextLine]:
    first, *rest = wrapped(head + text, width)
    words = first[0].text
    return [line((words[: len(head)], "quiet"), words[len(head) :]), *rest]


def _columns(width: int) -> list[Col]:
    if width < 60:
        return [Col("", 1, stays=True), Col("value", most=20), Col("is", most=width - 24)]
    return [Col("", 1, stays=True), Col("value", 26), Col("is", most=24), Col("", 7), Col("", most=max(10, width - 64))]


def _cells(item: ValueLine, wide: bool) -> Cells:
    role = "warn" if item.mark else ""
    name = item.key if len(item.path) < 3 or wide else ".".join(item.path[-2:])
    shown = Piece(item.text or "-", "" if item.text else "quiet")
    if not wide:
        return (Piece(item.mark, role), name, shown)
    label = "" if item.path[0] != item.key and item.measure.key != item.key else item.measure.label
    return (Piece(item.mark, role), name, shown, item.measure.unit if label else "", label)
