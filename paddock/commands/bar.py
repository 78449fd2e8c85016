"""``paddock bar``: what each pair of anti-roll bar holes is worth, and what it does to the balance."""

from __future__ import annotations

import re
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer
from paddock.errors import Problem, UsageError

if TYPE_CHECKING:
    from paddock.engine.car.balance import Bars
    from paddock.engine.pressure.signs import Response
    from paddock.errors import Finding
    from paddock.model.car import Car


HELP = "Say what each pair of anti-roll bar holes is worth, what it does to the balance, and what must move with it."
EXAMPLES = (
    "paddock bar example_event/cars/estate.toml",
    "paddock bar example_event/cars/estate.toml --front 1-1",
    "paddock bar example_event/cars/estate.toml --lateral-g 0.8 --json",
    "paddock bar example_event/cars/estate.toml --folder example_event --number 58",
)

HolePair = tuple[int, int]


def _holes(text: str) -> HolePair:
    found = re.fullmatch(r"(\d{1,2})[-/](\d{1,2})", text)
    if found is None:
        raise ArgumentTypeError(f"{text!r} is no pair of holes: left-right, like 3-2")
    return int(found[1]), int(found[2])


def _g(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = 0.0
    if not 0.05 <= value <= 3:
        raise ArgumentTypeError(f"{text!r} is no cornering in g: 0.05 to 3")
    return value


def configure(parser: ArgumentParser) -> None:
    """The car file, a change to try, the cornering."""
    parser.add_argument("car", type=Path, metavar="CAR.toml", help="a car file")
    parser.add_argument("--front", type=_holes, metavar="L-R", help="try these holes in front")
    parser.add_argument("--rear", type=_holes, metavar="L-R", help="try these holes at the rear")
    parser.add_argument("--lateral-g", type=_g, metavar="G", help="cornering to reckon at (default: the car's)")
    parser.add_argument(
        "--folder",
        type=Path,
        metavar="FOLDER",
        help="an event folder: the holes its log leaves in use, and what it has shown",
    )
    parser.add_argument("--number", metavar="N", help="the entry whose log it is (with --folder)")
    parser.add_argument("--plot", action="store_true", help="draw the share over cornering too")


def _axle(bars: Bars, axle: str, problems: tuple[Problem, ...]) -> dict[str, Any] | None:
    table = bars.tables[axle]
    return None if table is None else {
        "pairs": table.pairs,
        "in_use": table.in_use,
        "front_share_now": None if bars.transfer is None else bars.transfer.front_share,
        "front_share_per_pair": bars.shares[axle],
        "problems": [item for item in problems if item.message.startswith(f"{axle}.")],
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Logged:
    """The car as the log leaves it, what the log has shown, and ``note``: where the holes in use come from."""

    car: Car
    learned: tuple[Response, ...] = ()
    findings: tuple[Finding, ...] = ()
    note: str = ""


def _logged(args: Namespace, car: Car) -> _Logged:
    if (args.folder is None) != (args.number is None):
        raise UsageError("--folder and --number go together")
    if args.folder is None:
        return _Logged(car)
    from paddock.commands.common import entered, load
    from paddock.engine.car.car_now import car_in_force
    from paddock.engine.pressure.signs import learned

    event = load(args.folder)
    number = entered(event, args.number)
    name = event.car_name_of(number)
    if name != args.car.stem:
        of = f"the car {name}" if name else "no car file"
        note = f"The log of {number} is of {of}: the holes in use are {args.car.name}'s own."
        return _Logged(car, learned(event, number), note=note)
    now, findings = car_in_force(event, number, car)
    return _Logged(now, learned(event, number), findings, _from_log(car, now, number))


def _from_log(filed: Car, now: Car, number: str) -> str:
    """Which holes in use are the log's; "" where they are as filed."""
    moved = [
        f"{end} {new.left}-{new.right} (the car file has {old.left}-{old.right})"
        for end in ("front", "rear")
        if (old := getattr(filed, end).bar) is not None and (new := getattr(now, end).bar) != old
    ]
    return f"Holes in use as the change log of {number} leaves them: {', '.join(moved)}." if moved else ""


def run(args: Namespace) -> Answer:
    """Both axles' tables; with ``--front`` or ``--rear`` the share after that change and what gives it back."""
    from paddock.engine.car.balance import bars_of
    from paddock.engine.car.bars import CAUTIONS
    from paddock.engine.car.compensation import give_back
    from paddock.errors import merged
    from paddock.folders.starting import open_car

    opened = open_car(args.car)
    logged = _logged(args, opened.car)
    bars = bars_of(logged.car, args.lateral_g)
    for end, table in bars.tables.items():
        holes: HolePair | None = getattr(args, end)
        if holes is not None and table is None:
            raise UsageError(f"--{end}: this car has no {end} bar")
        if holes is not None and table is not None and table.pair(*holes) is None:
            raise UsageError(f"--{end} {holes[0]}-{holes[1]}: no such pair of holes on this bar")
    problems = opened.all_problems(merged(bars.findings, logged.findings))
    data: dict[str, Any] = {end: _axle(bars, end, problems) for end in bars.tables}
    data |= {"balance": bars.transfer, "problems": problems, "cautions": CAUTIONS}
    back = None
    if args.front or args.rear:
        back = data["change"] = give_back(bars.car, args.front, args.rear, logged.learned, args.lateral_g)

    def words() -> str:
        from paddock.pages.bar import whole
        from paddock.render.lines import text

        return text(whole(bars, back, problems, logged.note, args.plot))

    return Answer(data, words)
