"""The heat of one car: a fit per axle, or an honest word why there is none and the last rise instead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from paddock.engine.corners import AXLE_OF, AXLES, SIDE_OF, Corners
from paddock.engine.heat.fit import fit_axle, fit_spray, sprayed_by
from paddock.engine.heat.model import SPRAY_FACTOR, Ahead, HeatFit, cooled, curve
from paddock.engine.heat.pairs import last_rise, points_of, sun_differences
from paddock.engine.readings.follow import Cools, follow
from paddock.engine.readings.log import Reading, car_log
from paddock.engine.readings.mass import Step, Track
from paddock.model.event import Event
from paddock.model.rows import CORNERS

_SUNS = 3


@dataclass(frozen=True, slots=True)
class AxleHeat:
    """``fit`` None: ``why`` says so and ``last_rise_psi`` stands in (None: never read before and after a run)."""

    axle: str
    fit: HeatFit | None
    last_rise_psi: float | None
    why: str


@dataclass(frozen=True, slots=True)
class CarHeat:
    """Both axles and the track they come from."""

    track: Track
    axles: Mapping[str, AxleHeat]

    def fit_of(self, corner: str) -> HeatFit | None:
        """The fit of a corner's axle."""
        return self.axles[AXLE_OF[corner]].fit


def _fit(track: Track, axle: str, ranges: bool) -> HeatFit | str:
    """The fit of an axle, spray and sun of its own where the log has three such readings."""
    points = list(points_of(track, axle))
    fit = fit_axle(axle, sprayed_by(points, SPRAY_FACTOR), ranges)
    if isinstance(fit, str):
        return fit
    spray = fit_spray(fit, points)
    return replace(fit, spray=spray) if spray is not None else fit


def _cools(fits: Mapping[str, HeatFit | str]) -> Cools:
    """How tyres cool by these fits; not known for an axle without one."""

    def cools(corner: str, temp_c: float, reading: Reading, minutes: float) -> float | None:
        fit = fits[AXLE_OF[corner]]
        if isinstance(fit, str) or reading.air_c is None:
            return None
        return cooled(fit, temp_c, reading.air_c, max(0.0, minutes))

    return cools


def _axle(track: Track, axle: str, fit: HeatFit | str) -> AxleHeat:
    rise = last_rise(track, axle)
    if isinstance(fit, str):
        stand_in = "the last rise stands in" if rise is not None else "and no rise in a run has been read"
        return AxleHeat(axle, None, rise, f"{fit}; {stand_in}")
    suns = sun_differences(track)
    own = replace(fit, sun_k=sum(suns) / len(suns)) if len(suns) >= _SUNS else fit
    return AxleHeat(axle, own, rise, "")


def heat_of(event: Event, number: str, ranges: bool = True) -> CarHeat:
    """The heat of the car that ``number`` drives, from the event's own readings, and the track that goes with it.

    ``ranges`` False: quicker, without the 80 % ranges.
    """
    log = car_log(event, number)
    track = follow(log, falls=False)
    fits = {axle: _fit(track, axle, ranges) for axle in AXLES}
    track = follow(log, _cools(fits))
    return CarHeat(track, {axle: _axle(track, axle, fits[axle]) for axle in AXLES})


def _sunny(step: Step, corner: str) -> bool:
    return step.reading.sun == SIDE_OF[corner]


def at_start_line(event: Event, number: str) -> Corners:
    """What the tyres read at the start of the car's last run, psi: the reading before it, cooled over the wait.

    As read where there is no fit or no clock; None where nothing was read before that run.
    """
    heat = heat_of(event, number)
    runs = heat.track.log.runs
    before = [step for step in heat.track.steps if runs and step.reading.timed.runs_before == len(runs) - 1]
    before = [step for step in before if step.reading.timed.day == runs[-1].day]
    if not before:
        return Corners()
    step, start = before[-1], runs[-1].clock
    read = step.reading.timed.clock
    wait = max(0.0, start - read) if start is not None and read is not None else 0.0
    return Corners.of({corner: _waited(heat, step, corner, wait, "none") for corner in CORNERS})


def _waited(heat: CarHeat, step: Step, corner: str, wait_min: float, cooling: str) -> float | None:
    air, fit, air_c = step.corners[corner], heat.fit_of(corner), step.reading.air_c
    if air.psi is None or fit is None or air.gas_c is None or air_c is None:
        return air.psi
    return air.at(cooled(fit, air.gas_c, air_c, wait_min, cooling, _sunny(step, corner)), step.reading.ambient_pa)


def _ahead_of(
    step: Step, corner: str, wait_min: float, cooling: str = "none", air_c: float | None = None
) -> Ahead | None:
    """What lies between a reading and the end of the next run; ``air_c`` None: the reading's; None: not known."""
    air_c = step.reading.air_c if air_c is None else air_c
    if air_c is None:
        return None
    return Ahead(air_c, step.reading.ambient_pa, wait_min, cooling=cooling, sunny=_sunny(step, corner))


def heat_curves(
    event: Event, number: str, wait_min: float = 10.0, after_min: float = 20.0
) -> dict[str, tuple[tuple[float, float], ...]]:
    """(minutes from now, psi) per axle through a wait, the next run and the cooling after it; empty without a fit."""
    heat = heat_of(event, number)
    step, found = heat.track.latest, {}
    for axle, pair in AXLES.items():
        fit = heat.axles[axle].fit
        ahead = _ahead_of(step, pair[0], max(0.0, wait_min)) if step else None
        corner = next((name for name in pair if step and step.corners[name].gas_c is not None), None)
        if fit is None or ahead is None or corner is None or step is None:
            continue
        air = step.corners[corner]
        if air.psi is not None and air.gas_c is not None:
            found[axle] = curve(fit, air.psi, air.gas_c, ahead, after_min)
    return found


def mass_track(event: Event, number: str) -> Track:
    """The car that ``number`` drives, through all its readings of the event.

    A setting made minutes after its neighbour reading is put at the temperature the car's own fitted cooling gives;
    without a fit its temperature is not known, and the air is lost sight of until the next cold reading.
    """
    return heat_of(event, number).track
