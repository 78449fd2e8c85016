"""To give this back, move that: what undoes a change of bar at the other axle or with the rear pressure.

The other bar is reckoned: the holes whose share of load transfer comes nearest to the old one. Pressure is never
reckoned, because pressure against grip is a hill; it is told only from the car's own learned responses.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from paddock.engine.car.balance import Holes, load_transfer
from paddock.engine.car.bars import pairs_table
from paddock.engine.pressure.signs import Response
from paddock.errors import UNSAID, Finding, merged
from paddock.model.car import Car

NEAR = 0.0005
"""Shares closer than a twentieth of a point are the same."""
STEP_PSI = 2.0


@dataclass(frozen=True, slots=True)
class OtherBar:
    """The other axle's holes that come nearest; ``front_share`` then, ``left_over`` against the old one."""

    axle: str
    left: int
    right: int
    front_share: float
    left_over: float = field(metadata=UNSAID)


@dataclass(frozen=True, slots=True)
class PressureMove:
    """Rear pressure that gives the balance back (positive = up), +/- ``se_psi``, from ``runs`` of the log.

    ``held_back`` not None: why it is not to be done as it stands.
    """

    change_psi: float
    se_psi: float
    runs: int
    held_back: str | None = field(metadata=UNSAID)


@dataclass(frozen=True, slots=True)
class GiveBack:
    """The shares None: can't be computed. ``rear_pressure`` None: ``unknown`` says why.

    ``other_bar`` None: no bar there, or none of its pairs comes nearer than leaving it.
    """

    front_share_before: float | None
    front_share_after: float | None
    other_bar: OtherBar | None
    rear_pressure: PressureMove | None
    unknown: str | None
    findings: tuple[Finding, ...] = field(metadata=UNSAID)

    @property
    def change(self) -> float | None:
        """After less before."""
        before, after = self.front_share_before, self.front_share_after
        return None if before is None or after is None else after - before


def _other_bar(
    car: Car, changed: str, holes: Holes, before: float, after: float, lateral_g: float | None
) -> OtherBar | None:
    other = "rear" if changed == "front" else "front"
    table = pairs_table(car, other)
    best: OtherBar | None = None
    for pair in table.distinct if table else ():
        balance = load_transfer(car, lateral_g, **{changed: holes, other: (pair.left, pair.right)})
        if balance.transfer is None:
            continue
        share = balance.transfer.front_share
        if best is None or abs(share - before) < abs(best.left_over) - 1e-9:
            best = OtherBar(other, pair.left, pair.right, share, share - before)
    return best if best is not None and abs(best.left_over) < abs(after - before) - NEAR else None


def _unknown(bar: Response | None, rear: Response | None, axle: str) -> str | None:
    if rear is None or not rear.clear:
        return ("unknown: this car's log does not show yet what rear pressure does to its balance; "
                "two runs each at two rear pressures, nothing else changed, would")  # fmt: skip
    if bar is None or not bar.clear:
        return (f"unknown: this car's log does not show yet what the {axle} bar does to its balance; "
                "two runs each with two holes, nothing else changed, would")  # fmt: skip
    return None


def why_held_back(car: Car, psi: float) -> str | None:
    """Why a move of so many psi is not to be done as it stands; None: it may be."""
    if psi > 0 and car.limits.max_cold_psi is None and car.limits.wheel_max_psi is None:
        return "no cold maximum is known (limits.max_cold_psi), so nothing is to be raised"
    if psi > 0:
        return None if psi <= STEP_PSI else f"in steps of at most {STEP_PSI:g} psi, never over the cold maximum"
    return None if psi >= -STEP_PSI else f"in steps of at most {STEP_PSI:g} psi, never under the minimum"


def _pressure(car: Car, change: float, bar: Response, rear: Response) -> PressureMove:
    """psi whose learned effect is the opposite of the bar's, errors carried through the quotient."""
    effect = change * 100 * bar.per_unit
    psi = -effect / rear.per_unit
    se = abs(psi) * ((bar.se / bar.per_unit) ** 2 + (rear.se / rear.per_unit) ** 2) ** 0.5
    return PressureMove(psi, se, min(bar.runs, rear.runs), why_held_back(car, psi))


def give_back(
    car: Car, front: Holes = None, rear: Holes = None, responses: Iterable[Response] | None = None,
    lateral_g: float | None = None,
) -> GiveBack:  # fmt: skip
    """What the new holes do to the share and what gives it back. With both ends changed only the share is told.

    ``responses``: what the car's own log has shown (``responses.learned``), None or empty: nothing.
    """
    old, new = load_transfer(car, lateral_g), load_transfer(car, lateral_g, front, rear)
    findings = merged(old.findings, new.findings)
    before = None if old.transfer is None else old.transfer.front_share
    after = None if new.transfer is None else new.transfer.front_share
    if before is None or after is None or abs(after - before) < NEAR or (front and rear) or not (front or rear):
        return GiveBack(before, after, None, None, None, findings)
    axle, holes = ("front", front) if front else ("rear", rear)
    known = {item.key: item for item in responses or ()}
    bar, psi = known.get("front_share"), known.get("rear_psi")
    unknown = _unknown(bar, psi, axle)
    move = None if unknown or bar is None or psi is None else _pressure(car, after - before, bar, psi)
    return GiveBack(before, after, _other_bar(car, axle, holes, before, after, lateral_g), move, unknown, findings)
