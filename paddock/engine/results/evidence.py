"""What the values of a column speak for."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import pairwise

from paddock.engine.results.cells import read_penalty_ms, read_result, tidy
from paddock.engine.results.headers import is_time_cell, one_valued
from paddock.engine.results.names import NameBook
from paddock.engine.results.vocabulary import plain, status_of
from paddock.model.grid import Grid
from paddock.model.settings import Rules, Settings

_SAMPLE = 120
_MANY = 4


@dataclass(frozen=True, slots=True)
class Column:
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
        whole = [int(cell) for cell in self.cells if cell.isascii() and cell.isdigit()]
        return len(whole) > 1 and whole[0] == 1 and all(0 <= b - a <= 2 for a, b in pairwise(whole))


def columns_of(grid: Grid, first_row: int, book: NameBook, settings: Settings) -> list[Column]:
    """The evidence of every column, from the first hundred rows or so below the header."""
    body = [row for row in grid.rows[first_row : first_row + _SAMPLE] if not one_valued(row)]
    codes = {plain(item.code) for item in settings.classes} | {
        plain(item.name) for item in settings.classes if item.name
    }
    return [_column(index, tuple(tidy(row[index]) for row in body), book, codes) for index in range(grid.width)]


def _column(index: int, cells: tuple[str, ...], book: NameBook, codes: set[str]) -> Column:
    filled = [cell for cell in cells if cell]
    total = max(len(filled), 1)
    times = sum(1 for cell in filled if is_time_cell(cell))
    voids = sum(1 for cell in filled if status_of(cell)) if times else 0
    return Column(
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


def totals(columns: list[Column]) -> Totals:
    """What ``is_derived`` holds a column against, worked out once for all of them."""
    found: Totals = []
    for cells in zip(*(column.cells for column in columns), strict=True):
        times = [ms for cell in cells if (ms := _ms(cell)) is not None]
        low, next_low = (*heapq.nsmallest(2, times), 0, 0)[:2]
        found.append((len(times), sum(times), low, next_low))
    return found


def is_derived(column: Column, of: Totals, within: bool = False) -> bool:
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


def places_in_brackets(column: Column) -> bool:
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


def reads_as_seconds(columns: list[Column], rules: Rules) -> bool:
    """The penalty columns of a table hold added seconds, not counts: nine values in ten are sums of marks."""
    values = []
    try:
        values = [read_penalty_ms(cell) or 0 for column in columns for cell in column.cells]
    except ValueError:
        return False
    steps = [ms for ms in (rules.cone_ms, rules.miss_ms) if ms]
    fits = sum(1 for ms in values if any(ms % step == 0 for step in steps))
    return any(values) and fits >= 0.9 * len(values)
