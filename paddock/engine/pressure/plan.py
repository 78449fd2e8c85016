"""The cold plan: what to set for a first run, here or at another altitude and forecast."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt
from statistics import mean, stdev
from typing import Literal

from paddock.engine.pressure.air import AirState, ambient_pa, carry
from paddock.engine.pressure.corners import AXLES, Reason, because
from paddock.engine.pressure.heat import CarHeat, heat_of
from paddock.engine.pressure.limits import (
    cold_maximum,
    fitted_tyres,
    least_psi,
    minimum,
    most_psi,
    parked_hot_c,
    placard,
)
from paddock.engine.pressure.mass import AirTrack, Step
from paddock.engine.pressure.signs import like_surface, warmth_of
from paddock.engine.pressure.timeline import REST_MIN, TimedRun
from paddock.model.car import Car, FirstRun, Target
from paddock.model.event import Event
from paddock.model.rows import TyreRow

USUAL_RISE_K = {"dry": (20.0, 8.0), "damp": (8.0, 4.0), "wet": (5.0, 3.0)}
"""What a first run warms a tyre of a car that was never read, and by how much that may be off, K: common practice, no
source."""

_ONE_READ_K, _LEAST_K, _HALF_80 = 4.0, 1.5, 1.2816


@dataclass(frozen=True, slots=True)
class Rise:
    """K that a first run warms an axle's tyres over the air, and the range it likely is in.

    ``source``: ``read`` after the car's own first runs (``runs`` of them), carried in the ``car`` file, read at an
    ``earlier`` event, from the heat ``fit``, the ``usual`` one of any car, or ``between`` that of damp and of dry.
    """

    k: float
    low_k: float
    high_k: float
    source: Literal["read", "car", "earlier", "fit", "usual", "between"]
    runs: int = 0


@dataclass(frozen=True, slots=True)
class AxlePlan:
    """``cold_psi``: set it at air temperature, None = can't be told (``why``); ``hot_psi``: wanted after the first run.

    ``low_psi``, ``high_psi``: the cold figures that the rise's range would ask for. ``capped``: a limit stood in the
    way, ``why`` says which. ``caution``: a placard it is under, None = none.
    """

    axle: str
    hot_psi: float | None
    cold_psi: float | None
    rise: Rise | None
    why: Reason | None = None
    capped: bool = False
    low_psi: float | None = None
    high_psi: float | None = None
    caution: Reason | None = None


@dataclass(frozen=True, slots=True)
class ColdPlan:
    """Both axles for one place and air. ``air_c`` C; ``ambient_pa`` Pa; ``now_psi``: as the axles would read there."""

    air_c: float
    ambient_pa: float
    front: AxlePlan
    rear: AxlePlan
    now_psi: Mapping[str, float | None] = field(default_factory=dict)

    def of(self, axle: str) -> AxlePlan:
        """The plan of an axle."""
        return self.front if axle == "front" else self.rear

    def cold_of(self, corner: str) -> float | None:
        """What to set a corner to, psi at ``air_c``; None: can't be told."""
        return (self.front if corner in AXLES["front"] else self.rear).cold_psi


def _limited(
    axle: str, hot: float, rise: Rise, state: AirState, car: Car | None, tyres: Mapping[str, TyreRow],
    hottest_c: float | None, coldest_c: float | None,
) -> AxlePlan:  # fmt: skip
    """The cold set inside the limits of both tyres of the axle."""

    def cold(k: float) -> float:
        return carry(hot, AirState(state.temp_c + k, state.ambient_pa), state)

    wanted = cold(rise.k)
    maxima = (cold_maximum(car, tyres.get(corner)) for corner in AXLES[axle])
    known = [value for value in maxima if value is not None]
    hottest = parked_hot_c(state.temp_c, *([] if hottest_c is None else [hottest_c]))
    high = most_psi(min(known), hottest, state) if known else None
    least = minimum(car, axle, *(tyres.get(corner) for corner in AXLES[axle]))
    coldest = state.temp_c if coldest_c is None else min(coldest_c, state.temp_c)
    low = None if least is None else least_psi(least, coldest, state)
    if low is not None and high is not None and low > high:
        return AxlePlan(axle, hot, None, rise, because("plan-impossible"))
    road = placard(car, axle)
    caution = None
    if least is None and road is not None and wanted < road:
        caution = because("under-placard", axle=axle, psi=road)
    found = AxlePlan(axle, hot, wanted, rise, low_psi=cold(rise.high_k), high_psi=cold(rise.low_k), caution=caution)
    if high is not None and wanted > high:
        return AxlePlan(axle, hot, high, rise, because("plan-held-down", air_c=hottest), True, caution=caution)
    if low is not None and wanted < low:
        tyres_own = least != minimum(car, axle)
        why = because("plan-held-up", tyres=tyres_own, coldest_c=coldest if coldest < state.temp_c else None)
        return AxlePlan(axle, hot, low, rise, why, True)
    return found


def cold_plan(
    car: Car | None,
    surface: str | None,
    state: AirState,
    rises: Mapping[str, Rise],
    tyres: Mapping[str, TyreRow] | None = None,
    hottest_c: float | None = None,
    coldest_c: float | None = None,
    now: Mapping[str, float | None] | None = None,
    more: float = 0.0,
) -> ColdPlan:
    """What to set cold in ``state`` so that the first run ends at the hot target of ``surface`` (plus ``more``).

    The cold maximum holds in the hottest air expected, never under 20 C; the written minimum in the coldest, None: in
    ``state``. A placard that stands in for a minimum only cautions: the target is written. ``now``: what each axle
    would read in ``state`` as it is, psi.
    """
    target = (car.target(surface) if car else None) or Target()
    plans = {}
    for axle in AXLES:
        hot: float | None = getattr(target, f"{axle}_psi")
        if hot is None:
            plans[axle] = AxlePlan(
                axle, None, None, rises.get(axle), because("no-target", target=like_surface(surface))
            )
        else:
            plans[axle] = _limited(axle, hot + more, rises[axle], state, car, tyres or {}, hottest_c, coldest_c)
    return ColdPlan(state.temp_c, state.ambient_pa, plans["front"], plans["rear"], now or {})


def _first_runs(track: AirTrack, surface: str) -> list[Step]:
    """The readings after a first run of a day, or after a break, on a like surface, tyres not warmed before it."""
    found = []
    runs = {item.runs_before: item for item in track.log.runs}
    warmed = {step.reading.timed.runs_before for step in track.steps if step.reading.warmed and step.reading.row.run}
    for step in track.steps:
        timed = step.reading.timed
        run, before = runs.get(timed.runs_before - 1), runs.get(timed.runs_before - 2)
        if step.reading.moment != "after" or run is None or run.day != timed.day or not isinstance(run.what, TimedRun):
            continue
        if not run.what.finished:
            continue
        rested = timed.runs_today == 1
        if not rested and before is not None and before.clock is not None and run.clock is not None:
            rested = run.clock - before.clock > REST_MIN
        log = run.what.log
        soon = step.reading.since_min is None or step.reading.since_min <= REST_MIN
        if rested and soon and run.runs_before not in warmed and warmth_of(log.surface if log else None) == surface:
            found.append(step)
    return found


def first_run_rises(track: AirTrack, axle: str, surface: str | None) -> list[float]:
    """K over the air that the car's own first runs on a like surface ended at, in order."""
    found = []
    for step in _first_runs(track, warmth_of(surface)):
        air_c = step.reading.air_c
        known = [corner for name in AXLES[axle] if (corner := step.corners[name]).temp_c is not None]
        measured = [corner.temp_c for corner in known if corner.temp_from == "measured" and corner.temp_c is not None]
        inside = [corner.gas_c for corner in known if corner.read and corner.gas_c is not None]
        temps = inside or measured
        if air_c is not None and temps:
            found.append(sum(temps) / len(temps) - air_c)
    return found


def _read(rises: Sequence[float], source: Literal["read", "earlier"] = "read") -> Rise | None:
    if not rises:
        return None
    half, middle = _ONE_READ_K, mean(rises)
    if len(rises) > 1:
        half = max(_LEAST_K, _HALF_80 * stdev(rises) * sqrt(1 + 1 / len(rises)))
    return Rise(middle, max(0.0, middle - half), middle + half, source, len(rises))


def _between(damp: Rise, dry: Rise) -> Rise:
    """Halfway, from the one to the other."""
    low, high = sorted((damp.k, dry.k))
    return Rise((low + high) / 2, low, high, "between")


def _earlier(name: str | None, like: str, past: Sequence[Event], known: Mapping[str, Rise]) -> dict[str, Rise]:
    """What the latest earlier event with first runs of that car on a like surface says of the other axles."""
    found: dict[str, Rise] = {}
    for other in reversed(past):
        wanting = [axle for axle in AXLES if axle not in known and axle not in found]
        if name is None or not wanting:
            break
        same = [item for item in other.settings.mine.numbers if other.car_name_of(item) == name]
        track = heat_of(other, same[0], ranges=False).track if same else None
        for axle in wanting:
            if track is not None and (old := _read(first_run_rises(track, axle, like), "earlier")):
                found[axle] = old
    return found


def known_rises(
    event: Event, number: str, heat: CarHeat, surface: str | None = None, past: Sequence[Event] = ()
) -> dict[str, Rise]:
    """What a first run warms each axle: as this car's own first runs on a like surface read here; carried in the car
    file (dry); read at the latest of ``past``; as its heat fit has it on the surface of its runs; else the usual one,
    on a drying surface halfway between that of a damp and of a dry one.
    """
    car, like, name = event.car_of(number), warmth_of(surface), event.car_name_of(number)
    carried = car.first_run if car is not None else FirstRun()
    found: dict[str, Rise] = {}
    for axle in AXLES:
        rise = _read(first_run_rises(heat.track, axle, like))
        kept: float | None = getattr(carried, f"{axle}_rise_k")
        if rise is None and kept is not None and like == "dry":
            rise = Rise(kept, max(0.0, kept - _ONE_READ_K), kept + _ONE_READ_K, "car")
        if rise is not None:
            found[axle] = rise
    found = _earlier(name, like, past, found) | found
    if like == "drying":
        damp, dry = (known_rises(event, number, heat, word, past) for word in ("damp", "dry"))
        return {axle: _between(damp[axle], dry[axle]) for axle in AXLES} | found
    for axle, item in heat.axles.items():
        if axle not in found and item.fit is not None and like == heat.surface:
            found[axle] = Rise(item.fit.rise_k, max(0.0, item.fit.rise_low), item.fit.rise_high, "fit", item.fit.pairs)
        if axle not in found:
            k, half = USUAL_RISE_K[like]
            found[axle] = Rise(k, k - half, k + half, "usual")
    return found


def rise_over_air(track: AirTrack, axle: str) -> float | None:
    """Median of the tyre's temperature less the air's after a run, K; None without such a reading.

    Measured temperatures go before inferred ones, which drift where a setting was made minutes after the reading.
    """
    measured, inferred = [], []
    for step in track.steps:
        air = step.reading.air_c
        corners = [step.corners[corner] for corner in AXLES[axle]]
        temps = [(corner.temp_c, corner.temp_from) for corner in corners if corner.temp_c is not None]
        if step.reading.moment == "after" and air is not None and not step.reading.rested:
            measured += [temp - air for temp, source in temps if source == "measured"]
            inferred += [temp - air for temp, source in temps if source != "measured"]
    rises = sorted(measured or inferred)
    middle = len(rises) // 2
    return None if not rises else rises[middle] if len(rises) % 2 else (rises[middle - 1] + rises[middle]) / 2


def axles_now(track: AirTrack, state: AirState) -> dict[str, float | None]:
    """What each axle would read in ``state`` as it was last left, psi."""
    found: dict[str, float | None] = {}
    for axle, pair in AXLES.items():
        read = [track.latest.corners[corner].at(state.temp_c, state.ambient_pa) for corner in pair if track.latest]
        known = [value for value in read if value is not None]
        found[axle] = sum(known) / len(known) if known else None
    return found


def next_event_plan(
    event: Event, number: str, altitude_m: float | None, air_c: float, station_hpa: float | None = None,
    hottest_c: float | None = None, surface: str | None = None, coldest_c: float | None = None,
    past: Sequence[Event] = (),
) -> ColdPlan:  # fmt: skip
    """The cold plan for another place and forecast, with the heat and the limits learned here.

    ``altitude_m`` None: sea level. ``coldest_c``: the minimum holds there, None: at ``air_c``.
    """
    state, heat = AirState(air_c, ambient_pa(altitude_m, station_hpa)), heat_of(event, number)
    tyres = fitted_tyres(event, event.numbers_of_car(number), (heat.track.log.day or 1, 999))
    return cold_plan(
        event.car_of(number), surface, state, known_rises(event, number, heat, surface, past), tyres,
        air_c if hottest_c is None else max(hottest_c, air_c), coldest_c, axles_now(heat.track, state),
    )  # fmt: skip


LADDER_C = (5.0, 15.0, 25.0)
"""Air temperatures worked out where no forecast is known."""


@dataclass(frozen=True, slots=True)
class SitePlace:
    """Where and in what the car will run. None: not known (altitude then is sea level)."""

    altitude_m: float | None = None
    coldest_c: float | None = None
    hottest_c: float | None = None

    @property
    def airs(self) -> tuple[float, ...]:
        """The air temperatures to answer for."""
        known = dict.fromkeys(value for value in (self.coldest_c, self.hottest_c) if value is not None)
        return tuple(known) or LADDER_C


@dataclass(frozen=True, slots=True)
class ColdSet:
    """One axle at one air temperature. ``now_psi``: what is in would read there, None: not known.

    ``set_psi`` None: can't be told; ``limit`` says what held it, None: nothing did.
    """

    axle: str
    air_c: float
    target_psi: float
    rise_k: float | None
    now_psi: float | None
    set_psi: float | None
    limit: Reason | None = None


def _set(plan: AxlePlan, air_c: float, now_psi: float | None) -> ColdSet | None:
    if plan.hot_psi is None:
        return None
    return ColdSet(plan.axle, air_c, plan.hot_psi, plan.rise.k if plan.rise else None, now_psi, plan.cold_psi, plan.why)


def cold_sets(event: Event, number: str, place: SitePlace) -> Sequence[ColdSet]:
    """For the dry target of the car of ``number``, each axle in each air; empty where no target is known.

    ``event`` is the one with the readings; ``place`` the one to go to. The figures are those of ``next_event_plan``.
    """
    if event.car_of(number) is None:
        return ()
    found: list[ColdSet] = []
    for air_c in place.airs:
        plan = next_event_plan(
            event, number, place.altitude_m, air_c, hottest_c=place.hottest_c, coldest_c=place.coldest_c
        )
        sets = [_set(item, air_c, plan.now_psi.get(item.axle)) for item in (plan.front, plan.rear)]
        found += [item for item in sets if item is not None]
    return tuple(found)
