"""``paddock gears``: speed in each gear, where to shift, where to put the light, hold or shift."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.answer import Answer
from paddock.commands.table import table
from paddock.errors import Problem, UsageError
from paddock.render.clean import clean

if TYPE_CHECKING:
    from paddock.engine.car.gears import Gear, GearTable
    from paddock.engine.car.hold_or_shift import Hold

__all__ = ["EXAMPLES", "HELP", "configure", "run"]

HELP = "Say the speed in each gear, where to shift, where to put the light, and whether to hold a gear on a stretch."
EXAMPLES = (
    "paddock gears example_event/cars/special.toml",
    "paddock gears example_event/cars/special.toml --hold 2 --from-kmh 60 --length-m 90",
    "paddock gears example_event/cars/special.toml --plot",
)


def _positive(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = 0.0
    if not 0 < value <= 1000:
        raise ArgumentTypeError(f"{text!r}: a number over 0 is wanted")
    return value


def configure(parser: ArgumentParser) -> None:
    """The car file and a stretch."""
    parser.add_argument("car", type=Path, metavar="CAR.toml", help="a car file")
    parser.add_argument("--hold", type=int, metavar="GEAR", help="hold this gear or shift, on a stretch?")
    parser.add_argument("--from-kmh", type=_positive, metavar="V", help="speed at the start of the stretch")
    parser.add_argument("--length-m", type=_positive, metavar="M", help="full throttle for so many metres")
    parser.add_argument("--lateral-g", type=_positive, metavar="G", help="cornering meanwhile (default: straight)")
    parser.add_argument("--speeds", action="store_true", help="list the speed in every gear over rpm too")
    parser.add_argument("--plot", action="store_true", help="draw thrust over speed too")


def _gear(gear: Gear) -> dict[str, Any]:
    return {
        "gear": gear.gear,
        "ratio": gear.ratio,
        "limiter_kmh": gear.limiter_kmh,
        "shift_rpm": gear.shift_rpm,
        "shift_kmh": gear.shift_kmh,
        "crosses": gear.crosses,
        "light_rpm": gear.light_rpm,
        "grip_limited_below_kmh": gear.grip_limited_below_kmh,
        "drop_rpm": gear.drop_rpm,
        "rise_rpm_per_s": gear.rise_rpm_per_s,
        "grip_limited_from_kmh": gear.grip_limited_from_kmh,
        "spins_below_kmh": gear.spins_below_kmh,
    }


def _hold(hold: Hold | None) -> dict[str, Any] | None:
    if hold is None:
        return None
    return {
        "gear": hold.gear, "from_kmh": hold.from_kmh, "length_m": hold.length_m, "hold_s": hold.hold_s,
        "shift_s": hold.shift_s, "next_gear_s": hold.next_s, "shifting_saves_s": hold.saved_s, "best": hold.best,
        "hold_to_m": hold.hold_to_m, "hold_to_kmh": hold.hold_to_kmh, "limiter_after_m": hold.limiter_m,
    }  # fmt: skip


def _plot(found: GearTable) -> list[str]:
    from paddock.render.drawn import lines_plot
    from paddock.views.gears import thrust_marks, thrust_series

    picture = lines_plot(thrust_series(found), "km/h", "thrust, N", marks=thrust_marks(found))
    return ["", picture] if picture else []


def _speeds(found: GearTable) -> list[str]:
    from paddock.engine.car.gears import speed_table

    rows = speed_table(found.line) if found.line else ()
    headers = ["rpm", *(f"gear {gear.gear} km/h" for gear in found.gears)]
    cells = [[f"{rpm:.0f}", *("-" if kmh is None else f"{kmh:.1f}" for kmh in speeds)] for rpm, speeds in rows]
    return ["", table(headers, cells, range(len(headers)))] if cells else []


def _text(found: GearTable, hold: Hold | None, problems: tuple[Problem, ...], args: Namespace) -> str:
    from paddock.engine.car.gears import CAUTIONS
    from paddock.words_car import GEAR_HEADERS, caution_lines, gear_cells, gear_sentences, hold_sentences

    rows = [gear_cells(gear) for gear in found.gears]
    right = [index for index, name in enumerate(GEAR_HEADERS) if name != "why"]
    lines = [table(GEAR_HEADERS, rows, right)] if rows else ["No gear can be computed (see below)."]
    lines += ["", *notes] if (notes := gear_sentences(found)) else []
    if hold is not None:
        lines += ["", *hold_sentences(hold)]
    if args.speeds:
        lines += _speeds(found)
    if args.plot:
        lines += _plot(found)
    if problems:
        lines += ["", *(clean(str(problem)) for problem in problems)]
    return "\n".join([*lines, *(caution_lines(CAUTIONS) if rows else [])])


def _stretch(args: Namespace) -> tuple[int, float, float] | None:
    given = (args.hold, args.from_kmh, args.length_m)
    if given == (None, None, None):
        return None
    if None in given:
        raise UsageError("--hold, --from-kmh and --length-m go together")
    return given


def run(args: Namespace) -> Answer:
    """Every gear, and hold or shift over a stretch where one is given."""
    from paddock.engine.car.findings import merged
    from paddock.engine.car.gears import CAUTIONS, gear_table
    from paddock.engine.car.hold_or_shift import hold_or_shift
    from paddock.folders.carfile import open_car

    stretch = _stretch(args)
    opened = open_car(args.car)
    found = gear_table(opened.car)
    findings, hold = found.findings, None
    if stretch is not None:
        hold, more = hold_or_shift(opened.car, *stretch, args.lateral_g or 0.0)
        if hold is None and found.line is not None and more and found.line.mass_kg and found.line.curve:
            raise UsageError(more[-1].message)
        findings = merged(findings, more)
    problems = opened.all_problems(findings)
    data: dict[str, Any] = {"gears": [_gear(gear) for gear in found.gears]}
    if stretch is not None:
        data["hold"] = _hold(hold)
    data |= {
        "grip_n": found.grip_n,
        "problems": [{"file": p.file, "line": p.line, "level": p.level, "message": p.message} for p in problems],
        "cautions": list(CAUTIONS),
    }
    return Answer(data, lambda: _text(found, hold, problems, args))
