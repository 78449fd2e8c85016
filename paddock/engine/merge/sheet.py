"""One copy of a CSV file as texts under columns, and what a clash between copies is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.model.columns import ColumnSpec, TableSpec
from paddock.model.kinds import plain_number
from paddock.model.units import Unit

Seen = Mapping[tuple[str, str], frozenset[str]]
"""What one copy's list of conflicts says: row and column, in words, to the values that stood against each other."""


@dataclass(frozen=True, slots=True)
class Sheet:
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
class Column:
    """A column of one copy: ``name`` tells columns apart over all copies, whatever their unit or case."""

    name: str
    header: str
    spec: ColumnSpec | None
    unit: Unit | None


def columns_of(spec: TableSpec, headers: Sequence[str]) -> list[Column]:
    """The columns of one copy; one that is there twice counts as another column."""
    found: list[Column] = []
    seen: Counter[str] = Counter()
    for header in headers:
        column = _column(spec, header)
        again = seen[column.name]
        seen[column.name] += 1
        found.append(Column(f"{column.name}\0{again}", header, None, None) if again else column)
    return found


def _column(spec: TableSpec, header: str) -> Column:
    name = header.strip().lower()
    for column in spec.columns:
        unit = column.unit_of(name)
        if unit is not None or (column.family is None and name == column.header):
            return Column(column.field, header, column, unit)
    return Column(f"?{name}", header, None, None)


def shared_columns(copies: Sequence[Sequence[Column]]) -> dict[str, Column]:
    """The column that stands for each name in the joined file: as the copies have it, else the contract's."""
    alike: dict[str, list[Column]] = {}
    for columns in copies:
        for column in columns:
            alike.setdefault(column.name, []).append(column)
    return {name: _agreed(found) for name, found in alike.items()}


def _agreed(found: list[Column]) -> Column:
    headers = {column.header for column in found}
    spec = found[0].spec
    if len(headers) == 1 or spec is None:
        return min(found, key=lambda column: column.header)
    if len({column.unit for column in found}) == 1:
        return min(found, key=lambda column: column.header)
    family = spec.family
    return Column(spec.field, spec.header, spec, family.units[0] if family else None)


def meaning(column: Column, text: str, memo: dict[tuple[str, str], Any]) -> Any:
    """What a cell means, so that ``46,5`` and ``46.500`` are one; the stripped text where it can't be read."""
    known = memo.get((column.name, text))
    if known is None:
        known = memo[column.name, text] = _read(column, text.strip())
    return known


def _read(column: Column, text: str) -> Any:
    if column.spec is None or not text:
        return text
    try:
        value = column.spec.kind.read(text)
    except ValueError:
        return text
    return column.unit.inward(value) if column.unit is not None and isinstance(value, float) else value


def in_unit(text: str, have: Column, want: Column) -> str:
    """A cell's text in another unit, as many places as that unit is written with."""
    if have.unit == want.unit or want.unit is None or have.unit is None or have.spec is None:
        return text
    try:
        value = have.spec.kind.read(text.strip())
    except ValueError:
        return text
    return plain_number(want.unit.outward(have.unit.inward(float(value))), want.unit.places)  # type: ignore[arg-type]


def as_mapping(columns: Sequence[Column], cells: Sequence[str], shared: Mapping[str, Column]) -> dict[str, str]:
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
