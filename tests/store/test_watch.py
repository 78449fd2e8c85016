"""Other hands are seen: by file events, and by looking where there are none."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from paddock.session import Session
from paddock.store.watch import Watch
from tests.store.folders import TIMES, small_folder

PATIENCE_S = 10.0


@pytest.mark.parametrize("events", [True, False])
def test_an_outside_change_calls_back(tmp_path: Path, events: bool) -> None:
    folder = small_folder(tmp_path / "event")
    seen = threading.Event()
    watch = Watch(folder, seen.set, poll_s=0.02, events=events)
    try:
        assert watch.polling is not events or sys.platform not in ("linux", "darwin")
        (folder / "times.csv").write_text(TIMES + "1,3,26,46.9,,,,,\n")
        assert seen.wait(PATIENCE_S)
        seen.clear()
        (folder / "cars" / "estate.toml").write_text('name = "other"\n')
        assert seen.wait(PATIENCE_S)
    finally:
        watch.stop()


def test_a_session_that_is_watched_takes_the_change_in(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session, seen = Session.open(folder), threading.Event()
    session.watch(seen.set)
    temp = folder / "times.new"  # as many editors save
    temp.write_text(TIMES + "1,3,26,46.9,,,,,\n")
    os.replace(temp, folder / "times.csv")
    assert seen.wait(PATIENCE_S)
    assert session.poll() is True
    assert session.event.times[-1].time_ms == 46_900
    assert session.poll() is False
    session.close()


def test_without_events_it_looks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_more_watches(*_args: object, **_more: object) -> None:
        raise OSError(28, "inotify watch limit reached")

    monkeypatch.setattr("watchdog.observers.api.BaseObserver.schedule", no_more_watches)
    monkeypatch.setattr("watchdog.observers.inotify.InotifyObserver.schedule", no_more_watches, raising=False)
    watch = Watch(small_folder(tmp_path / "event"), lambda: None)
    assert watch.polling
    watch.stop()


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_watching_wakes_nobody_while_nothing_happens(tmp_path: Path) -> None:
    """At most one wake-up a second; counted by the system over three seconds in a process of its own."""
    folder = small_folder(tmp_path / "event")
    code = (
        "import sys, threading; from pathlib import Path; from paddock.store.watch import Watch\n"
        "watch = Watch(Path(sys.argv[1]), lambda: None)\n"
        "def woken():\n"
        "    lines = [l for t in Path('/proc/self/task').iterdir() for l in (t / 'status').read_text().splitlines()]\n"
        "    return sum(int(l.split()[1]) for l in lines if l.startswith('voluntary_ctxt'))\n"
        "threading.Event().wait(0.5); before = woken(); threading.Event().wait(3); print(woken() - before)\n"
        "watch.stop()"
    )
    done = subprocess.run([sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=True)
    assert int(done.stdout) <= 4
