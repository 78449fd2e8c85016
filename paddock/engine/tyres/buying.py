"""When to order: the booked event that the tyres won't last through, less the days of delivery."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING

from paddock.engine.tyres.counts import car_runs, count_of, my_cars, runs_of, whole
from paddock.engine.tyres.inventory import Inventory, TyreState, code_question
from paddock.engine.tyres.wear import EDGES, GROWTH_MM, stretches
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import FittedRow, TreadRow, TyreRow
from paddock.model.season import Booking

if TYPE_CHECKING:
    from paddock.engine.tyres.proposals import TyreProposal

# what can't be so about tyres: asked about, kept in the file, named with its line


def _ask(file: str, line: int, message: str) -> Problem:
    return Problem(file, line, message, "warning")


def _clashes(held: dict[str, FittedRow]) -> Iterator[tuple[FittedRow, FittedRow]]:
    """``(earlier, later)`` rows that put one tyre on two corners; the earlier corner is given up."""
    seen: dict[str, FittedRow] = {}
    for row in sorted(held.values(), key=lambda row: (row.day, row.run or 0, row.line)):
        if row.tyre in seen:
            yield seen[row.tyre], row
            del held[seen[row.tyre].corner]
        seen[row.tyre] = row


def _two_corners(event: Event) -> Iterator[Problem]:
    """A tyre put on a corner while it is still on another that gets no other tyre at that moment."""
    for numbers in my_cars(event).values():
        rows = [row for row in event.of(FittedRow) if row.number in numbers]
        rows.sort(key=_moment)
        held: dict[str, FittedRow] = {}
        for _, group in groupby(rows, key=_moment):
            held |= {row.corner: row for row in group}
            for before, row in _clashes(held):
                yield _ask(
                    row.FILE,
                    row.line,
                    f"tyre {row.tyre} is put on {row.corner} and is still on {before.corner} (line {before.line}): "
                    f"counted on {row.corner}; which is it, and what is on the other corner?",
                )


def _moment(row: FittedRow) -> tuple[int, int]:
    return row.day, row.run or 0


def _growing(event: Event) -> Iterator[Problem]:
    for part in stretches(event):
        for edge in EDGES:
            grown = -part.drop_mm.get(edge, 0.0)
            if grown > 1e-9:
                used = "left out of the wear" if grown > GROWTH_MM else "kept, as a gauge may scatter so much"
                yield _ask(
                    TreadRow.FILE,
                    part.line,
                    f"the {edge} edge of tyre {part.tyre} grew by {grown:.2f} mm from day {part.days[0]} to day "
                    f"{part.days[1]}: {used}; measure again, or was it turned over on its rim (orientation)?",
                )


def _unknown(event: Event) -> Iterator[Problem]:
    known = {row.tyre for row in event.of(TyreRow)}
    named = [(row.FILE, row.tyre, row.line) for row in event.of(FittedRow)]
    named += [(row.FILE, row.tyre, row.line) for row in event.of(TreadRow)]
    first = {(file, tyre): line for file, tyre, line in reversed(named)}
    for (file, tyre), line in first.items():
        if known and tyre not in known:
            yield _ask(file, line, f"tyre {tyre} isn't in tyres.csv: add it, or mend the name")


def _codes(event: Event) -> Iterator[Problem]:
    on = max(event.settings.days, default=None)
    for row in event.of(TyreRow):
        question = code_question(row.date_code, on)
        if question:
            yield _ask(row.FILE, row.line, f"tyre {row.tyre}: {question}")


def _falling(event: Event, past: Iterable[Event]) -> Iterator[Problem]:
    most: dict[str, tuple[int, str]] = {}
    for old in past:
        for tyre, runs in runs_of(old).items():
            most[tyre] = max(most.get(tyre, (0, "")), (runs, old.settings.name or old.name))
    for row in event.of(TyreRow):
        runs, where = most.get(row.tyre, (0, ""))
        if row.runs_before is not None and row.runs_before < runs:
            yield _ask(
                row.FILE,
                row.line,
                f"tyre {row.tyre} has {row.runs_before} runs before this event, but {runs} after {where}: a run count "
                f"can't fall; write {runs}, or give a new tyre a new name",
            )


def questions(event: Event, past: Iterable[Event] = ()) -> tuple[Problem, ...]:
    """Every doubt about the tyres of an event, as warnings. ``past``: events before it."""
    found = [*_two_corners(event), *_growing(event), *_unknown(event), *_codes(event), *_falling(event, past)]
    return tuple(sorted(found))


UNBOOKED = date.max


@dataclass(frozen=True, slots=True)
class Coming:
    """A booked event and the runs one car is expected to make there; ``first_day`` UNBOOKED: one like this."""

    name: str
    first_day: date
    runs: float


@dataclass(frozen=True, slots=True)
class _Due:
    """Tyres that run out at the same event (None: before the end of this one)."""

    coming: Coming | None
    states: tuple[TyreState, ...]


def runs_per_event(event: Event, car: str, days: int, per_day: int | None = None) -> float | None:
    """Runs a car makes in ``days`` days: ``per_day`` an entry, else as planned or made here a day; None: not known."""
    numbers = my_cars(event).get(car, ())
    per_day = per_day or event.settings.runs_per_day
    if per_day is not None:
        return float(per_day * max(len(numbers), 1) * days)
    made = car_runs(event, numbers)
    return len(made) / len({run.day for run in made}) * days if made else None


def runs_still_to_come(event: Event, car: str) -> float:
    """Planned runs on the days of this event that nobody has run yet."""
    latest = max((row.day for row in event.times), default=0)
    return runs_per_event(event, car, max(len(event.settings.days) - latest, 0)) or 0.0


def coming_events(event: Event, car: str, bookings: Iterable[Booking]) -> tuple[Coming, ...]:
    """Booked events after this one, in order of date; with none, one like this without a date."""
    end = max(event.settings.days, default=date.min)
    found = [
        Coming(item.name or item.folder or "the booked event", min(item.days), runs)
        for item in bookings
        if item.days
        and min(item.days) > end
        and (runs := runs_per_event(event, car, len(item.days), item.runs_per_day)) is not None
    ]
    if found:
        return tuple(sorted(found, key=lambda item: item.first_day))
    like_this = runs_per_event(event, car, max(len(event.settings.days), 1))
    return (Coming("another event like this", UNBOOKED, like_this),) if like_this else ()


def runs_out_at(left: float, here: float, coming: Sequence[Coming]) -> tuple[bool, Coming | None]:
    """``(True, None)``: in this event; ``(True, event)``: there; ``(False, None)``: it lasts."""
    left -= here
    if left < 0:
        return True, None
    for item in coming:
        left -= item.runs
        if left < 0:
            return True, item
    return False, None


def _order_by(coming: Coming, states: Sequence[TyreState]) -> date | None:
    """Days of delivery before the first day; the slowest of the tyres; None where none is known."""
    days = [state.row.delivery_days for state in states if state.row and state.row.delivery_days is not None]
    return coming.first_day - timedelta(days=max(days)) if days else None


def too_late(order_by: date, event: Event) -> str:
    end = max(event.settings.days, default=None)
    if end is None or order_by >= end:
        return ""
    return f" That is {(end - order_by).days} days before this event's last day: borrow, or buy from stock."


def _price(states: Sequence[TyreState]) -> str:
    prices = [state.row.price for state in states if state.row and state.row.price is not None]
    return f" {sum(prices):.0f} for {len(states)} at the last price." if len(prices) == len(states) else ""


def _earliest(states: Sequence[TyreState], here: float, coming: Sequence[Coming]) -> str:
    """The cautious date, from the lower end of the range, where it is another."""
    lows = [state.life.low for state in states if state.life.low is not None]
    out, item = runs_out_at(min(lows), here, coming) if lows else (False, None)
    if not out or item is None or item.first_day == UNBOOKED:
        return ""
    order_by = _order_by(item, states)
    return f" To be safe ({whole(min(lows))} at the low end): by {order_by}, for {item.name}." if order_by else ""


def _spares(inventory: Inventory, states: Sequence[TyreState]) -> str:
    sizes = {state.row.size for state in states if state.row}
    spare = [
        item.tyre + ("" if item.age_years is None else f" ({item.age_years:.1f} years old)")
        for item in inventory.tyres
        if item.place is None and item.row and item.row.size in sizes and item.row.size and item.life.runs != 0
    ]
    return f" Not fitted and of that size: {', '.join(spare)}." if spare else ""


def _buy(due: _Due, event: Event, inventory: Inventory, here: float, coming: Sequence[Coming]) -> TyreProposal:
    from paddock.engine.tyres.proposals import TyreProposal

    tyres = tuple(state.tyre for state in due.states)
    head = f"{' and '.join(tyres)}: about {count_of(_left(due.states))} left"
    tail = _price(due.states) + _spares(inventory, due.states)
    if due.coming is None:
        end = "this event still asks more" if here else "nothing above the floor"
        return TyreProposal("buy", tyres, f"{head}, {end}: have others before the next run.{tail}")
    if due.coming.first_day == UNBOOKED:
        end = f"fewer than another event like this asks ({due.coming.runs:.0f})"
        return TyreProposal("buy", tyres, f"{head}, {end}: book it in season.toml for the day to order.{tail}")
    order_by = _order_by(due.coming, due.states)
    what = f"{head}, not enough through {due.coming.name} on {due.coming.first_day}"
    if order_by is None:
        return TyreProposal("buy", tyres, f"{what}: say delivery_days in tyres.csv for the day to order.{tail}")
    early = _earliest(due.states, here, coming)
    same = f"by {order_by}, for" in early
    sentence = f"{what}: order by {order_by}.{'' if same else early}{too_late(order_by, event)}{tail}"
    return TyreProposal("buy", tyres, sentence, order_by=order_by)


def _axles(held: Mapping[str, str], inventory: Inventory) -> Iterator[tuple[TyreState, ...]]:
    """The tyres of each axle: they are bought together (common practice, no source)."""
    for end in "fr":
        states = [inventory.of(tyre) for corner, tyre in held.items() if corner[1] == end]
        known = tuple(state for state in states if state is not None)
        if any(state.life.runs is not None for state in known):
            yield known


def _left(states: Iterable[TyreState]) -> float:
    return min(state.life.runs for state in states if state.life.runs is not None)


def orders(event: Event, inventory: Inventory, bookings: Iterable[Booking] = ()) -> tuple[TyreProposal, ...]:
    """What to buy for each car, the earliest first; without bookings what won't last one more event like this."""
    bookings, found = tuple(bookings), []
    for car, held in inventory.cars.items():
        here, coming = runs_still_to_come(event, car), coming_events(event, car, bookings)
        for states in _axles(held, inventory):
            out, item = runs_out_at(_left(states), here, coming)
            if out or _left(states) == 0:
                found.append(_buy(_Due(item, states), event, inventory, here, coming))
    return tuple(sorted(found, key=lambda item: item.order_by or date.min))
