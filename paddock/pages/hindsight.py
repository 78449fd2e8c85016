"""The program's own record over my events: what it said, and what came."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.engine.field.hindsight import UNITS, WIDE_FROM, ForecastRecord
from paddock.pages.document import Column, Document, PageTable, TableRow, Words, words
from paddock.words import plural


def hindsight_page(records: Sequence[ForecastRecord], events: int) -> Document:
    """Figures with their ranges first, then chances with their Brier scores, then what follows from it."""
    asked = sum(item.n for item in records)
    head = f"{plural(events, 'event')} replayed, {plural(asked, 'answer')} held against what came"
    figures = [item for item in records if UNITS[item.kind]]
    chances = [item for item in records if not UNITS[item.kind]]
    return Document(
        "hindsight",
        (words((head, "strong")), _figures(figures), _chances(chances), *_follows(figures), words((_HOW, "quiet"))),
    )


_HOW = (
    "Every question was asked as of then: after each run of mine the next time, the course's step and my chances; "
    "before each run what the axles would read after it, where a range is given; before each depth reading what it "
    "would be. A range should hold what came four times in five. A Brier score is the mean square of chance less "
    "outcome, and should be under its base, that of always saying how often it comes."
)


def off_words(record: ForecastRecord) -> str:
    """``0.31 s``, ``0.4 psi``, ``0.12 mm``; a dash where nothing was asked."""
    if record.median_error is None:
        return "-"
    unit = UNITS[record.kind]
    return f"{record.median_error / 1000:.2f} s" if unit == "ms" else f"{record.median_error:.2f} {unit}"


def _figures(records: Sequence[ForecastRecord]) -> PageTable:
    columns = (
        Column("asked", most=24), Column("answers", figures=True, drop=1), Column("off", figures=True),
        Column("inside", figures=True),
    )  # fmt: skip
    rows = tuple(
        TableRow(
            (item.kind, f"{item.n}", off_words(item), "-" if item.inside80 is None else f"{100 * item.inside80:.0f} %")
        )
        for item in records
    )
    return PageTable(columns, rows)


def _chances(records: Sequence[ForecastRecord]) -> PageTable:
    names = ("chance to", "answers", "Brier", "base", "reliability", "resolution")
    columns = tuple(Column(name, figures=at > 0, drop=max(0, at - 3)) for at, name in enumerate(names))
    rows = tuple(
        TableRow((item.kind, f"{item.n}", *("-" if value is None else f"{value:.3f}" for value in
             (item.brier, item.brier_base, item.reliability, item.resolution))))
        for item in records
    )  # fmt: skip
    return PageTable(columns, rows, empty="no chance could be held against an outcome yet")


def _follows(records: Sequence[ForecastRecord]) -> list[Words]:
    said = []
    for item in records:
        if item.wider > 1.0:
            used = "; my chances are reckoned with that" if UNITS[item.kind] == "ms" and "run" in item.kind else ""
            said.append(words(f"{item.kind}: ranges were too narrow, take them {item.wider:.1f} times as wide{used}."))
    few = [item.kind for item in records if 0 < item.n < WIDE_FROM]
    if few:
        said.append(words(f"too few answers to call a range wide or narrow: {', '.join(few)}"))
    return said
