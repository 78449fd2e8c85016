"""The readable answer of ``paddock bar``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from paddock.commands.table import table
from paddock.engine.car.balance import Transfer, roll_share_curve
from paddock.engine.car.bars import CAUTIONS, BarTable
from paddock.engine.car.compensation import GiveBack
from paddock.errors import Problem
from paddock.model.car import Car
from paddock.render.clean import clean
from paddock.words_car import (
    PAIR_HEADERS,
    caution_lines,
    give_back_sentences,
    holes,
    pair_cells,
    transfer_sentences,
    unequal_sentence,
)

__all__ = ["Shown", "bar_text"]

_NOTE = """\
end: force per travel between the two arm ends. wheel: force per wheel travel in pure roll. N·m/deg: roll
stiffness at the wheels. 1-2 stands for 2-1 too. +/-: what your measuring leaves open. step: against the next
softer pair; vs now: against the holes in use (<). heave: forces at the arm ends (left right) for 10 mm of bump
at both; + loads that tyre; droop turns the signs round (braking: bump in front, droop behind). front: front share
of the load transfer with these holes."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What was computed: tables and shares per axle, the balance now, a change tried; whose holes are in use."""

    car: Car
    tables: Mapping[str, BarTable | None]
    shares: Mapping[str, tuple[float | None, ...]]
    now: Transfer | None
    back: GiveBack | None
    problems: tuple[Problem, ...]
    note: str = ""


def _axle_lines(name: str, found: BarTable | None, shares: tuple[float | None, ...]) -> list[str]:
    if found is None:
        return [f"{name} bar: none."]
    if not found.pairs:
        return [f"{name} bar: nothing to compute (see below)."]
    by_pair = dict(zip(found.pairs, shares, strict=True))
    rows = []
    for pair in found.distinct:
        first, *cells = pair_cells(pair, by_pair.get(pair))
        mark = " <" if found.in_use and pair.end_rate_n_mm == found.in_use.end_rate_n_mm else ""
        rows.append([first + mark, *cells])
    now = "not known, see below" if found.in_use is None else holes(found.in_use.left, found.in_use.right)
    head = f"{name} bar, holes left-right in use: {now}"
    return [head, table(PAIR_HEADERS, rows, range(1, len(PAIR_HEADERS)))]


def _plot(shown: Shown) -> list[str]:
    from paddock.render.drawn import lines_plot
    from paddock.views.bar import LEAST_SHARE

    points = [(g, value * 100) for g, value in roll_share_curve(shown.car)]
    picture = lines_plot(
        {"front share of load transfer as set": points}, "cornering, g", "front share, %", least=LEAST_SHARE
    )
    return ["", picture] if picture else []


def bar_text(shown: Shown, plot: bool) -> str:
    """Tables, balance, the change tried, what is missing or wrong, cautions once."""
    lines: list[str] = [shown.note, ""] if shown.note else []
    for end in ("front", "rear"):
        lines += [*_axle_lines(end.capitalize(), shown.tables[end], shown.shares[end]), ""]
    if any(found and found.pairs for found in shown.tables.values()):
        lines += [_NOTE, ""]
    lines += transfer_sentences(shown.now)
    for end, found in shown.tables.items():
        unequal = unequal_sentence(end.capitalize(), found.in_use) if found else None
        lines += [unequal] if unequal else []
    if shown.back is not None:
        lines += ["", *give_back_sentences(shown.back)]
    if plot:
        lines += _plot(shown)
    if shown.problems:
        lines += ["", *(clean(str(problem)) for problem in shown.problems)]
    return "\n".join([*lines, *caution_lines(CAUTIONS)])
