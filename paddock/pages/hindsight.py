"""The program's own record over my events: what it said, and what came."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.engine.field.hindsight import WIDE_FROM, ForecastRecord
from paddock.pages.document import Column, Document, PageTable, TableRow, Words, words
from paddock.words import plural


def hindsight_page(records: Sequence[ForecastRecord], events: int) -> Document:
    """Figures with their ranges first, then chances with their Brier scores, then what follows from it."""
    asked = sum(item.n for item in records)
    head = f"{plural(events, 'event')} replayed, {plural(asked, 'answer')} held against what came"
    figures = [item for item in records if item.brier is None]
    chances = [item for item in records if item.brier is not None]
    return Document(
        "hindsight",
        (words((head, "strong")), _figures(figures), _chances(chances), *_follows(records), words((_HOW, "quiet"))),
    )


_HOW = (
    "After each run of mine every question was asked as of then. A range should hold what came four times in five; a "
    "Brier score is the mean square of chance less outcome, and should be under its base, that of always saying how "
    "often it comes. "
    "Pressures, cold plans and tyre life are not replayed."
)


def _figures(records: Sequence[ForecastRecord]) -> PageTable:
    columns = (
        Column("asked"), Column("answers", figures=True), Column("typically off", figures=True),
        Column("inside 80 %", figures=True),
    )  # fmt: skip
    rows = tuple(
        TableRow((item.kind, f"{item.n}", "-" if item.median_error is None else f"{item.median_error / 1000:.2f} s",
             "-" if item.inside80 is None else f"{100 * item.inside80:.0f} %"))
        for item in records
    )  # fmt: skip
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
        if item.widen is not None and item.inside80 is not None and item.inside80 < 0.7:
            said.append(words(f"{item.kind}: ranges were too narrow; take them {item.widen:.1f} times as wide."))
    few = [item.kind for item in records if 0 < item.n < WIDE_FROM and item.brier is None]
    if few:
        said.append(words(f"too few answers to call a range wide or narrow: {', '.join(few)}"))
    return said
