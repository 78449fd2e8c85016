"""``paddock gap``: what one more run must be."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from paddock.commands.common import (
    Answer,
    add_at,
    add_folder,
    add_number,
    day_in,
    entered,
    faults_data,
    faults_line,
    load_as_of,
)

HELP = "Say how slow one more clean run may be to lead class and index, and what that asks in raw seconds."
EXAMPLES = (
    "paddock gap example_event --number 58",
    "paddock gap example_event --number 58 --day 1",
    "paddock gap example_event --number 58 --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, a number, a day."""
    add_folder(parser)
    add_number(parser)
    parser.add_argument("--day", type=int, metavar="D", help="the day of the run (default: the latest run)")
    add_at(parser)


def run(args: Namespace) -> Answer:
    """What to find in class and on index."""
    from paddock.session.loading import gap_of

    event, moment = load_as_of(args)
    found = gap_of(event, entered(event, args.number), day_in(event, args.day))
    whole = {"class": found.class_, "index": found.index, "as_of": moment.iso}

    def words() -> str:
        from paddock.pages.gap import gap_page
        from paddock.render.lines import text

        return text(gap_page(event, found)) + faults_line(event, moment)

    return Answer(whole | faults_data(event, moment), words)
