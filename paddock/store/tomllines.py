"""On which line of a TOML text a key stands: a search over lines, good enough to point at a fault."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

_PART = r"""(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)"""
_KEY = rf"{_PART}(?:\s*\.\s*{_PART})*"
_TABLE = re.compile(rf"\s*\[(\[)?\s*({_KEY})\s*\]")
_ASSIGN = re.compile(rf"\s*({_KEY})\s*=")
_SPLIT = re.compile(_PART)


def _parts(key: str) -> list[str]:
    return [part.strip("\"'") for part in _SPLIT.findall(key)]


def _places(text: str) -> list[tuple[tuple[str, ...], int]]:
    """Every table head and key with its full path (places in arrays of tables as digits) and line."""
    found: list[tuple[tuple[str, ...], int]] = []
    counts: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for line, body in enumerate(text.splitlines(), 1):
        if head := _TABLE.match(body):
            table = tuple(_parts(head[2]))
            if head[1]:
                counts[table] = counts.get(table, -1) + 1
            table = _numbered(table, counts)
            found.append((table, line))
        elif key := _ASSIGN.match(body):
            found.append(((*table, *_parts(key[1])), line))
    return found


def _numbered(table: tuple[str, ...], counts: dict[tuple[str, ...], int]) -> tuple[str, ...]:
    path: tuple[str, ...] = ()
    for size in range(1, len(table) + 1):
        path += (table[size - 1],)
        if table[:size] in counts:
            path += (str(counts[table[:size]]),)
    return path


def line_of(text: str, path: Sequence[str | int]) -> int:
    """The line of the key at ``path``, or of what it stands in; 0 where nothing fits."""
    wanted = tuple(map(str, path))
    lines = _lines_of(text)
    return next((lines[wanted[:size]] for size in range(len(wanted), 0, -1) if wanted[:size] in lines), 0)


@lru_cache(maxsize=4)
def _lines_of(text: str) -> dict[tuple[str, ...], int]:
    """Each place to its first line: a file with thousands of faults is gone through once."""
    lines: dict[tuple[str, ...], int] = {}
    for place, at in _places(text):
        lines.setdefault(place, at)
    return lines
