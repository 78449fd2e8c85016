"""When to order: the booked event that the tyres won't last through, less the days of delivery."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from paddock.engine.tyres.counts import car_runs, count_of, my_cars
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import Proposal
from paddock.model.event import Event
from paddock.model.season import Booking

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


def _runs_out_at(left: float, here: float, coming: Sequence[Coming]) -> tuple[bool, Coming | None]:
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


def _late(order_by: date, event: Event) -> str:
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
    out, item = _runs_out_at(min(lows), here, coming) if lows else (False, None)
    if not out or item is None or item.first_day == UNBOOKED:
        return ""
    order_by = _order_by(item, states)
    return f" To be safe ({int(min(lows))} at the low end): by {order_by}, for {item.name}." if order_by else ""


def _spares(inventory: Inventory, states: Sequence[TyreState]) -> str:
    sizes = {state.row.size for state in states if state.row}
    spare = [
        item.tyre
        for item in inventory.tyres
        if item.place is None and item.row and item.row.size in sizes and item.row.size and item.life.runs != 0
    ]
    return f" Not fitted and of that size: {', '.join(spare)}." if spare else ""


def _buy(due: _Due, event: Event, inventory: Inventory, here: float, coming: Sequence[Coming]) -> Proposal:
    tyres = tuple(state.tyre for state in due.states)
    head = f"{' and '.join(tyres)}: about {count_of(_left(due.states))} left"
    tail = _price(due.states) + _spares(inventory, due.states)
    if due.coming is None:
        end = "this event still asks more" if here else "nothing above the floor"
        return Proposal("buy", tyres, f"{head}, {end}: have others before the next run.{tail}")
    if due.coming.first_day == UNBOOKED:
        end = f"fewer than another event like this asks ({due.coming.runs:.0f})"
        return Proposal("buy", tyres, f"{head}, {end}: book it in season.toml for the day to order.{tail}")
    order_by = _order_by(due.coming, due.states)
    what = f"{head}, not enough through {due.coming.name} on {due.coming.first_day}"
    if order_by is None:
        return Proposal("buy", tyres, f"{what}: say delivery_days in tyres.csv for the day to order.{tail}")
    early = _earliest(due.states, here, coming)
    same = f"by {order_by}, for" in early
    sentence = f"{what}: order by {order_by}.{'' if same else early}{_late(order_by, event)}{tail}"
    return Proposal("buy", tyres, sentence, order_by=order_by)


def _axles(held: Mapping[str, str], inventory: Inventory) -> Iterator[tuple[TyreState, ...]]:
    """The tyres of each axle: they are bought together (common practice, no source)."""
    for end in "fr":
        states = [inventory.of(tyre) for corner, tyre in held.items() if corner[1] == end]
        known = tuple(state for state in states if state is not None)
        if any(state.life.runs is not None for state in known):
            yield known


def _left(states: Iterable[TyreState]) -> float:
    return min(state.life.runs for state in states if state.life.runs is not None)


def orders(event: Event, inventory: Inventory, bookings: Iterable[Booking] = ()) -> tuple[Proposal, ...]:
    """What to buy for each car, the earliest first; without bookings what won't last one more event like this."""
    bookings, found = tuple(bookings), []
    for car, held in inventory.cars.items():
        here, coming = runs_still_to_come(event, car), coming_events(event, car, bookings)
        for states in _axles(held, inventory):
            out, item = _runs_out_at(_left(states), here, coming)
            if out or _left(states) == 0:
                found.append(_buy(_Due(item, states), event, inventory, here, coming))
    return tuple(sorted(found, key=lambda item: item.order_by or date.min))
