"""``paddock new --from``: the new folder out of an old one, and what was carried in words."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from paddock.commands.answer import Answer
from paddock.engine.cold import Place
from paddock.engine.prepare import Carried
from paddock.errors import UsageError

__all__ = ["carry"]


def _ask(question: str, usual: str) -> str:
    print(f"{question} [{usual}]: ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip() or usual


def _number(text: str, what: str) -> float | None:
    if text in {"", "-", "?", "not known"}:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise UsageError(f"{text!r} is no {what}") from None


def _place(old_altitude_m: float | None) -> Place:
    """Asked on a terminal."""
    usual = "not known" if old_altitude_m is None else f"{old_altitude_m:g}"
    return Place(
        _number(_ask("altitude of the new place, m", usual), "altitude in metres"),
        _number(_ask("coldest air expected, C", "not known"), "temperature"),
        _number(_ask("hottest air expected, C", "not known"), "temperature"),
    )


def _text(folder: Path, carried: Carried) -> str:
    lines = [f"{folder} is ready. Carried:", *(f"  {word}" for word in carried.words)]
    if carried.questions:
        lines += ["To look at:", *(f"  {item}" for item in carried.questions)]
    return "\n".join(lines)


def carry(old: Path, folder: Path, name: str, days: Sequence[date], asking: bool = False) -> Answer:
    """Write ``folder`` from ``old``; ``asking``: a person is at the terminal."""
    from paddock.engine.prepare import carry as carry_event
    from paddock.engine.prepare import without_index
    from paddock.ids import new_id
    from paddock.past import earlier_events
    from paddock.reading import load
    from paddock.store.prepare import write_carried

    event = load(old)
    site = _ask("site", event.settings.site or "not known") if asking else None
    place = _place(event.settings.altitude_m) if asking else None
    carried = carry_event(event, name, days, new_id, place, site, earlier_events(old, event))
    if asking and carried.index_question and _ask(carried.index_question, "yes").lower().startswith("n"):
        carried = without_index(event, carried)
    write_carried(old, folder, carried.edits)
    return Answer({"folder": str(folder), "carried": list(carried.words)}, lambda: _text(folder, carried))
