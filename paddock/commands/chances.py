"""``paddock chances``: the chance to lead with the runs left."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from paddock.commands.common import (
    Answer,
    add_at,
    add_folder,
    add_number,
    entered,
    faults_data,
    faults_line,
    load_as_of,
)

if TYPE_CHECKING:
    from paddock.engine.field.chances import TableChance
    from paddock.engine.field.hindsight import ForecastRecord


HELP = "Say the chance to lead class and index with the runs left, and what a safe run or a push does to it."
EXAMPLES = (
    "paddock chances example_event --number 58",
    "paddock chances example_event --number 58 --runs-left 2",
    "paddock chances example_event --number 58 --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, a number, the runs left."""
    add_folder(parser)
    add_number(parser)
    parser.add_argument("--runs-left", type=int, metavar="R", help="my runs left today (default: as the event says)")
    add_at(parser)


def data(found: TableChance, record: ForecastRecord) -> dict[str, Any]:
    """One table as the contract has it; ``record``: how earlier chances of its kind did."""
    from paddock.pages.verdict_words import assumption_words

    return {
        "p_lead": found.p_lead, "p_lead_if_banked": found.p_lead_if_banked, "p_lead_if_pushed": found.p_lead_if_pushed,
        "p_range": None if found.p_range is None else list(found.p_range), "brier_own_record": record.brier,
        "n_record": record.n,
        "assumptions": list(assumption_words(found)),
    }  # fmt: skip


def run(args: Namespace) -> Answer:
    """The chances with what they rest on."""
    from paddock.engine.field.chances import chances
    from paddock.folders.seasons import own_record_beside

    event, moment = load_as_of(args)
    number = entered(event, args.number)
    record = own_record_beside(args.folder, event, number)
    found = chances(event, number, args.runs_left, record.season, record.records[0].wider)
    _, of_class, of_index = record.records
    whole = {"class": data(found.class_, of_class), "index": data(found.index, of_index), "as_of": moment.iso}

    def words() -> str:
        from paddock.pages.chances import chances_page
        from paddock.pages.standings import practice_words
        from paddock.render.lines import text

        page = chances_page(found, record.records, practice_words(event, None))
        return text(page) + faults_line(event, moment)

    return Answer(whole | faults_data(event, moment), words)
