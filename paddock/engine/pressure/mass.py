"""The air in each tyre, followed through every reading and compared: m ~ (p + ambient)/T.

A cold reading gives the mass; a hot one then gives the temperature of the air inside; a ``set`` row beside a reading
gives the new mass at that temperature. Falls that no temperature explains are events, and a leak is claimed only from
two cold readings, or from one corner's change since the last setting against its axle mate's beyond twice the
gauge's repeatability.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from statistics import median
from typing import Literal

from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import AXLE_OF, AXLES, MATE, SIDE_OF, Corners, Reason
from paddock.engine.pressure.readings import CarLog, Reading
from paddock.engine.pressure.timeline import ReadingDoubt
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
    fell: bool
    twice: bool


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
class AirTrack:
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


def will_read(track: AirTrack, temp_c: float, ambient_pa: float | None = None) -> Corners:
    """What the tyres will read at ``temp_c``, psi, if nobody touches them.

    ``ambient_pa`` None: the pressure outside as at the newest reading. Good to 0.5 psi (see
    ``paddock.engine.pressure.air``). Corners of unknown air are None.
    """
    step = track.latest
    if step is None:
        return Corners()
    outside = step.reading.ambient_pa if ambient_pa is None else ambient_pa
    return Corners.of({corner: air.at(temp_c, outside) for corner, air in step.corners.items()})


SUN_PSI = 1.0
"""What sun on one side may add there: common practice, no source."""


def _outside(reading: Reading) -> float:
    return reading.ambient_pa / PSI_PA


def against_mass(air: Mapping[str, CornerAir], reading: Reading) -> Iterator[tuple[str, float]]:
    """Corner and psi read over what its known air gives at air temperature; only where both are sure."""
    air_c = reading.air_c if reading.air_c is not None else reading.tyre_c
    if air_c is None:
        return
    for corner, psi in reading.read.items():
        mass = air[corner].mass
        if mass is not None and air[corner].sure:
            yield corner, psi + _outside(reading) - mass * (air_c + ZERO_C)


def from_two_cold(changed: Mapping[str, float], noise_psi: float) -> set[str]:
    """Corners that leak by two cold readings; none where three or more fell alike, for that has one cause."""
    fallen = {corner for corner, psi in changed.items() if psi < -noise_psi}
    alike = len(fallen) >= 3 and max(changed.values()) - min(changed.values()) <= noise_psi
    return set() if alike else fallen


def own_falls(changed: Mapping[str, float]) -> dict[str, float]:
    """Psi each corner itself fell (negative: rose) of what ``changed`` (``against_mass``) says, all corners cold.

    What the three others have in common (their median: another gauge, air warmer than logged) is taken out.
    """
    found = {}
    for corner, psi in changed.items():
        others = [value for name, value in changed.items() if name != corner]
        found[corner] = (median(others) if len(others) > 2 else 0.0) - psi
    return found


def _sun_psi(corner: str, then: Reading, now: Reading) -> float:
    """Allowance where the mate stands in the sun now and did not then, or the corner did then and does not now."""
    side = SIDE_OF[corner]
    gained = now.sun not in (None, side) and then.sun != now.sun
    lost = then.sun == side and now.sun != side
    return SUN_PSI * (gained + lost)


def _expected(psi: float, then: Reading, mate_then: float, mate_now: float, now: Reading) -> float:
    """What ``psi`` became if it changed as its mate did, absolute pressures in proportion."""
    ratio = (mate_now + _outside(now)) / (mate_then + _outside(then))
    return (psi + _outside(then)) * ratio - _outside(now)


SIDE_PSI = 0.5
"""What a one-sided course warms one side more than the other: so much against a hot mate is no leak (common practice,
no source)."""


def against_mate(base: Mapping[str, tuple[float, Reading]], reading: Reading) -> Iterator[tuple[str, float]]:
    """Corner and psi lost against its mate since the last setting: twice the repeatability and, hot, ``SIDE_PSI``."""
    now = reading.read
    for corner, psi in now.items():
        mate = MATE[corner]
        if corner not in base or mate not in base or mate not in now:
            continue
        (psi_then, then), (mate_then, _) = base[corner], base[mate]
        lost = _expected(psi_then, then, mate_then, now[mate], reading) - psi
        allowed = max(then.noise_psi, reading.noise_psi, 0.0 if reading.rested else SIDE_PSI)
        if lost > allowed + _sun_psi(corner, then, reading) + 1e-9:
            yield corner, lost


ODD_PSI, ODD_SHARE = 3.0, 0.05
"""Out of line with the mate's change by more than the lesser of these (psi, share of absolute): our choice."""
_WARMED = 1.07
"""Usual ratio of absolute pressures, hot against cold."""


def odd_corners(base: Mapping[str, tuple[float, Reading]], reading: Reading) -> Iterator[tuple[str, float]]:
    """Corner and psi over (negative: under) what its mate's change since their last common base gives.

    Of the two, the one whose change is farther from the other axle's; where that isn't read, from the usual one;
    both where neither is farther.
    """
    changed = {
        corner: (psi + _outside(reading)) / (base[corner][0] + _outside(base[corner][1]))
        for corner, psi in reading.read.items() if corner in base
    }  # fmt: skip
    off: dict[str, dict[str, float]] = {}
    for axle, pair in AXLES.items():
        if not all(corner in changed for corner in pair) or base[pair[0]][1] is not base[pair[1]][1]:
            continue
        over = {}
        for corner in pair:
            mate, then = MATE[corner], base[corner][1]
            wanted = _expected(base[corner][0], then, base[mate][0], reading.read[mate], reading)
            allowed = min(ODD_PSI, ODD_SHARE * (wanted + _outside(reading)))
            allowed = max(allowed, then.noise_psi, reading.noise_psi)
            allowed += max(_sun_psi(corner, then, reading), _sun_psi(mate, then, reading))
            if abs(reading.read[corner] - wanted) > allowed + 1e-9:
                over[corner] = reading.read[corner] - wanted
        if len(over) == len(pair):
            off[axle] = over
    for axle, over in off.items():
        other = next(pair for name, pair in AXLES.items() if name != axle)
        sound = [changed[corner] for corner in other if corner in changed] if len(off) == 1 else []
        usual = _WARMED if base[AXLES[axle][0]][1].cold and not reading.cold else 1.0
        like = sum(sound) / len(sound) if sound else usual
        far = {corner: abs(changed[corner] - like) for corner in over}
        one, two = far
        apart = abs(far[one] - far[two]) > 0.25 * abs(changed[one] - changed[two])
        yield from ((corner, psi) for corner, psi in over.items() if not apart or far[corner] == max(far.values()))


def falls(previous: Step, reading: Reading) -> Iterator[tuple[str, float]]:
    """Corner and psi it fell since the reading before, over what its mate (else the other axle) did."""
    before = {corner: air.psi for corner, air in previous.corners.items() if air.read and air.psi is not None}
    now = reading.read
    for corner, psi in now.items():
        other = next(pair for axle, pair in AXLES.items() if axle != AXLE_OF[corner])
        pairs = [MATE[corner]] if MATE[corner] in now and MATE[corner] in before else list(other)
        pairs = [name for name in pairs if name in now and name in before]
        if corner not in before or not pairs or psi >= before[corner]:
            continue
        wanted = [_expected(before[corner], previous.reading, before[name], now[name], reading) for name in pairs]
        lost = sum(wanted) / len(wanted) - psi
        if lost > max(previous.reading.noise_psi, reading.noise_psi) + _sun_psi(corner, previous.reading, reading):
            yield corner, lost


def by_ratio(corner: str, psi_then: float | None, previous: Step | None, reading: Reading) -> float | None:
    """A corner that was not read, from its last pressure and its mate's change; None where that isn't known."""
    mate = MATE[corner]
    mate_now = reading.psi[mate]
    mate_then = previous.corners[mate].psi if previous else None
    if psi_then is None or previous is None or mate_then is None or mate_now is None or reading.moment == "set":
        return None
    return _expected(psi_then, previous.reading, mate_then, mate_now, reading)
