"""The last pressures of an entry's car, and how far they are from the target and the limits."""

from __future__ import annotations

from dataclasses import dataclass, replace

from paddock.engine.pressure.limits import cold_maximum, fitted_tyres
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow, RunRow, WeatherRow

__all__ = [
    "ColdWanted", "Corner", "Readings", "cold_wanted", "first_of_day", "max_cold_psi", "next_moment", "readings",
    "surface_now",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner. ``off_psi``: reading less target; ``gain_psi``: reading less the last cold one; None: not known."""

    corner: str
    psi: float | None
    target_psi: float | None
    off_psi: float | None
    gain_psi: float | None


@dataclass(frozen=True, slots=True)
class Readings:
    """The newest record and its four corners. ``moment`` None: nothing recorded yet.

    ``cold``: the targets are those of the cold plan, "" = they are hot ones; ``why``: why there is no cold plan.
    """

    moment: str | None
    run: int | None
    at: str | None
    corners: tuple[Corner, ...]
    cold: str = ""
    why: str = ""

    def of(self, corner: str) -> Corner:
        """The corner of a name."""
        return next(item for item in self.corners if item.corner == corner)


def _rows(event: Event, number: str, day: int | None) -> list[PressureRow]:
    cars = set(event.numbers_of_car(number))
    rows = [row for row in event.of(PressureRow) if row.number in cars and (day is None or row.day == day)]
    order = {"cold": 0, "before": 1, "after": 2, "set": 3}
    return sorted(rows, key=lambda row: (row.day, row.run or 0, order[row.moment], row.at or ""))


def surface_now(event: Event, number: str, day: int) -> str | None:
    """The surface as last written down, from the weather or my runs of the day; None: not said."""
    seen = [(row.at or "", row.surface) for row in event.of(WeatherRow) if row.day == day and row.surface]
    seen += [
        (row.at or "", row.surface) for row in event.of(RunRow)
        if row.day == day and row.number == number and row.surface
    ]  # fmt: skip
    return max(seen, key=lambda item: item[0])[1] if seen else None


def _target(event: Event, number: str, day: int, corner: str) -> float | None:
    car = event.car_of(number)
    target = car.target(surface_now(event, number, day)) if car else None
    if target is None:
        return None
    return target.front_psi if corner.endswith("f") else target.rear_psi


def _less(value: float | None, base: float | None) -> float | None:
    return None if value is None or base is None else value - base


@dataclass(frozen=True, slots=True)
class ColdWanted:
    """``psi``: what each corner is to be set to cold; ``how``: for what, in words."""

    psi: dict[str, float]
    how: str


def first_of_day(event: Event, number: str, day: int) -> bool:
    """The car has not run on this day."""
    cars = set(event.numbers_of_car(number))
    return not any(row.day == day and row.number in cars and row.status != "dns" for row in event.times)


def cold_wanted(event: Event, number: str, day: int) -> ColdWanted | str:
    """The cold plan of the day's first run, psi as the gauge in use reads; why there is none."""
    from paddock.engine.pressure.plan import first_run_plan

    plan = first_run_plan(event, number, surface=surface_now(event, number, day))
    if isinstance(plan, str):
        return plan
    gauge = event.settings.gauge_of(None)
    offset = gauge.offset_psi if gauge else 0.0
    psi = {corner: value + offset for corner in CORNERS if (value := plan.cold_of(corner)) is not None}
    return ColdWanted(psi, f"the cold plan at {plan.air_c:.0f} °C") if psi else plan.front.why or plan.rear.why


def readings(event: Event, number: str, day: int) -> Readings:
    """The newest readings of the day, corner by corner; the cold ones of the day are what a gain is from.

    With nothing read, or a cold reading before the day's first run, the targets are those of the cold plan: a cold
    tyre is never compared with a hot target.
    """
    rows = _rows(event, number, day)
    newest = rows[-1] if rows else None
    cold = next((row for row in reversed(rows) if row.moment == "cold"), None)
    corners = tuple(_corner(event, number, day, corner, newest, cold) for corner in CORNERS)
    found = Readings(
        newest.moment if newest else None, newest.run if newest else None, newest.at if newest else None, corners
    )
    still_cold = newest is None or newest.moment == "cold"
    return _cold_readings(event, number, day, found) if still_cold and event.car_of(number) else found


def _cold_readings(event: Event, number: str, day: int, found: Readings) -> Readings:
    plan = cold_wanted(event, number, day)
    psi = {} if isinstance(plan, str) else plan.psi
    corners = tuple(
        replace(item, target_psi=psi.get(item.corner), off_psi=_less(item.psi, psi.get(item.corner)))
        for item in found.corners
    )
    return replace(found, corners=corners, cold="cold plan", why=plan if isinstance(plan, str) else "")


def _corner(
    event: Event, number: str, day: int, corner: str, newest: PressureRow | None, cold: PressureRow | None
) -> Corner:
    psi = getattr(newest, f"{corner}_psi") if newest else None
    base = getattr(cold, f"{corner}_psi") if cold and newest and newest.moment != "cold" else None
    target = _target(event, number, day, corner)
    return Corner(corner, psi, target, _less(psi, target), _less(psi, base))


def next_moment(event: Event, number: str, day: int) -> tuple[str, int | None]:
    """What is likely measured now, and for which run: cold before the first run, after a run, then set."""
    done = [
        row.run for row in event.times
        if row.day == day and row.number in set(event.numbers_of_car(number)) and row.status != "dns"
    ]  # fmt: skip
    mine = [row.run for row in event.times if row.day == day and row.number == number and row.status != "dns"]
    rows = [row for row in _rows(event, number, day) if row.number == number]
    if not done:
        return ("cold", None) if not any(row.moment == "cold" for row in rows) else ("set", None)
    run = max(mine, default=None)
    after = any(row.moment == "after" and row.run == run for row in rows)
    return ("set" if after else "after"), run


def max_cold_psi(event: Event, number: str, day: int, run: int | None) -> dict[str, tuple[float, str]]:
    """Each corner's cold maximum, psi, and whose: the lowest of tyre, wheel and car; a corner without isn't in."""
    car = event.car_of(number)
    tyres = fitted_tyres(event, event.numbers_of_car(number), (day, run or 999))
    found: dict[str, tuple[float, str]] = {}
    for corner in CORNERS:
        tyre = tyres.get(corner)
        limit = cold_maximum(car, tyre)
        if limit is not None:
            own = tyre is not None and tyre.max_cold_psi == limit
            found[corner] = (limit, f"tyre {tyre.tyre}" if own and tyre else "the car file")
    return found
