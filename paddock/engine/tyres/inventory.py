"""Every tyre of mine with its runs, wear, runs left, age and cost."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from paddock.engine.tyres.counts import FittedPlace, Use, fitted_now, heat_cycles, my_cars, uses
from paddock.engine.tyres.scatter import scatter_of
from paddock.engine.tyres.wear import (
    Life,
    Rates,
    Stretch,
    by_tyre,
    edges_of,
    life_of,
    observe,
    rates_of,
    stretches,
    turned_over,
)
from paddock.model.event import Event
from paddock.model.rows import TyreRow

# the age of a tyre from the date code on its wall


_FOUR = re.compile(r"(\d{2})(\d{2})")


@dataclass(frozen=True, slots=True)
class MadeIn:
    """The week of making; ``first_day`` is its Sunday."""

    week: int
    year: int
    first_day: date


def _digits(code: str) -> str:
    """The date part: the last group, or the last four of a whole identification number."""
    last = (code.split() or [""])[-1].upper()
    whole_number = len(last) in range(10, 14) and last.isalnum() and last[-4:].isdigit()
    return last[-4:] if whole_number else last


def _week_start(week: int, year: int) -> date | None:
    new_year = date(year, 1, 1)
    first_sunday = new_year + timedelta(days=(6 - new_year.weekday()) % 7)
    start = first_sunday + timedelta(weeks=week - 1)
    return start if week >= 1 and start.year == year else None


def made_in(code: str | None) -> MadeIn | None:
    """The week a tyre was made in, None where the code doesn't say it for certain."""
    found = _FOUR.fullmatch(_digits(code or ""))
    if found is None:
        return None
    week, year = int(found[1]), 2000 + int(found[2])
    start = _week_start(week, year)
    return MadeIn(week, year, start) if start else None


def age_years(code: str | None, on: date) -> float | None:
    """Years from the week of making to ``on``; None: not known, or made after ``on``."""
    made = made_in(code)
    if made is None or made.first_day > on:
        return None
    return (on - made.first_day).days / 365.25


def code_question(code: str | None, on: date | None) -> str | None:
    """What to ask about a date code, None where it is blank or plain."""
    if not code:
        return None
    digits = _digits(code)
    if re.fullmatch(r"\d{3}", digits):
        return (
            f"date code {code}: three digits name no decade (made before 2000), or a spreadsheet dropped a leading "
            "zero; no age is worked out: read the wall again and write four digits like 0926"
        )
    made = made_in(code)
    if made is None:
        return f"date code {code}: write week and year as four digits, like 0926 for week 9 of 2026"
    if on is not None and made.first_day > on:
        return f"date code {code}: week {made.week} of {made.year} is after the event; read the wall again"
    return None


@dataclass(frozen=True, slots=True)
class TyreState:
    """One tyre now.

    ``runs``: before and in this event; ``event_runs`` and ``runs_by_corner``: in this event. ``cycles``: times warmed
    from cold in this event. ``place`` None: not on a car; ``car`` then is the last it ran on, None: none.
    ``wear``: where it is or last was. ``read_mm``: edge to its deepest reading here. ``age_years``,
    ``cost_per_run`` None: not known.
    """

    tyre: str
    row: TyreRow | None = None
    car: str | None = None
    place: FittedPlace | None = None
    runs: int = 0
    event_runs: int = 0
    runs_by_corner: Mapping[str, int] = field(default_factory=dict)
    cycles: int = 0
    age_years: float | None = None
    wear: Rates = field(default_factory=dict)
    life: Life = field(default_factory=Life)
    read_on_day: int | None = None
    runs_since_reading: int = 0
    read_mm: Mapping[str, float] = field(default_factory=dict)

    @property
    def cost_per_run(self) -> float | None:
        """Price over the runs of its whole life as expected now."""
        price = self.row.price if self.row else None
        if price is None or self.life.runs is None or self.runs + self.life.runs <= 0:
            return None
        return price / (self.runs + self.life.runs)


@dataclass(frozen=True, slots=True)
class Inventory:
    """``cars``: car to corner to tyre, as fitted now."""

    tyres: tuple[TyreState, ...]
    cars: Mapping[str, Mapping[str, str]]

    def of(self, tyre: str) -> TyreState | None:
        """The state of a tyre."""
        return next((item for item in self.tyres if item.tyre == tyre), None)


def _names(event: Event, used: Iterable[Use], fitted: Iterable[str]) -> list[str]:
    rows = [row.tyre for row in event.of(TyreRow)]
    return list(dict.fromkeys([*rows, *(use.tyre for use in used), *fitted, *by_tyre(event)]))


def _last_day(event: Event) -> date | None:
    return max(event.settings.days, default=None)


def _depth_now(
    event: Event, tyre: str, run_of: Sequence[Use], place: FittedPlace | None
) -> tuple[dict[str, float], int, int]:
    """Last reading with the names its edges have now, its day, and the runs since; ({}, 0, 0) with none."""
    rows = by_tyre(event).get(tyre, [])
    if not rows:
        return {}, 0, 0
    last = rows[-1]
    since = [use for use in run_of if use.run.day > last.day]
    done = [use for use in run_of if use.run.day <= last.day]
    then = done[-1].place if done else (since[0].place if since else place)
    edges = edges_of(last)
    if then is not None and place is not None and then.turned != place.turned:
        edges = turned_over(edges)
    return edges, last.day, len(since)


def _deepest(event: Event, tyre: str) -> dict[str, float]:
    found: dict[str, float] = {}
    for row in by_tyre(event).get(tyre, []):
        for edge, depth in edges_of(row).items():
            found[edge] = max(depth, found.get(edge, depth))
    return found


def _wear(event: Event, worn: Sequence[Stretch], tyre: str, kind: str | None, car: str, place: FittedPlace) -> Rates:
    """From tyres of the same kind; those of another only where these say nothing."""
    scatter = scatter_of(part for part in worn if part.car == car and part.place is not None)
    same, other = (
        observe((part for part in worn if (part.kind == kind) is alike), car, scatter) for alike in (True, False)
    )
    file = event.cars.get(car)
    return rates_of(same, tyre, place.axle, other, file.drive if file else None, scatter)


def _state(
    event: Event, tyre: str, run_of: Sequence[Use], fitted: tuple[str, FittedPlace] | None,
    worn: Sequence[Stretch],
) -> TyreState:  # fmt: skip
    row = next((item for item in event.of(TyreRow) if item.tyre == tyre), None)
    last = run_of[-1] if run_of else None
    car = fitted[0] if fitted else (last.car if last else None)
    place = fitted[1] if fitted else (last.place if last else None)
    depth, day, since = _depth_now(event, tyre, run_of, place)
    wear = _wear(event, worn, tyre, row.kind if row else None, car, place) if car and place else {}
    on = _last_day(event)
    return TyreState(
        tyre=tyre,
        row=row,
        car=car,
        place=fitted[1] if fitted else None,
        runs=(row.runs_before or 0 if row else 0) + len(run_of),
        event_runs=len(run_of),
        runs_by_corner=dict(Counter(use.place.corner for use in run_of)),
        cycles=heat_cycles(use.run for use in run_of),
        age_years=age_years(row.date_code, on) if row and on else None,
        wear=wear,
        life=life_of(depth, since, wear, row.floor_mm if row else None),
        read_on_day=day if depth else None,
        runs_since_reading=since,
        read_mm=_deepest(event, tyre),
    )


def inventory(event: Event, past: Iterable[Event] = ()) -> Inventory:
    """All tyres in the order of ``tyres.csv``. ``past``: earlier events with the same cars, for their wear."""
    used = uses(event)
    run_of: dict[str, list[Use]] = {}
    for use in used:
        run_of.setdefault(use.tyre, []).append(use)
    placed = {car: fitted_now(event, numbers) for car, numbers in my_cars(event).items()}
    where = {tyre: (car, place) for car, held in placed.items() for tyre, place in held.values()}
    worn = [part for old in (*past, event) for part in stretches(old)]
    tyres = [_state(event, tyre, run_of.get(tyre, []), where.get(tyre), worn)
             for tyre in _names(event, used, where)]  # fmt: skip
    cars = {car: {corner: tyre for corner, (tyre, _) in held.items()} for car, held in placed.items()}
    return Inventory(tuple(tyres), cars)
