"""``paddock tyres``: runs, wear by edge, runs left, what to move and what to buy."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer, add_folder, faults_data, faults_line, load
from paddock.engine.tyres.wear import EDGES

if TYPE_CHECKING:
    from paddock.engine.tyres.inventory import TyreState
    from paddock.engine.tyres.proposals import TyreProposal

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


def proposal_data(proposal: TyreProposal) -> dict[str, Any]:
    """One proposal: a move has ``runs_gained``, an order ``order_by`` (null: the date isn't known)."""
    whole: dict[str, Any] = {"kind": proposal.kind, "tyres": list(proposal.tyres)}
    if proposal.kind == "buy":
        whole["order_by"] = proposal.order_by.isoformat() if proposal.order_by else None
    else:
        whole["runs_gained"] = proposal.runs_gained
    return whole | {"sentence": proposal.sentence}


def run(args: Namespace) -> Answer:
    """Every tyre of my cars."""
    from paddock.folders.seasons import booked_beside, earlier_events
    from paddock.pages.tyres import Beside, all_tyres

    event = load(args.folder)
    found = all_tyres(event, Beside(earlier_events(args.folder, event), booked_beside(args.folder)))
    data = {
        "tyres": [tyre_data(state) for state in found.inventory.tyres],
        "proposals": [proposal_data(item) for item in found.proposals],
        "refusals": [{"kind": item.kind, "tyres": list(item.tyres), "reason": item.reason} for item in found.refusals],
        "questions": [str(item) for item in found.asked],
        "reasons": [*found.reasons],
    } | faults_data(event)

    def words() -> str:
        from paddock.pages.tyres import whole
        from paddock.render.lines import text

        return text(whole(found)) + faults_line(event)

    return Answer(data, words)
