"""``paddock track``: a receiver's or phone's track of a run, kept and split by the course's elements."""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer, add_folder, add_number, day_in, entered
from paddock.errors import SaveError

if TYPE_CHECKING:
    from paddock.folders.tracking import Brought

HELP = "Bring in the track of a run (GPX, NMEA 0183, CSV): kept as it came, split by the course's elements."
EXAMPLES = (
    "paddock track may run3.gpx --number 31 --day 1 --run 3",
    "paddock track may log.csv --number 31 --day 1 --run 3 --phone --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, the file, and whose run it is."""
    add_folder(parser)
    parser.add_argument("file", type=Path, metavar="FILE", help="the track: GPX, NMEA 0183 or CSV")
    add_number(parser)
    parser.add_argument("--day", type=int, required=True, metavar="D", help="day of the run")
    parser.add_argument("--run", type=int, required=True, metavar="R", help="which run it is")
    parser.add_argument("--phone", action="store_true", help="a phone recorded it: wider ranges")


def run(args: Namespace) -> Answer:
    """Read, hold against course and official time, write with one undo."""
    from paddock.folders.tracking import bring_track
    from paddock.session.opened import Session

    session = Session.open(args.folder)
    try:
        event = session.event
        number = entered(event, args.number)
        day_in(event, args.day)
        key = (args.day, args.run, number)
        saved, brought = bring_track(session, args.file, key, args.phone, _progress(args))
    finally:
        session.close()
    if session.unsaved or not saved.ok:
        raise SaveError(saved.message or f"{brought.file} is not saved: bring it in once more")
    return Answer(data(brought), lambda: _text(brought))


def _progress(args: Namespace) -> Callable[[int], None]:
    """A line on a terminal once a second has gone by."""
    if args.json or not sys.stderr.isatty():
        return lambda _: None
    start, done, size = time.monotonic(), 0, max(1, args.file.stat().st_size if args.file.exists() else 1)

    def tick(read: int) -> None:
        nonlocal done
        done += read
        if time.monotonic() - start > 1:
            end = "\n" if done >= size else ""
            print(
                f"\r{100 * min(done, size) // size} % of {size / 1e6:.0f} MB read", end=end, file=sys.stderr, flush=True
            )

    return tick


def data(brought: Brought) -> dict[str, Any]:
    """The contract's keys: seconds, a rate, counts."""
    placed = brought.placed
    return {
        "file": brought.file, "fixes": placed.fixes, "hz": round(placed.hz, 3), "speed": placed.has_speed,
        "skipped": placed.skipped, "length_s": placed.length_s, "official_s": brought.official_s,
        "written": brought.written, "phone": placed.phone, "doubts": list(brought.doubts),
        "again": [f"{day}.{run} of {number}" for day, run, number in brought.again],
        "replaced": list(brought.replaced),
    }  # fmt: skip


def _text(brought: Brought) -> str:
    from paddock.pages.where import track_page
    from paddock.render.lines import text

    return text(track_page(brought))
