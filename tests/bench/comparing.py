"""All standings beside other engines that give the same columns."""

from __future__ import annotations

from collections.abc import Iterator

from tests.bench import peers
from tests.bench.bench_standings import field, ours, same
from tests.bench.report import Figure
from tests.bench.saving import in_turn

_BAR_MS = {3_000: 5.0}


def compared(runs: int, driven: bool, rounds: int) -> Iterator[Figure]:
    """One size; ``driven``: rows in the order of a day, not of the entry list. Warm, from frames.

    Raises AssertionError where an engine gives other figures (up to 100,000 runs).
    """
    times, entrants, of = field(runs, driven)
    if runs <= 100_000:
        assert same(times, entrants, of), f"engines differ at {runs} runs"
    work = {
        "paddock": ours(times, entrants, of),
        "DuckDB": peers.duck(times, entrants),
        "pandas": peers.pandas(times, entrants),
        "SQLite": peers.sqlite(times, entrants),
        "plain Python": peers.plain(times, entrants),
    }
    found = in_turn(work, rounds)
    what = f"standings, {runs:,} runs {'as driven' if driven else 'by entrant'}"
    if runs in _BAR_MS:
        alone = in_turn({"paddock": work["paddock"]}, max(rounds, 40))
        yield Figure(f"{what}, called again and again", alone["paddock"], bar=_BAR_MS[runs])
    for name in list(work)[1:]:
        bar = 1.0 if runs >= 1_000_000 and name != "plain Python" else None
        yield Figure(what, found["paddock"], "ms", found[name], name, bar, "ratio")
