"""Booked events: when, how many runs, what they cost, paid or not, and what that is a run."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from paddock.entry.event import days_text
from paddock.model.season import Booking, Season, booked_name
from paddock.pages.document import Block, Column, Document, PageTable, TableRow, words
from paddock.pages.season import closing_words, figure
from paddock.words import plural

NONE = (
    "No event is booked. a books one: its name and days, how many runs a day, the fee. When to order tyres and what a "
    "run costs are worked out from it."
)


def bookings_table(season: Season, today: date) -> PageTable:
    """A row an event, by date; its id is its place in the file."""
    columns = (
        Column("event", most=26), Column("days", most=16), Column("runs", figures=True, drop=2),
        Column("fee", figures=True), Column("paid", drop=1), Column("entries", drop=3, most=30),
    )  # fmt: skip
    return PageTable(columns, tuple(_row(at, item, today) for at, item in in_order(season.events)), empty=NONE)


def in_order(events: Sequence[Booking]) -> list[tuple[int, Booking]]:
    """Place in the file and event, by first day; those without one last."""
    return sorted(enumerate(events), key=lambda item: (item[1].days[:1] or (date.max,), item[0]))


def _row(at: int, item: Booking, today: date) -> TableRow:
    closes = "" if item.closes is None or _past(item, today) else closing_words(item.closes, today)
    runs = "" if item.runs_per_day is None else f"{item.runs_per_day}"
    fee = "" if item.fee is None else figure(item.fee)
    cells = (booked_name(item), days_text(item.days), runs, fee, paid_words(item), closes)
    return TableRow(cells, f"{at}")


def paid_words(item: Booking) -> str:
    """Blank where it isn't said."""
    return "" if item.paid is None else "yes" if item.paid else "no"


def _past(item: Booking, today: date) -> bool:
    return bool(item.days) and item.days[-1] < today


def booking_page(item: Booking, season: Season, today: date) -> Document:
    """One event in full."""
    when = f", {_away(item, today)}" if item.days else ""
    blocks: list[Block] = [words((f"{booked_name(item)}{when}", "strong"))]
    runs = item.runs_per_day * len(item.days) if item.runs_per_day and item.days else None
    money = f" {season.currency}" if season.currency else ""
    if item.fee is not None:
        each = f", {figure(round(item.fee / runs, 2))} a run of {runs}" if runs else ""
        blocks.append(words(f"The fee is {figure(item.fee)}{money}{each}{_paid(item)}."))
    if runs is None and item.days:
        blocks.append(words(("Runs a day not said: as many as at the event in hand are taken for the tyres.", "quiet")))
    if not item.points:
        blocks.append(words("It gives no points."))
    return Document("booking", tuple(blocks))


def _paid(item: Booking) -> str:
    return "" if item.paid is None else ", paid" if item.paid else ", not paid yet"


def _away(item: Booking, today: date) -> str:
    ahead = (item.days[0] - today).days
    if ahead > 0:
        return f"in {plural(ahead, 'day')}"
    return "today" if item.days[-1] >= today else "past"


def money_words(season: Season) -> str:
    """All fees in a line; blank without any."""
    fees = [(item.paid, item.fee) for item in season.events if item.fee is not None]
    if not fees:
        return ""
    money = f" {season.currency}" if season.currency else ""
    paid = sum((fee for said, fee in fees if said), Decimal(0))
    rest = sum((fee for said, fee in fees if not said), Decimal(0))
    return f"Fees: {figure(paid)}{money} paid, {figure(rest)}{money} not said to be paid"
