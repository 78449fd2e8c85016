"""Cold pressures for another place and forecast: what to set for the hot target there.

One plan for every question about cold pressures (``paddock.engine.pressure.plan``): the hot target carried down by
the rise each axle's tyres have over the air in a first run, inside the limits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.pressure.plan import AxlePlan, next_event_plan
from paddock.engine.pressure.reasons import Reason
from paddock.model.event import Event

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
