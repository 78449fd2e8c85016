"""What the last run left behind: roll-over marks, tread temperatures as a pattern, balance by phase."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from paddock.engine.corners import AXLES
from paddock.model.rows import RunRow, TreadTempRow

PHASES = ("entry", "mid", "exit", "slalom")
_ROLL = {"short": 0, "on": 1, "past": 2}


@dataclass(frozen=True, slots=True)
class Sign:
    """``kind``: mark, middle or a phase; ``axle`` None for a phase. ``counts``: enough to count for the hold gate."""

    kind: str
    axle: str | None
    value: str
    says: str
    counts: bool


@dataclass(frozen=True, slots=True)
class AxleSigns:
    """``mark``: short, on, past, None = none or the sides disagree; ``middle``: hot, cool, even, None = not read."""

    mark: str | None = None
    middle: str | None = None

    @property
    def under(self) -> bool:
        """Rolls past the mark: under its best pressure."""
        return self.mark == "past"

    @property
    def over(self) -> bool:
        """Short of the mark with a hot middle: over its best pressure."""
        return self.mark == "short" and self.middle == "hot"


def _mark(rows: Iterable[TreadTempRow]) -> str | None:
    """The harder rolled tyre of the axle counts; short on one side and past on the other says nothing."""
    marks = {row.mark for row in rows if row.mark is not None}
    if not marks or marks >= {"short", "past"}:
        return None
    return max(marks, key=lambda mark: _ROLL[mark])


def _over_edges(row: TreadTempRow) -> float | None:
    if row.inner_c is None or row.middle_c is None or row.outer_c is None:
        return None
    return row.middle_c - (row.inner_c + row.outer_c) / 2


def _middle(rows: Iterable[TreadTempRow], middle_c: float) -> str | None:
    """Mean over the axle's tyres; hot or cool only where no tyre says the opposite."""
    found = [value for row in rows if (value := _over_edges(row)) is not None]
    if not found:
        return None
    mean = sum(found) / len(found)
    if mean >= middle_c and min(found) > -middle_c:
        return "hot"
    return "cool" if mean <= -middle_c and max(found) < middle_c else "even"


def axle_signs(rows: Iterable[TreadTempRow], middle_c: float) -> dict[str, AxleSigns]:
    """Marks and middles of a run, per axle."""
    rows = tuple(rows)
    by_axle = {axle: [row for row in rows if row.corner in pair] for axle, pair in AXLES.items()}
    return {axle: AxleSigns(_mark(found), _middle(found, middle_c)) for axle, found in by_axle.items()}


def phases(run: RunRow | None) -> dict[str, int]:
    """Balance of the phases that were recorded: -3 strong understeer ... +3 strong oversteer."""
    if run is None:
        return {}
    return {name: value for name in PHASES if (value := getattr(run, name)) is not None}


def hottest_tread(rows: Iterable[TreadTempRow]) -> float | None:
    """The hottest tyre's mean tread temperature, C."""
    means = []
    for row in rows:
        known = [value for value in (row.inner_c, row.middle_c, row.outer_c) if value is not None]
        if known:
            means.append(sum(known) / len(known))
    return max(means, default=None)


_MARK_SAYS = {
    "past": "under its best pressure",
    "short": "stiff enough or over; counts as over only with a hot middle",
    "on": "about right",
}
_MIDDLE_SAYS = {"hot": "leans to over its best", "cool": "leans to under its best", "even": "says nothing"}


def _phase_sign(name: str, value: int) -> Sign:
    side = "neutral" if value == 0 else "understeer" if value < 0 else "oversteer"
    faint = "" if abs(value) >= 2 or value == 0 else ", faint"
    return Sign(name, None, f"{value:+d}" if value else "0", side + faint, abs(value) >= 2)


def all_signs(axles: Mapping[str, AxleSigns], balance: Mapping[str, int]) -> tuple[Sign, ...]:
    """Every sign of the run, for the second page."""
    found = []
    for axle, signs in axles.items():
        if signs.mark:
            found.append(Sign("mark", axle, signs.mark, _MARK_SAYS[signs.mark], True))
        if signs.middle:
            found.append(Sign("middle", axle, signs.middle, _MIDDLE_SAYS[signs.middle], signs.middle != "even"))
    return (*found, *(_phase_sign(name, value) for name, value in balance.items()))


def supporting(signs: Iterable[Sign], axle: str, up: bool, side: int, marks: Iterable[str] = ()) -> tuple[Sign, ...]:
    """The counting signs that agree with moving ``axle`` up (or down).

    ``side``: -1 the complaint is understeer, +1 oversteer. ``marks``: marks of any axle the rule itself rests on
    (``front on``).
    """
    mark, middle = ("past", "cool") if up else ("short", "hot")
    return tuple(sign for sign in signs if sign.counts and _agrees(sign, axle, mark, middle, side, tuple(marks)))


def _agrees(sign: Sign, axle: str, mark: str, middle: str, side: int, marks: tuple[str, ...]) -> bool:
    if sign.kind == "mark":
        return (sign.axle == axle and sign.value == mark) or f"{sign.axle} {sign.value}" in marks
    if sign.kind == "middle":
        return sign.axle == axle and sign.value == middle
    return (sign.value.startswith("-")) == (side < 0)
