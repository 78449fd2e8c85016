"""The entrants: typed in a line each, pasted or taken from a file, a class corrected in one key."""

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
    from paddock.folders.importing import EntrantsPlan
    from paddock.model.rows import CellGrid as Cells
    from paddock.tui.desk import Desk


class EntrantsPage(CarPage):
    """The list by number; what was pasted is shown before it is taken in."""

    NAME: ClassVar[str] = "entrants"
    PLACEHOLDER: ClassVar[str] = "like 23 ASH Kim Dale; or paste a list"
    HINTS: ClassVar[tuple[str, ...]] = (
        "entrants.class", "entrants.find", "entrants.file", "entrants.place", "entrants.columns", "go.event",
        "go.standings", "go.home",
    )  # fmt: skip
    HELP: ClassVar[str] = """
Who is entered. Type number, class and driver: 23 ASH Kim Dale; either may be left out, and a class that is there may
stand last. One that is not there yet is made when Enter is pressed again. Index factors go with the classes, on the
event's page. {entrants.class} puts the one in hand into the next class, {entrants.before} into
the one before; {entrants.find} finds one. Enter asks for all that can be said of it; {entrants.place} for its group,
order and work group of the day; - takes out one who has no runs.

A copied list can be pasted into the line as it is, and {entrants.file} takes a file, or the entrants of an earlier
event's folder. What was understood is shown first; {entrants.columns} changes which column is what, as when results
are brought in. A list takes nobody out, and {any.undo} takes all of it back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,o", "turn_class(1)", "next class", id="entrants.class",
                tooltip="The one in hand into the next class"),
        Binding("left,r", "turn_class(-1)", "class before", show=False, id="entrants.before",
                tooltip="The one in hand into the class before"),
        Binding("a", "from_file", "from a file", id="entrants.file",
                tooltip="Entrants from a file or an earlier event"),
        Binding("slash", "find", "find", id="entrants.find", tooltip="Find an entrant by number, name, class or car"),
        Binding("j", "place", "running order", id="entrants.place", tooltip="Group, order, work group of the day"),
        Binding("m", "columns", "columns", id="entrants.columns", tooltip="Which column of a pasted list is what"),
    ]  # fmt: skip

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._plan: EntrantsPlan | None = None
        self._source: list[Cells] = []
        self._insisted = ""
        self._finishing = False

    def body(self) -> Iterable[Widget]:
        """The list, then words."""
        yield Grid(name_id="entrants")
        yield words_board()

    def on_mount(self) -> None:
        """Ready for an entrant."""
        super().on_mount()
        self.set_label("entrant")

    @property
    def grid(self) -> Grid:
        """The entrants."""
        return self.query_one("#entrants", Grid)

    # showing

    def show_event(self) -> None:
        """Everybody."""
        from paddock.pages.entrants import entrants_table

        if self.asking is None:
            self.set_label("entrant")
        table = entrants_table(self.desk.event, self.desk.day)
        self.grid.show_table(table)
        self.take_first(self.grid, [row.id for row in table.rows])
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """The one in hand, or the list that was pasted."""
        from paddock.pages.entrants import entrant_page, entries_page

        plan = self._plan
        page = entries_page(plan.found, plan.columns.text()) if plan else None
        page = page or entrant_page(self.desk.event, self.grid.picked or "")
        self.query_one("#under", Board).show(lines(page, self.columns))

    # one

    def accept_line(self, value: str) -> None:
        """An entrant as typed."""
        from paddock.actions.entrants import drop_entrant, put_entrant
        from paddock.entry.event import read_entrant

        event, number = self.desk.event, self.grid.picked or ""
        try:
            if value == "-" and number:
                edit, told = drop_entrant(event, number), ""
            else:
                said = read_entrant(value, [item.code for item in event.settings.classes])
                if said.new_class and self._insisted != value:
                    self._insisted = value
                    raise ValueError(
                        f"{said.class_} is no class here: Enter again makes it; a name is written like Kim"
                    )
                number = said.number
                cells = {"class_": said.class_, "driver": said.driver}
                edit = put_entrant(event, number, {name: cell for name, cell in cells.items() if cell})
                told = f"{number} {said.driver or ''} in class {said.class_}" if said.class_last else ""
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        if self.do(edit, told).kept:
            self._insisted = ""
            self.clear()
            self.grid.go_to(number)

    def accept_nothing(self) -> None:
        """All that can be said of the one in hand."""
        number = self.grid.picked
        row = self.desk.event.entrant(number) if number else None
        if row is None:
            self.tell("type 23 ASH Kim Dale, paste a list, or a takes a file")
            return
        codes = ", ".join(item.code for item in self.desk.event.settings.classes)
        drives = one_of(front="front", rear="rear", all="all")
        status = one_of(dsq="dsq", withdrawn="withdrawn", here="here")
        control = {True: "yes", False: "no", None: ""}[row.control]
        self.ask([
            Question("driver", f"{row.number} driver", usual=row.driver or ""),
            Question("class_", "class", codes, usual=row.class_ or "", read=self._class),
            Question("index", "index", "a code of the index table", usual=row.index or ""),
            Question("car", "car", usual=row.car or ""),
            Question("drive", "driven wheels", "front, rear, all", usual=row.drive or "", read=drives),
            Question("tyre_kind", "tyres", "like street", usual=row.tyre_kind or ""),
            Question("control", "changed nothing", "no: changed something, so no verdict measures by them",
                     usual=control, read=one_of(yes="yes", no="no")),
            Question("status", "status", "dsq, withdrawn, or here", read=status,
                     usual="here" if row.status in (None, "carried") else row.status),
        ])  # fmt: skip

    def _class(self, text: str) -> str:
        from paddock.entry.event import read_code

        codes = {item.code.casefold(): item.code for item in self.desk.event.settings.classes}
        if text.casefold() not in codes and self._insisted != text:
            code, self._insisted = read_code(text), text
            raise ValueError(f"{code}: no such class here; Enter again makes it; there are {', '.join(codes.values())}")
        return codes.get(text.casefold(), text)

    def asked(self, answers: Mapping[str, object]) -> None:
        """What was told of one, where it stands, what to find, a file, or columns."""
        from paddock.actions.entrants import put_entrant, put_place

        number, said = self.grid.picked or "", dict(answers)
        if "find" in said:
            self._go_to(str(said["find"]))
        elif "file" in said:
            self._open(str(said["file"]))
        elif "columns" in said:
            self._understand(str(said["columns"]))
        elif "group" in said or "order" in said or "work_group" in said:
            self.do(put_place(self.desk.event, self.desk.day, number, said))
        elif said:
            if "control" in said:
                said["control"] = said["control"] == "yes"
            said["status"] = None if said.get("status") in (None, "here") else said["status"]
            self.do(put_entrant(self.desk.event, number, said))
        self._insisted = ""

    def action_find(self) -> None:
        """Ask for words of a row."""
        self.ask([Question("find", "find", "a number, or words of name, class, car", needed=True)])

    def _go_to(self, words: str) -> None:
        wanted = words.casefold().split()
        if not (self.grid.go_to(words) or self.grid.seek(lambda row: all(part in row for part in wanted), after=True)):
            self.tell(f"no entrant has {words!r} in the row", loud=True)

    def action_place(self) -> None:
        """Where the one in hand stands in the running order."""
        from paddock.model.rows import GridRow

        number = self.grid.picked
        if number is None:
            return
        at = next((row for row in self.desk.event.of(GridRow) if row.key == (self.desk.day, number)), None)
        group, order, work = (at.group, at.order, at.work_group) if at else (None, None, None)
        self.ask([
            Question("group", f"{number} group", f"day {self.desk.day}", usual=group or ""),
            Question("order", "order", "its place in the group", usual=f"{order or ''}", read=_whole),
            Question("work_group", "work group", "when it works the course", usual=work or ""),
        ])  # fmt: skip

    def action_turn_class(self, by: int) -> None:
        """The one in hand into another class."""
        from paddock.actions.entrants import turn_class

        if self.asking is not None or self._plan is not None or self.grid.picked is None:
            return
        try:
            self.do(turn_class(self.desk.event, self.grid.picked, by))
        except ValueError as error:
            self.tell(str(error), loud=True)

    # a list

    def accept_empty(self) -> None:
        """Take in what is shown, else as every asking page."""
        if self._plan is not None and self.asking is None:
            self._take()
        else:
            super().accept_empty()

    def pasted(self, text: str) -> None:
        """A whole list."""
        from paddock.tui.bringing import of_text

        self._show(lambda: of_text(text))

    def action_from_file(self) -> None:
        """Ask which."""
        from paddock.folders.seasons import names_beside

        beside = names_beside(self.desk.folder)
        hint = ": ".join(filter(None, ("a list's file, or an event's folder", ", ".join(beside[:3]))))
        self.ask([Question("file", "from", hint, needed=True)])

    def _open(self, text: str) -> None:
        from paddock.actions.entrants import take_from_event
        from paddock.folders.seasons import found_near
        from paddock.session.loading import load
        from paddock.tui.bringing import of_file

        try:
            path = found_near(self.desk.folder, text)
            if (path / "event.toml").is_file():
                self.do(take_from_event(self.desk.event, load(path)))
            else:
                self._show(lambda: of_file(path))
        except PaddockError as error:
            self.tell(str(error), loud=True)

    def _show(self, read: Callable[[], Any]) -> None:
        try:
            self._source = list(read())
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        self._understand(None)

    def _understand(self, given: str | None) -> None:
        from paddock.folders.importing import plan_entrants

        try:
            self._plan = plan_entrants(self.desk.folder, self.desk.event, self._source, given)
        except (PaddockError, ValueError) as error:
            self.tell(f"{error}; m names the columns", loud=True)
        else:
            self.clear()
            self.tell("Enter takes them in, m changes the columns, Backspace leaves them")
        self.took_in_hand()

    def action_columns(self) -> None:
        """The columns into the line, to be changed."""
        if not self._source:
            self.tell("paste a list first, or a takes a file")
            return
        self.ask([Question("columns", "columns", "number=No,name=Driver,class=Class", needed=True)])
        self.put(self._plan.columns.text() if self._plan else "number=")

    def _take(self) -> None:
        from paddock.actions.entrants import take_entrants

        plan = self._plan
        assert plan is not None
        if self.do(take_entrants(self.desk.event, plan.found, self.desk.day)).kept:
            plan.keep()
            self._plan, self._source = None, []
            self.refresh_page()

    def action_leave(self) -> None:
        """A list in hand is left first."""
        if self._plan is not None and not self.entry.value and self.asking is None:
            self._plan, self._source = None, []
            self.refresh_page()
            self.tell("left: nothing was taken in")
        else:
            super().action_leave()


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 0 < len(text) < 6):
        raise ValueError(f"{text!r}: a whole number is wanted")
    return int(text)
