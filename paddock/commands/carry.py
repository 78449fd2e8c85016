"""``paddock new --from``: the new folder out of an old one, and what was carried in words."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from paddock.commands.answer import Answer
from paddock.engine.cold import Place
from paddock.engine.season.carry import Carried
from paddock.errors import UsageError
from paddock.render.clean import clean

UNKNOWN = "not known"


def _ask(question: str, usual: str) -> str:
    print(clean(f"{question} [{usual}]: "), end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip() or usual


def _number(text: str | None, what: str, low: float, high: float) -> float | None:
    """What was typed as a number within bounds, None where it isn't known. Raises UsageError."""
    if text is None or text in {"", "-", "?", UNKNOWN}:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise UsageError(f"{text!r} is no {what}") from None
    if not low <= value <= high:
        raise UsageError(f"{text} is no {what}: from {low:g} to {high:g} is taken")
    return value


def place_of(given: Mapping[str, str | None], old_altitude_m: float | None, asking: bool) -> Place:
    """Where the new event is, from the command line, else asked on a terminal. Raises UsageError."""

    def told(name: str, question: str, usual: str) -> str | None:
        return _ask(question, usual) if asking and given.get(name) is None else given.get(name)

    altitude = UNKNOWN if old_altitude_m is None else f"{old_altitude_m:g}"
    place = Place(
        _number(told("altitude_m", "altitude of the new place, m", altitude), "altitude in metres", -500, 6000),
        _number(told("coldest_c", "coldest air expected, C", UNKNOWN), "air temperature", -40, 60),
        _number(told("hottest_c", "hottest air expected, C", UNKNOWN), "air temperature", -40, 60),
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
    from paddock.engine.season.carry import carry as carry_event
    from paddock.engine.season.carry import without_index
    from paddock.folders.past import earlier_events
    from paddock.folders.reading import load
    from paddock.ids import new_id
    from paddock.store.prepare import write_carried

    event, given = load(old), given or {}
    site = given.get("site")
    if asking and site is None:
        told = _ask("site", event.settings.site or UNKNOWN)
        site = None if told == UNKNOWN else told
    place = place_of(given, event.settings.altitude_m, asking)
    carried = carry_event(event, name, days, new_id, place, site, earlier_events(old, event))
    if asking and carried.index_question and _ask(carried.index_question, "yes").lower().startswith("n"):
        carried = without_index(event, carried)
    write_carried(old, folder, carried.edits)
    return Answer({"folder": str(folder), "carried": list(carried.words)}, lambda: _text(folder, carried))
