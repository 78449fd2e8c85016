"""``paddock standings``: every table."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from paddock.commands.common import Answer, add_at, add_folder, day_in, faults_data, faults_line, load_as_of
from paddock.errors import UsageError
from paddock.words import difference, run_text, seconds

if TYPE_CHECKING:
    from paddock.engine.scoring.tables import Standing, Standings, StandingsTable
    from paddock.model.event import Event

HELP = "Print every table: one per class, then everybody on index times, then everybody on raw totals."
EXAMPLES = (
    "paddock standings example_event",
    "paddock standings example_event --day 1",
    "paddock standings example_event --class ASH",
    "paddock standings example_event --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder, a day, a class."""
    add_folder(parser)
    parser.add_argument("--day", type=int, metavar="N", help="one day, counted from 1 (default: in total)")
    parser.add_argument("--class", dest="only", metavar="CODE", help="one table: a class, index or raw")
    add_at(parser)


def _runs_cell(row: Standing, decimals: int, days: int) -> str:
    parts: list[str] = []
    shown = None
    for line in row.runs:
        text = run_text(line.raw_ms, line.cones, line.status, decimals) + (f"/{line.misses}" if line.misses else "")
        parts += [f"day {line.day}"] if days > 1 and line.day != shown else []
        parts.append(text + ("*" if line.counts else ""))
        shown = line.day
    return "  ".join(parts)


def _cells(row: Standing, decimals: int, days: int) -> list[str]:
    score = "waiting" if row.waiting else seconds(row.score_ms, decimals)
    return [
        str(row.rank or "-"), row.number, row.driver, row.class_ or "-", score,
        difference(row.gap_to_leader_ms, decimals) if row.gap_to_leader_ms else "",
        difference(row.gap_to_next_ms, decimals) if row.gap_to_next_ms else "",
        _runs_cell(row, decimals, days),
    ]  # fmt: skip


def _text(event: Event, found: Standings) -> str:
    from paddock.pages.standings import practice_words
    from paddock.render.plain import table

    decimals, many = event.settings.rules.decimals, len(found.days)
    practice = practice_words(event, found.day)
    blocks = [practice] if practice else []
    for item in found.tables:
        if not item.rows:
            continue
        title = f"{item.name} ({'index times' if item.scored_by == 'index' else 'raw totals'})"
        rows = [_cells(row, decimals, many) for row in item.rows]
        heads = ["", "no", "driver", "class", "score", "to first", "to next", "runs (* counts)"]
        blocks.append(f"{title}\n" + table(heads, rows, right=(0, 1, 4, 5, 6)))
    return "\n\n".join(blocks) if blocks else "no entrants yet: add them to entrants.csv"


def run(args: Namespace) -> Answer:
    """Standings of one day or in total."""
    from paddock.engine.scoring.plain import with_runs
    from paddock.session.loading import standings_of

    event, moment = load_as_of(args)
    found = with_runs(event, standings_of(event, day_in(event, args.day)))
    if args.only is not None:
        found = found.replace_tables([_named(found, args.only)])
    whole = {"tables": found.tables, "as_of": moment.iso}
    return Answer(whole | faults_data(event, moment), lambda: _text(event, found) + faults_line(event, moment))


def _named(found: Standings, name: str) -> StandingsTable:
    table_ = found.table(name)
    if table_ is None:
        names = ", ".join(item.name for item in found.tables)
        raise UsageError(f"no table {name!r} here: {names}")
    return table_
