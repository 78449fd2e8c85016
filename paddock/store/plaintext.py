"""Text with columns to grids: separated by tab, semicolon, comma or bar, or by runs of spaces."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable, Iterator

from paddock.model.rows import CellGrid

NumberedLine = tuple[int, list[str]]
_SAMPLE = 300
_WIDEST = 400
_NEWLINE = re.compile(r"\r\n?|[\x0b\x0c\x1c-\x1e\x85\u2028\u2029]")
_GAP = re.compile(r"\s{2,}|\t")
_PARTING_COMMA = re.compile(r"(?<!\d),|,(?!\d)")
_DECIMAL = re.compile(r"\d[.,]\d")


def text_grids(text: str) -> list[CellGrid]:
    """The tables of a text; an empty list when it has none. Blank lines part tables that have a header each."""
    text = _NEWLINE.sub("\n", text.removeprefix("\ufeff").replace("\x1a", ""))
    records = [(line, _stripped(cells)) for line, cells in _best(text)(text)]
    return _tables(records)


def _stripped(cells: list[str]) -> list[str]:
    return [" ".join(cell.replace("\xa0", " ").split()) for cell in cells]


def _best(text: str) -> Callable[[str], Iterator[NumberedLine]]:
    """The first splitter under which about as many lines have the same cells as under any.

    Tabs before semicolons before bars; a comma that only stands between digits is a decimal sign first.
    """
    sample = "\n".join(text.split("\n", _SAMPLE)[:_SAMPLE])
    comma = _separated(",")
    late = [_spaced, comma] if not _PARTING_COMMA.search(sample) else [comma, _spaced]
    splitters = [*(_separated(mark) for mark in "\t;|"), *late]
    shares = [_evenness([cells for _, cells in split(sample)]) for split in splitters]
    return next(split for split, share in zip(splitters, shares, strict=True) if share >= 0.8 * max(shares))


def _evenness(rows: list[list[str]]) -> float:
    """The share of filled lines that have the usual number of cells, two or more."""
    widths = Counter(len(row) for row in rows if any(row))
    wide = [count for width, count in widths.items() if width > 1]
    return max(wide, default=0) / max(sum(widths.values()), 1)


def _separated(mark: str) -> Callable[[str], Iterator[NumberedLine]]:
    def split(text: str) -> Iterator[NumberedLine]:
        try:
            records = list(_csv(text, mark))
        except csv.Error:
            records = []
        if not records or any("\n" in cell and cell.count("\n") > 5 for _, cells in records for cell in cells):
            return iter(_plain(text, mark))
        return iter(records)

    return split


def _csv(text: str, mark: str) -> Iterator[NumberedLine]:
    reader = csv.reader(text.splitlines(keepends=True), delimiter=mark)
    line = 1
    for cells in reader:
        yield line, cells
        line = reader.line_num + 1


def _plain(text: str, mark: str) -> Iterator[NumberedLine]:
    """Quotes are letters here: one that was opened and never closed must not swallow the rest."""
    for line, part in enumerate(text.split("\n"), 1):
        yield line, [cell.strip().strip('"') for cell in part.split(mark)] if part.strip() else []


def _spaced(text: str) -> Iterator[NumberedLine]:
    lines = text.expandtabs().split("\n")
    spans = _spans([line for line in lines if len(_GAP.split(line.strip())) > 1])
    for number, line in enumerate(lines, 1):
        if not line.strip():
            yield number, []
        elif spans and len(_GAP.split(line.strip())) > 1:
            yield number, [line[start:end].strip() for start, end in spans]
        else:
            yield number, _GAP.split(line.strip())


def _spans(lines: list[str]) -> list[tuple[int, int]]:
    """Where the columns stand when every line keeps to them, so that a blank cell shifts nothing; else none."""
    width = max(map(len, lines), default=0)
    padded = [line.ljust(width) for line in lines[:_SAMPLE]]
    filled = "".join(" " if all(line[at] == " " for line in padded) else "x" for at in range(min(width, _WIDEST)))
    starts = [found.start() for found in re.finditer(r"x+(?: x+)*", filled)]
    spans = list(zip(starts, [*starts[1:], width], strict=False))
    spans = [part for span in spans for part in _parted(padded, *span)]
    usual = Counter(len(_GAP.split(line.strip())) for line in lines).most_common(1)
    return spans if usual and len(spans) >= max(usual[0][0], 2) else []


def _parted(lines: list[str], start: int, end: int) -> list[tuple[int, int]]:
    """A column in two where one blank parts a number from the rest in every line: a place beside a car number."""
    for at in range(start + 1, min(end, _WIDEST) - 1):
        if not all(line[at] == " " and line[at + 1 : end].strip() for line in lines):
            continue
        left = [line[start:at].strip() for line in lines[1:]]
        if all(not text or text.isdigit() for text in left) and sum(map(bool, left)) > 0.8 * len(left):
            return [(start, at), (at, end)]
    return [(start, end)]


def _blocks(records: list[NumberedLine]) -> Iterator[list[NumberedLine]]:
    block: list[NumberedLine] = []
    for record in records:
        if any(record[1]):
            block.append(record)
        elif block:
            yield block
            block = []
    if block:
        yield block


def _heads(block: list[NumberedLine]) -> bool:
    """The block begins with a header: several cells and no decimal number in its first wide row."""
    first = next((cells for _, cells in block if sum(map(bool, cells)) > 1), None)
    return first is not None and not any(_DECIMAL.search(cell) for cell in first)


def _tables(records: list[NumberedLine]) -> list[CellGrid]:
    grids: list[list[NumberedLine]] = []
    names: list[str] = []
    pending: list[str] = []
    for block in _blocks(records):
        wide = [record for record in block if sum(map(bool, record[1])) > 1]
        if not wide:
            pending += [" ".join(filter(None, cells)) for _, cells in block]
            if grids:
                grids[-1] += block
        elif grids and not _heads(block):
            grids[-1] += block
            pending = []
        else:
            grids.append(block)
            names.append(" / ".join(pending))
            pending = []
    return [_grid(block, name) for block, name in zip(grids, names, strict=True) if _is_table(block)]


def _is_table(block: list[NumberedLine]) -> bool:
    return sum(1 for _, cells in block if sum(map(bool, cells)) > 1) > 1


def _grid(block: list[NumberedLine], name: str) -> CellGrid:
    while block and sum(map(bool, block[0][1])) < 2:
        name = " / ".join(filter(None, (name, " ".join(filter(None, block[0][1])))))
        block = block[1:]
    return CellGrid.of([cells for _, cells in block], [line for line, _ in block], name)
