"""The columns of each CSV file, worked out once from the row models."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from paddock.model.rows import ROWS, FileColumn, Row
from paddock.model.units import FAMILIES, CellKind, Family, Measured, Unit


@dataclass(frozen=True, slots=True)
class ColumnSpec:
    """A column as the file's header names it and the model's field it fills."""

    field: str
    header: str
    kind: CellKind
    family: Family | None
    required: bool
    measured: Measured | None = None

    @property
    def stem(self) -> str:
        """The header without its unit."""
        return self.header.rsplit("_", 1)[0] if self.family else self.header

    def unit_of(self, header: str) -> Unit | None:
        """The unit ``header`` gives this column, or None where it names another column."""
        if self.family is None:
            return None
        stem, _, suffix = header.rpartition("_")
        return self.family.by_suffix(suffix) if stem == self.stem else None


@dataclass(frozen=True, slots=True)
class TableSpec:
    """One CSV file: its name, row model and columns in the contract's order."""

    file: str
    row: type[Row]
    columns: tuple[ColumnSpec, ...]
    key: tuple[str, ...]

    def column(self, field: str) -> ColumnSpec:
        """The column that fills ``field``."""
        return next(column for column in self.columns if column.field == field)


def _columns(row: type[Row]) -> tuple[ColumnSpec, ...]:
    found = []
    for name, info in row.model_fields.items():
        column = next((extra for extra in info.metadata if isinstance(extra, FileColumn)), None)
        if column is not None:
            family = FAMILIES[column.family] if column.family else None
            measured = next((extra for extra in info.metadata if isinstance(extra, Measured)), None)
            found.append(ColumnSpec(name, column.header or name, column.kind, family, column.required, measured))
    return tuple(found)


@cache
def spec_of(file: str) -> TableSpec:
    """The table of a file name like ``times.csv``."""
    row = ROWS[file]
    return TableSpec(file, row, _columns(row), row.KEY)
