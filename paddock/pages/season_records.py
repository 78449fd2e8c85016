"""All my runs, changes and tyres of a season, a row a record, found by words."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.engine.car.setup_sheet import ChangeState, state_of_change
from paddock.pages.document import Column, PageTable, TableRow
from paddock.words import balance, by_edge, plural, run_text, seconds

SeasonRecord = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class RecordTable:
    """A table with a row a record; ``more``: what has no column, label and text, by the row's id."""

    table: PageTable
    more: Mapping[str, tuple[tuple[str, str], ...]]

    def found(self, wanted: str) -> PageTable:
        """The rows that have every word of ``wanted``, in a column or not."""
        asked = wanted.casefold().split()
        rows = tuple(row for row in self.table.rows if all(word in self._looked_in(row) for word in asked))
        empty = f"nothing here has {wanted}: Enter shows all again" if wanted else self.table.empty
        return PageTable(self.table.columns, rows, self.table.caption, empty)

    def _looked_in(self, row: TableRow) -> str:
        return " ".join([*map(str, row.cells), *(text for _, text in self.more[row.id])]).casefold()

    def rest(self, row_id: str, shown: Iterable[int]) -> str:
        """What the columns shown leave out of one record."""
        cells = self.table.rest(row_id, shown)
        return "; ".join(f"{label} {text}".strip() for label, text in (*cells, *self.more.get(row_id, ())))


def run_words(runs: Sequence[SeasonRecord], changes: Sequence[SeasonRecord]) -> str:
    """How many, how many clean, how many changes were kept."""
    timed = [row for row in runs if row["total_ms"] is not None]
    clean = sum(not row["cones"] and not row["misses"] for row in timed)
    undone = _undone(changes)
    states = [_state(row, undone) for row in changes]
    kept, back = states.count("keep"), states.count("taken back")
    return (
        f"My runs: {len(runs)}, with a time {len(timed)}: {clean} clean, {len(timed) - clean} with penalties. "
        f"Changes: {len(changes)}, kept {kept}, taken back {back}."
    )


def run_list(rows: Iterable[SeasonRecord]) -> RecordTable:
    """A line a run, the latest event on top, its runs in order."""
    columns = (
        Column("date", most=10), Column("event", drop=7, most=22), Column("day", figures=True, drop=4),
        Column("run", figures=True), Column("no", figures=True, drop=5), Column("result", figures=True),
        Column("total", figures=True, drop=3), Column("index", figures=True, drop=6), Column("balance", drop=8),
        Column("surface", drop=9, most=8), Column("note", drop=10, most=40),
    )  # fmt: skip
    empty = "no run of mine in these events yet: type your numbers on the event's page, @, and log a run on home"
    return _listed(columns, _latest_first(rows), _run, empty)


def change_list(rows: Sequence[SeasonRecord]) -> RecordTable:
    """A line a change, the latest event on top, its changes in order."""
    in_order = sorted(rows, key=lambda row: (row["day"] or 0, row["run"] or 0, row["at"] or ""))
    by_event = {name: at for at, name in enumerate(dict.fromkeys(row["event"] for row in rows))}
    columns = (
        Column("date", drop=3), Column("event", drop=6, most=22), Column("day", figures=True, drop=4),
        Column("run", figures=True, drop=4), Column("change", most=18), Column("from", most=10), Column("to", most=10),
        Column("decided", drop=2, most=10), Column("expected", drop=7, most=40),
    )  # fmt: skip
    undone = _undone(rows)
    rows = _latest_first(sorted(in_order, key=lambda row: by_event[row["event"]]))
    empty = "no change in these events yet: c and then a logs one"
    return _listed(columns, rows, lambda row: _change(row, _state(row, undone)), empty)


def tyre_list(rows: Iterable[SeasonRecord]) -> RecordTable:
    """A line for each tyre and event, each tyre's events together."""
    columns = (
        Column("tyre", most=8), Column("date", drop=1), Column("event", drop=3, most=26), Column("runs", figures=True),
        Column("before", figures=True), Column("mm in/mid/out", drop=2),
    )  # fmt: skip
    in_order = sorted(rows, key=lambda row: row["tyre"])
    return _listed(columns, in_order, _tyre, "no tyre in these events yet: t shows the tyres of this one")


RecordWords = tuple[tuple[str, ...], tuple[tuple[str, str], ...]]


def _listed(
    columns: tuple[Column, ...], rows: Iterable[SeasonRecord], one: Callable[[SeasonRecord], RecordWords], empty: str
) -> RecordTable:
    told = {f"{at}": one(row) for at, row in enumerate(rows)}
    table = PageTable(columns, tuple(TableRow(cells, id=key) for key, (cells, _) in told.items()), empty=empty)
    return RecordTable(table, {key: more for key, (_, more) in told.items()})


def _latest_first(rows: Iterable[SeasonRecord]) -> list[SeasonRecord]:
    """The rows come event by event; a later event goes before an earlier one."""
    events: dict[str, list[SeasonRecord]] = {}
    for row in rows:
        events.setdefault(row["event"], []).append(row)
    return [row for found in reversed(list(events.values())) for row in found]


def _where(row: SeasonRecord) -> tuple[str, str, str]:
    return _text(row["date"]), row["name"] or row["event"], _text(row["day"])


def _text(value: object) -> str:
    return "" if value is None else f"{value}"


def _more(row: SeasonRecord, *names: str) -> tuple[tuple[str, str], ...]:
    return tuple((name.replace("_", " "), text) for name in names if (text := _text(row[name])))


def _run(row: SeasonRecord) -> RecordWords:
    felt = " ".join(balance(row[part]) for part in ("entry", "mid", "exit")) if row["entry"] is not None else ""
    cells = (
        *_where(row), _text(row["run"]) + (f" {row['try']}" if row["try"] else ""), row["number"],
        run_text(row["raw_ms"], row["cones"], row["status"]), seconds(row["total_ms"]), seconds(row["index_ms"]), felt,
        _text(row["surface"]), _text(row["note"]),
    )  # fmt: skip
    missed = [("", plural(row["misses"], "gate") + " missed")] if row["misses"] else []
    mistake = [("", "mistake")] if row["mistake"] else []
    return cells, (*_more(row, "car", "driver", "at", "unsafe", "lost_s", "lost_where"), *missed, *mistake)


def _undone(changes: Iterable[SeasonRecord]) -> set[tuple[str, str]]:
    return {(row["event"], row["undoes"]) for row in changes if row["undoes"]}


def _state(row: SeasonRecord, undone: Container[tuple[str, str]]) -> ChangeState:
    return state_of_change(row["decision"], row["undoes"], (row["event"], row["id"]) in undone)


def _change(row: SeasonRecord, state: ChangeState) -> RecordWords:
    cells = (
        *_where(row), _text(row["run"]), _text(row["item"] or row["key"]).replace("_", " "),
        _text(row["before"]) or "?", _text(row["after"]) or "?", state, _text(row["expect"]),
    )  # fmt: skip
    why = (("why", _text(row["reason"])),) if row["reason"] else ()
    return cells, (*_more(row, "kind", "car", "number"), *why)


def _tyre(row: SeasonRecord) -> RecordWords:
    depths = [row[f"{edge}_mm"] for edge in ("inner", "middle", "outer")]
    read = by_edge(depths, 1) if any(depth is not None for depth in depths) else ""
    cells = (
        row["tyre"], _text(row["date"]), row["name"] or row["event"], f"{row['runs']}", _text(row["runs_before"]), read,
    )  # fmt: skip
    return cells, _more(row, "set", "kind", "size", "car")
