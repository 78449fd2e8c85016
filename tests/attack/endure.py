"""A folder that changes without rest, and everything else there can be much of: memory, descriptors and processor flat."""

from __future__ import annotations

import gc
import os
import resource
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

from paddock.model.edit import AddRow, ChangeRow
from paddock.session import Session, load
from tests.store.folders import TIMES, large_folder, small_folder
from tests.tui.terminal import Terminal, opened


def _now_kb() -> int:
    with open("/proc/self/statm", encoding="ascii") as told:
        return int(told.read().split()[1]) * resource.getpagesize() // 1024


def _handles() -> int:
    return len(os.listdir("/proc/self/fd"))


class Gauge:
    """Memory and descriptors as they were once everything was warm, and how far they have grown since."""

    def __init__(self) -> None:
        gc.collect()
        self.kb, self.handles = _now_kb(), _handles()

    def grown(self, most_kb: int) -> list[str]:
        """What grew more than it may."""
        gc.collect()
        more, handles = _now_kb() - self.kb, _handles() - self.handles
        wrong = [f"{more} KB more memory"] if more > most_kb else []
        return wrong + ([f"{handles} more descriptors"] if handles > 2 else [])


def changes(own: Path, random: Random, count: int) -> list[str]:
    """Other hands change the folder, and so do I, as fast as it goes; every change is taken in."""
    folder = small_folder(own / "changes")
    session = Session.open(folder)
    wrong: list[str] = []
    gauge = Gauge()
    for at in range(count):
        milli = f"46.{at % 1000:03d}"
        if at % 3:
            (folder / "times.csv").write_text(TIMES.replace("46.512", milli))
            session.poll()
        else:
            (folder / "times.csv").write_text(TIMES)
            session.poll()
            session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": random.randint(0, 9)}))
        if at % 3 and f"{session.event.times[-1].time_ms}" != milli.replace(".", ""):
            wrong.append(f"change {at} is not seen")
        if at == min(2000, count // 4):
            gauge = Gauge()
    session.close()
    return wrong + gauge.grown(20_000)


def rest(own: Path, _random: Random, count: int) -> list[str]:
    """So many seconds of a session watched by its own observer, and looked at each second, with nothing going on."""
    session = Session.open(small_folder(own / "rest"))
    called: list[int] = []
    session.watch(lambda: called.append(1))
    session.poll()
    gauge, worked = Gauge(), time.process_time()
    for _ in range(count):
        time.sleep(1.0)
        session.poll()
    worked = time.process_time() - worked
    session.close()
    wrong = [f"{worked:.1f} s of work in {count} s of rest"] if worked > 0.02 * count + 0.2 else []
    return wrong + gauge.grown(2_000) + ([f"called {len(called)} times"] if called else [])


def three_thousand_runs(own: Path, _random: Random, count: int) -> list[str]:
    """A field of runs typed one after another, then read again."""
    folder = large_folder(own / "runs", 300, 2)
    session = Session.open(folder)
    slowest = 0.0
    for at in range(count):
        begun = time.process_time()
        row = AddRow(
            "times.csv", {"day": 1, "run": 10 + at // 300, "number": str(at % 300 + 1), "time_ms": 40_000 + at}
        )
        if not session.apply(row).ok:
            return [f"run {at} is not saved"]
        slowest = max(slowest, time.process_time() - begun)
    session.close()
    wrong = [f"the slowest took {slowest:.1f} s"] if slowest > 2 else []
    return wrong + ([] if len(load(folder).times) == 600 + count else ["runs are missing"])


def a_thousand_undos(own: Path, _random: Random, count: int) -> list[str]:
    """As many edits, all taken back, done again and taken back: byte for byte what was."""
    folder = small_folder(own / "undos")
    before = (folder / "times.csv").read_bytes()
    session = Session.open(folder)
    for at in range(count):
        session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": 2 + at % 2}))
    after = (folder / "times.csv").read_bytes()
    wrong = []
    for turn, wanted in ((session.undo, before), (session.redo, after), (session.undo, before)):
        for _ in range(count):
            turn()
        wrong += [] if (folder / "times.csv").read_bytes() == wanted else [f"{turn.__name__}: other bytes"]
    session.close()
    return wrong


def opened_and_closed(own: Path, _random: Random, count: int) -> list[str]:
    """A session opened, watched and closed again and again."""
    folder = small_folder(own / "opened")
    gauge = Gauge()
    for at in range(count):
        session = Session.open(folder)
        session.watch(lambda: None)
        session.close()
        if at == min(50, count // 4):
            gauge = Gauge()
    return gauge.grown(10_000)


def a_megabyte_pasted(own: Path, random: Random, _count: int) -> list[str]:
    """Pasted into the entry line of the real screens; then they still answer."""
    folder = small_folder(own / "pasted")
    text = "".join(random.choice("0123456789 ,.;abcxyz[]\\é🏁\u202e") for _ in range(1 << 20))
    with opened(folder, own) as terminal:
        terminal.until(" > ", 60)
        kb = _of_child(terminal.pid)
        _sent(terminal, f"\x1b[200~{text}\x1b[201~")
        terminal.send("\x15")
        terminal.send("\x1b[200~46.101\x1b[201~\r")
        terminal.until(lambda: b"46.101" in (folder / "times.csv").read_bytes() or "46.101" in terminal.text, 60)
        more = _of_child(terminal.pid) - kb
    return [f"{more} KB more memory"] if more > 200_000 else []


def windows_resized_without_end(own: Path, random: Random, count: int) -> list[str]:
    """The terminal drawn larger and smaller; then the screens still answer, and have not grown."""
    folder = small_folder(own / "resized")
    with opened(folder, own) as terminal:
        terminal.until(" > ", 60)
        kb = 0
        for at in range(count):
            terminal.resize(random.randint(1, 300), random.randint(1, 100))
            terminal.pump(0.01)
            if at == count // 2:
                kb = _of_child(terminal.pid)
        terminal.resize(80, 24)
        terminal.until(" > ", 60)
        terminal.send("46.101\r")
        terminal.until("saved: run", 60)
        more = _of_child(terminal.pid) - kb
    return [f"{more} KB more memory"] if more > 60_000 else []


def _sent(terminal: Terminal, text: str) -> None:
    data = text.encode()
    for at in range(0, len(data), 2000):
        os.write(terminal.fd, data[at : at + 2000])
        terminal.pump(0.0)


def _of_child(pid: int) -> int:
    with open(f"/proc/{pid}/statm", encoding="ascii") as told:
        return int(told.read().split()[1]) * resource.getpagesize() // 1024


Trial = Callable[[Path, Random, int], list[str]]
TRIALS: dict[Trial, float] = {
    changes: 1.0, three_thousand_runs: 0.1, a_thousand_undos: 0.04, opened_and_closed: 0.02, rest: 0.01,
    a_megabyte_pasted: 0.0, windows_resized_without_end: 0.03,
}  # fmt: skip
"""What is endured, and how many times for each of ``--count``: 28,800 are a day of a change every three seconds."""


def endure(seed: int, count: int, wanted: str, own: Path) -> tuple[str, int]:
    """Each trial once; what was done in words, and how many were not borne."""
    told, wrong = [], 0
    for trial, share in TRIALS.items():
        name = trial.__name__.replace("_", " ")
        if wanted in ("", name):
            times, begun = max(1, round(count * share)), time.monotonic()
            said = trial(own, Random(f"{seed}-{name}"), times)
            print(f"{name}, {times}: {'; '.join(said) or 'borne'}, {time.monotonic() - begun:.0f} s", flush=True)
            told.append(f"{times} {name}")
            wrong += bool(said)
    return ", ".join(told), wrong
