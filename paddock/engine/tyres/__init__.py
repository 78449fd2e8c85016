"""Tyres: runs, wear by edge, runs left, moves, when to order. Start with ``inventory``."""

from paddock.engine.tyres.buying import orders, questions
from paddock.engine.tyres.counts import car_runs, fitted_now, my_cars, runs_of, uses
from paddock.engine.tyres.inventory import Inventory, TyreState, inventory
from paddock.engine.tyres.proposals import Refusal, TyreProposal, moves_for
from paddock.engine.tyres.putting import SquareAnswer, square_against_staggered

__all__ = [
    "Inventory", "TyreProposal", "Refusal", "SquareAnswer", "TyreState",
    "car_runs", "fitted_now", "inventory", "moves_for", "my_cars", "orders", "questions", "runs_of",
    "square_against_staggered", "uses",
]  # fmt: skip
