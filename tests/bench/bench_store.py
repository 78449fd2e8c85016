"""Reading, saving and undoing 3,000 rows, with the raw steps measured beside. Run: python -m tests.bench.bench_store"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from paddock.model.edit import AddRow
from paddock.session import Session, load
from paddock.store import disk, folder
from paddock.store.glance import glance
from tests.store.folders import large_folder

Clock = Callable[[Callable[[], object]], float]


def timed(work: Callable[[], object], times: int = 30) -> float:
    """Median milliseconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append((time.perf_counter() - start) * 1000)
    return statistics.median(found)


def raw_save(target: Path, data: bytes) -> None:
    """The floor: write, fsync, rename, fsync of the directory."""
    temp = target.with_name("floor.tmp")
    handle = os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)
    os.rename(temp, target)
    handle = os.open(target.parent, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


def raw_journal(target: Path, data: bytes) -> None:
    """The floor of the journal: append and fsync."""
    handle = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)


def entry_times(path: Path, rounds: int = 40) -> dict[str, float]:
    """Accepting a run in a 3,000-row event, undoing it, and the raw steps, turn and turn about."""
    session = Session.open(path)
    target, data = path / "floor.csv", (path / "times.csv").read_bytes()
    found: dict[str, list[float]] = {"accept": [], "undo": [], "event": [], "floor": []}

    def one(name: str, work: Callable[[], object]) -> None:
        start = time.perf_counter()
        work()
        found[name].append((time.perf_counter() - start) * 1000)

    for at in range(rounds):
        run = AddRow("times.csv", {"day": 1, "run": 99, "number": str(at + 1), "time_ms": 45_000 + at, "cones": 1})
        one("floor", lambda: (raw_journal(path / "floor.log", b"x" * 300), raw_save(target, data)))
        one("accept", lambda run=run: session.apply(run))  # type: ignore[misc]
        one("undo", session.undo)
        one("event", lambda: session.event)
        session.redo()
    session.close()
    (path / "floor.csv").unlink()
    (path / "floor.log").unlink()
    return {name: statistics.median(times) for name, times in found.items()}


def main() -> None:
    """Prints the table."""
    with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_DIR")) as place:
        path = large_folder(Path(place) / "event")
        data = (path / "times.csv").read_bytes()
        floor = timed(lambda: raw_save(path / "floor.csv", data))
        saved = timed(lambda: disk.replace(path / "floor.csv", data, lambda: disk.read(path / "floor.csv") == data))
        (path / "floor.csv").unlink()
        entry = entry_times(path)
        rows = [
            (f"read the folder, {len(folder.read(path).tables['times.csv'])} rows", timed(lambda: folder.read(path))),
            ("load it: read and check", timed(lambda: load(path))),
            ("glance for the first paint", timed(lambda: glance(path))),
            (f"raw write+fsync+rename+fsync, {len(data)} bytes", floor),
            ("durable save of the same bytes", saved),
            ("  ratio", saved / floor),
            ("raw journal line + raw save", entry["floor"]),
            ("accept a run: checked, saved, event fresh", entry["accept"]),
            ("  beyond the raw steps", entry["accept"] - entry["floor"]),
            ("undo, saved", entry["undo"]),
            ("  beyond the raw steps", entry["undo"] - entry["floor"]),
            ("the event fresh after it", entry["event"]),
        ]
        for label, value in rows:
            print(f"{label:<50}{value:10.2f}" + ("" if "ratio" in label else " ms"))


if __name__ == "__main__":
    main()
