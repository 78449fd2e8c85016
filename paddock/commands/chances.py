"""``paddock chances``: the chance to lead with the runs left."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from paddock.commands.answer import Answer
from paddock.commands.common import add_at, add_folder, add_number, entered, faults_data, faults_line, load_as_of

if TYPE_CHECKING:
    from paddock.engine.field.chances import Chances, TableChance

__all__ = ["EXAMPLES", "HELP", "configure", "data", "run"]

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


def data(found: TableChance) -> dict[str, Any]:
    """One table as the contract has it."""
    return {
        "p_lead": found.p_lead, "p_lead_if_banked": found.p_lead_if_banked, "p_lead_if_pushed": found.p_lead_if_pushed,
        "p_range": None if found.p_range is None else list(found.p_range), "brier_own_record": None, "n_record": 0,
        "assumptions": list(found.assumptions),
    }  # fmt: skip


def run(args: Namespace) -> Answer:
    """The chances with what they rest on."""
    from paddock.engine.field.chances import chances

    event, moment = load_as_of(args)
    found = chances(event, entered(event, args.number), args.runs_left)
    whole = {"class": data(found.class_), "index": data(found.index), "as_of": moment.iso}
    return Answer(whole | faults_data(event, moment), lambda: _text(found) + faults_line(event, moment))


def _text(found: Chances) -> str:
    from paddock.views.chances import tables_of

    return "\n\n".join(_table(name, item) for name, item in tables_of(found))


def _table(name: str, found: TableChance) -> str:
    from paddock.views.chances import luck_words, next_rows, range_words, share
    from paddock.words import plural

    if found.p_lead is None:
        return f"{name}: can't tell: {found.assumptions[0]}"
    lines = [f"{name}: {share(found.p_lead)} to lead{range_words(found)}, {plural(found.runs_left, 'run')} left"]
    lines += [f"  {what}: {chance}" for what, chance in next_rows(found)]
    lines += [f"  {item.number} ends ahead of me: {share(item.p_ahead)}" for item in found.rivals]
    lines += [f"  {luck}" for luck in [luck_words(found)] if luck]
    lines += [f"  if {item.what}: {share(item.p_lead)}" for item in found.sensitivity]
    return "\n".join([*lines, *(f"  - {text}" for text in found.assumptions)])
