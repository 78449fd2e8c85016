"""A car's masses and roll stiffnesses as the balance needs them, and what is missing for that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from paddock.engine.car.bar_rates import bar_pair
from paddock.engine.car.findings import Finding, doubt, fault, merged
from paddock.engine.car.wheel import rolling_circumference
from paddock.model.car import Axle, Car
from paddock.model.car_values import measure_of

__all__ = ["AxleLoads", "Chassis", "chassis_of", "in_series"]

_G = 9.80665
_WHEEL_MM = 300.0
_NEEDED = ("mass_kg", "front_share", "cg_height_mm")


def in_series(one: float, other: float | None) -> float:
    """Two rates in series; ``other`` None = rigid."""
    return one if other is None else one * other / (one + other) if one + other > 0 else 0.0


@dataclass(frozen=True, slots=True)
class AxleLoads:
    """One axle: its load on the ground, and moments in N.m per g of cornering that don't pass through springs.

    Roll stiffnesses in N.m/rad; ``tyre_nm_per_rad`` None: rigid tyres.
    """

    load_n: float
    track_m: float
    roll_centre_nm_per_g: float
    unsprung_nm_per_g: float
    spring_nm_per_rad: float
    bar_nm_per_rad: float
    tyre_nm_per_rad: float | None

    @property
    def roll_nm_per_rad(self) -> float:
        """Springs and bar in parallel, the tyres in series with both."""
        return in_series(self.spring_nm_per_rad + self.bar_nm_per_rad, self.tyre_nm_per_rad)

    def rigid_nm(self, lateral_g: float) -> float:
        """Moment through the roll centre and of the unsprung mass."""
        return (self.roll_centre_nm_per_g + self.unsprung_nm_per_g) * lateral_g


@dataclass(frozen=True, slots=True)
class Chassis:
    """``lever_m``: sprung centre of gravity above the roll axis."""

    sprung_kg: float
    lever_m: float
    front: AxleLoads
    rear: AxleLoads
    lateral_g: float

    @property
    def axles(self) -> tuple[AxleLoads, AxleLoads]:
        """Front, rear."""
        return self.front, self.rear

    def with_bar(self, axle: str, roll_nm_per_rad: float) -> Chassis:
        """The same car with another bar stiffness at ``axle``."""
        return replace(self, **{axle: replace(getattr(self, axle), bar_nm_per_rad=roll_nm_per_rad)})


def _missing(key: str) -> Finding:
    row = measure_of(key)
    return doubt(key, f"missing, so no share of load transfer: {row.how}")


def _gone(car: Car) -> list[Finding]:
    gone = [_missing(name) for name in _NEEDED if getattr(car, name) is None]
    for end in ("front", "rear"):
        axle: Axle = getattr(car, end)
        gone += [_missing(f"{end}.{name}") for name in ("track_mm", "spring_n_mm") if getattr(axle, name) is None]
    return gone


def _assumed(car: Car) -> list[Finding]:
    notes: list[Finding] = []
    for end in ("front", "rear"):
        axle: Axle = getattr(car, end)
        for name in ("spring_mr", "tyre_n_mm", "roll_centre_mm", "unsprung_kg", "unsprung_cg_mm"):
            row = measure_of(f"{end}.{name}")
            if getattr(axle, name) is None and not (name == "unsprung_cg_mm" and not axle.unsprung_kg):
                notes.append(doubt(row.key, f"missing. {row.without} To mend it: {row.how}"))
    return notes


def _bar_roll(car: Car, end: str, holes: tuple[int, int] | None, notes: list[Finding]) -> float | None:
    """Roll stiffness of the bar, 0 where there is none, None where it can't be told."""
    if getattr(car, end).bar is None:
        return 0.0
    pair = bar_pair(car, end, holes)
    if pair is None or pair.roll_nm_per_rad is None:
        notes.append(doubt(f"{end}.bar", "the roll stiffness of this bar is not known, so no share of load transfer: "
                           "see what is said of it"))  # fmt: skip
        return None
    return pair.roll_nm_per_rad


def _wheel_centre_mm(car: Car) -> float:
    around, _ = rolling_circumference(car.gearbox)
    return _WHEEL_MM if around is None else around / (2 * pi)


def _axle_loads(car: Car, end: str, bar_roll: float, sprung_share_kg: float) -> AxleLoads:
    axle: Axle = getattr(car, end)
    assert axle.track_mm is not None
    assert axle.spring_n_mm is not None
    track = axle.track_mm / 1000.0
    unsprung = axle.unsprung_kg or 0.0
    height = axle.unsprung_cg_mm if axle.unsprung_cg_mm is not None else _wheel_centre_mm(car)
    half = track**2 / 2.0 * 1000.0
    return AxleLoads(
        load_n=(sprung_share_kg + unsprung) * _G,
        track_m=track,
        roll_centre_nm_per_g=sprung_share_kg * _G * (axle.roll_centre_mm or 0.0) / 1000.0,
        unsprung_nm_per_g=unsprung * _G * height / 1000.0,
        spring_nm_per_rad=axle.spring_n_mm * (1.0 if axle.spring_mr is None else axle.spring_mr) ** 2 * half,
        bar_nm_per_rad=bar_roll,
        tyre_nm_per_rad=None if axle.tyre_n_mm is None else axle.tyre_n_mm * half,
    )


def _built(car: Car, bars: tuple[float, float]) -> Chassis | Finding:
    assert car.mass_kg is not None
    assert car.front_share is not None
    assert car.cg_height_mm is not None
    unsprung = tuple((end.unsprung_kg or 0.0) for end in (car.front, car.rear))
    shares = (car.mass_kg * car.front_share - unsprung[0], car.mass_kg * (1 - car.front_share) - unsprung[1])
    if min(shares) <= 0:
        return fault("mass_kg", f"the unsprung masses leave nothing of {car.mass_kg:g} kg for an axle's springs: check "
                     "mass_kg, front_share and unsprung_kg (both wheels of an axle)")  # fmt: skip
    front, rear = (_axle_loads(car, end, bars[i], shares[i]) for i, end in enumerate(("front", "rear")))
    sprung = sum(shares)
    moment = car.mass_kg * _G * car.cg_height_mm / 1000 - front.unsprung_nm_per_g - rear.unsprung_nm_per_g
    lever = (moment - front.roll_centre_nm_per_g - rear.roll_centre_nm_per_g) / (sprung * _G)
    lateral = car.lateral_g or car.gearbox.grip_g or 1.0
    return Chassis(sprung, lever, front, rear, lateral)


def chassis_of(
    car: Car, front: tuple[int, int] | None = None, rear: tuple[int, int] | None = None
) -> tuple[Chassis | None, tuple[Finding, ...]]:
    """Masses and roll stiffnesses with the holes in use, or with ``front``, ``rear`` (left, right) instead."""
    notes = _gone(car)
    bars = tuple(_bar_roll(car, end, holes, notes) for end, holes in (("front", front), ("rear", rear)))
    if notes or bars[0] is None or bars[1] is None:
        return None, merged(notes)
    built = _built(car, (bars[0], bars[1]))
    if isinstance(built, Finding):
        return None, (built,)
    return built, merged(_assumed(car))
