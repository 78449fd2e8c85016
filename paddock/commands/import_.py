"""``paddock import``: posted results from a file, a page, the clipboard or standard input."""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.answer import Answer
from paddock.commands.common import add_folder, day_in, load
from paddock.errors import SaveError, UsageError

if TYPE_CHECKING:
    from paddock.engine.results import ColumnMap, Understood
    from paddock.model.event import Event
    from paddock.model.grid import Grid

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


@dataclass(frozen=True, slots=True)
class _Plan:
    """A source, its chosen table and what is made of it."""

    source: str
    grid: Grid
    place: int
    tables: int
    columns: ColumnMap
    understood: Understood
    written: bool = False


def run(args: Namespace) -> Answer:
    """Read, show, and write where it is wanted."""
    from paddock.store.folder import no_collecting

    with no_collecting():
        return _run(args)


def _run(args: Namespace) -> Answer:
    if args.yes:
        plan = _in_session(args, _grids(args.source))
    else:
        grids = _grids(args.source)
        plan = _plan(args, load(args.folder), grids)
        if _agreed(args, plan):
            plan = _in_session(args, grids)
    return Answer(_data(plan), partial(_text, plan))


def _grids(source: str) -> list[Grid]:
    from paddock.store.sources import read_bytes, read_source, read_stream

    if source == "-":
        return read_stream(sys.stdin.buffer)
    if source == "clipboard" and not Path(source).exists():
        from paddock.store.clipboard import read_clipboard

        return read_bytes(read_clipboard(), "the clipboard")
    if source.startswith(("http://", "https://")):
        raise UsageError("nothing is fetched: save the page and give its file, or copy the table and give clipboard")
    return read_source(Path(source))


def _plan(args: Namespace, event: Event, grids: list[Grid]) -> _Plan:
    from paddock.engine.results import choose, propose, understand
    from paddock.store.remembered import remembered

    day_in(event, args.day)
    known = remembered(args.folder)
    place = _table(args.table, grids) if args.table is not None else choose(grids, event, known)
    grid = grids[place]
    columns = propose(grid, event, known, args.map)
    if not columns.usable:
        raise UsageError(_which_columns(grid))
    understood = understand(grid, columns, event, args.day, _now(), _progress())
    _refuse(args, understood)
    return _Plan(args.source, grid, place + 1, len(grids), columns, understood)


def _now() -> datetime:
    return datetime.now()


def _table(number: int, grids: list[Grid]) -> int:
    if not 1 <= number <= len(grids):
        names = "; ".join(f"{at} {grid.name[:40] or ' '.join(grid.rows[0])[:40]}" for at, grid in enumerate(grids, 1))
        raise UsageError(f"there is no table {number}: the source has {names}")
    return number - 1


def _which_columns(grid: Grid) -> str:
    from paddock.engine.results.headers import find_head

    labels = find_head(grid).labels
    shown = ", ".join(f"{at} {(label or grid.rows[-1][at - 1])[:30]}" for at, label in enumerate(labels[:30], 1))
    return (
        "it can't be told which columns hold the numbers and the times: name them with --map number=…,run1=… "
        f"by header or place; the columns are {shown}"
    )


def _refuse(args: Namespace, understood: Understood) -> None:
    """What the table itself speaks against is not taken, unless the user has said so."""
    waived = {"other": args.day is not None, "shared": args.map is not None, "run": False}
    ways = {"other": "; if it is of this event, say so with --day N", "run": ""}
    ways["shared"] = "; give the columns with --map to take the other rows without these"
    doubt = next((doubt for doubt in understood.doubts if not waived[doubt.kind]), None)
    if doubt is not None:
        raise UsageError(f"nothing was brought in: {doubt.why}{ways[doubt.kind]}")
    if not understood.rows:
        first = next(iter(understood.unread), None)
        why = f"line {first.line}: {first.why}" if first else "it holds no times"
        raise UsageError(f"nothing in the table could be read: {why}")


def _progress() -> Callable[[int, int], None] | None:
    """A line on a terminal once a second has gone by."""
    if not sys.stderr.isatty():
        return None
    start = time.monotonic()

    def tick(done: int, total: int) -> None:
        if time.monotonic() - start > 1:
            print(f"\r{done:,} of {total:,} rows", end="\n" if done == total else "", file=sys.stderr, flush=True)

    return tick


def _agreed(args: Namespace, plan: _Plan) -> bool:
    """Asked on a terminal only."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    print(_text(plan), file=sys.stderr)
    print(f"Write this to {args.folder}? [y/N] ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def _in_session(args: Namespace, grids: list[Grid]) -> _Plan:
    """The import written to the folder."""
    from paddock.engine.results import edits, remembered_form, signature
    from paddock.session import Session
    from paddock.store.remembered import remember

    session = Session.open(args.folder)
    try:
        plan = _plan(args, session.event, grids)
        batch = edits(plan.understood, session.event)
        saved = session.apply(batch) if batch.edits else None
    finally:
        session.close()
    if saved is not None and not saved.ok:
        raise SaveError(saved.message)
    remember(args.folder, signature(plan.grid), remembered_form(plan.grid, plan.columns))
    return replace(plan, written=True)


def _data(plan: _Plan) -> dict[str, Any]:
    seen = plan.understood
    return {
        "mapping": dict(plan.columns.labels),
        "added": seen.added,
        "updated": seen.updated,
        "unchanged": seen.unchanged,
        "unread": [{"line": item.line, "why": item.why} for item in seen.unread],
        "differences": [
            {"run": item.run, "posted": item.posted, "logged": item.logged, "minutes_left": item.minutes_left}
            for item in seen.differences
        ],
    }


def _text(plan: _Plan) -> str:
    from paddock.commands.import_text import import_text

    return import_text(plan.grid, plan.columns, plan.understood, f"table {plan.place} of {plan.tables}", plan.written)
