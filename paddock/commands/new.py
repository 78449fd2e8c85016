"""``paddock new``: a new event folder, fresh or carried from an old one."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from paddock.commands.answer import Answer
from paddock.entry.event import read_days
from paddock.errors import UsageError
from paddock.render.clean import clean

HELP = "Make a new event folder that passes check; with --from, carry cars, tyres, open work and the plan along."
EXAMPLES = (
    "paddock new inland --name 'Autumn, inland' --days 2026-11-14,2026-11-15 --number 58",
    "paddock new inland --from example_event --days 2026-07-11 --altitude-m 20 --coldest-c 12 --hottest-c 27",
)


def configure(parser: ArgumentParser) -> None:
    """Where, what it is called, its days, my numbers, what to carry."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the folder to make")
    parser.add_argument("--from", dest="old", type=Path, metavar="OLD", help="an old event folder to carry from")
    parser.add_argument("--name", help="the event's name (default: the folder's)")
    parser.add_argument(
        "--days",
        nargs="+",
        metavar="DAY",
        help="its dates: 2026-11-14,2026-11-15 (or with spaces), or 2026-07-11 +1 for that day and the next",
    )
    parser.add_argument("--number", action="append", metavar="N", help="my car number; may be given again")
    parser.add_argument("--site", help="where it is held")
    parser.add_argument("--altitude-m", metavar="X", help="altitude there, for the cold pressures")
    parser.add_argument("--coldest-c", metavar="X", help="coldest air of the forecast")
    parser.add_argument("--hottest-c", metavar="X", help="hottest air of the forecast")


def _asks() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _ask(question: str, usual: str) -> str:
    print(clean(f"{question} [{usual}]: "), end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip() or usual


def days_of(words: Sequence[str]) -> list[date]:
    """Dates from ``2026-07-11``, ``2026-11-14,2026-11-15`` or ``2026-07-11 +1``. Raises UsageError."""
    try:
        return list(read_days(" ".join(words)))
    except ValueError as error:
        raise UsageError(str(error)) from None


def run(args: Namespace) -> Answer:
    """Ask what is missing on a terminal, else take the usual; then write."""
    usual = args.folder.resolve().name.replace("_", " ").replace("-", " ").strip() or "event"
    today = date.today().isoformat()
    asking = _asks() and not args.json
    name = args.name or (_ask("name of the event", usual) if asking else usual)
    days = days_of(args.days or ([_ask("its days (YYYY-MM-DD, more with spaces)", today)] if asking else [today]))
    if args.old is not None:
        return _carried(args, name, days)
    numbers = args.number or (_ask("my car number", "none").split() if asking else [])
    from paddock.commands.carry import place_of
    from paddock.folders.starting import new_event

    place = place_of(_given(args), None, asking=False)
    new_event(args.folder, name, days, [item for item in numbers if item != "none"], place, args.site)
    return Answer(
        {"folder": str(args.folder), "carried": []},
        lambda: (
            f"{args.folder} is ready: add classes to event.toml and entrants to entrants.csv,\n"
            f"or start at once with: paddock {args.folder}"
        ),
    )


def _given(args: Namespace) -> dict[str, str | None]:
    return {name: getattr(args, name) for name in ("site", "altitude_m", "coldest_c", "hottest_c")}


def _carried(args: Namespace, name: str, days: list[date]) -> Answer:
    from paddock.commands.carry import carry

    return carry(args.old, args.folder, name, days, _given(args), asking=_asks() and not args.json)
