"""The program killed at random points while entering: what it said was saved is there, whole, and nothing else."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from paddock.session import Session
from tests.session import entering
from tests.store.folders import small_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="killed by signal 9")

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(("count", "seed"), [(15, 20260509), (50, 20260510)], ids=["disk", "memory"])
def test_killed_again_and_again(tmp_path: Path, quick_path: Path, count: int, seed: int) -> None:
    """On a real disk most kills fall into an fsync; in memory, where that takes no time, everywhere else. More of them by hand."""
    folder = small_folder((tmp_path if count < 20 else quick_path) / "event")
    command = [sys.executable, "-m", "tests.session.entering", "kill", str(folder), str(count), str(seed)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == {"rounds": count, "wrong": []}


def test_killed_in_an_interpreter_of_its_own(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    seed = 1
    model = entering.Model(entering.found_in(Session.open(folder))[0])
    command = [sys.executable, "-m", "tests.session.entering", "enter", str(folder), str(seed)]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT)
    assert child.stdout is not None
    heard = child.stdout.read(3 + seed * 7)
    child.kill()
    heard += child.stdout.read()
    child.stdout.close()
    child.wait()
    assert entering.looked_at(folder, model, seed, len(heard)) == ""
