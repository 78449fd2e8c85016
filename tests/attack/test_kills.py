"""A few kills of everything in passing, and the net held against what it must catch."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.attack.operations import OPERATIONS, Operation, files, what_is_wrong
from tests.store.folders import TIMES

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="killed by signal 9")

ROOT = Path(__file__).parents[2]


def test_a_few_kills_of_each_kind() -> None:
    command = [sys.executable, "-m", "tests.attack", "kills", "--seed", "20260509", "--count", "15"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    said = re.match(r"kills, seed 20260509: 15 kills \((.*)\); not borne: 0;", done.stdout)
    assert said is not None, done.stdout
    assert {part.split(" ", 1)[1] for part in said[1].split(", ")} == {"entering", *(item.name for item in OPERATIONS)}


def _spoilt(place: Path, operation: Operation, how: str) -> None:
    if how == "half a file":
        (place / "a" / "times.csv").write_bytes(b"day,run,number,time,cones,misses,status,at,try\n1,1,26,47.2")
    elif how == "one file of two":
        operation.act(place)
        (place / "a" / "times.csv").write_text(TIMES)
    elif how == "a word gone":
        (place / "a" / "plan.txt").unlink()
    else:
        (place / "a" / "tracks").mkdir()
        (place / "a" / "runs.csv").write_text("day,run,number\n1,1,26\n")


@pytest.mark.parametrize(
    ("name", "how", "said"),
    [
        ("import", "half a file", "cut off here"),
        ("import", "a row of another file", "neither as before nor as after"),
        ("merge", "half a file", "times.csv is half"),
        ("merge", "a word gone", "'the short plan' is lost"),
    ],
)
def test_the_net_holds(tmp_path: Path, name: str, how: str, said: str) -> None:
    operation = next(item for item in OPERATIONS if item.name == name)
    sound, whole = tmp_path / "sound", tmp_path / "whole"
    sound.mkdir()
    operation.prepare(sound)
    shutil.copytree(sound, whole)
    before = files(sound)
    operation.act(whole)
    after = files(whole)
    assert what_is_wrong(sound, operation, before, after) == []
    assert what_is_wrong(whole, operation, before, after) == []
    _spoilt(sound, operation, how)
    assert said in "\n".join(what_is_wrong(sound, operation, before, after))
