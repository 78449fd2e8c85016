"""``paddock hindsight``: what the program said over my events, held against what came."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer

if TYPE_CHECKING:
    from paddock.engine.field.hindsight import ForecastRecord

HELP = "Replay every event of a directory and hold what the program would have said after each run against what came."
EXAMPLES = ("paddock hindsight 2026", "paddock hindsight 2026 --json")


def configure(parser: ArgumentParser) -> None:
    """The directory."""
    parser.add_argument("directory", type=Path, metavar="DIR", help="a directory of event folders")


def data(records: tuple[ForecastRecord, ...]) -> dict[str, Any]:
    """The contract's figures, then the parts of the Brier score."""
    from paddock.engine.field.hindsight import UNITS

    return {
        "kinds": [
            {
                "kind": item.kind, "n": item.n, "unit": UNITS[item.kind] or None,
                "median_error": round(item.median_error) if item.median_error and UNITS[item.kind] == "ms"
                else item.median_error,
                "inside80": item.inside80, "brier": item.brier, "brier_base": item.brier_base,
                "reliability": item.reliability, "resolution": item.resolution, "widen": item.widen,
            }
            for item in records
        ]
    }  # fmt: skip


def run(args: Namespace) -> Answer:
    """Every event of mine replayed."""
    from paddock.engine.field.hindsight import hindsight
    from paddock.folders.seasons import open_season
    from paddock.pages.chances import hindsight_page
    from paddock.render.lines import text

    view = open_season(args.directory)
    events = sorted((event for _, event in view.events), key=lambda event: event.settings.days)
    records = hindsight(events, None if args.json or not sys.stderr.isatty() else _told)
    units = {event.settings.pressure_unit or "psi" for event in events}
    unit = units.pop() if len(units) == 1 else "psi"
    return Answer(data(records), lambda: text(hindsight_page(records, len(view.events), unit)))


def _told(at: int, of: int) -> None:
    """How far it has come, on one line of the terminal."""
    print(f"\rreplaying: event {at} of {of}", end="\n" if at == of else "", file=sys.stderr, flush=True)
