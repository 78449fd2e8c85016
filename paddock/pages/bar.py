"""The bars: every pair of holes, what it does to the balance, and what gives a change back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, pi

from paddock.engine.car.balance import Bars, Transfer, roll_share_curve
from paddock.engine.car.bars import CAUTIONS, BarTable, Pair
from paddock.engine.car.compensation import GiveBack
from paddock.errors import Finding, Problem
from paddock.model.edit import Batch
from paddock.model.rows import WorkRow
from paddock.pages.car import at_the_end, caution_words, figure, finding_words, share
from paddock.pages.document import Block, Column, Document, PageTable, Plot, Series, TableRow, Words, paragraphs, words
from paddock.words import torque

LEAST_SHARE = 4.0
"""Points of front share a picture spans at least: less would make a hill of a flat line (a choice, no source)."""

_NOTE = (
    "end: force per travel between the two arm ends, N/mm. wheel: force per wheel travel in pure roll, N/mm. "
    "N·m/deg: roll stiffness at the wheels. 1-2 stands for 2-1 too. +/-: what your measuring leaves open. "
    "step: against the next softer pair; now %: against the holes in use (now). heave: forces at the arm ends (left "
    "right) for 10 mm of bump at both; + loads that tyre; droop turns the signs round (braking: bump in front, droop "
    "behind). front: front share of the load transfer with these holes."
)


@dataclass(frozen=True, slots=True)
class BarLine:
    """One pair of holes. ``share`` None: not known; ``now``: as it is set, or its mirror image."""

    axle: str
    pair: Pair
    share: float | None
    now: bool

    @property
    def id(self) -> str:
        """What names the line: ``rear 1-2``."""
        return f"{self.axle} {self.pair.holes}"

    @property
    def tried(self) -> dict[str, tuple[int, int]]:
        """Its holes by the axle, as the balance is asked with."""
        return {self.axle: (self.pair.left, self.pair.right)}


def bar_lines(bars: Bars) -> tuple[BarLine, ...]:
    """Every pair of holes of both bars, soft to stiff, the front first; of mirror twins the one that moves less."""
    lines = []
    for axle, table in bars.tables.items():
        shares = dict(zip(table.pairs, bars.shares[axle], strict=True)) if table else {}
        for pair in table.distinct if table else ():
            nearest = table.least_moved(pair) if table else pair
            lines.append(BarLine(axle, nearest, shares.get(nearest), table is not None and nearest == table.in_use))
    return tuple(lines)


def pairs_table(lines: Sequence[BarLine]) -> PageTable:
    """A row a pair; ``now`` marks the one in use."""
    columns = (
        Column("bar"), Column("holes"), Column("end", True, drop=6), Column("wheel", True, drop=5),
        Column("N·m/deg", True, drop=1), Column("+/-%", True, drop=3), Column("step %", True, drop=2),
        Column("now %", True), Column("heave N", True, drop=4), Column("front", True),
    )  # fmt: skip
    return PageTable(columns, tuple(TableRow(_cells(line), line.id, mine=line.now) for line in lines))


def _cells(line: BarLine) -> tuple[str, ...]:
    pair, roll = line.pair, line.pair.roll_nm_per_rad
    left, right = pair.heave_end_n
    heave = "0" if left == 0 == right else f"{figure(left, 0, True)} {figure(right, 0, True)}"
    return (
        line.axle, pair.holes + (" now" if line.now else ""), figure(pair.end_rate_n_mm, 1),
        figure(pair.wheel_rate_n_mm, 1), figure(None if roll is None else roll * pi / 180),
        figure(pair.spread_pct, 1), figure(pair.step_pct, 1, True), figure(pair.from_now_pct, 1, True), heave,
        share(line.share),
    )  # fmt: skip


def share_plot(bars: Bars, line: BarLine | None = None, low: float = 0.0, top: float = 1.6) -> Plot:
    """Front share over cornering from ``low`` to ``top`` g: as set, and with ``line`` where that is another pair."""
    made = {"as set now": roll_share_curve(bars.car, top_g=top, points=240)}
    if line is not None and not line.now:
        front, rear = line.tried.get("front"), line.tried.get("rear")
        made[line.id] = roll_share_curve(bars.car, front, rear, top, points=240)
    series = tuple(
        Series(name, tuple((g, round(value * 100, 3)) for g, value in points if g >= low))
        for name, points in made.items()
    )
    alt = "The front's share of the load transfer over cornering"
    return Plot(series, "cornering, g", "front share, %", alt, least=LEAST_SHARE)


# in words


def balance_words(bars: Bars, line: BarLine | None) -> tuple[Words, ...]:
    """The balance as it is set; what unequal holes of ``line`` do beside roll, of those in use where it is None."""
    of = [(line.axle, line.pair)] if line else [(axle, table.in_use) for axle, table in _with_bars(bars)]
    unequal = (_unequal(axle, pair) for axle, pair in of if pair is not None)
    return paragraphs([*_transfer(bars.transfer), *(text for text in unequal if text)])


def _with_bars(bars: Bars) -> list[tuple[str, BarTable]]:
    return [(axle, table) for axle, table in bars.tables.items() if table]


def _transfer(found: Transfer | None) -> list[str]:
    if found is None:
        return ["Share of load transfer: not known (see below)."]
    lines = [
        f"At {found.lateral_g:g} g the front takes {share(found.front_share)} of the load transfer "
        f"({found.front.transfer_n:.0f} N front, {found.rear.transfer_n:.0f} N rear), roll "
        f"{degrees(found.roll_rad):.1f} deg."
    ]
    for name, end in (("front", found.front), ("rear", found.rear)):
        at = end.inside_lifts_at_g
        if end.inside_lifts and at is not None:
            lines.append(f"The inside {name} wheel lifts from {at:.2f} g: more {name} bar does nothing there.")
        elif at is not None and at < found.lateral_g + 0.3:
            lines.append(f"The inside {name} wheel would lift at {at:.2f} g.")
    return lines


def _unequal(axle: str, pair: Pair) -> str:
    """What unequal holes do beside roll; "" for equal ones or no motion ratio."""
    if pair.heave_wheel_n is None or pair.heave_wheel_n == (0.0, 0.0):
        return ""
    left, right = pair.heave_wheel_n
    free, fixed = pair.roll_heave_free_nm_per_rad, pair.roll_nm_per_rad
    less = ""
    if free is not None and fixed is not None:
        less = f"; roll stiffness is {(1 - free / fixed) * 100:.1f} % less with the ride height free"
    return (
        f"{axle.capitalize()} holes {pair.holes} are unequal: 10 mm of bump at both wheels puts {left:+.0f} N on "
        f"the left tyre and {right:+.0f} N on the right, droop the other way round (braking loads a diagonal){less}."
    )


def moved(bars: Bars, line: BarLine) -> str:
    """``front bar 1-2 to 2-2``."""
    return f"{line.axle} bar {_in_use(bars.tables[line.axle]) or '?'} to {line.pair.holes}"


def _in_use(table: BarTable | None) -> str:
    return table.in_use.holes if table and table.in_use else ""


def tried_words(bars: Bars, line: BarLine, back: GiveBack) -> tuple[Words, ...]:
    """What the holes of ``line`` would do to the balance, and what gives it back."""
    return (*paragraphs([f"{moved(bars, line).capitalize()}:"]), *give_back_words(back))


def give_back_words(found: GiveBack) -> tuple[Words, ...]:
    """What a change does to the share and what gives it back."""
    if found.change is None:
        return paragraphs(["What this change does to the balance can't be told (see below)."])
    points, before = found.change * 100, share(found.front_share_before)
    if abs(points) < 0.05:
        return paragraphs([f"The front's share stays at {before}."])
    turn = "towards understeer" if points > 0 else "towards oversteer"
    lines = [
        f"Front share {before} -> {share(found.front_share_after)} ({points:+.1f} points, {turn}: common practice, "
        "as long as both inside wheels carry load)."
    ]
    both_ends = found.unknown is None and found.rear_pressure is None
    return paragraphs(lines if both_ends else [*lines, _bar_move(found), _pressure_move(found)])


def _bar_move(found: GiveBack) -> str:
    other = found.other_bar
    if other is None:
        return "The other bar can't give it back: no bar there, or no holes that come nearer."
    left = other.left_over * 100
    rest = "" if abs(left) < 0.05 else f", {abs(left):.1f} points {'over' if left > 0 else 'under'}"
    return (
        f"To give it back, move the {other.axle} bar to {other.left}-{other.right}: {share(other.front_share)}{rest} "
        "(reckoned: equal share, not equal feel)."
    )


def _pressure_move(found: GiveBack) -> str:
    move = found.rear_pressure
    if move is None:
        return f"By rear pressure: {found.unknown}."
    way = "up" if move.change_psi > 0 else "down"
    line = (
        f"Or rear pressure {way} {abs(move.change_psi):.1f} psi (+/- {move.se_psi:.1f}, learned from {move.runs} runs "
        "of this car)"
    )
    return line + (f": {move.held_back}." if move.held_back else ", within the limits.")


def to_look_at(made: Batch) -> tuple[Words, ...]:
    """What has to be looked at again after a change, with the torque where the car file has it."""
    rows = [edit.cells for edit in made.edits[1:] if getattr(edit, "file", "") == WorkRow.FILE]  # type: ignore[union-attr]
    again = [f"{row.get('item')}" + (f", {torque(row['torque_nm'])}" if row.get("torque_nm") else "") for row in rows]
    return (words(f"To be looked at again: {'; '.join(again)}."),) if again else ()


def to_log(made: Batch) -> Document:
    """What a change makes one look at again, and what to mind under the car."""
    return Document("bar", (*to_look_at(made), *caution_words(CAUTIONS)))


# pages


def in_hand(bars: Bars, line: BarLine | None, back: GiveBack | None, findings: Sequence[Finding]) -> Document:
    """What is said of the pair in hand: what it would do, or the balance as it is set; then what is missing."""
    said = tried_words(bars, line, back) if line is not None and back is not None else balance_words(bars, line)
    return Document("bar", (*said, *finding_words(findings)))


def no_bars(findings: Sequence[Finding], bars: Bars | None) -> Document:
    """Where no pair can be shown: why, and where to mend it."""
    if bars is not None and not any(bars.tables.values()):
        mend = "a opens the car's values: diameter, length and levers of front.bar or rear.bar"
        return Document("bar", (words(("no bar is in the car file yet", "strong")), words(mend)))
    return Document("bar", (*finding_words(findings), words("a opens the car's values, to make or mend them")))


def whole(
    bars: Bars, back: GiveBack | None, problems: Sequence[Problem], note: str = "", plot: bool = False
) -> Document:
    """Everything a command prints. ``note``: whose holes are in use."""
    lines = bar_lines(bars)
    blocks: list[Block] = [words(note)] if note else []
    blocks += [words(_axle(axle, table)) for axle, table in bars.tables.items()]
    blocks += [pairs_table(lines), words(""), words((_NOTE, "quiet")), words("")] if lines else [words("")]
    blocks += balance_words(bars, None)
    blocks += [words(""), *give_back_words(back)] if back is not None else []
    if plot and (picture := share_plot(bars)).series[0].points:
        blocks.append(picture)
    return Document("bar", (*blocks, *at_the_end(problems, CAUTIONS)))


def _axle(axle: str, table: BarTable | None) -> str:
    name = f"{axle.capitalize()} bar"
    if table is None:
        return f"{name}: none."
    if not table.pairs:
        return f"{name}: nothing to compute (see below)."
    return f"{name}, holes left-right in use: {_in_use(table) or 'not known, see below'}."
