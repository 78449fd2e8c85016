"""The air in each tyre, followed through every reading: m ~ (p + ambient)/T.

A cold reading gives the mass; a hot one then gives the temperature of the air inside; a ``set`` row beside a reading
gives the new mass at that temperature. Falls that no temperature explains are events, and a leak is claimed only from
two cold readings, or from one corner's change since the last setting against its axle mate's beyond twice the
gauge's repeatability.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.doubts import ReadingDoubt
from paddock.engine.pressure.readings import CarLog, Reading
from paddock.engine.pressure.reasons import Reason
from paddock.model.units import PSI_PA

TempFrom = Literal["air", "measured", "inferred"]


@dataclass(frozen=True, slots=True)
class CornerAir:
    """A corner at a reading.

    ``psi``: true gauge pressure; ``read`` False: worked out from its air, not read. ``temp_c``: the tyre's
    temperature as measured, else of the air inside; ``gas_c``: of the air inside. ``mass``: absolute psi per kelvin;
    ``sure``: it rests on a cold reading and settings at known temperatures. None = not known.
    """

    psi: float | None = None
    read: bool = False
    temp_c: float | None = None
    temp_from: TempFrom | None = None
    gas_c: float | None = None
    mass: float | None = None
    sure: bool = False

    def at(self, temp_c: float, ambient_pa: float) -> float | None:
        """What the same air would read at another temperature and pressure outside, psi."""
        return None if self.mass is None else self.mass * (temp_c + ZERO_C) - ambient_pa / PSI_PA


@dataclass(frozen=True, slots=True)
class AirEvent:
    """``kind``: ``bleed`` and ``add`` were logged; ``leak`` is claimed; ``loss`` and ``gain`` nobody logged.

    ``psi``: how much, as the gauge would show it at that reading.
    """

    kind: Literal["bleed", "add", "leak", "loss", "gain"]
    corner: str
    psi: float
    reading: Reading
    why: Reason


@dataclass(frozen=True, slots=True)
class Fall:
    """A corner that read ``psi`` less than its mate's change since the reading before gives, and less than before."""

    corner: str
    psi: float
    reading: Reading


@dataclass(frozen=True, slots=True)
class Odd:
    """A corner out of line with its mate's change, psi over what that gives (negative: under).

    ``fell``: it lost air itself, by more than its mate; ``twice``: read alike a second time.
    """

    corner: str
    psi: float
    fell: bool = False
    twice: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """A reading and what is known of each corner at it. ``odd``: corners that are not taken as read."""

    reading: Reading
    corners: Mapping[str, CornerAir]
    odd: Mapping[str, Odd] = field(default_factory=dict)

    @property
    def psi(self) -> Corners:
        """True gauge pressures, missing corners worked out where they can be."""
        return Corners.of({corner: air.psi for corner, air in self.corners.items()})

    @property
    def temps(self) -> Corners:
        """Tyre temperatures, C."""
        return Corners.of({corner: air.temp_c for corner, air in self.corners.items()})


@dataclass(frozen=True, slots=True)
class Track:
    """``steps``: a step per usable reading. ``leaks``: claims that stand at the newest one; ``fresh``: corners whose
    tyre was changed or mended and not read since."""

    log: CarLog
    steps: tuple[Step, ...]
    events: tuple[AirEvent, ...] = ()
    falls: tuple[Fall, ...] = ()
    leaks: tuple[AirEvent, ...] = ()
    doubts: tuple[ReadingDoubt, ...] = field(default=())
    fresh: tuple[str, ...] = ()

    @property
    def latest(self) -> Step | None:
        """The newest step."""
        return self.steps[-1] if self.steps else None

    def history(self, corner: str) -> tuple[tuple[Reading, CornerAir], ...]:
        """One corner through all readings."""
        return tuple((step.reading, step.corners[corner]) for step in self.steps)


def will_read(track: Track, temp_c: float, ambient_pa: float | None = None) -> Corners:
    """What the tyres will read at ``temp_c``, psi, if nobody touches them.

    ``ambient_pa`` None: the pressure outside as at the newest reading. Good to 0.5 psi (see
    ``paddock.engine.pressure.air``). Corners of unknown air are None.
    """
    step = track.latest
    if step is None:
        return Corners()
    outside = step.reading.ambient_pa if ambient_pa is None else ambient_pa
    return Corners.of({corner: air.at(temp_c, outside) for corner, air in step.corners.items()})
