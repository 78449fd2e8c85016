"""What the verbs of the car say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import LEFT_OUT, Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPairSaid:
    """``front.pairs[]`` of ``paddock bar``."""

    left: Annotated[int, "holes from 1"]
    right: Annotated[int, "holes from 1"]
    end_rate_n_mm: Annotated[float, "N/mm at the arm's end"]
    wheel_rate_n_mm: Annotated[float | None, "N/mm at one wheel, the other wheel moving opposite"]
    roll_nm_per_rad: Annotated[float | None, "N·m per radian of roll"]
    roll_heave_free_nm_per_rad: Annotated[
        float | None, "roll stiffness with the body free to rise; null: the springs are not known"
    ]
    step_pct: Annotated[float | None, "over the pair before"]
    from_now_pct: Annotated[float | None, "over the pair in use"]
    spread_pct: Annotated[float | None, "how unsure the rate, and the step, are by what was measured"]
    step_spread_pct: Annotated[float | None, "how unsure the rate, and the step, are by what was measured"]
    heave_end_n: Annotated[tuple[float, ...], "N at each end per mm of heave with unequal holes: left, right"]
    heave_wheel_n: Annotated[tuple[float, ...] | None, "N at each wheel per mm of heave, likewise; null: not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarAxleSaid:
    """``front`` of ``paddock bar``."""

    pairs: Annotated[tuple[BarPairSaid, ...], "every pair of holes"]
    in_use: Annotated[BarPairSaid | None, "the pair in use, with the same keys; null: it can't be"]
    front_share_now: Annotated[float | None, "the front's share of roll stiffness with the holes in use, 0 to 1"]
    front_share_per_pair: Annotated[tuple[float | None, ...], "the front's share with each of `pairs`"]
    problems: Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class BarLoadsSaid:
    """``balance.front`` of ``paddock bar``."""

    transfer_n: Annotated[float, "load moved, in all"]
    roll_centre_n: Annotated[float, "its parts: by the roll centre, the unsprung mass, springs and bars"]
    unsprung_n: Annotated[float, "its parts: by the roll centre, the unsprung mass, springs and bars"]
    elastic_n: Annotated[float, "its parts: by the roll centre, the unsprung mass, springs and bars"]
    roll_nm_per_rad: Annotated[float, "the axle's roll stiffness"]
    inside_lifts: Annotated[bool, "whether the inside wheel is off the ground"]
    inside_lifts_at_g: Annotated[float | None, "cornering from which it is; null: never"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarBalanceSaid:
    """``balance`` of ``paddock bar``."""

    lateral_g: Annotated[float, "cornering reckoned at"]
    roll_rad: Annotated[float, "roll of the body"]
    front_share: Annotated[float, "the front's share of the load moved"]
    front: Annotated[BarLoadsSaid, "the front axle"]
    rear: Annotated[BarLoadsSaid, "the rear axle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarOtherBarSaid:
    """``change.other_bar`` of ``paddock bar``."""

    axle: Annotated[str, "`front` or `rear`"]
    left: Annotated[int, "its holes"]
    right: Annotated[int, "its holes"]
    front_share: Annotated[float, "the front's share with them"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPressureSaid:
    """``change.rear_pressure`` of ``paddock bar``."""

    change_psi: Annotated[float, "how much"]
    se_psi: Annotated[float, "its standard error"]
    runs: Annotated[int, "from how many runs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarChangeSaid:
    """``change`` of ``paddock bar``."""

    front_share_before: Annotated[float | None, "the front's share"]
    front_share_after: Annotated[float | None, "the front's share"]
    other_bar: Annotated[BarOtherBarSaid | None, "holes of the other bar that give it back; null: none comes near"]
    rear_pressure: Annotated[
        BarPressureSaid | None, "rear pressure that gives it back as the log has shown; null: it has not"
    ]
    unknown: Annotated[str | None, "what is missing to say more"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarSaid:
    """What ``paddock bar`` says."""

    front: Annotated[BarAxleSaid | None, "the front bar; null: there is none"]
    rear: Annotated[BarAxleSaid | None, "the rear bar; null: there is none"]
    balance: Annotated[BarBalanceSaid | None, "the load moved in a corner of `--lateral-g`; null: not enough is known"]
    problems: Problems
    cautions: Annotated[tuple[str, ...], "sentences"]
    change: Annotated[BarChangeSaid, "with `--front` or `--rear`: what those holes would do"] = LEFT_OUT


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsGearSaid:
    """``gears[]`` of ``paddock gears``."""

    gear: Annotated[int, "from 1"]
    ratio: Annotated[float, "its ratio"]
    limiter_kmh: Annotated[float | None, "speed at the limiter"]
    shift_rpm: Annotated[float | None, "where to shift up; null in the last gear"]
    shift_kmh: Annotated[float | None, "where to shift up; null in the last gear"]
    crosses: Annotated[bool | None, "true: the thrusts cross there; false: it is the limiter"]
    light_rpm: Annotated[float | None, "where to put the light, with the driver's reaction taken in"]
    grip_limited_below_kmh: Annotated[float | None, "where the tyres give out; null: nowhere"]
    drop_rpm: Annotated[float | None, "engine speed after the shift"]
    rise_rpm_per_s: Annotated[float | None, "how fast it rises before the shift"]
    grip_limited_from_kmh: Annotated[float | None, "where the tyres give out; null: nowhere"]
    spins_below_kmh: Annotated[float | None, "where the tyres give out; null: nowhere"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsHoldSaid:
    """``hold`` of ``paddock gears``."""

    gear: Annotated[int, "the stretch"]
    from_kmh: Annotated[float, "the stretch"]
    length_m: Annotated[float, "the stretch"]
    hold_s: Annotated[float, "seconds each way takes, and what shifting saves"]
    shift_s: Annotated[float | None, "seconds each way takes, and what shifting saves"]
    next_gear_s: Annotated[float | None, "seconds each way takes, and what shifting saves"]
    shifting_saves_s: Annotated[float | None, "seconds each way takes, and what shifting saves"]
    best: Annotated[str, "`hold`, `shift`, `next` or `level`"]
    hold_to_m: Annotated[float | None, "how long a stretch must be for shifting to pay"]
    hold_to_kmh: Annotated[float | None, "how long a stretch must be for shifting to pay"]
    limiter_after_m: Annotated[float | None, "where the limiter comes; null: not on it"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsSaid:
    """What ``paddock gears`` says."""

    gears: Annotated[tuple[GearsGearSaid, ...], "one object a gear"]
    hold: Annotated[GearsHoldSaid | None, "with `--hold`: holding the gear against shifting; null: not asked"] = (
        LEFT_OUT
    )
    grip_n: Annotated[float | None, "what the driven tyres can push"]
    problems: Problems
    cautions: Annotated[tuple[str, ...], "sentences"]
