"""Lateral load transfer, front and rear: the share, and what a bar does to it.

Steady cornering, rigid body on two axles (any text on vehicle dynamics; worked the same way in Barton and
Fieldhouse, Automotive Chassis Engineering, chapter 3): per axle the part through the roll centre, the part of the
unsprung mass, and the elastic part ``K_axle x roll angle``. Springs and bar act in parallel, the tyre in series with
them. Roll angle ``= m_s a d / (K_f + K_r - m_s g d)``: the body's own lean is in it.
"""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.car.bars import BarTable
from paddock.engine.car.chassis import AxleLoads, Chassis, chassis_of
from paddock.engine.car.findings import Finding, doubt, merged
from paddock.model.car import Car

__all__ = [
    "G", "AxleTransfer", "Balance", "Transfer", "front_share", "load_transfer", "roll_share_curve", "share_per_pair",
    "transfer",
]  # fmt: skip

G = 9.80665


@dataclass(frozen=True, slots=True)
class AxleTransfer:
    """Newtons from the inside to the outside wheel of one axle, by cause; ``total_n`` is what the tyres feel.

    ``lifted``: the inside wheel is off the ground, ``total_n`` stays at its whole load and more stiffness here does
    nothing. ``lift_g``: cornering at which that begins, None: it does not before the car tips over.
    """

    roll_centre_n: float
    unsprung_n: float
    elastic_n: float
    total_n: float
    lifted: bool
    lift_g: float | None
    roll_nm_per_rad: float


@dataclass(frozen=True, slots=True)
class Transfer:
    """Both axles at ``lateral_g``. ``front_share``: front transfer over both, 0 to 1. ``roll_rad`` outwards."""

    lateral_g: float
    roll_rad: float
    front: AxleTransfer
    rear: AxleTransfer

    @property
    def front_share(self) -> float:
        """Front part of the whole load transfer."""
        return self.front.total_n / (self.front.total_n + self.rear.total_n)


@dataclass(frozen=True, slots=True)
class Balance:
    """``transfer`` None: it can't be computed or the car tips over, ``findings`` say why."""

    transfer: Transfer | None
    findings: tuple[Finding, ...]


def _elastic(chassis: Chassis, lateral_g: float, clamped: tuple[bool, bool]) -> tuple[float, float, float] | None:
    """Elastic moments (N.m) of front and rear and the roll angle; None: nothing holds the body up."""
    over = chassis.sprung_kg * G * chassis.lever_m
    moment, stiffness = over * lateral_g, -over
    held = [0.0, 0.0]
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
    lifted = lift is not None and lateral_g >= lift
    return AxleTransfer(
        roll_centre_n=axle.roll_centre_nm_per_g * lateral_g / axle.track_m,
        unsprung_n=axle.unsprung_nm_per_g * lateral_g / axle.track_m,
        elastic_n=elastic / axle.track_m,
        total_n=_total(axle, elastic, lateral_g),
        lifted=lifted,
        lift_g=lift,
        roll_nm_per_rad=axle.roll_nm_per_rad,
    )


def transfer(chassis: Chassis, lateral_g: float) -> Transfer | None:
    """Load transfer at ``lateral_g`` (> 0), clamped where an inside wheel is off; None: the car tips over."""
    lifts = _lifts(chassis)
    clamped = (lifts[0] is not None and lateral_g >= lifts[0], lifts[1] is not None and lateral_g >= lifts[1])
    if all(clamped):
        return None
    solved = _elastic(chassis, lateral_g, clamped)
    if solved is None:
        return None
    front, rear = (_axle(chassis.axles[i], solved[i], lateral_g, lifts[i]) for i in (0, 1))
    return Transfer(lateral_g, solved[2], front, rear)


Holes = tuple[int, int] | None


def load_transfer(car: Car, lateral_g: float | None = None, front: Holes = None, rear: Holes = None) -> Balance:
    """Load transfer of ``car``. ``front``, ``rear``: holes (left, right) instead of those in use.

    ``lateral_g`` None: the car's ``lateral_g``, else ``gearbox.grip_g``, else 1.0.
    """
    chassis, found = chassis_of(car, front, rear)
    if chassis is None:
        return Balance(None, found)
    result = transfer(chassis, chassis.lateral_g if lateral_g is None else lateral_g)
    if result is None:
        note = doubt("cg_height_mm", "at this cornering both inside wheels are off and the car tips: check the height "
                     "of the centre of gravity, the tracks and lateral_g")  # fmt: skip
        return Balance(None, merged(found, [note]))
    return Balance(result, found)


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
