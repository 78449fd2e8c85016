"""Lateral load transfer, front and rear: the share, and what a bar does to it.

Steady cornering, rigid body on two axles (any text on vehicle dynamics; worked the same way in Barton and
Fieldhouse, Automotive Chassis Engineering, chapter 3): per axle the part through the roll centre, the part of the
unsprung mass, and the elastic part ``K_axle x roll angle``. Springs and bar act in parallel, the tyre in series with
them. Roll angle ``= m_s a d / (K_f + K_r - m_s g d)``: the body's own lean is in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import pi

from paddock.engine.car.bars import BarTable, bar_pair, pairs_table
from paddock.engine.car.driveline import G, rolling_circumference
from paddock.errors import Finding, doubt, fault, merged
from paddock.model.car import Car, measure_of
from paddock.model.car_axle import Axle

# masses and stiffnesses

_WHEEL_MM = 300.0


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


def _gone(car: Car) -> list[Finding]:
    gone = [name for name in ("mass_kg", "front_share", "cg_height_mm") if getattr(car, name) is None]
    for end in ("front", "rear"):
        axle: Axle = getattr(car, end)
        gone += [f"{end}.{name}" for name in ("track_mm", "spring_n_mm") if getattr(axle, name) is None]
    return [doubt(key, f"missing, so no share of load transfer: {measure_of(key).how}") for key in gone]


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


def _axle_loads(car: Car, end: str, bar_roll: float, sprung_share_kg: float) -> AxleLoads:
    axle: Axle = getattr(car, end)
    assert axle.track_mm is not None
    assert axle.spring_n_mm is not None
    track = axle.track_mm / 1000.0
    unsprung = axle.unsprung_kg or 0.0
    around, _ = rolling_circumference(car.gearbox)
    wheel_centre = _WHEEL_MM if around is None else around / (2 * pi)
    height = wheel_centre if axle.unsprung_cg_mm is None else axle.unsprung_cg_mm
    half = track**2 / 2.0 * 1000.0
    return AxleLoads(
        load_n=(sprung_share_kg + unsprung) * G,
        track_m=track,
        roll_centre_nm_per_g=sprung_share_kg * G * (axle.roll_centre_mm or 0.0) / 1000.0,
        unsprung_nm_per_g=unsprung * G * height / 1000.0,
        spring_nm_per_rad=axle.spring_n_mm * (1.0 if axle.spring_mr is None else axle.spring_mr) ** 2 * half,
        bar_nm_per_rad=bar_roll,
        tyre_nm_per_rad=None if axle.tyre_n_mm is None else axle.tyre_n_mm * half,
    )


def _built(car: Car, bars: tuple[float, float]) -> Chassis | Finding:
    shares = car.sprung_kg
    assert car.mass_kg is not None
    assert shares is not None
    assert car.cg_height_mm is not None
    if min(shares) <= 0:
        return fault("mass_kg", f"the unsprung masses leave nothing of {car.mass_kg:g} kg for an axle's springs: check "
                     "mass_kg, front_share and unsprung_kg (both wheels of an axle)")  # fmt: skip
    front, rear = (_axle_loads(car, end, bars[i], shares[i]) for i, end in enumerate(("front", "rear")))
    sprung = sum(shares)
    moment = car.mass_kg * G * car.cg_height_mm / 1000 - front.unsprung_nm_per_g - rear.unsprung_nm_per_g
    lever = (moment - front.roll_centre_nm_per_g - rear.roll_centre_nm_per_g) / (sprung * G)
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


# load transfer


@dataclass(frozen=True, slots=True)
class AxleTransfer:
    """Newtons from the inside to the outside wheel of one axle, by cause; ``transfer_n`` is what the tyres feel.

    ``inside_lifts``: it is off the ground, ``transfer_n`` stays at its whole load and more stiffness does nothing.
    ``inside_lifts_at_g``: cornering at which that begins, None: it does not before the car tips over.
    """

    transfer_n: float
    roll_centre_n: float
    unsprung_n: float
    elastic_n: float
    roll_nm_per_rad: float
    inside_lifts: bool
    inside_lifts_at_g: float | None


@dataclass(frozen=True, slots=True)
class Transfer:
    """Both axles at ``lateral_g``. ``front_share``: front transfer over both, 0 to 1. ``roll_rad`` outwards."""

    lateral_g: float
    roll_rad: float
    front_share: float
    front: AxleTransfer
    rear: AxleTransfer


@dataclass(frozen=True, slots=True)
class LoadBalance:
    """``transfer`` None: it can't be computed or the car tips over, ``findings`` say why."""

    transfer: Transfer | None
    findings: tuple[Finding, ...]


def _elastic(chassis: Chassis, lateral_g: float, clamped: tuple[bool, bool]) -> tuple[float, float, float] | None:
    """Elastic moments (N.m) of front and rear and the roll angle; None: nothing holds the body up."""
    over = chassis.sprung_kg * G * chassis.lever_m
    moment, stiffness = over * lateral_g, -over
    held: dict[int, float] = {}
    for index, axle in enumerate(chassis.axles):
        if clamped[index]:
            held[index] = axle.load_n / 2 * axle.track_m - axle.rigid_nm(lateral_g)
            moment -= held[index]
        else:
            stiffness += axle.roll_nm_per_rad
    if stiffness <= 0:
        return None
    angle = moment / stiffness
    parts = [held[i] if clamped[i] else axle.roll_nm_per_rad * angle for i, axle in enumerate(chassis.axles)]
    return parts[0], parts[1], angle


def _total(axle: AxleLoads, elastic_nm: float, lateral_g: float) -> float:
    return (elastic_nm + axle.rigid_nm(lateral_g)) / axle.track_m


def _lift_g(chassis: Chassis, index: int, clamped: tuple[bool, bool]) -> float | None:
    """Cornering at which the inside wheel of an axle lifts: transfers are straight lines in g."""
    at = [_elastic(chassis, lateral_g, clamped) for lateral_g in (0.0, 1.0)]
    if at[0] is None or at[1] is None:
        return None
    axle = chassis.axles[index]
    start, end = (_total(axle, part[index], g) for part, g in zip(at, (0.0, 1.0), strict=True) if part is not None)
    return None if end <= start else (axle.load_n / 2 - start) / (end - start)


def _lifts(chassis: Chassis) -> tuple[float | None, float | None]:
    """Lift of front and rear; the second one counted with the first already clamped."""
    front, rear = (_lift_g(chassis, index, (False, False)) for index in (0, 1))
    if front is None or rear is None:
        return front, rear
    if front <= rear:
        return front, _lift_g(chassis, 1, (True, False))
    return _lift_g(chassis, 0, (False, True)), rear


def _axle(axle: AxleLoads, elastic: float, lateral_g: float, lift: float | None) -> AxleTransfer:
    return AxleTransfer(
        transfer_n=_total(axle, elastic, lateral_g),
        roll_centre_n=axle.roll_centre_nm_per_g * lateral_g / axle.track_m,
        unsprung_n=axle.unsprung_nm_per_g * lateral_g / axle.track_m,
        elastic_n=elastic / axle.track_m,
        roll_nm_per_rad=axle.roll_nm_per_rad,
        inside_lifts=lift is not None and lateral_g >= lift,
        inside_lifts_at_g=lift,
    )


def transfer(chassis: Chassis, lateral_g: float) -> Transfer | None:
    """Load transfer at ``lateral_g`` (> 0), clamped where an inside wheel is off; None: it tips, or nothing moves."""
    lifts = _lifts(chassis)
    clamped = (lifts[0] is not None and lateral_g >= lifts[0], lifts[1] is not None and lateral_g >= lifts[1])
    if all(clamped):
        return None
    solved = _elastic(chassis, lateral_g, clamped)
    if solved is None:
        return None
    front, rear = (_axle(chassis.axles[i], solved[i], lateral_g, lifts[i]) for i in (0, 1))
    whole = front.transfer_n + rear.transfer_n
    return Transfer(lateral_g, solved[2], front.transfer_n / whole, front, rear) if whole else None


Holes = tuple[int, int] | None


def load_transfer(car: Car, lateral_g: float | None = None, front: Holes = None, rear: Holes = None) -> LoadBalance:
    """Load transfer of ``car``. ``front``, ``rear``: holes (left, right) instead of those in use.

    ``lateral_g`` None: the car's ``lateral_g``, else ``gearbox.grip_g``, else 1.0.
    """
    chassis, found = chassis_of(car, front, rear)
    if chassis is None:
        return LoadBalance(None, found)
    result = transfer(chassis, chassis.lateral_g if lateral_g is None else lateral_g)
    if result is None:
        what = "at this cornering both inside wheels are off and the car tips" if car.cg_height_mm else "no load moves"
        note = doubt("cg_height_mm", f"{what}: check the height of the centre of gravity, the tracks and lateral_g")
        return LoadBalance(None, merged(found, [note]))
    return LoadBalance(result, found)


def front_share(car: Car, front: Holes = None, rear: Holes = None, lateral_g: float | None = None) -> float | None:
    """Front share of the lateral load transfer, 0 to 1; None: something is missing (see ``load_transfer``)."""
    found = load_transfer(car, lateral_g, front, rear).transfer
    return None if found is None else found.front_share


def share_per_pair(car: Car, table: BarTable, lateral_g: float | None = None) -> tuple[float | None, ...]:
    """Front share with each pair of ``table``, the other axle as it is; None where it can't be told."""
    if not table.pairs:
        return ()
    first = (table.pairs[0].left, table.pairs[0].right)
    chassis, _ = chassis_of(car, **{table.axle: first})
    if chassis is None:
        return (None,) * len(table.pairs)
    wanted = chassis.lateral_g if lateral_g is None else lateral_g
    shares: list[float | None] = []
    for pair in table.pairs:
        roll = pair.roll_nm_per_rad
        found = None if roll is None else transfer(chassis.with_bar(table.axle, roll), wanted)
        shares.append(None if found is None else found.front_share)
    return tuple(shares)


def roll_share_curve(
    car: Car, front: Holes = None, rear: Holes = None, top_g: float = 1.6, points: int = 32
) -> tuple[tuple[float, float], ...]:
    """(lateral g, front share) for a plot: level until an inside wheel lifts; ends where the car would tip."""
    chassis, _ = chassis_of(car, front, rear)
    if chassis is None:
        return ()
    found = (transfer(chassis, top_g * step / points) for step in range(1, points + 1))
    return tuple((item.lateral_g, item.front_share) for item in found if item is not None)


# both bars


@dataclass(frozen=True, slots=True)
class Bars:
    """Both bars and the balance at ``lateral_g`` (None: the car's own). By axle: ``tables`` None: no bar there,
    ``shares``: front share with each of the table's pairs.
    """

    car: Car
    lateral_g: float | None
    tables: Mapping[str, BarTable | None]
    shares: Mapping[str, tuple[float | None, ...]]
    transfer: Transfer | None
    findings: tuple[Finding, ...]


def bars_of(car: Car, lateral_g: float | None = None) -> Bars:
    """What every pair of holes of ``car`` does to its balance."""
    tables = {axle: pairs_table(car, axle) for axle in ("front", "rear")}
    shares = {axle: share_per_pair(car, table, lateral_g) if table else () for axle, table in tables.items()}
    balance = load_transfer(car, lateral_g)
    findings = merged(*(table.findings for table in tables.values() if table), balance.findings)
    return Bars(car, lateral_g, tables, shares, balance.transfer, findings)
