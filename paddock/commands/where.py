"""``paddock where``: where on the course a run lost and gained."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from paddock.commands.common import (
    Answer,
    add_folder,
    add_number,
    day_in,
    entered,
    faults_data,
    faults_line,
    load,
    plain,
)

if TYPE_CHECKING:
    from pathlib import Path

    from paddock.engine.where.answer import WhereAnswer
    from paddock.model.event import Event

HELP = "Say where on the course the time went: by element, against another run or the best of each element."
EXAMPLES = (
    "paddock where example_event --number 31",
    "paddock where example_event --number 31 --day 1 --run 3 --against 2",
    "paddock where example_event --number 31 --against 1.3 --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, a run, and what it is held against."""
    add_folder(parser)
    add_number(parser)
    parser.add_argument("--day", type=int, metavar="D", help="day (default: the latest with splits)")
    parser.add_argument("--run", type=int, metavar="R", help="my run (default: my best of the day)")
    parser.add_argument("--against", metavar="RUN", help="2 = run 2 of that day, 1.3 = run 3 of day 1 "
                        "(default: the best of each element)")  # fmt: skip
    parser.add_argument("--against-number", metavar="N", help="another entry: its best run, or the one of --against")


def run(args: Namespace) -> Answer:
    """The table, its sum, and the same over all runs of the day."""
    from paddock.engine.where.answer import where

    event = load(args.folder)
    number = entered(event, args.number)
    day_in(event, args.day)
    other = None if args.against_number is None else entered(event, args.against_number)
    found = where(event, number, args.day, args.run, args.against, other)
    return Answer(data(found) | faults_data(event), lambda: _text(args.folder, event, found) + faults_line(event))


def data(found: WhereAnswer) -> dict[str, Any]:
    """The contract's keys, whole milliseconds."""
    mapping: dict[str, Any] = plain(found)
    return mapping


def _text(folder: Path, event: Event, found: WhereAnswer) -> str:
    from paddock.folders.tracking import placed_run
    from paddock.pages.where import sketch_of, where_page
    from paddock.render.lines import text

    placed = placed_run(folder, event, (found.day, found.run, found.number))
    return text(where_page(found, *([sketch_of(placed, found.official_ms)] if placed else [])))
