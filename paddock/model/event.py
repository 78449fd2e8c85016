"""A whole event folder as one frozen value: the good rows, the settings, the cars, what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar, cast

from paddock.errors import Problem
from paddock.model import rows
from paddock.model.car import Car
from paddock.model.kept import KeptRows, kept
from paddock.model.rows import Row
from paddock.model.settings import Settings

if TYPE_CHECKING:
    import polars as pl


R = TypeVar("R", bound=Row)
_NONE: KeptRows[Row] = KeptRows()


@dataclass(frozen=True, slots=True)
class Event:
    """``tables``: file name to its good rows in file order; faulty rows are only in ``problems``. A file that
    can't be used is not in it. Each is a ``KeptRows``, made of whatever is handed in. ``out``: rows of
    ``entrants.csv`` that are not in it, by number: nothing of such a number counts until its row is mended."""

    name: str
    settings: Settings
    tables: Mapping[str, tuple[Row, ...]]
    cars: Mapping[str, Car] = field(default_factory=dict)
    checklists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = field(default=())
    out: Mapping[str, rows.EntrantRow] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Rows are kept from here on with what is worked out of them."""
        object.__setattr__(self, "tables", {file: kept(found) for file, found in self.tables.items()})

    def of(self, row: type[R]) -> KeptRows[R]:
        """The good rows of a row model's file, in file order."""
        return cast("KeptRows[R]", self.tables.get(row.FILE, _NONE))

    def of_number(self, row: type[R], number: str) -> KeptRows[R]:
        """Those of one number."""
        return cast("KeptRows[R]", self.of(row).by_number.get(number, _NONE))

    @property
    def entrants(self) -> KeptRows[rows.EntrantRow]:
        """All entrants."""
        return self.of(rows.EntrantRow)

    @property
    def times(self) -> KeptRows[rows.TimeRow]:
        """All runs of everybody."""
        return self.of(rows.TimeRow)

    @property
    def everybody(self) -> tuple[rows.EntrantRow, ...]:
        """All who are entered, also those whose row is out."""
        return (*self.entrants, *self.out.values())

    def times_of(self, *numbers: str) -> KeptRows[rows.TimeRow]:
        """All runs of one number, or of some, in file order."""
        if len(numbers) == 1:
            return self.of_number(rows.TimeRow, numbers[0])
        wanted = frozenset(numbers)
        return KeptRows([row for row in self.times if row.number in wanted])

    @property
    def unlisted(self) -> Problem | None:
        """Why the entrants can't be told, None where they can: nothing of a number is known until that is mended."""
        if rows.EntrantRow.FILE in self.tables:
            return None
        return next((item for item in self.problems if item.file == rows.EntrantRow.FILE), None)

    def entrant(self, number: str) -> rows.EntrantRow | None:
        """The entrant of a number."""
        return next(iter(self.of_number(rows.EntrantRow, number)), None)

    def car_name_of(self, number: str) -> str | None:
        """The car file of an entry of mine: as mapped, else the only car there is."""
        named = self.settings.mine.cars.get(number)
        if named is not None:
            return named
        return next(iter(self.cars)) if len(self.cars) == 1 else None

    def car_of(self, number: str) -> Car | None:
        """The car of an entry of mine, None where it can't be told."""
        return self.cars.get(self.car_name_of(number) or "")

    def numbers_of_car(self, number: str) -> tuple[str, ...]:
        """All entries that drive the same car as ``number``: runs count per car, whoever drives."""
        car = self.car_name_of(number)
        mine = self.settings.mine.numbers or (number,)
        same = tuple(item for item in mine if item == number or (car and self.car_name_of(item) == car))
        return same if number in same else (number, *same)


FASTEST_MPS = 90.0
"""No car is faster on such a course: 324 km/h."""


@dataclass(frozen=True, slots=True)
class Track:
    """``fixes``: ``t_s`` (seconds; of 1970 where ``dated``), ``lat``, ``lon`` (degrees), ``speed_mps`` (null: none),
    in the file's order. ``skipped``: fixes and sentences that could not be used."""

    name: str
    fixes: pl.DataFrame
    dated: bool
    skipped: int
