"""``paddock bar``: what each pair of anti-roll bar holes is worth, and what it does to the balance."""

from __future__ import annotations

import re
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.answer import Answer
from paddock.errors import Problem, UsageError

if TYPE_CHECKING:
    from paddock.engine.car.balance import Transfer
    from paddock.engine.car.bar_rates import Pair
    from paddock.engine.car.bars import BarTable
    from paddock.engine.car.compensation import GiveBack
    from paddock.engine.car.findings import Finding
    from paddock.engine.responses import Response
    from paddock.model.car import Car

__all__ = ["EXAMPLES", "HELP", "configure", "run"]

HELP = "Say what each pair of anti-roll bar holes is worth, what it does to the balance, and what must move with it."
EXAMPLES = (
    "paddock bar example_event/cars/estate.toml",
    "paddock bar example_event/cars/estate.toml --front 1-1",
    "paddock bar example_event/cars/estate.toml --lateral-g 0.8 --json",
    "paddock bar example_event/cars/estate.toml --folder example_event --number 58",
)

Holes = tuple[int, int]


def _holes(text: str) -> Holes:
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


def _pair(pair: Pair) -> dict[str, Any]:
    return {
        "left": pair.left,
        "right": pair.right,
        "end_rate_n_mm": pair.end_rate_n_mm,
        "wheel_rate_n_mm": pair.wheel_rate_n_mm,
        "roll_nm_per_rad": pair.roll_nm_per_rad,
        "roll_heave_free_nm_per_rad": pair.roll_heave_free_nm_per_rad,
        "step_pct": pair.step_pct,
        "from_now_pct": pair.from_now_pct,
        "spread_pct": pair.spread_pct,
        "step_spread_pct": pair.step_spread_pct,
        "heave_end_n": list(pair.end_heave_n),
        "heave_wheel_n": None if pair.wheel_heave_n is None else list(pair.wheel_heave_n),
    }


def _problem(problem: Problem) -> dict[str, Any]:
    return {"file": problem.file, "line": problem.line, "level": problem.level, "message": problem.message}


def _axle(
    table: BarTable | None,
    share: float | None,
    shares: tuple[float | None, ...],
    problems: tuple[Problem, ...],
) -> dict[str, Any] | None:
    if table is None:
        return None
    now = None if table.in_use is None else _pair(table.in_use)
    return {
        "pairs": [_pair(pair) for pair in table.pairs],
        "in_use": now,
        "front_share_now": share,
        "front_share_per_pair": list(shares),
        "problems": [_problem(item) for item in problems if item.message.startswith(f"{table.axle}.")],
    }


def _transfer(found: Transfer | None) -> dict[str, Any] | None:
    if found is None:
        return None
    ends = {
        name: {
            "transfer_n": end.total_n,
            "roll_centre_n": end.roll_centre_n,
            "unsprung_n": end.unsprung_n,
            "elastic_n": end.elastic_n,
            "roll_nm_per_rad": end.roll_nm_per_rad,
            "inside_lifts": end.lifted,
            "inside_lifts_at_g": end.lift_g,
        }
        for name, end in (("front", found.front), ("rear", found.rear))
    }
    return {"lateral_g": found.lateral_g, "roll_rad": found.roll_rad, "front_share": found.front_share, **ends}


def _change(found: GiveBack) -> dict[str, Any]:
    other, psi = found.other_bar, found.pressure
    return {
        "front_share_before": found.before,
        "front_share_after": found.after,
        "other_bar": None if other is None else {
            "axle": other.axle, "left": other.pair.left, "right": other.pair.right, "front_share": other.share,
        },
        "rear_pressure": None if psi is None else {"change_psi": psi.psi, "se_psi": psi.se_psi, "runs": psi.runs},
        "unknown": found.unknown,
    }  # fmt: skip


def _checked(args: Namespace, tables: dict[str, BarTable | None]) -> None:
    for end, table in tables.items():
        holes: Holes | None = getattr(args, end)
        if holes is not None and table is None:
            raise UsageError(f"--{end}: this car has no {end} bar")
        if holes is not None and table is not None and table.pair(*holes) is None:
            raise UsageError(f"--{end} {holes[0]}-{holes[1]}: no such pair of holes on this bar")


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
    from paddock.engine.responses import learned

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
    from paddock.engine.car.balance import load_transfer, share_per_pair
    from paddock.engine.car.bars import CAUTIONS, pairs_table
    from paddock.engine.car.compensation import give_back
    from paddock.engine.car.findings import merged
    from paddock.folders.carfile import open_car

    opened = open_car(args.car)
    logged = _logged(args, opened.car)
    car, lateral = logged.car, args.lateral_g
    tables = {end: pairs_table(car, end) for end in ("front", "rear")}
    _checked(args, tables)
    now = load_transfer(car, lateral)
    shares = {end: () if table is None else share_per_pair(car, table, lateral) for end, table in tables.items()}
    findings = merged(*(table.findings for table in tables.values() if table), now.findings, logged.findings)
    problems = opened.all_problems(findings)
    share = None if now.transfer is None else now.transfer.front_share
    data: dict[str, Any] = {end: _axle(table, share, shares[end], problems) for end, table in tables.items()}
    data |= {
        "balance": _transfer(now.transfer),
        "problems": [_problem(item) for item in problems],
        "cautions": list(CAUTIONS),
    }
    back = None
    if args.front or args.rear:
        back = give_back(car, args.front, args.rear, logged.learned, lateral)
        data["change"] = _change(back)

    def text() -> str:
        from paddock.commands.bar_text import Shown, bar_text

        return bar_text(Shown(car, tables, shares, now.transfer, back, problems, logged.note), args.plot)

    return Answer(data, text)
