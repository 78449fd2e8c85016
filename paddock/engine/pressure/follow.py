"""Step by step through a car's readings (see ``mass``)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Literal

from paddock.engine.pressure import mass
from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import AXLES, MATE, Corners, because
from paddock.engine.pressure.mass import AirEvent, AirTrack, CornerAir, Fall, Odd, Step, TempFrom
from paddock.engine.pressure.readings import CarLog, Reading, Renewed
from paddock.engine.pressure.timeline import ReadingDoubt
from paddock.model.rows import CORNERS
from paddock.model.units import PSI_PA, plain_number

_BESIDE_MIN = 3.0
_TRUST_K = 8.0
_HOTTEST_C = 130.0
_BELOW_AIR_K = 3.0


Cools = Callable[[str, float, Reading, float], float | None]
"""Corner, temperature (C), the reading it had it at, minutes since: its temperature now, C, None = not known."""


def _unknown(_corner: str, _temp_c: float, _reading: Reading, _minutes: float) -> float | None:
    return None


@dataclass
class _State:
    """What is carried from reading to reading."""

    cools: Cools = _unknown
    look: bool = True
    air: dict[str, CornerAir] = field(default_factory=lambda: {corner: CornerAir() for corner in CORNERS})
    base: dict[str, tuple[float, Reading]] = field(default_factory=dict)
    base_air: dict[str, CornerAir] = field(default_factory=lambda: {corner: CornerAir() for corner in CORNERS})
    steps: list[Step] = field(default_factory=list)
    events: list[AirEvent] = field(default_factory=list)
    falls: list[Fall] = field(default_factory=list)
    leaks: list[AirEvent] = field(default_factory=list)
    doubts: list[ReadingDoubt] = field(default_factory=list)
    renewed: tuple[Renewed, ...] = ()
    done: list[Renewed] = field(default_factory=list)
    fresh: set[str] = field(default_factory=set)


def follow(log: CarLog, cools: Cools = _unknown, falls: bool = True) -> AirTrack:
    """A car's log as a track; readings without a usable corner only add their doubts.

    ``cools``: how tyres cool between a reading and a setting made some minutes after it; ``falls`` False: quicker,
    sudden falls are not looked for.
    """
    state = _State(cools=cools, look=falls, renewed=log.renewed)
    for reading in log.readings:
        state.doubts += reading.doubts
        if reading.usable:
            _take(state, reading)
    doubts = tuple(dict.fromkeys(state.doubts))
    left = tuple(item.corner for item in log.renewed if item not in state.done and item.place <= len(log.runs))
    fresh = tuple(corner for corner in CORNERS if corner in left or corner in state.fresh)
    return AirTrack(log, tuple(state.steps), tuple(state.events), tuple(state.falls), tuple(state.leaks), doubts, fresh)


def _take(state: _State, whole: Reading) -> None:
    _renew(state, whole)
    previous = state.steps[-1] if state.steps else None
    if state.look and whole.moment != "set" and previous is not None:
        misread = {name for corner in previous.odd for name in (corner, MATE[corner])}
        fallen = ((corner, psi) for corner, psi in mass.falls(previous, whole) if corner not in misread)
        state.falls += [Fall(corner, psi, whole) for corner, psi in fallen]
    odd = _odd(state, whole, previous)
    reading = whole
    if odd:
        known = {corner: psi for corner, psi in whole.read.items() if corner not in odd}
        reading = replace(whole, read=known, psi=Corners.of(known))
    if reading.moment == "set":
        found = _set(state, reading, previous)
    elif reading.cold and not _hot_after_all(state, reading):
        found = _cold(state, reading)
    else:
        found = _found(state, reading)
    before = state.air
    state.air = _completed(found, reading, previous, state.fresh)
    shown = state.air | {
        corner: CornerAir(whole.read[corner], True, None, None, None, before[corner].mass, before[corner].sure)
        for corner in odd
    }
    state.air = state.air | {corner: before[corner] for corner in odd}
    state.fresh -= set(reading.read)
    state.steps.append(Step(whole, shown, odd))
    for corner in CORNERS:
        psi = state.air[corner].psi
        anew = reading.moment == "set" or corner not in state.base or _unlogged(state, corner, reading)
        if psi is not None and anew and corner not in odd:
            state.base[corner] = (psi, reading)
            state.base_air[corner] = state.air[corner]


def _renew(state: _State, reading: Reading) -> None:
    """Another tyre, or a mended one, since the reading before: what was known of that corner is of another air."""
    for item in state.renewed:
        if item.before(reading.timed) and item not in state.done:
            state.done.append(item)
            state.fresh.add(item.corner)
            state.air[item.corner] = CornerAir()
            state.base.pop(item.corner, None)
            state.base_air[item.corner] = CornerAir()


def _odd(state: _State, reading: Reading, previous: Step | None) -> dict[str, Odd]:
    """Corners out of line with their mates; read alike twice where the reading before said the same."""
    if reading.moment == "set" or not state.look:
        return {}
    found = {}
    for corner, psi in mass.odd_corners(state.base, reading):
        last = previous.corners[corner] if previous else CornerAir()
        before = state.base[corner][0] if last.psi is None or not last.read else max(state.base[corner][0], last.psi)
        fell = psi < -mass.ODD_PSI and reading.read[corner] < before - reading.noise_psi
        again = previous is not None and corner in previous.odd and _same_stand(previous.reading, reading)
        alike = again and abs(reading.read[corner] - (last.psi or 0.0)) <= reading.noise_psi
        found[corner] = Odd(corner, psi, fell, alike)
    return found


def _same_stand(one: Reading, two: Reading) -> bool:
    """No run and no night between two readings."""
    return (one.timed.day, one.timed.runs_before) == (two.timed.day, two.timed.runs_before)


def _unlogged(state: _State, corner: str, reading: Reading) -> bool:
    """Air came or went unlogged at this reading: the comparison starts anew from it."""
    for item in reversed(state.events):
        if item.reading is not reading:
            return False
        if item.corner in (corner, MATE[corner]) and item.kind in {"gain", "loss"}:
            return True
    return False


def _absolute(psi: float, reading: Reading) -> float:
    return psi + reading.ambient_pa / PSI_PA


def _air(
    psi: float, reading: Reading, gas_c: float | None, source: TempFrom | None, mass: float | None, sure: bool = False
) -> CornerAir:
    """A corner as read; the measured temperature stands for the limits, the gas temperature for the air."""
    if gas_c is not None and mass is None:
        mass = _absolute(psi, reading) / (gas_c + ZERO_C)
    measured = reading.tyre_c is not None and source != "air"
    temp_c = reading.tyre_c if measured else gas_c
    return CornerAir(psi, True, temp_c, "measured" if measured else source, gas_c, mass, sure)


def _minutes_between(previous: Step, reading: Reading) -> float | None:
    """Minutes from one reading to the next of the same stand; None: no clock and no waits."""
    one, two = previous.reading, reading
    if one.timed.clock is not None and two.timed.clock is not None:
        return two.timed.clock - one.timed.clock
    if one.wait_min is not None and two.wait_min is not None:
        return two.wait_min - one.wait_min
    return two.wait_min if one.moment == "after" else None


def _beside(previous: Step, reading: Reading) -> bool:
    """Minutes apart, no run between: as warm as it was."""
    gap = _minutes_between(previous, reading)
    return _same_stand(previous.reading, reading) and (gap is None or gap <= _BESIDE_MIN)


def _standing(previous: Step | None, reading: Reading) -> dict[str, tuple[float, bool]]:
    """Corners whose temperature at a reading with no run since the one before is the same: (C, sure)."""
    if previous is None:
        return {}
    one, two = previous.reading.timed, reading.timed
    if one.day != two.day or one.runs_before != two.runs_before:
        return {}
    gap = _minutes_between(previous, reading)
    if gap is not None and gap > _BESIDE_MIN and not (previous.reading.cold and two.runs_today == 0):
        return {}
    return {corner: (air.gas_c, air.sure) for corner, air in previous.corners.items() if air.gas_c is not None}


def _cooled(state: _State, previous: Step | None, reading: Reading) -> dict[str, tuple[float, bool]]:
    """The same for a setting, minutes after the reading before it: cooled as the car's tyres do; never sure."""
    same = _standing(previous, reading)
    if same or previous is None:
        return same
    one, two, found = previous.reading.timed, reading.timed, {}
    gap = _minutes_between(previous, reading)
    if one.day != two.day or one.runs_before != two.runs_before or gap is None:
        return {}
    for corner, air in previous.corners.items():
        gas_c = None if air.gas_c is None else state.cools(corner, air.gas_c, previous.reading, gap)
        if gas_c is not None:
            found[corner] = (gas_c, False)
    return found


def _set(state: _State, reading: Reading, previous: Step | None) -> dict[str, CornerAir]:
    temps = _cooled(state, previous, reading)
    state.leaks = []
    found: dict[str, CornerAir] = {}
    for corner, psi in reading.read.items():
        gas_c, sure = temps.get(corner, (None, False))
        source: TempFrom = "inferred"
        if gas_c is None and reading.cold:
            gas_c, sure, source = reading.air_c, True, "air"
        if gas_c is None and reading.tyre_c is not None:
            gas_c, source = reading.tyre_c, "measured"
        found[corner] = _air(psi, reading, gas_c, source if gas_c is not None else None, None, sure)
        _logged(state, reading, previous, corner, psi, gas_c)
    return found


def _logged(
    state: _State, reading: Reading, previous: Step | None, corner: str, psi: float, gas_c: float | None
) -> None:
    """A bleed or an add: against what the air would have read at that moment, else against the reading before."""
    before = previous.corners[corner] if previous else CornerAir()
    there = None if gas_c is None else before.at(gas_c, reading.ambient_pa)
    there = before.psi if there is None else there
    same = previous is not None and previous.reading.timed.runs_before == reading.timed.runs_before
    if same and there is not None and abs(psi - there) > 1e-9:
        kind: Literal["add", "bleed"] = "add" if psi > there else "bleed"
        state.events.append(AirEvent(kind, corner, abs(psi - there), reading, because("logged")))


def _hot_after_all(state: _State, reading: Reading) -> bool:
    """Marked cold after a run and above what its air gives at air temperature, on every corner: asked about."""
    over = [psi for _, psi in mass.against_mass(state.air, reading)]
    hot = reading.row.moment == "cold" and reading.timed.runs_today > 0 and len(over) >= 2
    if not hot or min(over) <= reading.noise_psi:
        return False
    text = (
        f"marked cold, but reads {plain_number(min(over), 1)} psi or more over what its air gives at air temperature: "
        "was it hot, or was air added and not logged? Not taken as cold"
    )
    state.doubts.append(ReadingDoubt(reading.row, "moment", text))
    return True


def _cold(state: _State, reading: Reading) -> dict[str, CornerAir]:
    air_c = reading.air_c if reading.air_c is not None else reading.tyre_c
    if air_c is None:
        return _found(state, reading)
    changed = dict(mass.against_mass(state.air, reading))
    leaking = mass.from_two_cold(changed, reading.noise_psi)
    own = mass.own_falls(dict(mass.against_mass(state.base_air, reading)))
    state.leaks = _mate_leaks(state, reading, own)
    claimed = {item.corner for item in state.leaks}
    for corner, psi in changed.items():
        if abs(psi) > reading.noise_psi and corner not in claimed:
            _note(state, reading, corner, psi, corner in leaking)
    return {corner: _air(psi, reading, air_c, "air", None, True) for corner, psi in reading.read.items()}


def _note(state: _State, reading: Reading, corner: str, psi: float, leaking: bool) -> None:
    if psi > 0:
        event = AirEvent("gain", corner, psi, reading, because("air-gained", corner=corner))
    elif leaking:
        event = AirEvent("leak", corner, -psi, reading, because("lost-between-colds", corner=corner, psi=-psi))
        state.leaks = [item for item in state.leaks if item.corner != corner] + [event]
    else:
        event = AirEvent("loss", corner, -psi, reading, because("all-fell-alike"))
    state.events.append(event)


def _mate_leaks(state: _State, reading: Reading, own: Mapping[str, float] = MappingProxyType({})) -> list[AirEvent]:
    """Leaks against the mate; where the corner's own fall is known it must be more than half of what is claimed."""
    claims = []
    for corner, psi in mass.against_mate(state.base, reading):
        if own.get(corner, psi) <= psi / 2:
            continue
        why = because("lost-against-mate", corner=corner, psi=psi)
        claims.append(AirEvent("leak", corner, psi, reading, why))
        if not any(item.corner == corner for item in state.leaks):
            state.events.append(claims[-1])
    kept = [item for item in state.leaks if item.reading.cold and not any(new.corner == item.corner for new in claims)]
    return [*kept, *claims]


def _found(state: _State, reading: Reading) -> dict[str, CornerAir]:
    state.leaks = _mate_leaks(state, reading)
    leaking = {item.corner for item in state.leaks}
    found: dict[str, CornerAir] = {}
    temps = {corner: _inferred(state, reading, corner, psi) for corner, psi in reading.read.items()}
    for corner, psi in reading.read.items():
        gas_c, before = None if corner in leaking else temps[corner], state.air[corner]
        shift = 0.0 if before.sure else _off_measured(reading, temps, corner)
        if gas_c is not None:
            mass = before.mass if not shift else None
            found[corner] = _air(psi, reading, gas_c + shift, "inferred", mass, before.sure)
        elif reading.rested and reading.tyre_c is None and reading.air_c is not None and corner not in leaking:
            found[corner] = _air(psi, reading, reading.air_c, "air", None)
        else:
            found[corner] = _air(psi, reading, reading.tyre_c, "measured" if reading.tyre_c is not None else None, None)
    for corner in leaking & found.keys():
        mate = found.get(MATE[corner], CornerAir())
        if mate.gas_c is not None:
            found[corner] = _air(found[corner].psi or 0.0, reading, mate.gas_c, "inferred", None)
    _compare_measured(state, reading, found)
    return found


def _off_measured(reading: Reading, temps: Mapping[str, float | None], corner: str) -> float:
    """By how much the measured temperature corrects an axle whose air was lost sight of a little, K; 0 where near."""
    known = [temp_c for name in (corner, MATE[corner]) if (temp_c := temps.get(name)) is not None]
    if reading.tyre_c is None or not known:
        return 0.0
    off = reading.tyre_c - sum(known) / len(known)
    return off if abs(off) > _TRUST_K else 0.0


def _inferred(state: _State, reading: Reading, corner: str, psi: float) -> float | None:
    """Temperature of the air inside from its last known mass, C; None, with an event, where it can't be."""
    mass = state.air[corner].mass
    if mass is None:
        return None
    gas_c = _absolute(psi, reading) / mass - ZERO_C
    low = -40.0 if reading.air_c is None else reading.air_c - _BELOW_AIR_K - reading.noise_psi / mass
    if low <= gas_c <= _HOTTEST_C:
        return gas_c
    if not state.air[corner].sure:
        return None
    bound = low if gas_c < low else _HOTTEST_C
    off = abs(gas_c - bound) * mass
    if gas_c < low:
        state.events.append(AirEvent("loss", corner, off, reading, because("reads-too-little", corner=corner)))
    else:
        state.events.append(AirEvent("gain", corner, off, reading, because("reads-too-much", corner=corner)))
    return None


def _compare_measured(state: _State, reading: Reading, found: dict[str, CornerAir]) -> None:
    """A measured tyre temperature far from that of the air inside is asked about."""
    inferred = [air.gas_c for air in found.values() if air.gas_c is not None and air.temp_from == "measured"]
    inferred = [gas_c for gas_c in inferred if gas_c != reading.tyre_c]
    if reading.tyre_c is None or not inferred:
        return
    gas_c, in_c = sum(inferred) / len(inferred), (reading.tyre_c - 32.0) * 5 / 9
    if abs(reading.tyre_c - gas_c) < 25.0 or abs(in_c - gas_c) > 8.0:
        return
    text = f"tyre {plain_number(reading.tyre_c, 1)} C: is that {plain_number(in_c, 1)} C, typed in F? Left out"
    state.doubts.append(ReadingDoubt(reading.row, "tyre_c", text))
    for corner, air in found.items():
        found[corner] = replace(air, temp_c=air.gas_c, temp_from="inferred")


def _completed(
    found: dict[str, CornerAir], reading: Reading, previous: Step | None, fresh: set[str]
) -> dict[str, CornerAir]:
    """All four: a corner that was not read is worked out from its air at its mate's temperature."""
    whole = dict(found)
    for corner in CORNERS:
        if corner not in whole:
            whole[corner] = CornerAir() if corner in fresh else _worked_out(corner, found, reading, previous)
    return whole


def _worked_out(corner: str, found: dict[str, CornerAir], reading: Reading, previous: Step | None) -> CornerAir:
    before = previous.corners[corner] if previous else CornerAir()
    beside = [MATE[corner], *(name for pair in AXLES.values() if corner not in pair for name in pair)]
    if reading.moment == "set":
        gas_c = _standing(previous, reading).get(corner, (None, False))[0]
    else:
        near = found.get(beside[0])
        temps = [near.gas_c] if near else [found[name].gas_c for name in beside[1:] if name in found]
        known = [value for value in temps if value is not None]
        gas_c = sum(known) / len(known) if known else None
    if before.mass is not None and gas_c is not None:
        psi = before.at(gas_c, reading.ambient_pa)
        return CornerAir(psi, False, gas_c, "inferred", gas_c, before.mass, before.sure)
    psi = mass.by_ratio(corner, before.psi, previous, reading)
    if reading.moment == "set" and previous is not None and _beside(previous, reading):
        psi = before.psi
    return CornerAir(psi, False, None, None, None, before.mass, before.sure)
