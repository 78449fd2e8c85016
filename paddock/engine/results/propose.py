"""A column map proposed from headers, from values and from what was confirmed before."""

from __future__ import annotations

import heapq
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from paddock.engine.results.cells import plain, read_penalty_ms, read_result, status_of, tidy
from paddock.engine.results.headers import (
    PER_RUN,
    SINGLE,
    ColumnMap,
    Head,
    Meaning,
    find_head,
    is_time_cell,
    meaning_of,
    one_valued,
    parse_map,
)
from paddock.engine.results.who import NameBook
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import CellGrid
from paddock.model.settings import Rules, Settings

# what the values of a column speak for


_SAMPLE = 120
_MANY = 4


_LONGEST_PLACE = 9


@dataclass(frozen=True, slots=True)
class SourceColumn:
    """Shares (0 to 1) of a column's filled cells; ``filled`` counts them."""

    index: int
    cells: tuple[str, ...]
    filled: int
    times: float
    numbers: float
    names: float
    classes: float
    whole: float
    letters: float
    distinct: float

    @property
    def counts_up(self) -> bool:
        """1, 2, 3 … (ties allowed): places, not car numbers."""
        whole = [int(cell) for cell in self.cells if cell.isascii() and cell.isdigit() and len(cell) <= _LONGEST_PLACE]
        return len(whole) > 1 and whole[0] == 1 and all(0 <= b - a <= 2 for a, b in pairwise(whole))


def columns_of(grid: CellGrid, first_row: int, book: NameBook, settings: Settings) -> list[SourceColumn]:
    """The evidence of every column, from the first hundred rows or so below the header."""
    body = [row for row in grid.rows[first_row : first_row + _SAMPLE] if not one_valued(row)]
    codes = {plain(item.code) for item in settings.classes} | {
        plain(item.name) for item in settings.classes if item.name
    }
    return [_column(index, tuple(tidy(row[index]) for row in body), book, codes) for index in range(grid.width)]


def _column(index: int, cells: tuple[str, ...], book: NameBook, codes: set[str]) -> SourceColumn:
    filled = [cell for cell in cells if cell]
    total = max(len(filled), 1)
    times = sum(1 for cell in filled if is_time_cell(cell))
    voids = sum(1 for cell in filled if status_of(cell)) if times else 0
    return SourceColumn(
        index=index,
        cells=cells,
        filled=len(filled),
        times=(times + voids) / total,
        numbers=sum(1 for cell in filled if book.number(cell) in book.drivers) / total,
        names=sum(1 for cell in filled if book.numbers_named(cell)) / total,
        classes=sum(1 for cell in filled if plain(cell) in codes) / total,
        whole=sum(1 for cell in filled if cell.strip("#").isdigit()) / total,
        letters=sum(1 for cell in filled if cell[:1].isalpha() and not status_of(cell)) / total,
        distinct=len(set(filled)) / total,
    )


def _ms(cell: str) -> int | None:
    try:
        result = read_result(cell)
    except ValueError:
        return None
    return result.time_ms if result else None


Totals = list[tuple[int, int, int, int]]
"""Of each row, over some columns: how many times, their sum, the smallest, the one after."""


def totals(columns: list[SourceColumn]) -> Totals:
    """What ``is_derived`` holds a column against, worked out once for all of them."""
    found: Totals = []
    for cells in zip(*(column.cells for column in columns), strict=True):
        times = [ms for cell in cells if (ms := _ms(cell)) is not None]
        low, next_low = (*heapq.nsmallest(2, times), 0, 0)[:2]
        found.append((len(times), sum(times), low, next_low))
    return found


def is_derived(column: SourceColumn, of: Totals, within: bool = False) -> bool:
    """The column is the best or the sum of the others in nine rows of ten. ``within``: it is one of those ``of``."""
    hits = rows = 0
    for cell, (count, whole, low, next_low) in zip(column.cells, of, strict=False):
        mine = _ms(cell)
        if mine is None:
            continue
        if within:
            count, whole, low = count - 1, whole - mine, next_low if mine == low else low
        if count < 2:
            continue
        rows += 1
        hits += mine in (low, whole)
    return rows > 1 and hits >= 0.9 * rows


def places_in_brackets(column: SourceColumn) -> bool:
    """The numbers in brackets behind the times follow the order of the times: places, not cones."""
    pairs = []
    for cell in column.cells:
        try:
            result = read_result(cell)
        except ValueError:
            continue
        if result and result.time_ms is not None and result.cones is not None and cell.rstrip().endswith((")", "]")):
            pairs.append((result.time_ms, result.cones))
    places = [place for _, place in sorted(pairs)]
    alike = len(places) - len(set(places))
    return len(places) >= _MANY and places == sorted(places) and max(places) >= _MANY and 5 * alike <= len(places)


def reads_as_seconds(columns: list[SourceColumn], rules: Rules) -> bool:
    """The penalty columns of a table hold added seconds, not counts: nine values in ten are sums of marks."""
    values = []
    try:
        values = [read_penalty_ms(cell) or 0 for column in columns for cell in column.cells]
    except ValueError:
        return False
    steps = [ms for ms in (rules.cone_ms, rules.miss_ms) if ms]
    fits = sum(1 for ms in values if any(ms % step == 0 for step in steps))
    return any(values) and fits >= 0.9 * len(values)


Remembered = Mapping[str, Mapping[str, str]]
"""``signature`` of a table to role and column label; ``width`` among the roles is the table's columns."""

_DIGITS = re.compile(r"\d+")
_SURE = 0.5
_MOSTLY = 0.6


def signature(grid: CellGrid) -> str:
    """What makes two tables the same kind: their headers without run numbers, else their width."""
    labels = find_head(grid).labels
    words = dict.fromkeys(_DIGITS.sub("", plain(label)).strip() for label in labels if label)
    return "|".join(filter(None, words)) or f"{grid.width} columns"


def remembered_form(grid: CellGrid, columns: ColumnMap) -> dict[str, str]:
    """What to remember of a confirmed map."""
    return {**columns.labels, "width": str(grid.width)}


def choose(grids: Sequence[CellGrid], event: Event, remembered: Remembered | None = None) -> int:
    """Index of the grid most likely meant: one confirmed before, else the one with most results of known entrants."""
    if len(grids) == 1:
        return 0
    book = NameBook(event.entrants)
    known = [index for index, grid in enumerate(grids) if signature(grid) in (remembered or {})]
    return max(known or range(len(grids)), key=lambda index: (_worth(grids[index], event, book), -index))


def _worth(grid: CellGrid, event: Event, book: NameBook) -> float:
    head = find_head(grid)
    columns = columns_of(grid, head.first_row, book, event.settings)
    times = sum(column.times * column.filled for column in columns if column.times > _SURE)
    return times * (1 + max((max(column.numbers, column.names) for column in columns), default=0.0))


def propose(grid: CellGrid, event: Event, remembered: Remembered | None = None, given: str | None = None) -> ColumnMap:
    """The map of ``grid``; ``usable`` says whether it is enough.

    ``given``: roles named by the user (``number=No,run1=Run 1``), which stand above everything else.
    Raises UsageError where ``given`` names an unknown role or column.
    """
    head = find_head(grid)
    book = NameBook(event.entrants)
    columns = columns_of(grid, head.first_row, book, event.settings)
    roles = _Proposal(columns, head, event).roles()
    if given:
        return _finished(_overlaid(roles, parse_map(given, head.labels)), head, columns)
    before = _before(grid, head, (remembered or {}).get(signature(grid)))
    return _finished({**_further(roles, before), **before}, head, columns, bool(before))


def _further(roles: Mapping[str, int], before: Mapping[str, int]) -> dict[str, int]:
    """What the proposal adds to a remembered map: roles not named in it, and runs driven since."""
    taken = set(before.values())
    last = max(ColumnMap(before).runs, default=0)

    def is_new(role: str) -> bool:
        run = re.fullmatch(r"(?:run|total)(\d+)", role)
        return role not in before and (run is None or int(run[1]) > last)

    return {role: at for role, at in roles.items() if is_new(role) and at not in taken}


def _overlaid(roles: Mapping[str, int], given: Mapping[str, int]) -> dict[str, int]:
    """``given`` with what the proposal adds: who and class, and further runs of columns not named."""
    taken = set(given.values())
    gives_runs = any(role.startswith(("run", "total", "time")) for role in given)
    open_to = ("number", "name", "first", "class") if gives_runs else tuple(roles)
    added = {role: at for role, at in roles.items() if role not in given and at not in taken and role in open_to}
    return {**added, **given}


def _before(grid: CellGrid, head: Head, known: Mapping[str, str] | None) -> dict[str, int]:
    """The remembered roles whose columns are still there; a place counts only in a table of the same width."""
    same_width = bool(known) and known.get("width") == str(grid.width) if known else False
    found: dict[str, int] = {}
    for role, label in (known or {}).items():
        if role == "width" or (label.isdigit() and not same_width):
            continue
        try:
            found |= parse_map(f"{role}={label}", head.labels)
        except UsageError:
            continue
    return found if ColumnMap(found).usable else {}


def _finished(roles: Mapping[str, int], head: Head, columns: list[SourceColumn], remembered: bool = False) -> ColumnMap:
    order = {role: place for place, role in enumerate(SINGLE)}
    ordered = dict(sorted(roles.items(), key=lambda item: (order.get(item[0], 99), item[1])))
    names, taken = _names(head.labels), set(ordered.values())
    labels = {role: names[index] for role, index in ordered.items()}
    ranks = {
        role for role, index in ordered.items() if role[:3] in ("run", "tim") and places_in_brackets(columns[index])
    }
    timed = tuple(names[index] for index in _left_over(taken, head, columns))
    passed = {*timed}
    free = (names[item.index] for item in columns if item.filled and item.index not in taken)
    unused = tuple(label for label in free if label not in passed)
    return ColumnMap(ordered, head.first_row, labels, frozenset(ranks), remembered, timed, unused)


def _left_over(taken: set[int], head: Head, columns: list[SourceColumn]) -> list[int]:
    sure = [column for column in columns if column.times > _SURE]
    free = [column for column in sure if column.index not in taken]
    unread = [column for column in free if meaning_of(head.labels[column.index]).role not in ("-", "total")]
    read = totals([column for column in sure if column.index in taken])
    return [column.index for column in unread if not is_derived(column, read)]


def _names(labels: tuple[str, ...]) -> list[str]:
    """What each column is called: by its header where no other reads the same, else by its place."""
    bare = [plain(label) for label in labels]
    alike = Counter(bare)
    return [
        label if label and name and alike[name] == 1 and not label.isdigit() else str(place)
        for place, (label, name) in enumerate(zip(labels, bare, strict=True), 1)
    ]


class _Proposal:
    """The columns of one table on their way to roles."""

    def __init__(self, columns: list[SourceColumn], head: Head, event: Event) -> None:
        self.columns = columns
        self.meanings = [meaning_of(label) for label in head.labels]
        self.headed = any(meaning.role for meaning in self.meanings)
        called = [column for column in columns if self.meanings[column.index].role == "penalty"]
        self.in_seconds = reads_as_seconds(called, event.settings.rules)
        self.found: dict[str, int] = {}

    def roles(self) -> dict[str, int]:
        self._who()
        self._runs()
        self._rows()
        self._beside()
        return self.found

    def _free(self) -> list[SourceColumn]:
        return [column for column in self.columns if column.index not in self.found.values() and column.filled]

    def _called(self, role: str) -> list[SourceColumn]:
        return [column for column in self._free() if self.meanings[column.index] == Meaning(role)]

    def _who(self) -> None:
        self._take("number", self._number())
        self._take("first", self._first_called("first"))
        self._take("name", self._first_called("name") or self._by("names"))
        self._take("class", self._first_called("class") or self._by("classes"))
        for role in ("day", "at", "try"):
            self._take(role, self._first_called(role))

    def _take(self, role: str, column: SourceColumn | None) -> None:
        if column is not None:
            self.found[role] = column.index

    def _first_called(self, role: str) -> SourceColumn | None:
        return max(self._called(role), key=lambda column: (column.names, column.filled, -column.index), default=None)

    def _by(self, evidence: str) -> SourceColumn | None:
        usable = [column for column in self._free() if self.meanings[column.index].role in ("", "number")]
        best = max(usable, key=lambda column: float(getattr(column, evidence)), default=None)
        return best if best is not None and getattr(best, evidence) >= _SURE else None

    def _number(self) -> SourceColumn | None:
        called = self._called("number") or [
            column
            for column in self._free()
            if column.cells and self.meanings[column.index] == Meaning() and self._hash(column)
        ]
        if called:
            return max(called, key=lambda column: (column.numbers, column.distinct, -column.index))
        free = [column for column in self._free() if self.meanings[column.index] == Meaning() and column.times < _SURE]
        known = [column for column in free if column.numbers >= _SURE and column.distinct > 0.3]
        if known:
            return max(known, key=lambda column: (not column.counts_up, column.numbers))
        whole = [column for column in free if column.whole > 0.9 and column.distinct > 0.9 and not column.counts_up]
        return whole[0] if whole and not self.headed else None

    def _hash(self, column: SourceColumn) -> bool:
        return all(cell.startswith("#") for cell in column.cells if cell) and column.whole > _SURE

    def _runs(self) -> None:
        for column in self._free():
            meaning = self.meanings[column.index]
            if meaning.run and meaning.role in ("run", "") and (column.times >= _SURE or meaning.role == "run"):
                self.found.setdefault(f"run{meaning.run}", column.index)
        if not self._runs_found():
            self._totals()
        if not self._runs_found():
            self._unnamed_runs()

    def _runs_found(self) -> bool:
        return any(re.fullmatch(r"(run|total)\d+", role) for role in self.found)

    def _totals(self) -> None:
        for column in self._free():
            meaning = self.meanings[column.index]
            if meaning.role == "total" and meaning.run and column.times >= _SURE:
                self.found.setdefault(f"total{meaning.run}", column.index)

    def _unnamed_runs(self) -> None:
        """Columns of times without a word: runs in order, the best and the sum left out."""
        timed = [
            column
            for column in self._free()
            if column.times >= _MOSTLY and (self.meanings[column.index].role in ("", "time", "run"))
        ]
        if len(timed) < 2 or self._called("run"):
            return
        of = totals(timed)
        kept = [column for column in timed if not is_derived(column, of, within=True)]
        for run, column in enumerate(kept, 1):
            self.found[f"run{run}"] = column.index

    def _rows(self) -> None:
        if self._runs_found():
            return
        for role in ("run", "time"):
            self._take(role, self._first_called(role))
        if "time" not in self.found:
            timed = [
                column for column in self._free() if column.times >= _MOSTLY and self.meanings[column.index].role != "-"
            ]
            self._take("time", timed[0] if timed else None)

    def _beside(self) -> None:
        """Cones, gates, penalties and status: of one run each, or of the row."""
        runs = {
            int(role[-2:].lstrip("nl")): index
            for role, index in self.found.items()
            if re.fullmatch(r"(run|total)\d+", role)
        }
        for column in self._free():
            meaning = self.meanings[column.index]
            if meaning.role in PER_RUN and meaning.role not in ("run", "total"):
                run = meaning.run or self._nearest(column.index, runs, meaning.role)
                self._add(meaning.role, run, column)

    def _nearest(self, index: int, runs: Mapping[int, int], role: str) -> int:
        """The run whose time stands just before a column that is there once per run."""
        alike = sum(1 for meaning in self.meanings if meaning == Meaning(role))
        before = [run for run, at in runs.items() if at < index]
        if alike < 2:
            return next(iter(runs)) if len(runs) == 1 else 0
        return max(before, key=lambda run: runs[run], default=0)

    def _add(self, role: str, run: int, column: SourceColumn) -> None:
        if not run and self._runs_found():
            return
        if role == "penalty" and not self.in_seconds:
            role = "cones"
        self.found.setdefault(f"{role}{run}" if run else role, column.index)
