"""What if the air, the wait, the place or what is wanted were different: the moment's own sums with other inputs."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.clock import AsOf
from paddock.engine.pressure.air import ambient_pa
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.decide import allowed
from paddock.engine.pressure.mass import will_read
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.plan import ColdPlan
from paddock.engine.pressure.situation import Asked
from paddock.model.event import Event
from paddock.model.rows import CORNERS


@dataclass(frozen=True, slots=True)
class Set:
    """One corner, as the gauge reads, psi; None: not known. ``end_psi``: after the next run if nobody touches it;
    ``set_psi``: what to set now; ``held``: the limit it was cut short at, "" = none."""

    corner: str
    wanted_psi: float | None
    end_psi: float | None
    set_psi: float | None
    held: str = ""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """``parked``: untouched and at the air asked for there, psi as the gauge reads. ``corners``: what to set now, where
    the car stays here. ``cold``: what to set cold, where another altitude is asked for; None: here. ``moment``: the
    answer these figures are of; ``air_c`` C.
    """

    air_c: float
    parked: Corners
    corners: tuple[Set, ...]
    cold: ColdPlan | None
    moment: Moment


def what_if(event: Event, number: str, clock: AsOf, asked: Asked) -> WhatIf:
    """Answer for the car that ``number`` drives. Without a reading that counts now no setting is given.

    Nothing asked: the moment's own setting. A reading that is old, or of before the last run, gives none either.
    """
    moment = moment_of(event, number, clock, asked=asked)
    s = moment.known
    offset = s.gauge.offset_psi
    outside = None if asked.altitude_m is None else ambient_pa(asked.altitude_m)
    parked = will_read(s.heat.track, s.outside.air_c, outside).map(lambda psi: psi + offset)
    if asked.altitude_m is not None:
        return WhatIf(s.outside.air_c, parked, (), s.plan, moment)
    corners = tuple(_corner(moment, corner, asked) for corner in CORNERS) if s.step is not None else ()
    return WhatIf(s.outside.air_c, parked, corners, None, moment)


def _corner(moment: Moment, corner: str, asked: Asked) -> Set:
    s = moment.known
    offset, now, held = s.gauge.offset_psi, s.now[corner], ""
    end = None if now is None else s.way[corner].ends_at(now)
    wanted = s.plan.of("front" if corner in ("lf", "rf") else "rear").hot_psi if s.rested else s.wanted(corner)
    to = None
    if asked == Asked():
        shown = moment.set[corner] if moment.set is not None else None
        to = None if shown is None else shown - offset
    elif moment.fresh and moment.action != "stop" and now is not None and (aim := s.aim(corner)) is not None:
        to = aim if s.rested else allowed(s, corner, aim, "return")
        held = "held at the limits" if abs(to - aim) > 0.05 else ""
    wanted, end, to = (None if value is None else value + offset for value in (wanted, end, to))
    return Set(corner, wanted, end, to, held)
