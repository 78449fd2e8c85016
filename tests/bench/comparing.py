"""All standings beside other engines that give the same columns."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from time import perf_counter

from tests.bench import peers
from tests.bench.bench_standings import answered, field, same
from tests.bench.report import Figure
from tests.bench.saving import in_turn

_BAR_MS = {300: 2.0}
_AHEAD_OF = ("DuckDB", "pandas", "SQLite")


def compared(runs: int, driven: bool, rounds: int, clock: Callable[[], float] = perf_counter) -> Iterator[Figure]:
    """One size; ``driven``: rows in the order of a day, not of the entry list. Warm, each from the tables it holds.

    Raises AssertionError where an engine gives other figures (up to 100,000 runs).
    """
    times, entrants, of = field(runs, driven)
    if runs <= 100_000:
        assert same(times, entrants, of), f"engines differ at {runs} runs"
    work = {
        "paddock": answered(times, entrants, of),
        "DuckDB": peers.duck(times, entrants),
        "pandas": peers.pandas(times, entrants),
        "SQLite": peers.sqlite(times, entrants),
        "plain Python": peers.plain(times, entrants),
    }
    found = in_turn(work, rounds, clock)
    what = f"standings, {runs:,} runs {'as driven' if driven else 'by entrant'}"
    if runs in _BAR_MS:
        yield Figure(what, found["paddock"], bar=_BAR_MS[runs])
    for name in list(work)[1:]:
        bar = 1.0 if runs >= 3_000 and name in _AHEAD_OF else None
        yield Figure(what, found["paddock"], "ms", found[name], name, bar, "ratio")
