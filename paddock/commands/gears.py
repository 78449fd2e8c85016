"""``paddock gears``: speed in each gear, where to shift, where to put the light, hold or shift."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from pathlib import Path
from typing import Any

from paddock.commands.common import Answer
from paddock.errors import UsageError

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


def _stretch(args: Namespace) -> tuple[int, float, float] | None:
    given = (args.hold, args.from_kmh, args.length_m)
    if given == (None, None, None):
        return None
    if None in given:
        raise UsageError("--hold, --from-kmh and --length-m go together")
    return given


def run(args: Namespace) -> Answer:
    """Every gear, and hold or shift over a stretch where one is given."""
    from paddock.engine.car.gears import CAUTIONS, gear_table
    from paddock.engine.car.hold_or_shift import hold_or_shift
    from paddock.errors import merged
    from paddock.folders.starting import open_car

    stretch = _stretch(args)
    opened = open_car(args.car)
    found = gear_table(opened.car)
    findings, hold = found.findings, None
    data: dict[str, Any] = {"gears": found.gears}
    if stretch is not None:
        hold, more = hold_or_shift(opened.car, *stretch, args.lateral_g or 0.0)
        if hold is None and found.line is not None and more and found.line.mass_kg and found.line.curve:
            raise UsageError(more[-1].message)
        findings = merged(findings, more)
        data["hold"] = hold
    problems = opened.all_problems(findings)
    data |= {"grip_n": found.grip_n, "problems": problems, "cautions": CAUTIONS}

    def words() -> str:
        from paddock.pages.gears import whole
        from paddock.render.lines import text

        return text(whole(found, hold, problems, args.speeds, args.plot))

    return Answer(data, words)
