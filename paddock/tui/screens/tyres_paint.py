"""How a tyre is laid out: more of it the wider the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from paddock.tui.paint import TextLine, join, line, width_of, wrapped
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.views.tyres import TyreLine

__all__ = ["stepper_lines", "tyre_cells", "tyre_columns", "whole_tyre"]

Columns = list[tuple[str, Col]]
_EDGES = ("inner", "middle", "outer")
_ALL: Columns = [
    ("at", Col("at", 3, stays=True)),
    ("tyre", Col("tyre", most=8)),
    ("runs", Col("runs", most=9)),
    ("heats", Col("heats", 5, right=True)),
    ("depth", Col("in/mid/out", most=14)),
    ("wear", Col("wear a run", most=17)),
    ("left", Col("runs left", most=12)),
    ("edge", Col("by edge", 7)),
    ("years", Col("years", 5, right=True)),
    ("cost", Col("cost/run", 8, right=True)),
]
_NARROW = {"at", "tyre", "left", "edge"}


def tyre_columns(width: int) -> Columns:
    """The columns for a screen so wide."""
    if width >= 110:
        return _ALL
    wanted = _NARROW if width < 76 else _NARROW | {"runs", "depth", "wear"}
    return [item for item in _ALL if item[0] in wanted]


def tyre_cells(item: TyreLine, columns: Columns, unit: str) -> Cells:
    """One row; a corner without a tyre says so."""
    cells = _cells(item, unit)
    return tuple(cells.get(name, "") for name, _ in columns)


def _cells(item: TyreLine, unit: str) -> dict[str, str]:
    from paddock.views.tyres import depth_words
    from paddock.words import by_edge, runs_left

    state = item.state
    if state is None:
        return {"at": item.corner, "tyre": "none"}
    cost, age = state.cost_per_run, state.age_years
    return {
        "at": item.corner or "off",
        "tyre": state.tyre,
        "runs": f"{state.runs} ({state.event_runs})",
        "heats": str(state.cycles),
        "depth": depth_words((state.life.depth_mm.get(edge) for edge in _EDGES), unit),
        "wear": by_edge((state.wear[edge].mm if edge in state.wear else None for edge in _EDGES), 3),
        "left": runs_left(state.life.runs, state.life.low, state.life.high),
        "edge": state.life.edge or "-",
        "years": "-" if age is None else f"{age:.1f}",
        "cost": "-" if cost is None else f"{cost:.2f}",
    }


def stepper_lines(depths: Mapping[str, float], moved: bool, width: int) -> list[TextLine]:
    """A stepper for each edge, and what logs them once one was moved."""
    parts = [
        line((f"{edge} ", "quiet"), (" - ", "key", f"bump('{edge}', -1)"), f"{depth:.1f}",
             (" + ", "key", f"bump('{edge}', 1)"))
        for edge, depth in depths.items()
    ]  # fmt: skip
    if moved:
        parts.append(line((" log it ", "hand", "take")))
    return [join(parts)] if width_of(join(parts)) <= width else parts


def whole_tyre(item: TyreLine, unit: str, width: int) -> list[TextLine]:
    """The tyre in hand in a sentence or two."""
    state, cells = item.state, _cells(item, unit)
    if state is None:
        return wrapped(f"Nothing is known to be on the {item.corner}: m puts a tyre there.", width, "strong")
    where = item.corner + (" turned over" if state.place and state.place.turned else "") if item.corner else "off"
    parts = [f"{state.tyre}, {where}: {cells['runs']} runs, {cells['heats']} heats here"]
    if state.life.depth_mm:
        short = "mm" if unit != "32nds" else "/32 in"
        parts.append(f"{cells['depth']} {short} in/mid/out now, wears {cells['wear']} mm a run")
    else:
        parts.append("no depth yet: type inner middle outer")
    if state.life.runs is None:
        parts.append("runs left need two readings with runs between")
    elif width < 76:
        parts.append(f"{cells['left']} runs left to {state.life.floor_mm:g} mm")
    else:
        parts.append(f"{cells['left']} runs left to {state.life.floor_mm:g} mm at the {state.life.edge} edge")
    return wrapped("; ".join(parts), width, "strong")
