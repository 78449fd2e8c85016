"""Standings, and the fast entry of rivals' runs: number, time, cones on one line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.tui.asking import AskingPage, Question
from paddock.tui.listing import ListingPage

if TYPE_CHECKING:
    from paddock.pages.document import Document
    from paddock.tui.desk import Desk


class StandingsPage(ListingPage, AskingPage):
    """One table at a time; type a rival's run at any moment."""

    NAME: ClassVar[str] = "standings"
    PLACEHOLDER: ClassVar[str] = "number, time, cones, like 23 55732 1"
    HINTS: ClassVar[tuple[str, ...]] = (
        "standings.next", "standings.find", "standings.day", "standings.class", "standings.follow",
        "standings.complete", "go.chances", "go.import", "go.home",
    )  # fmt: skip
    HELP: ClassVar[str] = """
Standings of a class, of everybody on index times or on raw totals; in total or of one day. Your entries are marked >,
followed ones =. Left and right change the table, {standings.day} the day, {standings.class} keeps one class of a table
that mixes them; {standings.find} and some letters of a name finds its row. The latest run stands first.

To enter what the loudspeaker says type number, time and cones: 23 55732 1 is 55.732 with one cone. It goes to the
number's next run, which is said before Enter; r2 says another run, which is then replaced, and is asked for where the
number is behind the others. dnf, dns and re stand for a time. A number nobody has
entered makes an entrant (its row is taken in hand as soon as the number is typed); {standings.complete} asks for its
driver, class and index. Enter on a row begins a line with its number. A table of results pasted here is brought in on
its own page, which shows first what it would change.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "table(1)", "table", id="standings.next", tooltip="The next table: classes, index, raw"),
        Binding("left", "table(-1)", "table before", show=False, id="standings.before", tooltip="The table before"),
        Binding("right_square_bracket", "day", "day", id="standings.day", tooltip="In total, or one day after another"),
        Binding("j", "only", "class", id="standings.class", tooltip="Only one class of a mixed table"),
        Binding("slash", "find", "find", id="standings.find", tooltip="Find a row by name, class or number"),
        Binding("o", "follow", "follow", id="standings.follow", tooltip="Follow the entrant in hand"),
        Binding("a", "complete", "entrant", id="standings.complete", tooltip="Driver, class, index of the one in hand"),
    ]  # fmt: skip

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._table: str | None = None
        self._day: int | None = None
        self._only: str | None = None
        self._finding = False
        self._insisted = ""

    def pasted(self, text: str) -> None:
        """A table is not heard but brought in: the page for it takes it."""
        self.desk.pasted = text
        self.app.call_later(self.paddock.go, "import")

    # showing

    def document(self) -> Document:
        """The table as it stands now."""
        from paddock.pages.standings import standings_page

        desk = self.desk
        found = desk.open_session.standings(self._day)
        page = standings_page(desk.event, found, self._table or self._first(), desk.followed, desk.number, self._only)
        self._table = page.title
        return page

    def show_event(self) -> None:
        """The table, and what the line takes."""
        super().show_event()
        if self.asking is None and not self._finding:
            self.set_label("heard")

    def _first(self) -> str:
        entrant = self.desk.event.entrant(self.desk.number)
        return (entrant.class_ if entrant else None) or "index"

    # entering

    def typed(self, text: str) -> None:
        """Whose run it is, as soon as the number is typed."""
        super().typed(text)
        if self._finding:
            self._find(text)
            return
        if self.desk.session is None or self.asking or not text.strip():
            self.tell("")
            return
        from paddock.actions.runs import replaces
        from paddock.engine.clock.when import next_run
        from paddock.entry import Wrong, read_rival
        from paddock.pages.standings import heard_words

        found = read_rival(text, self.desk.decimals)
        self.grid.go_to(text.split(maxsplit=1)[0])
        who = heard_words(self.desk.event, text.split(maxsplit=1)[0])
        if isinstance(found, Wrong):
            self.tell(f"{who} … {found.sentence}")
        else:
            run = found.run or next_run(self.desk.event, found.number, self.desk.day)
            over = replaces(self.desk.event, found.number, self.desk.day, found, run) if found.run else ""
            asked = "" if found.run else self._which_run(found.number)
            self.tell(asked or f"{who}: Enter takes it as run {run}{over}", loud=bool(over or asked))

    def accept_line(self, text: str) -> None:
        """Take a run as heard."""
        if self._finding:
            self._found()
            return
        from paddock.actions.runs import log_rival
        from paddock.entry import Wrong, read_rival

        found = read_rival(text, self.desk.decimals)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        if not found.run and (asked := self._which_run(found.number)):
            self.tell(asked, loud=True)
            return
        desk = self.desk
        logged = log_rival(desk.event, desk.day, found, desk.clock)
        done = desk.apply(logged.edit, logged.said)
        if done.kept:
            self.clear()
            self.refresh_page()
            self.grid.go_to(found.number)
        new = f"; {found.number} is a new entrant: class and driver to complete" if logged.new_number else ""
        self.tell(done.text + new + logged.doubt, loud=not done.ok or bool(logged.doubt))

    def _which_run(self, number: str) -> str:
        """The question where a number lags behind the others; "" = its next run is the one."""
        from paddock.actions.runs import behind

        found = behind(self.desk.event, number, self.desk.day)
        if found is None:
            return ""
        return f"{number} has run {found[0]} next, the others are on run {found[1]}: add r{found[1]} or r{found[0]}"

    def accept_nothing(self) -> None:
        """Begin a line with the number in hand."""
        if self._finding:
            self._found()
        elif self.grid.picked is not None:
            self.put(f"{self.grid.picked} ")
            self.typed(self.entry.value)

    # finding a row

    def action_find(self) -> None:
        """Letters are looked for in the rows."""
        self._finding = True
        self.set_writing(True, "find")
        self.tell("letters of a name, class or number; Enter takes the row in hand")

    def _find(self, text: str) -> None:
        """The first row that holds every word."""
        parts = text.casefold().split()
        found = self.grid.seek(lambda words: all(part in words for part in parts)) if parts else None
        self.tell("" if found or not parts else "no such row in this table; right shows the next table")

    def _found(self) -> None:
        self._finding = False
        self.clear()
        self.set_writing(False, "heard")
        self.tell(f"{self.grid.picked} in hand: Enter begins its line, o follows it" if self.grid.picked else "")

    def stopped_writing(self) -> None:
        """Looked for long enough."""
        self._found()

    def action_complete(self) -> None:
        """Ask who the entrant in hand is."""
        if self.desk.session is None:
            return
        number = self.grid.picked
        found = self.desk.event.entrant(number) if number else None
        if number is None or found is None:
            self.tell("take a row in hand first: up and down, or a tap")
            return
        codes = ", ".join(item.code for item in self.desk.event.settings.classes)
        self.ask(
            [
                Question("driver", f"{number} driver", usual=found.driver or ""),
                Question("class_", "class", codes, usual=found.class_ or "", read=self._class),
                Question("index", "index", "a code of the index table", usual=found.index or ""),
            ]
        )

    def _class(self, value: str) -> str:
        codes = {item.code.casefold(): item.code for item in self.desk.event.settings.classes}
        if value.casefold() not in codes and self._insisted != value:
            self._insisted = value
            raise ValueError(f"{value}: no such class here; {', '.join(codes.values())}; Enter again makes it")
        return codes.get(value.casefold(), value)

    def asked(self, answers: Mapping[str, object]) -> None:
        """Keep what was told of the entrant."""
        from paddock.actions.entrants import put_entrant

        number, self._insisted = self.grid.picked or "", ""
        edit = put_entrant(self.desk.event, number, answers)
        done = self.desk.apply(edit, edit.label)
        self.refresh_page()
        self.grid.go_to(number)
        self.tell(done.text, loud=not done.ok)

    # going about

    def action_table(self, by: int) -> None:
        """Another table."""
        if self.desk.session is None:
            return
        names = [table.name for table in self.desk.open_session.standings(self._day).tables]
        at = names.index(self._table) if self._table in names else 0
        self._table = names[(at + by) % len(names)]
        self.refresh_page()

    def action_day(self) -> None:
        """In total, then each day."""
        if self.desk.session is None:
            return
        last = max(1, len(self.desk.event.settings.days))
        self._day = 1 if self._day is None else self._day + 1 if self._day < last else None
        self.refresh_page()

    def action_only(self) -> None:
        """The class of the row in hand alone, or everybody again."""
        if self.desk.session is None or self._only is not None:
            self._only = None
        else:
            entrant = self.desk.event.entrant(self.grid.picked or self.desk.number)
            self._only = entrant.class_ if entrant else None
        self.refresh_page()

    def action_follow(self) -> None:
        """Follow or leave the entrant in hand."""
        number = self.grid.picked
        if number is None:
            self.tell("take a row in hand first: up and down, or a tap")
            return
        followed = self.desk.followed
        followed.remove(number) if number in followed else followed.insert(0, number)
        self.refresh_page()
        self.tell(f"following {number}" if number in followed else f"{number} is no longer followed")
