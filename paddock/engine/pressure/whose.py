"""Who still drives the car today, and what is said to one who doesn't; which air the figures of an evening are in."""

from __future__ import annotations

from dataclasses import replace

from paddock.engine.pressure.cautions import road_figures
from paddock.engine.pressure.corners import AXLES, because
from paddock.engine.pressure.decide import Decided
from paddock.engine.pressure.situation import Situation


def for_the_road(s: Situation) -> dict[str, object]:
    """Whether it goes home on its own wheels (None: nobody said so), and on which pressures."""
    return {"driven": s.event.settings.mine.driven_home, "road": road_figures(s)}


def at_home(s: Situation, found: Decided) -> Decided:
    """The evening before: in which air the figures are."""
    if not s.eve or found.action not in {"plan", "none", "hold"}:
        return found
    if s.here is None:
        known = s.step is not None and s.step.reading.row.air_c is not None
        return (
            found
            if known
            else replace(
                found, reason=because("eve-air-unknown", first=found.reason, air_c=s.outside.air_c), confidence="low"
            )
        )
    there = tuple((axle, psi + s.gauge.offset_psi) for axle in AXLES if (psi := s.plan.of(axle).cold_psi) is not None)
    reason = because("at-home", first=found.reason, here_c=s.here.temp_c, air_c=s.outside.air_c, plan=there)
    return replace(found, reason=reason)


def for_others(s: Situation, found: Decided) -> Decided:
    """The asking driver is done for the day: who it is for, and the road pressures if nobody drives any more."""
    if not s.others_left or found.action == "stop":
        return found
    reason = because("for-others", first=found.reason, others=s.others_left, **for_the_road(s))
    return replace(found, reason=reason)
