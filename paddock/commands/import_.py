"""``paddock import``: posted results from a file, a page, the clipboard or standard input."""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.clean import clean
from paddock.commands.common import Answer, add_folder, day_in, load, now
from paddock.errors import SaveError, UsageError
from paddock.folders.importing import ImportPlan

if TYPE_CHECKING:
    from paddock.model.event import Event
    from paddock.model.rows import CellGrid


HELP = "Bring in posted results: any CSV, a saved page, text copied from either. Shows first, writes with --yes."
EXAMPLES = (
    "paddock import may results.csv",
    "paddock import may results.html --table 2 --day 1 --yes",
    "paddock import may clipboard",
    "paddock import may - --map number=Car,run1=AM,run2=PM --json < pasted.txt",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, the source and what the program is to be told about it."""
    add_folder(parser)
    parser.add_argument("source", metavar="SOURCE", help="a file, - for standard input, or clipboard")
    parser.add_argument("--map", metavar="ROLE=COLUMN,…", help="number=No,run1=Run 1,… by header or by place from 1")
    parser.add_argument("--table", type=int, metavar="N", help="which table of the source, from 1")
    parser.add_argument("--day", type=int, metavar="N", help="which day the times are of; also says: it is this event")
    parser.add_argument("--yes", action="store_true", help="write without asking")


def run(args: Namespace) -> Answer:
    """Read, show, and write where it is wanted."""
    from paddock.store.folder import no_collecting

    with no_collecting():
        return _run(args)


def _run(args: Namespace) -> Answer:
    written = args.yes
    if args.yes:
        plan = _in_session(args, _grids(args.source))
    else:
        event, grids = load(args.folder), _grids(args.source)
        plan = _plan(args, event, grids)
        written = _agreed(args, plan)
        plan = _in_session(args, grids) if written else plan
    return Answer(_data(plan), partial(_text, plan, written))


def _grids(source: str) -> list[CellGrid]:
    from paddock.store.sources import read_bytes, read_source, read_stream

    if source == "-":
        return read_stream(sys.stdin.buffer)
    if source == "clipboard" and not Path(source).exists():
        from paddock.store.machine import read_clipboard

        return read_bytes(read_clipboard(), "the clipboard")
    if source.startswith(("http://", "https://")):
        raise UsageError("nothing is fetched: save the page and give its file, or copy the table and give clipboard")
    return read_source(Path(source))


def _plan(args: Namespace, event: Event, grids: list[CellGrid]) -> ImportPlan:
    from paddock.folders.importing import ImportTold, make_plan, refusal

    day_in(event, args.day)
    told = ImportTold(args.table, args.map, args.day)
    plan = make_plan(args.folder, event, grids, told, now(), _progress(args))
    why = refusal(plan)
    if why is not None:
        raise UsageError(why)
    return plan


def _in_session(args: Namespace, grids: list[CellGrid]) -> ImportPlan:
    """The import written to the folder."""
    from paddock.folders.importing import bring_in
    from paddock.session import Session

    session = Session.open(args.folder)
    try:
        saved, plan = bring_in(session, _plan(args, session.event, grids), now())
    finally:
        session.close()
    if session.unsaved:
        raise SaveError(f"{saved.message}; bring it in once more when the folder can be written")
    if not saved.ok and session.conflicts:
        raise SaveError(saved.message)
    return plan


def _progress(args: Namespace) -> Callable[[int, int], None] | None:
    """A line on a terminal once a second has gone by."""
    if args.json or not sys.stderr.isatty():
        return None
    start = time.monotonic()

    def tick(done: int, total: int) -> None:
        if time.monotonic() - start > 1:
            print(f"\r{done:,} of {total:,} rows", end="\n" if done == total else "", file=sys.stderr, flush=True)

    return tick


def _agreed(args: Namespace, plan: ImportPlan) -> bool:
    """Asked on a terminal only."""
    if args.json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    print(_text(plan, False), file=sys.stderr)
    print(f"Write this to {clean(str(args.folder))}? [y/N] ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def _data(plan: ImportPlan) -> dict[str, Any]:
    seen = plan.understood
    return {
        "mapping": dict(plan.columns.labels),
        "not_used": [*plan.columns.left_over, *plan.columns.unused],
        "added": seen.added,
        "updated": seen.updated,
        "unchanged": seen.unchanged,
        "unread": seen.unread,
        "differences": seen.differences,
    }


def _text(plan: ImportPlan, written: bool) -> str:
    from paddock.pages.importing import printed_page
    from paddock.render.lines import text

    return text(printed_page(plan, written))
