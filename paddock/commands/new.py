"""``paddock new``: a new event folder, fresh or carried from an old one."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from paddock.clean import clean
from paddock.commands.common import Answer
from paddock.engine.pressure.plan import SitePlace
from paddock.engine.season.carry import Carried
from paddock.entry.event import AIR, ALTITUDE, number_within, read_days
from paddock.errors import UsageError
from paddock.model.units import Measured

# ``paddock new --from``: the new folder out of an old one, and what was carried in words


UNKNOWN = "not known"


def _ask(question: str, usual: str) -> str:
    print(clean(f"{question} [{usual}]: "), end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip() or usual


def _number(text: str | None, what: str, bounds: Measured) -> float | None:
    """What was typed as a number within bounds, None where it isn't known. Raises UsageError."""
    if text is None or text in {"", "-", "?", UNKNOWN}:
        return None
    try:
        return number_within(text, what, bounds)
    except ValueError as error:
        raise UsageError(str(error)) from None


def place_of(given: Mapping[str, str | None], old_altitude_m: float | None, asking: bool) -> SitePlace:
    """Where the new event is, from the command line, else asked on a terminal. Raises UsageError."""

    def told(name: str, question: str, usual: str) -> str | None:
        return _ask(question, usual) if asking and given.get(name) is None else given.get(name)

    altitude = UNKNOWN if old_altitude_m is None else f"{old_altitude_m:g}"
    taken = "" if old_altitude_m is None else "; Enter takes the old place's"
    place = SitePlace(
        _number(told("altitude_m", f"altitude of the new place, m{taken}", altitude), "altitude in metres", ALTITUDE),
        hottest_c=_number(told("hottest_c", "hottest air expected, C", UNKNOWN), "air temperature", AIR),
        coldest_c=_number(told("coldest_c", "coldest air expected, C", UNKNOWN), "air temperature", AIR),
    )
    if place.coldest_c is not None and place.hottest_c is not None and place.coldest_c > place.hottest_c:
        raise UsageError(f"the coldest air ({place.coldest_c:g}) is above the hottest ({place.hottest_c:g})")
    return place


def _text(folder: Path, carried: Carried) -> str:
    lines = [f"{folder} is ready. Carried:", *(f"  {word}" for word in carried.words)]
    if carried.questions:
        lines += ["To look at:", *(f"  {item}" for item in carried.questions)]
    return "\n".join(lines)


def carry(
    old: Path,
    folder: Path,
    name: str,
    days: Sequence[date],
    given: Mapping[str, str | None] | None = None,
    asking: bool = False,
) -> Answer:
    """Write ``folder`` from ``old``.

    ``given``: site, altitude_m, coldest_c, hottest_c as typed on the command line; ``asking``: a person is at the
    terminal and is asked for what is not given. Raises FolderError, UsageError.
    """
    from paddock.engine.season.carry import index_question
    from paddock.folders.starting import carry_on
    from paddock.session.loading import load

    event, given = load(old), given or {}
    site = given.get("site")
    if asking and site is None:
        old_site = event.settings.site
        told = _ask("site; Enter takes the old one" if old_site else "site", old_site or UNKNOWN)
        site = None if told == UNKNOWN else told
    place = place_of(given, event.settings.altitude_m, asking)
    asked = index_question(event, days) if asking else None
    keep_index = asked is None or not _ask(asked, "yes").lower().startswith("n")
    carried = carry_on(old, event, folder, name, days, place, site, keep_index)
    return Answer({"folder": str(folder), "carried": list(carried.words)}, lambda: _text(folder, carried))


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

    return carry(args.old, args.folder, name, days, _given(args), asking=_asks() and not args.json)
