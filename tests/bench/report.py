"""What was measured, in one table; the machine without a name."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import version
from math import log10

_LIBRARIES = ("textual", "polars", "pydantic", "pandas", "duckdb")


@dataclass(frozen=True, slots=True)
class Figure:
    """A measured value beside its floor or peer.

    ``beside`` None: measured alone. ``bar``: the most that ``value``, or by ``of`` its ratio to or its excess over
    ``beside``, may be; None: told for its own sake.
    """

    what: str
    value: float
    unit: str = "ms"
    beside: float | None = None
    peer: str = ""
    bar: float | None = None
    of: str = "value"

    @property
    def ratio(self) -> float | None:
        """Value to peer."""
        return self.value / self.beside if self.beside else None

    @property
    def judged(self) -> float:
        """What is held against the bar."""
        if self.of == "ratio":
            return self.ratio or 0.0
        return self.value - (self.beside or 0.0) if self.of == "beyond" else self.value

    @property
    def met(self) -> bool | None:
        """Whether the bar is kept; None where there is none."""
        return None if self.bar is None else self.judged <= self.bar

    def cells(self) -> tuple[str, ...]:
        """As the table shows it."""
        beside = "" if self.beside is None else f"{_number(self.beside)} {self.peer}"
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}"
        return (self.what, f"{_number(self.value)} {self.unit}", beside, ratio, self._bar(), _WORD[self.met])

    def _bar(self) -> str:
        if self.bar is None:
            return ""
        if self.of == "ratio":
            return f"{self.bar:g} x"
        return f"{'+' if self.of == 'beyond' else ''}{self.bar:g} {self.unit}"


_WORD = {True: "yes", False: "NO", None: ""}
_HEADS = ("what", "measured", "beside", "ratio", "bar", "met")


def _number(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}" if value >= 10 else f"{value:.2f}"


def table(figures: Iterable[Figure]) -> str:
    """One Markdown table, padded so that it reads in a terminal too."""
    rows = [_HEADS, *(figure.cells() for figure in figures)]
    widths = [max(len(row[at]) for row in rows) for at in range(len(_HEADS))]
    lines = [
        "| " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |" for row in rows
    ]
    return "\n".join([lines[0], "|" + "|".join("-" * (width + 2) for width in widths) + "|", *lines[1:]])


_DECADE = 12


def drawn(figures: Iterable[Figure]) -> str:
    """Figures called ``300 runs: what`` as bars, one group a kind of work. Twelve columns are ten times as long, so
    that work in step with the runs makes a stair of twelve."""
    groups: dict[str, list[tuple[str, Figure]]] = {}
    for figure in figures:
        size, _, work = figure.what.partition(" runs: ")
        if work:
            groups.setdefault(work, []).append((size, figure))
    lines = []
    for work, items in groups.items():
        lines.append(work)
        for size, figure in items:
            bar = "#" * max(1, round(_DECADE * (1 + log10(figure.value))))
            lines.append(f"{size:>9} {bar} {_number(figure.value)} {figure.unit}")
    return "\n".join(lines)


def loop_ms() -> float:
    """Processor milliseconds of ten million turns of an empty loop, to compare machines by."""
    from time import process_time

    start = process_time()
    for _ in range(10**7):
        pass
    return (process_time() - start) * 1000


def machine() -> str:
    """Cores, memory, system, Python and libraries, how busy it is and how fast a bare loop runs."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    found = ", ".join(f"{name} {version(name)}" for name in _LIBRARIES)
    load = " ".join(f"{value:.1f}" for value in os.getloadavg())
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), {memory:.0f} GiB, {platform.system()} "
        f"{platform.release().split('-')[0]}, Python {sys.version.split()[0]}; {found}; "
        f"load {load}; ten million empty loops {loop_ms():.0f} ms"
    )
