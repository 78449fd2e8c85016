"""The copies of one CSV file joined by row identity."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from paddock.engine.merge.order import joined_order, sort_key
from paddock.engine.merge.sheet import Clash, Seen, Sheet, as_mapping, columns_of, meaning, settled, shared_columns
from paddock.model.columns import TableSpec, spec_of
from paddock.model.rows import TimeRow

Cells = dict[str, str]
Identity = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class MergedTable:
    """``added`` and ``updated``: rows that copy ``target`` lacks, or has otherwise."""

    sheet: Sheet
    added: int
    updated: int
    clashes: tuple[Clash, ...]


def merge_tables(file: str, copies: Sequence[Sheet], target: int | None = 0, seen: Sequence[Seen] = ()) -> MergedTable:
    """The copies of ``file`` as one: every row of every copy, a blank filled from a copy that is not blank.

    Where copies differ the value chosen by the only copy that knew of the conflict is kept, else the one that
    sorts last; the rest is listed. ``target``: the copy that is to become the result, None where there is none
    yet. ``seen``: each copy's list of conflicts. The order of ``copies`` changes nothing else.
    """
    return _Merge(spec_of(file), copies, seen or [{} for _ in copies]).run(target)


class _Merge:
    """One file on its way from copies to one table."""

    def __init__(self, spec: TableSpec, copies: Sequence[Sheet], seen: Sequence[Seen]) -> None:
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
        rows: dict[Identity, Cells] = {}
        for identity in order:
            rows[identity] = self._row(identity, [copy.get(identity) for copy in self.named], clashes)
        before: dict[Identity, Cells] = {} if target is None else self.named[target]
        added = sum(1 for identity in order if identity not in before)
        updated = sum(
            1 for identity in order if identity in before and not self._same(rows[identity], before[identity])
        )
        return MergedTable(self._sheet(list(rows.values())), added, updated, tuple(clashes))

    def _same(self, one: Cells, other: Cells) -> bool:
        return one == other or (
            one.keys() == other.keys()
            and all(self._means(name, one[name]) == self._means(name, other[name]) for name in one)
        )

    def _means(self, name: str, text: str) -> Any:
        column = self.shared.get(name)
        return text.strip() if column is None else meaning(column, text, self.memo)

    # ---- which row is which

    def _named(self, rows: list[Cells]) -> list[tuple[Identity, Cells]]:
        return [(self._identity(cells), cells) for cells in rows if cells]

    def _identity(self, cells: Cells) -> Identity:
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

    def _row(self, identity: Identity, copies: list[Cells | None], clashes: list[Clash]) -> Cells:
        there = [cells for cells in copies if cells is not None]
        if all(cells == there[0] for cells in there[1:]):
            return there[0]
        made: Cells = {}
        for name in dict.fromkeys(name for cells in there for name in cells):
            said = [None if cells is None else self._said(name, cells) for cells in copies]
            made[name] = self._cell(identity, name, said, clashes)
        return {name: text for name, text in made.items() if text}

    def _said(self, name: str, cells: Cells) -> str | None:
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
        if identity[0] != "key":
            return "a row whose key can't be read"
        names = [self.spec.column(name).header for name in self.spec.key]
        pairs = zip(names, identity[1], strict=False)
        return " ".join(f"{name} {value}" for name, value in pairs if value is not None)

    # ---- the file again

    def _sheet(self, rows: list[Cells]) -> Sheet:
        names = joined_order([[column.name for column in columns] for columns in self.columns], self._place)
        beyond = sorted({name for cells in rows for name in cells if name.startswith("+")})
        headers = tuple(self.shared[name].header for name in names)
        made = tuple(tuple(cells.get(name, "") for name in (*names, *beyond)) for cells in rows)
        return Sheet(headers, tuple(map(_trimmed(len(headers)), made)) if beyond else made)

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


def _matched(copies: list[list[tuple[Identity, Cells]]]) -> list[dict[Identity, Cells]]:
    """Each copy's rows under identities of their own, in file order.

    A key that one copy has twice tells nothing apart, so its rows are not joined cell by cell: all different
    ones stay, for ``check`` to name.
    """
    counts = [Counter(identity for identity, _ in copy) for copy in copies]
    many = {identity for count in counts for identity, times in count.items() if times > 1}
    return [_alone(copy, many) for copy in copies]


def _alone(copy: list[tuple[Identity, Cells]], many: set[Identity]) -> dict[Identity, Cells]:
    made: dict[Identity, Cells] = {}
    seen: Counter[Identity] = Counter()
    for identity, cells in copy:
        if identity in many:
            identity = (*identity, tuple(sorted(cells.items())))
            seen[identity] += 1
            identity = (*identity, seen[identity])
        made[identity] = cells
    return made
