"""A bar as the car file tells it, made ready to compute with; what can't be is left out and named."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi

from paddock.errors import Finding, doubt, fault
from paddock.model.car import Car
from paddock.model.car_axle import Axle, Bar

SHEAR_GPA = 79.0
"""Spring and structural steels lie between 77.2 and 79.3 GPa (table of spring materials, engineersedge.com)."""
MOST_HOLES = 24
"""Holes of one arm that are read; every pair of them is worked out."""


@dataclass(frozen=True, slots=True)
class Hole:
    """``lever_mm``: perpendicular to the bar; ``mr`` None: not known; ``arm_mm``: the arm's real length to it."""

    lever_mm: float
    mr: float | None
    arm_mm: float


@dataclass(frozen=True, slots=True)
class BarParts:
    """``bore_mm`` 0 = solid. ``left``, ``right``: holes from 1, None where a hole can't be used.

    ``arm_ei_n_m2``, ``link_n_m``, ``bush_n_m`` None: taken as rigid. ``in_use`` None: not known or can't be.
    """

    outer_mm: float
    bore_mm: float
    length_mm: float
    shear_gpa: float
    left: tuple[Hole | None, ...]
    right: tuple[Hole | None, ...]
    track_mm: float | None
    in_use: tuple[int, int] | None
    arm_ei_n_m2: float | None = None
    link_n_m: float | None = None
    bush_n_m: float | None = None

    @property
    def sides(self) -> tuple[tuple[Hole | None, ...], tuple[Hole | None, ...]]:
        """The holes of the left arm, of the right arm."""
        return self.left, self.right

    def hole(self, side: str, number: int) -> Hole | None:
        """Hole ``number`` (from 1) of ``left`` or ``right``, None where there is none."""
        holes = self.left if side == "left" else self.right
        return holes[number - 1] if 1 <= number <= len(holes) else None

    def give_m_per_n(self, hole: Hole) -> float:
        """How far one arm end gives per newton beside the twist: arm bending C^3 / 3EI, link, rubber."""
        arm = 0.0 if self.arm_ei_n_m2 is None else (hole.arm_mm / 1000.0) ** 3 / (3.0 * self.arm_ei_n_m2)
        return arm + sum(1.0 / rate for rate in (self.link_n_m, self.bush_n_m) if rate is not None)


def _bore(bar: Bar, key: str, notes: list[Finding]) -> float | None:
    """Bore in mm, 0 = solid; None: it can't be."""
    outer = bar.diameter_mm
    assert outer is not None
    from_wall = None if bar.wall_mm is None else outer - 2 * bar.wall_mm
    if bar.bore_mm is not None and not 0 <= bar.bore_mm < outer:
        notes.append(fault(f"{key}.bore_mm", f"a bore of {bar.bore_mm:g} mm does not fit in a bar of {outer:g} mm: "
                           "measure both again; leave bore_mm and wall_mm out for a solid bar"))  # fmt: skip
        return None
    if from_wall is not None and not 0 <= from_wall < outer:
        notes.append(fault(f"{key}.wall_mm", f"a wall of {bar.wall_mm:g} mm can't be in a bar of {outer:g} mm: "
                           "more than 0 and at most half the diameter; leave it out for a solid bar"))  # fmt: skip
        return None
    if bar.bore_mm is not None and from_wall is not None and abs(bar.bore_mm - from_wall) > 0.2:
        notes.append(doubt(f"{key}.bore_mm", f"bore {bar.bore_mm:g} mm and wall {bar.wall_mm:g} mm don't agree "
                           f"(the wall gives {from_wall:g} mm): the bore is used; strike one out"))  # fmt: skip
    return bar.bore_mm if bar.bore_mm is not None else (from_wall or 0.0)


def _ratio(bar: Bar, index: int, key: str, notes: list[Finding]) -> float | None:
    if bar.mr is None:
        return None
    if isinstance(bar.mr, tuple):
        if index >= len(bar.mr):
            notes.append(doubt(f"{key}.mr", f"no motion ratio for hole {index + 1}: give one per hole, or one number"))
            return None
        value = bar.mr[index]
    else:
        value = bar.mr
    if not 0 < value <= 3:
        notes.append(fault(f"{key}.mr", f"a motion ratio of {value:g} can't be: arm-end travel per wheel travel, "
                           "mostly 0.3 to 1"))  # fmt: skip
        return None
    return value


def _arm_lengths(bar: Bar, levers: tuple[float, ...]) -> tuple[float, ...]:
    """Real arm length to each hole: listed, or the length to the farthest hole in proportion, else the lever."""
    given = bar.arm_length_mm
    if isinstance(given, tuple):
        return tuple(given[i] if i < len(given) else lever for i, lever in enumerate(levers))
    stretch = 1.0 if given is None else max(1.0, given / max(levers))
    return tuple(lever * stretch for lever in levers)


def _holes(bar: Bar, name: str, key: str, notes: list[Finding]) -> tuple[Hole | None, ...]:
    levers = (bar.right_arms_mm if name == "right_arms_mm" else None) or bar.arms_mm or ()
    if len(levers) > MOST_HOLES:
        notes.append(
            fault(f"{key}.{name}", f"{len(levers)} holes on one arm can't be: the first {MOST_HOLES} are used")
        )
        levers = levers[:MOST_HOLES]
    lengths = _arm_lengths(bar, levers) if any(lever > 0 for lever in levers) else levers
    given = bar.arm_length_mm
    limits = (*given, *(None for _ in levers)) if isinstance(given, tuple) else (given,) * len(levers)
    holes: list[Hole | None] = []
    for index, lever in enumerate(levers):
        limit = limits[index]
        hole: Hole | None = Hole(lever, _ratio(bar, index, key, notes), lengths[index])
        if not 10 <= lever <= 1000:
            notes.append(fault(f"{key}.{name}", f"hole {index + 1}: a lever of {lever:g} mm can't be: measure at right "
                               "angles from the bar's axis to the hole"))  # fmt: skip
            hole = None
        elif limit is not None and lever > limit + 0.5:
            notes.append(fault(f"{key}.{name}", f"hole {index + 1} at {lever:g} mm lies beyond the arm "
                               "(arm_length_mm): measure both again"))  # fmt: skip
            hole = None
        holes.append(hole)
    return tuple(holes)


def holes_of(text: str | None) -> tuple[int, int] | None:
    """``1-2`` or ``1/2``: left and right hole; None where the text is no pair of holes."""
    found = re.fullmatch(r"\s*(\d{1,3})\s*[-/]\s*(\d{1,3})\s*", text or "")
    return None if found is None else (int(found[1]), int(found[2]))


def _in_use(
    car: Car, axle: str, sides: tuple[tuple[Hole | None, ...], tuple[Hole | None, ...]], notes: list[Finding]
) -> tuple[int, int] | None:
    bar: Bar = getattr(car, axle).bar
    setup = holes_of(str(car.setup.get(f"{axle}_bar", "")))
    if setup is not None and None not in (bar.left, bar.right) and setup != (bar.left, bar.right):
        notes.append(doubt(f"setup.{axle}_bar", f"says {setup[0]}-{setup[1]}, the bar's left and right say {bar.left}-"
                           f"{bar.right}: these are used; mend one of them"))  # fmt: skip
    chosen: list[int] = []
    for index, (name, holes) in enumerate(zip(("left", "right"), sides, strict=True)):
        given: int | None = getattr(bar, name)
        number = given if given is not None or setup is None else setup[index]
        fine = _hole_in(number, holes, f"{axle}.bar.{name}", notes)
        if fine is not None:
            chosen.append(fine)
    return (chosen[0], chosen[1]) if len(chosen) == 2 else None


def _hole_in(number: int | None, holes: tuple[Hole | None, ...], key: str, notes: list[Finding]) -> int | None:
    side = key.rpartition(".")[2]
    if number is None:
        notes.append(doubt(key, f"the hole in use on the {side} is missing: count from hole 1 of arms_mm"))
    elif not 1 <= number <= len(holes):
        notes.append(fault(key, f"hole {number} isn't there: the arm has {len(holes)}, counted from 1"))
    elif holes[number - 1] is None:
        notes.append(fault(key, f"hole {number} can't be used: see arms_mm"))
    else:
        return number
    return None


def _missing(bar: Bar, key: str, notes: list[Finding]) -> bool:
    wanted = {
        "diameter_mm": "measure the bar's outside diameter with a calliper, paint off",
        "length_mm": "measure the straight part that twists, arm to arm",
        "arms_mm": "measure each hole's lever at right angles from the bar's axis",
    }
    gone = [name for name in wanted if not getattr(bar, name)]
    told = {note.key for note in notes}
    notes.extend(
        doubt(f"{key}.{name}", f"missing, so nothing of this bar can be computed: {wanted[name]}")
        for name in gone
        if f"{key}.{name}" not in told
    )
    return bool(gone)


def _arm_stiffness(bar: Bar, bore: float) -> float | None:
    """EI of an arm in N.m^2: as given, else the bar's own section (second moment = J / 2) with ``young_gpa``."""
    if bar.arm_ei_n_m2 is not None or bar.young_gpa is None or bar.diameter_mm is None:
        return bar.arm_ei_n_m2
    return bar.young_gpa * pi * (bar.diameter_mm**4 - bore**4) / 64.0 / 1000.0


def _doubts(axle: Axle, name: str, bar: Bar) -> list[Finding]:
    key, notes = f"{name}.bar", []
    if bar.mr is None:
        notes.append(doubt(f"{key}.mr", "missing: no wheel rate, roll stiffness or share without it; measure the arm "
                           "end's travel for 50 mm of wheel travel, divided by 50"))  # fmt: skip
    if axle.track_mm is None:
        notes.append(doubt(f"{name}.track_mm", "missing: no roll stiffness or share without it; measure from tread "
                           "centre to tread centre"))  # fmt: skip
    return notes


def parts_of(car: Car, axle: str) -> tuple[BarParts | None, tuple[Finding, ...]]:
    """The bar of ``axle`` ready to compute with, and what is missing or can't be. No bar: None and no findings."""
    notes: list[Finding] = []
    ends: Axle = getattr(car, axle)
    bar, key = ends.bar, f"{axle}.bar"
    if bar is None:
        return None, ()
    if _missing(bar, key, notes) or (bore := _bore(bar, key, notes)) is None:
        return None, tuple(notes)
    assert bar.diameter_mm is not None
    assert bar.length_mm is not None
    sides = (_holes(bar, "arms_mm", key, notes), _holes(bar, "right_arms_mm", key, notes))
    parts = BarParts(
        outer_mm=bar.diameter_mm,
        bore_mm=bore,
        length_mm=bar.length_mm,
        shear_gpa=bar.shear_gpa or SHEAR_GPA,
        left=sides[0],
        right=sides[1],
        track_mm=ends.track_mm,
        in_use=_in_use(car, axle, sides, notes),
        arm_ei_n_m2=_arm_stiffness(bar, bore),
        link_n_m=None if bar.link_n_mm is None else bar.link_n_mm * 1000.0,
        bush_n_m=None if bar.bush_n_mm is None else bar.bush_n_mm * 1000.0,
    )
    return parts, tuple(dict.fromkeys([*notes, *_doubts(ends, axle, bar)]))
