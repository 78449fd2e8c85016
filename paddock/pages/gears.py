"""Gears: speeds, where to shift, where to put the light, where grip is the limit, hold a gear or shift."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.engine.car.gears import CAUTIONS, Gear, GearTable, speed_table, thrust_curves
from paddock.engine.car.hold_or_shift import Hold
from paddock.errors import Finding, Problem
from paddock.pages.car import at_the_end, caution_words, figure, finding_words
from paddock.pages.document import Block, Column, Document, PageTable, Plot, Series, TableRow, Words, paragraphs, words

_NAMES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
_WHY = {True: "crosses", False: "limiter", None: "-"}


def gear_name(gear: int) -> str:
    """``second``; ``gear 9`` past the eighth."""
    return _NAMES[gear - 1] if 1 <= gear <= len(_NAMES) else f"gear {gear}"


def gears_table(gears: Sequence[Gear]) -> PageTable:
    """A row a gear; from ``shift rpm`` to ``light rpm`` of the shift out of it."""
    columns = (
        Column("gear", True), Column("ratio", True, drop=4), Column("top km/h", True, drop=2),
        Column("shift rpm", True), Column("at km/h", True), Column("why", drop=5), Column("to rpm", True, drop=3),
        Column("light rpm", True), Column("grip km/h", True, drop=1),
    )  # fmt: skip
    rows = tuple(
        TableRow((
            f"{gear.gear}", f"{gear.ratio:g}", figure(gear.limiter_kmh, 1), figure(gear.shift_rpm),
            figure(gear.shift_kmh, 1), _WHY[gear.crosses], figure(gear.drop_rpm), figure(gear.light_rpm),
            figure(gear.grip_limited_below_kmh, 1),
        ), f"{gear.gear}")
        for gear in gears
    )  # fmt: skip
    return PageTable(columns, rows)


def speeds_table(found: GearTable) -> PageTable:
    """Speed in every gear over rpm, the limiter last."""
    columns = (Column("rpm", True), *(Column(f"{gear.gear} km/h", True) for gear in found.gears))
    rows = speed_table(found.line) if found.line else ()
    empty = "speeds need the gear ratios, the wheel and the limiter"
    return PageTable(
        columns,
        tuple(TableRow((f"{rpm:.0f}", *(figure(kmh, 1) for kmh in speeds))) for rpm, speeds in rows),
        empty=empty,
    )


def thrust_plot(found: GearTable) -> Plot | None:
    """Thrust at the wheels over speed, a line a gear, and what the driven wheels hold; None without a curve."""
    curves = thrust_curves(found.line, 96) if found.line else ()
    if not any(curves):
        return None
    series = tuple(Series(f"gear {gear}", points) for gear, points in enumerate(curves, 1))
    levels = () if found.grip_n is None else (("grip", found.grip_n),)
    return Plot(series, "km/h", "thrust, N", "Thrust at the wheels over speed in every gear", levels=levels)


# in words


def notes(found: GearTable) -> tuple[Words, ...]:
    """What grip and reaction do to the table."""
    lines = []
    if found.grip_n is not None:
        lines.append(f"The driven wheels hold {found.grip_n:.0f} N: below the last column's speed thrust exceeds that, "
                     "so a longer gear or a short shift costs nothing there.")  # fmt: skip
    spins = [
        f"{gear.gear}: {gear.spins_below_kmh:.0f} km/h" for gear in found.gears if gear.spins_below_kmh is not None
    ]
    if spins:
        lines.append("With what the engine needs to speed itself up taken off, that is up to (gear: speed) "
                     + ", ".join(spins) + ".")  # fmt: skip
    if any(gear.light_rpm is not None for gear in found.gears) and found.line is not None:
        lines.append(f"The light is early by the engine's rise in {found.line.reaction_s:g} s of reaction.")
    return paragraphs(lines)


def hold_words(hold: Hold) -> tuple[Words, ...]:
    """Hold or shift over the stretch, in tenths."""
    name, after = gear_name(hold.gear), gear_name(hold.gear + 1)
    verdict = {
        "hold": f"hold {name}",
        "shift": f"shift to {after}",
        "next": f"take it in {after}",
        "level": "the two best ways are level: take the one that is easier to drive",
    }[hold.best]
    lines = [f"Over {hold.length_m:g} m from {hold.from_kmh:g} km/h: {verdict}.", *_costs(hold), _until(hold)]
    if hold.limiter_after_m is not None:
        lines.append(f"The limiter comes after {hold.limiter_after_m:.0f} m.")
    return paragraphs(lines)


def _costs(hold: Hold) -> list[str]:
    name, after = gear_name(hold.gear), gear_name(hold.gear + 1)
    ways: list[tuple[str, float | None]] = [(f"take it in {after} from the start", hold.next_gear_s)]
    if hold.shifts and hold.shift_at_kmh is not None:
        ways.insert(0, (f"shift to {after} at {hold.shift_at_kmh:.0f} km/h", hold.shift_s))
    known = [(way, took) for way, took in ways if took is not None]
    return [f"  hold {name}: {hold.hold_s:.2f} s",
            *(f"  {way}: {took:.2f} s, {_against(took - hold.hold_s)}" for way, took in known)]  # fmt: skip


def _against(more_s: float) -> str:
    """``costs 1.3 tenths``; under a fifth of one ``nothing you can drive``."""
    if abs(more_s) < 0.02:
        return "nothing you can drive"
    size = f"{abs(more_s) * 10:.1f}"
    return f"{'costs' if more_s > 0 else 'saves'} {size} {'tenth' if size == '1.0' else 'tenths'}"


def _until(hold: Hold) -> str:
    name = gear_name(hold.gear)
    if hold.shift_s is None:
        return f"There is no higher gear than {name}."
    if hold.hold_to_m is None or hold.hold_to_kmh is None:
        return f"Holding {name} is never slower than shifting within 600 m."
    full = f"{hold.hold_to_m:.0f} m of full throttle ({hold.hold_to_kmh:.0f} km/h)"
    return f"Hold {name} to {full}; on a longer stretch shift."


# pages


def under_table(
    found: GearTable, findings: Sequence[Finding], answer: Sequence[Words] = (), brief: bool = False
) -> Document:
    """What is wrong, then ``answer`` to a question, else what the table means. ``brief``: its first sentence alone."""
    if not found.gears:
        head = words(("no gear can be computed yet", "strong"))
        return Document("gears", (head, *finding_words(findings), words("a opens the car's values")))
    said = answer or (*notes(found)[: 1 if brief else None], *caution_words(CAUTIONS))
    return Document("gears", (*finding_words(findings), *said))


def whole(
    found: GearTable, hold: Hold | None, problems: Sequence[Problem], speeds: bool = False, plot: bool = False
) -> Document:
    """Everything a command prints."""
    blocks: list[Block] = []
    if found.gears:
        blocks += [gears_table(found.gears), words(""), *notes(found)]
    else:
        blocks.append(words("No gear can be computed (see below)."))
    blocks += [words(""), *hold_words(hold)] if hold is not None else []
    blocks += [speeds_table(found)] if speeds and found.gears else []
    picture = thrust_plot(found) if plot else None
    blocks += [picture] if picture else []
    return Document("gears", (*blocks, *at_the_end(problems, CAUTIONS if found.gears else ())))
