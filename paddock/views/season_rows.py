"""All my runs, changes and tyres over a season, a line each, with everything that was written of the one in hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from paddock import words

__all__ = ["RowLine", "change_lines", "found_lines", "run_lines", "run_words", "tyre_lines"]

Row = Mapping[str, Any]


@dataclass(frozen=True)
class RowLine:
    """``cells``: column to text; ``more``: what has no column, label and text."""

    id: str
    cells: Mapping[str, str]
    more: tuple[tuple[str, str], ...]

    @cached_property
    def looked_in(self) -> str:
        """What a search looks in."""
        return " ".join([*self.cells.values(), *(text for _, text in self.more)]).casefold()


def found_lines(lines: Iterable[RowLine], wanted: str) -> tuple[RowLine, ...]:
    """Those that have every word of ``wanted``."""
    asked = wanted.casefold().split()
    return tuple(line for line in lines if all(word in line.looked_in for word in asked))


def run_words(runs: Sequence[Row], changes: Sequence[Row]) -> str:
    """How many, how many clean, how many changes were kept."""
    timed = [row for row in runs if row["total_ms"] is not None]
    clean = sum(not row["cones"] and not row["misses"] for row in timed)
    kept = sum(row["decision"] == "keep" for row in changes)
    back = sum(row["decision"] == "revert" for row in changes)
    return (
        f"My runs: {len(runs)}, with a time {len(timed)}: {clean} clean, {len(timed) - clean} with penalties. "
        f"Changes: {len(changes)}, kept {kept}, taken back {back}."
    )


def _text(value: object) -> str:
    return "" if value is None else f"{value}"


def _where(row: Row) -> dict[str, str]:
    return {"date": _text(row["date"]), "event": row["name"] or row["event"], "day": _text(row.get("day"))}


def _more(row: Row, **names: str) -> tuple[tuple[str, str], ...]:
    return tuple((label.replace("_", " "), text) for label, name in names.items() if (text := _text(row[name])))


def _lines(rows: Iterable[Row], one: Any) -> tuple[RowLine, ...]:
    return tuple(RowLine(f"{at}", *one(row)) for at, row in enumerate(rows))


def run_lines(rows: Iterable[Row]) -> tuple[RowLine, ...]:
    """A line for each run, the latest event on top, its runs in order."""
    return _lines(_latest_first(rows), _run)


def _latest_first(rows: Iterable[Row]) -> list[Row]:
    """The rows come event by event; a later event goes before an earlier one."""
    events: dict[str, list[Row]] = {}
    for row in rows:
        events.setdefault(row["event"], []).append(row)
    return [row for found in reversed(list(events.values())) for row in found]


def _run(row: Row) -> tuple[dict[str, str], tuple[tuple[str, str], ...]]:
    result = words.run_text(row["raw_ms"], row["cones"], row["status"])
    felt = " ".join(words.balance(row[part]) for part in ("entry", "mid", "exit")) if row["entry"] is not None else ""
    cells = _where(row) | {
        "run": _text(row["run"]) + (f" {row['try']}" if row["try"] else ""), "no": row["number"], "result": result,
        "total": words.seconds(row["total_ms"]), "index": words.seconds(row["index_ms"]), "balance": felt,
        "surface": _text(row["surface"]), "note": _text(row["note"]),
    }  # fmt: skip
    more = _more(row, car="car", driver="driver", at="at", unsafe="unsafe", lost_s="lost_s",
                 lost_where="lost_where")  # fmt: skip
    extra = [("", words.plural(row["misses"], "gate") + " missed")] if row["misses"] else []
    return cells, (*more, *extra, *([("", "mistake")] if row["mistake"] else []))


def change_lines(rows: Sequence[Row]) -> tuple[RowLine, ...]:
    """A line for each change, the latest event on top, its changes in order."""
    in_order = sorted(rows, key=lambda row: (row["day"] or 0, row["run"] or 0, row["at"] or ""))
    by_event = {name: at for at, name in enumerate(dict.fromkeys(row["event"] for row in rows))}
    return _lines(_latest_first(sorted(in_order, key=lambda row: by_event[row["event"]])), _change)


def _change(row: Row) -> tuple[dict[str, str], tuple[tuple[str, str], ...]]:
    state = "takes back" if row["undoes"] else row["decision"] or "open"
    cells = _where(row) | {
        "run": _text(row["run"]), "change": _text(row["item"] or row["key"]).replace("_", " "),
        "from": _text(row["before"]) or "?", "to": _text(row["after"]) or "?", "decided": state,
        "expected": _text(row["expect"]),
    }  # fmt: skip
    return cells, _more(row, kind="kind", car="car", number="number", why="reason")


def tyre_lines(rows: Iterable[Row]) -> tuple[RowLine, ...]:
    """A line for each tyre and event, each tyre's events together."""
    return _lines(sorted(rows, key=lambda row: row["tyre"]), _tyre)


def _tyre(row: Row) -> tuple[dict[str, str], tuple[tuple[str, str], ...]]:
    depths = [row[f"{edge}_mm"] for edge in ("inner", "middle", "outer")]
    read = words.by_edge(depths, 1) if any(depth is not None for depth in depths) else ""
    cells = {
        "tyre": row["tyre"], "date": _text(row["date"]), "event": row["name"] or row["event"],
        "runs": f"{row['runs']}", "before": _text(row["runs_before"]), "mm in/mid/out": read,
    }  # fmt: skip
    return cells, _more(row, set="set", kind="kind", size="size", car="car")
