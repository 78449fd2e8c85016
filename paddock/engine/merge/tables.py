"""The copies of one CSV file joined by row identity."""

from __future__ import annotations

import heapq
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar

from paddock.model.columns import ColumnSpec, TableSpec, spec_of
from paddock.model.rows import TimeRow
from paddock.model.units import Unit, plain_number

# several orders of partly the same things joined into one


T = TypeVar("T", bound=Hashable)


def sort_key(value: Any) -> tuple[Any, ...]:
    """Sorts anything a key may hold: nothing first, then numbers, then text; tuples part by part."""
    if isinstance(value, tuple):
        return (3, tuple(sort_key(part) for part in value))
    if value is None:
        return (0, 0)
    if isinstance(value, bool | int | float):
        return (1, value)
    return (2, str(value))


def joined_order(orders: Sequence[Sequence[T]], key: Callable[[T], Any] = sort_key) -> list[T]:
    """All items, each order kept as far as the orders agree; free choices go by ``key``.

    Where they contradict each other all items are sorted by ``key``. The sequence of the orders does not
    matter, and joining the result with one of them again gives the result.
    """
    if all(order == orders[0] for order in orders[1:]):
        return list(orders[0]) if orders else []
    after: dict[T, list[T]] = defaultdict(list)
    waits: dict[T, int] = {}
    for order in orders:
        for place, item in enumerate(order):
            waits.setdefault(item, 0)
            if place:
                after[order[place - 1]].append(item)
                waits[item] += 1
    ready = [_Ready(item, number, key) for number, item in enumerate(waits) if not waits[item]]
    heapq.heapify(ready)
    made: list[T] = []
    while ready:
        item = heapq.heappop(ready).item
        made.append(item)
        for other in after[item]:
            waits[other] -= 1
            if not waits[other]:
                heapq.heappush(ready, _Ready(other, len(made), key))
    return made if len(made) == len(waits) else sorted(waits, key=key)


class _Ready(Generic[T]):
    """An item that may come next; its key is asked for only where another may come too."""

    def __init__(self, item: T, number: int, key: Callable[[T], Any]) -> None:
        self.item, self._number, self._key = item, number, key

    @cached_property
    def _order(self) -> tuple[Any, int]:
        return self._key(self.item), self._number

    def __lt__(self, other: _Ready[T]) -> bool:
        return self._order < other._order


# one copy of a CSV file as texts under columns, and what a clash between copies is


ClashesSeen = Mapping[tuple[str, str], frozenset[str]]
"""What one copy's list of conflicts says: row and column, in words, to the values that stood against each other."""


@dataclass(frozen=True, slots=True)
class CopiedTable:
    """``headers`` and ``rows`` of cells as they stand in one copy; rows may be shorter or longer than the header."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """Copies that say different things of one cell or key.

    ``values``: what each copy says, in the order the copies were given, None where it says nothing.
    """

    file: str
    row: str
    column: str
    kept: str
    values: tuple[str | None, ...]

    @property
    def others(self) -> tuple[str, ...]:
        """The values that are not kept, sorted."""
        return tuple(sorted({value for value in self.values if value is not None and value != self.kept}))

    @property
    def pair(self) -> tuple[str, str]:
        """The first copy's value and the first that differs from it."""
        said = [value for value in self.values if value is not None]
        return said[0], next((value for value in said if value != said[0]), self.kept)


@dataclass(frozen=True, slots=True)
class MergeColumn:
    """A column of one copy: ``name`` tells columns apart over all copies, whatever their unit or case."""

    name: str
    header: str
    spec: ColumnSpec | None
    unit: Unit | None


def row_words(spec: TableSpec, key: Sequence[Any]) -> str:
    """A row as the list of conflicts names it: ``day 1 run 2 number 58``."""
    names = [spec.column(name).header for name in spec.key]
    return " ".join(f"{name} {value}" for name, value in zip(names, key, strict=False) if value is not None)


def columns_of(spec: TableSpec, headers: Sequence[str]) -> list[MergeColumn]:
    """The columns of one copy; one that is there twice counts as another column."""
    found: list[MergeColumn] = []
    seen: Counter[str] = Counter()
    for header in headers:
        column = _column(spec, header)
        again = seen[column.name]
        seen[column.name] += 1
        found.append(MergeColumn(f"{column.name}\0{again}", header, None, None) if again else column)
    return found


def _column(spec: TableSpec, header: str) -> MergeColumn:
    name = header.strip().lower()
    for column in spec.columns:
        unit = column.unit_of(name)
        if unit is not None or (column.family is None and name == column.header):
            return MergeColumn(column.field, header, column, unit)
    return MergeColumn(f"?{name}", header, None, None)


def shared_columns(copies: Sequence[Sequence[MergeColumn]]) -> dict[str, MergeColumn]:
    """The column that stands for each name in the joined file: as the copies have it, else the contract's."""
    alike: dict[str, list[MergeColumn]] = {}
    for columns in copies:
        for column in columns:
            alike.setdefault(column.name, []).append(column)
    return {name: _agreed(found) for name, found in alike.items()}


def _agreed(found: list[MergeColumn]) -> MergeColumn:
    headers = {column.header for column in found}
    spec = found[0].spec
    if len(headers) == 1 or spec is None:
        return min(found, key=lambda column: column.header)
    if len({column.unit for column in found}) == 1:
        return min(found, key=lambda column: column.header)
    family = spec.family
    return MergeColumn(spec.field, spec.header, spec, family.units[0] if family else None)


def meaning(column: MergeColumn, text: str, memo: dict[tuple[str, str], Any]) -> Any:
    """What a cell means, so that ``46,5`` and ``46.500`` are one; the stripped text where it can't be read."""
    known = memo.get((column.name, text))
    if known is None:
        known = memo[column.name, text] = _read(column, text.strip())
    return known


def _read(column: MergeColumn, text: str) -> Any:
    if column.spec is None or not text:
        return text
    try:
        value = column.spec.kind.read(text)
    except ValueError:
        return text
    return column.unit.inward(value) if column.unit is not None and isinstance(value, float) else value


def in_unit(text: str, have: MergeColumn, want: MergeColumn) -> str:
    """A cell's text in another unit, as many places as that unit is written with."""
    if have.unit == want.unit or want.unit is None or have.unit is None or have.spec is None:
        return text
    try:
        value = have.spec.kind.read(text.strip())
    except ValueError:
        return text
    return plain_number(want.unit.outward(have.unit.inward(float(value))), want.unit.places)  # type: ignore[arg-type]


def as_mapping(
    columns: Sequence[MergeColumn], cells: Sequence[str], shared: Mapping[str, MergeColumn]
) -> dict[str, str]:
    """Filled cells by column name, in the joined file's units; cells beyond the header by their place."""
    found = {}
    for at, text in enumerate(cells):
        if not text.strip():
            continue
        if at >= len(columns):
            found[f"+{at - len(columns):03d}"] = text
            continue
        column = columns[at]
        found[column.name] = in_unit(text, column, shared[column.name]) if column.unit is not None else text
    return found


def settled(said: Sequence[tuple[Any, frozenset[Any]]]) -> Any:
    """The one value that is said in knowledge of all others, None where there is none or more than one.

    ``said``: each copy's value with the values its list of conflicts names for the cell. So a choice made in
    one copy stands against the copy that has not heard of the conflict yet.
    """
    values = {value for value, _ in said}
    knowing = {value for value, known in said if values - {value} <= known}
    return knowing.pop() if len(knowing) == 1 else None


RowCells = dict[str, str]
Identity = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class MergedTable:
    """``added`` and ``updated``: rows that copy ``target`` lacks, or has otherwise."""

    sheet: CopiedTable
    added: int
    updated: int
    clashes: tuple[Clash, ...]


def merge_tables(
    file: str, copies: Sequence[CopiedTable], target: int | None = 0, seen: Sequence[ClashesSeen] = ()
) -> MergedTable:
    """The copies of ``file`` as one: every row of every copy, a blank filled from a copy that is not blank.

    Where copies differ the value chosen by the only copy that knew of the conflict is kept, else the one that
    sorts last; the rest is listed. ``target``: the copy that is to become the result, None where there is none
    yet. ``seen``: each copy's list of conflicts. The order of ``copies`` changes nothing else.
    """
    return _Merge(spec_of(file), copies, seen or [{} for _ in copies]).run(target)


class _Merge:
    """One file on its way from copies to one table."""

    def __init__(self, spec: TableSpec, copies: Sequence[CopiedTable], seen: Sequence[ClashesSeen]) -> None:
        self.spec = spec
        self.seen = seen
        self.columns = [columns_of(spec, copy.headers) for copy in copies]
        self.shared = shared_columns(self.columns)
        self.memo: dict[tuple[str, str], Any] = {}
        named = [
            self._named([as_mapping(columns, cells, self.shared) for cells in copy.rows])
            for columns, copy in zip(self.columns, copies, strict=True)
        ]
        self.named = _matched(named)

    def run(self, target: int | None) -> MergedTable:
        order = joined_order([list(rows) for rows in self.named])
        clashes: list[Clash] = []
        rows: dict[Identity, RowCells] = {}
        for identity in order:
            rows[identity] = self._row(identity, [copy.get(identity) for copy in self.named], clashes)
        before: dict[Identity, RowCells] = {} if target is None else self.named[target]
        added = sum(1 for identity in order if identity not in before)
        updated = sum(
            1 for identity in order if identity in before and not self._same(rows[identity], before[identity])
        )
        return MergedTable(self._sheet(list(rows.values())), added, updated, tuple(clashes))

    def _same(self, one: RowCells, other: RowCells) -> bool:
        return one == other or (
            one.keys() == other.keys()
            and all(self._means(name, one[name]) == self._means(name, other[name]) for name in one)
        )

    def _means(self, name: str, text: str) -> Any:
        column = self.shared.get(name)
        return text.strip() if column is None else meaning(column, text, self.memo)

    # ---- which row is which

    def _named(self, rows: list[RowCells]) -> list[tuple[Identity, RowCells]]:
        return [(self._identity(cells), cells) for cells in rows if cells]

    def _identity(self, cells: RowCells) -> Identity:
        """The row's key as values; the whole row where its key can't be read."""
        key = []
        for name in self.spec.key:
            text = cells.get(name)
            value = None if text is None else self._means(name, text)
            column = self.spec.column(name)
            if (value is None and column.required) or (isinstance(value, str) and not _reads(column.kind, text or "")):
                return ("row", tuple(sorted(cells.items())))
            key.append(value)
        if self.spec.file == TimeRow.FILE:
            key.append(self._means("status", cells.get("status", "")) == "rerun")
        return ("key", tuple(key))

    # ---- cells

    def _row(self, identity: Identity, copies: list[RowCells | None], clashes: list[Clash]) -> RowCells:
        there = [cells for cells in copies if cells is not None]
        if all(cells == there[0] for cells in there[1:]):
            return there[0]
        made: RowCells = {}
        for name in dict.fromkeys(name for cells in there for name in cells):
            said = [None if cells is None else self._said(name, cells) for cells in copies]
            made[name] = self._cell(identity, name, said, clashes)
        return {name: text for name, text in made.items() if text}

    def _said(self, name: str, cells: RowCells) -> str | None:
        """A cell's text, None where it is blank; a blank status beside a time says that the run counts."""
        text = cells.get(name)
        if text is None and name == "status" and self.spec.file == TimeRow.FILE and "time_ms" in cells:
            return ""
        return text

    def _cell(self, identity: Identity, name: str, said: list[str | None], clashes: list[Clash]) -> str:
        values: dict[Any, str] = {}
        for text in said:
            if text is not None:
                value = self._means(name, text)
                values[value] = min(values.get(value, text), text)
        if len(values) == 1:
            return next(iter(values.values()))
        row, column = self._words(identity), self._header(name)
        known = [self._known(name, copy.get((row, column), frozenset())) for copy in self.seen]
        pairs = [(self._means(name, text), known[at]) for at, text in enumerate(said) if text is not None]
        chosen = settled(pairs)
        kept = values[max(values, key=sort_key) if chosen is None else chosen]
        shown = tuple(None if text is None else values[self._means(name, text)] for text in said)
        clashes.append(Clash(self.spec.file, row, column, kept, shown))
        return kept

    def _header(self, name: str) -> str:
        return self.shared[name].header.strip() if name in self.shared else name

    def _known(self, name: str, texts: frozenset[str]) -> frozenset[Any]:
        return frozenset(self._means(name, text) for text in texts)

    def _words(self, identity: Identity) -> str:
        return row_words(self.spec, identity[1]) if identity[0] == "key" else "a row whose key can't be read"

    # ---- the file again

    def _sheet(self, rows: list[RowCells]) -> CopiedTable:
        names = joined_order([[column.name for column in columns] for columns in self.columns], self._place)
        beyond = sorted({name for cells in rows for name in cells if name.startswith("+")})
        headers = tuple(self.shared[name].header for name in names)
        made = tuple(tuple(cells.get(name, "") for name in (*names, *beyond)) for cells in rows)
        return CopiedTable(headers, tuple(map(_trimmed(len(headers)), made)) if beyond else made)

    def _place(self, name: str) -> tuple[int, str]:
        fields = [column.field for column in self.spec.columns]
        return (fields.index(name) if name in fields else len(fields)), name


def _trimmed(width: int) -> Any:
    def trim(cells: tuple[str, ...]) -> tuple[str, ...]:
        last = max((at for at, text in enumerate(cells) if text), default=-1) + 1
        return cells[: max(last, width)]

    return trim


def _reads(kind: Any, text: str) -> bool:
    try:
        kind.read(text.strip())
    except ValueError:
        return False
    return True


def _matched(copies: list[list[tuple[Identity, RowCells]]]) -> list[dict[Identity, RowCells]]:
    """Each copy's rows under identities of their own, in file order.

    A key that one copy has twice tells nothing apart, so its rows are not joined cell by cell: all different
    ones stay, for ``check`` to name.
    """
    counts = [Counter(identity for identity, _ in copy) for copy in copies]
    many = {identity for count in counts for identity, times in count.items() if times > 1}
    return [_alone(copy, many) for copy in copies]


def _alone(copy: list[tuple[Identity, RowCells]], many: set[Identity]) -> dict[Identity, RowCells]:
    made: dict[Identity, RowCells] = {}
    seen: Counter[Identity] = Counter()
    for identity, cells in copy:
        if identity in many:
            identity = (*identity, tuple(sorted(cells.items())))
            seen[identity] += 1
            identity = (*identity, seen[identity])
        made[identity] = cells
    return made
