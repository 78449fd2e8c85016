"""A few failing calls, machines out of order and a short run of what is endured; by hand they run for hours."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from tests.attack import endure
from tests.attack.faults import MACHINES
from tests.store.folders import small_folder

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="forks, and looks into /proc")

ROOT = Path(__file__).parents[2]


def test_a_few_failing_calls_and_every_machine_out_of_order() -> None:
    command = [sys.executable, "-m", "tests.attack", "faults", "--seed", "20260509", "--count", "10"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    assert all(machine.__name__.replace("_", " ") in done.stdout for machine in MACHINES)


@pytest.mark.parametrize(
    ("trial", "count"),
    [
        (endure.changes, 24),
        (endure.three_thousand_runs, 4),
        (endure.a_thousand_undos, 5),
        (endure.opened_and_closed, 8),
    ],
)
def test_what_is_endured(tmp_path: Path, trial: endure.Trial, count: int) -> None:
    assert trial(tmp_path, Random(1), count) == []


def test_the_gauge_sees_what_grows(tmp_path: Path) -> None:
    small_folder(tmp_path / "event")
    gauge = endure.Gauge()
    kept = [bytes([place % 250]) * 100_000 for place in range(1500)]
    files = [(tmp_path / "event" / "times.csv").open() for _ in range(4)]
    more = gauge.grown(10_000)
    assert len(kept) == 1500
    assert [line.split(" ", 1)[1] for line in more] == ["KB more memory", "more descriptors"]
    for file in files:
        file.close()
