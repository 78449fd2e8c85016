"""A table of classes or of an index, as it was pasted or stands in a file: its codes, factors and names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from paddock.engine.results.cells import HEADERS, plain
from paddock.entry.event import ClassLine, read_code, read_factor
from paddock.model.rows import CellGrid

_FACTOR = re.compile(r"[01]?[.,]\d{2,9}|1")
_FACTOR_HEADS = {"index", "factor", "faktor", "multiplier", "coefficient", "handicap", "indice", "coef", "koeffizient"}
_CODE_HEADS = {"code", "abbreviation", "short", "kurz", "sigle"} | HEADERS["class"]
_NAME_HEADS = {"description", "class name", "title", "bezeichnung", "designation"} | HEADERS["name"]
_BASIS_HEADS = {"scored by", "ranked on", "basis"}
_MOSTLY = 0.6


@dataclass(frozen=True, slots=True)
class CodeTable:
    """``unread``: rows that are no code, as ``line: why``. ``edition``: the table's own title, "" = none."""

    lines: tuple[ClassLine, ...]
    unread: tuple[str, ...]
    edition: str = ""


def read_codes(grid: CellGrid) -> CodeTable:
    """The codes of a table: by its headers, else by what the columns hold. ValueError where it has no code column."""
    width, rows = grid.width, [tuple(cell.strip() for cell in row) for row in grid.rows]
    head = next((at for at, row in enumerate(rows[:5]) if _is_head(row)), None)
    labels = [plain(cell) for cell in rows[head]] if head is not None else [""] * width
    body = list(zip(grid.lines, rows, strict=True))[(head + 1 if head is not None else 0) :]
    if not body:
        raise ValueError("the table has no rows under its head")
    factor = _called(labels, _FACTOR_HEADS)
    if factor is None:
        factor = _holding(body, width, _FACTOR)
    basis = _called(labels, _BASIS_HEADS)
    taken = {at for at in (factor, basis) if at is not None}
    code = _called(labels, _CODE_HEADS)
    if code is None:
        code = next((at for at in range(width) if at not in taken and _codes(body, at)), None)
    if code is None:
        raise ValueError("it can't be told which column holds the codes: give it a head of code, factor, name")
    name = _called(labels, _NAME_HEADS)
    if name is None or name == code:
        name = next((at for at in range(width) if at not in {*taken, code} and any(row[at] for _, row in body)), None)
    return _read(body, code, factor, name, basis, " ".join(filter(None, (grid.title, grid.name))))


def _is_head(row: Sequence[str]) -> bool:
    words = {plain(cell) for cell in row}
    return bool(words & (_FACTOR_HEADS | _CODE_HEADS | _NAME_HEADS)) and not any(_FACTOR.fullmatch(c) for c in row)


def _called(labels: Sequence[str], known: set[str]) -> int | None:
    return next((at for at, label in enumerate(labels) if label in known), None)


def _holding(body: Sequence[tuple[int, tuple[str, ...]]], width: int, pattern: re.Pattern[str]) -> int | None:
    def hits(at: int) -> int:
        return sum(pattern.fullmatch(row[at]) is not None for _, row in body)

    best = max(range(width), key=hits)
    return best if hits(best) >= _MOSTLY * len(body) else None


def _codes(body: Sequence[tuple[int, tuple[str, ...]]], at: int) -> bool:
    cells = [row[at] for _, row in body if row[at]]
    short = [cell for cell in cells if " " not in cell and len(cell) <= 8]
    return bool(cells) and len(short) >= _MOSTLY * len(body) and len(set(cells)) > 0.9 * len(cells)


def _read(
    body: Sequence[tuple[int, tuple[str, ...]]], code: int, factor: int | None, name: int | None, basis: int | None,
    edition: str,
) -> CodeTable:  # fmt: skip
    lines: dict[str, ClassLine] = {}
    unread = []
    for line, row in body:
        if not any(row):
            continue
        try:
            made = ClassLine(
                read_code(row[code]),
                _factor(row[factor]) if factor is not None else None,
                _basis(row[basis]) if basis is not None else None,
                (row[name] or None) if name is not None else None,
            )
        except ValueError as error:
            unread.append(f"line {line}: {error}")
            continue
        if lines.setdefault(made.code, made) != made:
            unread.append(f"line {line}: {made.code} is there twice and differs; the first counts")
    if not lines:
        raise ValueError(unread[0] if unread else "the table holds no code")
    return CodeTable(tuple(lines.values()), tuple(unread), edition)


def _factor(text: str) -> Decimal | None:
    return read_factor(text) if text else None


def _basis(text: str) -> str | None:
    word = plain(text)
    return word if word in ("raw", "index") else None
