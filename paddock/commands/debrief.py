"""``paddock debrief``: the event as one page to keep and share, and a short text beside it."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path

from paddock.clean import clean
from paddock.commands.common import Answer, add_folder, faults_data, faults_line, load

HELP = "Write the event's story as one self-contained page, and a short text to post beside it."
EXAMPLES = (
    "paddock debrief example_event",
    "paddock debrief example_event -o day.html --names",
    "paddock debrief example_event --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, the page, whether rivals are named."""
    add_folder(parser)
    parser.add_argument(
        "-o", "--output", type=Path, metavar="HTML", help="the page (default: beside the folder, NAME-debrief.html)"
    )
    parser.add_argument("--names", action="store_true", help="show rivals by number and name instead of by letter")


def run(args: Namespace) -> Answer:
    """``file``: the page. The text stands beside it, with ``.txt``."""
    told = _progress()
    told("reading")
    event = load(args.folder)
    from paddock.render.debrief import debrief_path, write_debrief

    target, text = write_debrief(event, args.folder, args.output or debrief_path(args.folder), args.names, told)
    told("")
    said = f"{clean(str(target))}, and {clean(text.name)} to post"
    return Answer({"file": f"{target}"} | faults_data(event), lambda: said + faults_line(event))


def _progress() -> Callable[[str], None]:
    """What is being done, on one line of a terminal; nothing elsewhere."""
    if not sys.stderr.isatty():
        return lambda _: None

    def show(what: str) -> None:
        sys.stderr.write(f"\r\x1b[K{f'debrief: {what}' if what else ''}")
        sys.stderr.flush()

    return show
