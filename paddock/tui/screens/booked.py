"""Booked events of the season: book one, change it, pay it, cancel it; kept in season.toml beside the events."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.errors import PaddockError
from paddock.render.lines import lines
from paddock.render.pieces import line
from paddock.tui.asking import Question, one_of
from paddock.tui.screens.car_page import CarPage, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.actions.season import Make
    from paddock.folders.booking import SeasonBook
    from paddock.model.season import Booking, Season
    from paddock.tui.desk import Desk


class BookedPage(CarPage):
    """The list, and the event in hand in full."""

    NAME: ClassVar[str] = "booked"
    PLACEHOLDER: ClassVar[str] = "Enter changes the event in hand"
    HINTS: ClassVar[tuple[str, ...]] = ("booked.add", "booked.paid", "booked.cancel", "go.season", "any.undo")
    HELP: ClassVar[str] = """
The events of the season as season.toml beside this event's folder has them. {booked.add} books one: name, days (like
2026-10-03, or 2026-10-03 +1), runs a day, fee, paid or not, when entries close; Enter leaves out what isn't known.
Enter on an event asks the same with what stands there: Enter keeps it, - takes it out. {booked.paid} turns paid into
not paid, {booked.cancel} takes the event out after a yes.

The tyres' day to order and the season's costs are worked out from it. Comments and other keys in the file stay.
{any.undo} takes back what was done here since the program began.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "book", "book", id="booked.add", tooltip="Book an event: name, days, runs a day, fee"),
        Binding("m", "paid", "paid", id="booked.paid", tooltip="The fee is paid, or not"),
        Binding("o", "cancel", "cancel", id="booked.cancel", tooltip="Cancel the event in hand"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._season: Season | None = None
        self._fault = ""
        self._making: Callable[[Mapping[str, Any]], Make] | None = None

    def body(self) -> Iterable[Widget]:
        """What it costs, the list, the event in hand."""
        head = Board(name_id="head")
        head.styles.height = 1
        yield head
        yield Grid(name_id="rows")
        yield words_board()

    @property
    def grid(self) -> Grid:
        """The events."""
        return self.query_one("#rows", Grid)

    @property
    def _book(self) -> SeasonBook:
        from paddock.folders.booking import SeasonBook

        book, home = self.desk.season_book, self.desk.open_session.path.parent
        if book is None or book.path.parent != home:
            self.desk.season_book = book = SeasonBook(home)
        return book

    def _picked(self) -> Booking | None:
        at = int(self.grid.picked or "-1")
        events = self._season.events if self._season else ()
        return events[at] if 0 <= at < len(events) else None

    # showing

    def show_event(self) -> None:
        """The list as the file has it now."""
        from paddock.pages.bookings import bookings_table, money_words
        from paddock.store.tables_out import season_file

        self._season, problems = season_file(self.desk.open_session.path.parent)
        self._fault = f"season.toml:{problems[0].line}: {problems[0].message}" if problems else ""
        head = line((f"! {self._fault}", "warn")) if self._fault else line((money_words(self._season), "strong"))
        self.query_one("#head", Board).show([head])
        table = bookings_table(self._season, self.desk.now().date())
        self.grid.show_table(table)
        self.take_first(self.grid, [row.id for row in table.rows])
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """Another event in hand."""
        from paddock.pages.bookings import NONE, booking_page
        from paddock.pages.document import Document, words

        found = self._picked()
        page = Document("booked", (words(NONE),))
        if found is not None and self._season is not None:
            page = booking_page(found, self._season, self.desk.now().date())
        asked = self.asked_lines(self.columns) if self.asking is not None else []
        self.query_one("#under", Board).show(asked or lines(page, self.columns))

    # asking

    def _form(self, was: Booking | None) -> list[Question]:
        from paddock.entry.event import days_text, read_days
        from paddock.entry.season import read_booked_name, read_closing, read_fee, read_paid, read_runs_a_day
        from paddock.pages.bookings import paid_words
        from paddock.pages.season import figure

        def now(text: object) -> str:
            return "" if text is None else f"{text}"

        def closing(text: str) -> object:
            days = self._answers.get("days")
            return read_closing(text, days if isinstance(days, tuple) else ())

        name, days = (was.name or "", days_text(was.days)) if was else ("", "")
        fee = "" if was is None or was.fee is None else figure(was.fee)
        return [
            Question("name", "event", "what it is called", name, needed=not name, read=read_booked_name),
            Question("days", "days", "2026-10-03, or 2026-10-03 +1", days, needed=not days, read=read_days),
            Question("runs_per_day", "runs a day", "4", now(was and was.runs_per_day), read=read_runs_a_day),
            Question("fee", "fee", "62.50", fee, read=read_fee),
            Question("paid", "paid", "yes or no", paid_words(was) if was else "", read=read_paid),
            Question("closes", "entries close", "2026-09-20", now(was and was.closes), read=closing),
        ]

    def action_book(self) -> None:
        """Ask what."""
        from paddock.actions.season import book

        if self.desk.session is not None:
            self._making = book
            self.ask(self._form(None))

    def accept_nothing(self) -> None:
        """Change the event in hand."""
        from paddock.actions.season import change_booking

        found = self._picked()
        if found is None:
            self.action_book()
            return
        self._making = lambda said: change_booking(found, said)
        self.ask(self._form(found))

    def action_paid(self) -> None:
        """Paid, or not."""
        from paddock.actions.season import change_booking

        found = self._picked() if self.desk.session is not None else None
        if found is not None:
            self._done(lambda: self._book.do(change_booking(found, {"paid": not found.paid})), "saved")

    def action_cancel(self) -> None:
        """Ask once more."""
        found = self._picked() if self.desk.session is not None else None
        if found is not None:
            self.ask([Question("sure", "cancel it", "yes, or no", "no", read=one_of(yes="yes", no="no"))])

    def accept_line(self, value: str) -> None:
        """Letters begin nothing here."""
        self.tell(f"{value!r}: Enter changes the event in hand, and the line is for the answers", loud=True)

    def asked(self, answers: Mapping[str, Any]) -> None:
        """A new event, a changed one, or a yes."""
        from paddock.actions.season import cancel

        found, making = self._picked(), self._making
        self._making = None
        if "sure" in answers:
            if answers["sure"] == "yes" and found is not None:
                self._done(lambda: self._book.do(cancel(found)), "saved")
            else:
                self.tell("it stays booked")
        elif making is not None and answers:
            self._done(lambda: self._book.do(making(answers)), "saved")

    # saving

    def _done(self, what: Callable[[], str], said: str) -> None:
        try:
            told, loud = f"{said}: {what()}", False
        except PaddockError as error:
            told, loud = str(error), True
        self.refresh_page()
        self.tell(told, loud=loud, stays=not loud)

    def action_undo(self) -> None:
        """Take the last thing done here back."""
        self._done(lambda: self._book.undo(), "undone")

    def action_redo(self) -> None:
        """Do it again."""
        self._done(lambda: self._book.redo(), "done again")
