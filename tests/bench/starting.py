"""Start, keys, rest and memory of the screens in a terminal, turn and turn about with the bare app."""

from __future__ import annotations

import compileall
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from time import perf_counter

from tests.bench.process import Rest, at_rest, memory_mib
from tests.bench.report import Figure
from tests.bench.watched import ROOT, Watched, both, ended, floor, screens, shows_first
from tests.store.folders import large_folder

_DIGITS = "45912"
_LINES = {
    "a run": _DIGITS,
    "an old run put right": "r2 45123",
    "four readings": "335 340 305 305",
    "the weather": "28 air 41 track dry",
}


def compiled() -> None:
    """Bytecode of everything run, as an installed program has it."""
    for place in ("paddock", "tests"):
        compileall.compile_dir(f"{ROOT / place}", quiet=2)


def starts(folder: Path, home: Path, rounds: int) -> Iterator[Figure]:
    """First paint and the whole home page: by the clock, and in processor time, which other work lengthens less."""
    bare, first, whole = [], [], []
    for _ in range(rounds + 1):
        with ended(floor()) as at:
            bare.append(_shown(at, lambda text: b"floor is painted" in text))
            at.quiet(0.2)
        with ended(screens(folder, home)) as at:
            first.append(_shown(at, shows_first))
            whole.append(_shown(at, lambda text: b"to find" in text and b"due:" in text))
            at.quiet(0.2)
    for place, how in enumerate(("", ", processor")):
        base, at_first, at_last = (median(each[place] for each in part[1:]) for part in (bare, first, whole))
        yield Figure(f"first paint: event and my runs{how}", at_first, "ms", base, "bare app", 1.15, "ratio")
        yield Figure(f"home complete{how}", at_last, "ms", base, "bare app", 2.2, "ratio")


def _shown(at: Watched, fits: Callable[[bytes], bool]) -> tuple[float, float]:
    """Milliseconds from the start of a program until it shows what is waited for: the clock's, and the processor's."""
    return at.when(fits) * 1000, at_rest(at.pid).cpu_s * 1000


def _shows(letter: str) -> Callable[[bytes], bool]:
    return lambda text: letter.encode() in text


def _keys(bare: Watched, ours: Watched, rounds: int) -> Iterator[Figure]:
    beside, shown, all_of_it = [], [], []
    for _ in range(rounds):
        for digit in _DIGITS:
            beside.append(bare.typed(digit, _shows(digit))[0])
            first, last = ours.typed(digit, _shows(digit))
            shown.append(first)
            all_of_it.append(last)
        for _ in _DIGITS:
            bare.typed("\x7f", bool)
            ours.typed("\x7f", bool)
    yield Figure("a typed key on home's line", median(shown), "ms", median(beside), "bare app", 1.5, "ratio")
    yield Figure("  and the words under the line", median(all_of_it), "ms", median(beside), "bare app")


def _rest(bare: Watched, ours: Watched, seconds: float) -> Iterator[Figure]:
    bare.quiet(1.0)
    ours.quiet(2.5)
    before = [at_rest(bare.pid), at_rest(ours.pid)]
    begin = perf_counter()
    while perf_counter() - begin < seconds:
        for terminal in (bare, ours):
            terminal.take(0.25)
    took = perf_counter() - begin
    spent: list[Rest] = [at_rest(at.pid) - was for at, was in zip((bare, ours), before, strict=True)]
    cpu = [item.cpu_s / took * 100 for item in spent]
    wakes = [item.wakes / took for item in spent]
    yield Figure("idle, processor", cpu[1], "%", cpu[0], "bare app", 0.5, "beyond")
    yield Figure("idle, wake-ups a second", wakes[1], "", wakes[0], "bare app", 1.0, "beyond")
    yield Figure("memory of the example's home", memory_mib(ours.pid), "MiB", memory_mib(bare.pid), "bare app", 55)


def keys_and_rest(folder: Path, home: Path, rounds: int, seconds: float) -> Iterator[Figure]:
    """A key to the screen; then both left alone."""
    with both(folder, home) as (bare, ours):
        yield from _keys(bare, ours, rounds)
        yield from _rest(bare, ours, seconds)


def full_event(place: Path, entrants: int, runs: int) -> Path:
    """So many runs of everybody, and one run of mine left to drive on the second day."""
    folder = large_folder(place, entrants, runs)
    text = (folder / "event.toml").read_text("utf-8")
    (folder / "event.toml").write_text(text.replace("runs_per_day = 5", f"runs_per_day = {runs // 2 + 1}"), "utf-8")
    return folder


def of_many_runs(entrants: int, runs: int, rounds: int, floor_ms: float) -> Iterator[Figure]:
    """The same key by key in a large event: Enter to everything saved and shown."""
    with tempfile.TemporaryDirectory() as place:
        folder = full_event(Path(place) / "event", entrants, runs)
        with ended(screens(folder, Path(place))) as ours:
            opened = ours.when(lambda text: b"to find" in text) * 1000
            ours.quiet(1.5)
            taken = {line: [_taken(ours, line) for _ in range(rounds + 2)][2:] for line in _LINES.values()}
            held = memory_mib(ours.pid)
    what = f"{entrants * runs:,} runs: "
    for words, line in _LINES.items():
        shown, bar = median(entered for entered, *_ in taken[line]), 30 if line == _DIGITS else None
        yield Figure(f"{what}{words}, Enter to saved and home fresh", shown, "ms", floor_ms, "raw steps", bar)
        yield Figure("  of it processor time", median(spent for _, _, spent in taken[line]))
    undone = median(back for _, back, _ in taken[_DIGITS])
    yield Figure(f"{what}the run undone, key to saved and home fresh", undone, "ms", floor_ms, "raw steps")
    yield Figure(f"{what}home complete", opened)
    yield Figure(f"{what}memory", held, "MiB", bar=80)


def _taken(ours: Watched, line: str) -> tuple[float, float, float]:
    """Milliseconds to the last of what Enter shows, to the last of what undoing it shows; processor time of Enter."""
    for key in line:
        ours.typed(key, bool, 0.01)
    before = at_rest(ours.pid)
    entered = ours.typed("\r", lambda text: b"saved: " in text)[1]
    spent = (at_rest(ours.pid) - before).cpu_s * 1000
    return entered, ours.typed("z", lambda text: b"undone" in text)[1], spent
