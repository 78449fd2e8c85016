"""``paddock tyres``: runs, wear by edge, runs left, what to move and what to buy."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from typing import Any

from paddock.commands.answer import Answer
from paddock.commands.common import add_folder, faults_data, faults_line, load
from paddock.commands.table import table
from paddock.engine.tyres import (
    Inventory,
    Proposal,
    Refusal,
    TyreState,
    inventory,
    moves_for,
    orders,
    questions,
    square_against_staggered,
)
from paddock.engine.tyres.causes import why_they_wear
from paddock.engine.tyres.life import FLOOR_MM
from paddock.engine.tyres.readings import EDGES
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.render.clean import clean
from paddock.words import by_edge, runs_left

HELP = "Say how many runs each tyre has done and has left, by its worst edge, and what a swap or an order would buy."
EXAMPLES = ("paddock tyres example_event", "paddock tyres example_event --json")


def configure(parser: ArgumentParser) -> None:
    """The folder."""
    add_folder(parser)


def tyre_data(state: TyreState) -> dict[str, Any]:
    """One tyre as the contract has it."""
    return {
        "tyre": state.tyre,
        "runs": state.runs,
        "wear_mm_per_run": {edge: state.wear[edge].mm if edge in state.wear else None for edge in EDGES},
        "runs_left": state.life.runs,
        "runs_left_low": state.life.low,
        "runs_left_high": state.life.high,
        "limiting_edge": state.life.edge,
    }


def proposal_data(proposal: Proposal) -> dict[str, Any]:
    """One proposal: a move has ``runs_gained``, an order ``order_by`` (null: the date isn't known)."""
    whole: dict[str, Any] = {"kind": proposal.kind, "tyres": list(proposal.tyres)}
    if proposal.kind == "buy":
        whole["order_by"] = proposal.order_by.isoformat() if proposal.order_by else None
    else:
        whole["runs_gained"] = proposal.runs_gained
    return whole | {"sentence": proposal.sentence}


def _cells(state: TyreState) -> list[str]:
    depth = [state.life.depth_mm.get(edge) for edge in EDGES]
    wear = [state.wear[edge].mm if edge in state.wear else None for edge in EDGES]
    cost = state.cost_per_run
    return [
        state.tyre, state.place.corner if state.place else "off", f"{state.runs} ({state.event_runs})",
        str(state.cycles), by_edge(depth, 1), by_edge(wear, 3),
        runs_left(state.life.runs, state.life.low, state.life.high), state.life.edge or "-",
        "-" if state.age_years is None else f"{state.age_years:.1f}", "-" if cost is None else f"{cost:.2f}",
    ]  # fmt: skip


HEADS = ("tyre", "at", "runs (here)", "heats", "mm in/mid/out", "mm a run", "runs left", "edge", "years", "cost/run")


def _floor_line(found: Inventory) -> str:
    if all(state.row and state.row.floor_mm is not None for state in found.tyres):
        return ""
    return (
        f"floor {FLOOR_MM} mm (the least allowed in the EU) where tyres.csv has none; your own floor is better, "
        "for grip goes earlier"
    )


def _wrapped(head: str, text: str) -> str:
    return clean(head + text)


def _blocks(
    found: Inventory,
    proposals: Sequence[Proposal],
    refusals: Sequence[Refusal],
    asked: Sequence[Problem],
    reasons: Sequence[str],
) -> list[str]:
    rows = [_cells(state) for state in found.tyres]
    ranges = "runs left: 80 % range in brackets; heats: times warmed from cold here" if rows else ""
    notes = [line for line in (ranges, _floor_line(found)) if line]
    return [
        "\n".join([table(HEADS, rows, right=(2, 3, 8, 9)), *notes]),
        "\n".join(_wrapped("- ", item.sentence) for item in proposals) or "nothing to swap or buy yet",
        "\n".join(_wrapped(f"- no {item.kind} for {', '.join(item.tyres)}: ", item.reason) for item in refusals),
        "\n".join(_wrapped("", text) for text in reasons),
        "\n".join(_wrapped("", item.sentence) for item in square_against_staggered(found)),
        "\n".join(_wrapped("? ", str(item)) for item in asked),
    ]


def run(args: Namespace) -> Answer:
    """Every tyre of my cars."""
    from paddock.folders.past import booked_beside, earlier_events

    event: Event = load(args.folder)
    past = earlier_events(args.folder, event)
    found = inventory(event, past)
    moves, refusals = moves_for(found)
    proposals = (*orders(event, found, booked_beside(args.folder)), *moves)
    asked, reasons = questions(event, past), why_they_wear(event, found)
    data = {
        "tyres": [tyre_data(state) for state in found.tyres],
        "proposals": [proposal_data(item) for item in proposals],
        "refusals": [{"kind": item.kind, "tyres": list(item.tyres), "reason": item.reason} for item in refusals],
        "questions": [str(item) for item in asked],
        "reasons": [*reasons, *(item.sentence for item in square_against_staggered(found))],
    } | faults_data(event)

    def text() -> str:
        if not found.tyres:
            return "no tyres yet: write tyres.csv, fitted.csv and tread.csv" + faults_line(event)
        blocks = _blocks(found, proposals, refusals, asked, reasons)
        return "\n\n".join(block for block in blocks if block) + faults_line(event)

    return Answer(data, text)
