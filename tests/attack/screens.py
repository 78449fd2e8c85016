"""The real screens in a terminal, killed while runs are typed: what the screen said was saved is in the file."""

from __future__ import annotations

import os
import re
import select
import signal
from collections.abc import Iterator
from pathlib import Path
from random import Random

from paddock.store.disk import strays
from tests.store.folders import EVENT, small_folder
from tests.tui.terminal import Terminal, opened

_SAVED = re.compile(r"saved: run (\d+)")
_TYPED = re.compile(r"^\d+,(\d+),26,(\d+\.\d+)", re.MULTILINE)


def screens(own: Path, seed: int, most: int) -> Iterator[list[str]]:
    """What was wrong after each kill; a folder lasts for five."""
    random = Random(f"{seed}-screens")
    folder = own / "event"
    for at in range(most):
        if at % 5 == 0:
            folder = small_folder(own / f"event{at}")
            (folder / "event.toml").write_text(EVENT.replace("runs_per_day = 5", "runs_per_day = 20"))
        with opened(folder, own, PADDOCK_NOW="") as terminal:
            said = _typed(terminal, random)
            os.kill(terminal.pid, signal.SIGKILL)
            while terminal.pump(0.05) and select.select([terminal.fd], [], [], 0)[0]:
                pass
        yield _wrong(folder, said)


def _typed(terminal: Terminal, random: Random) -> set[str]:
    """Times typed one after another, the last answered or not; those the screen said were saved."""
    said: set[str] = set()
    terminal.until(" > ", 60)
    for at in range(random.randint(1, 4)):
        time = f"{random.randint(40_000, 49_999) / 1000:.3f}"
        terminal.send(time + "\r")
        if at < 1 or random.random() < 0.6:
            terminal.until(lambda time=time: _said(terminal.text, time), 60)  # type: ignore[misc]
            said.add(time)
    select.select([], [], [], random.uniform(0, 0.2))
    return said


def _said(screen: str, time: str) -> bool:
    """It is this run that the screen calls saved: the one typed before may be answered only now."""
    return any("saved: run" in line and time in line for line in screen.splitlines())


def _wrong(folder: Path, said: set[str]) -> list[str]:
    from paddock.session import Session

    session = Session.open(folder)
    there = {f"{row.time_ms / 1000:.3f}" for row in session.event.times if row.time_ms is not None}
    wrong = [f"{time} was said to be saved and is not there" for time in sorted(said - there)]
    wrong += [str(problem) for problem in session.event.problems if problem.level == "fault"]
    wrong += [f"left: {path.name}" for path in strays(folder)]
    if said and not session.can_undo:
        wrong.append("nothing can be undone")
    session.close()
    return wrong
