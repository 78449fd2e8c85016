"""The loop between runs, twice, on a tablet: the program itself in a real browser, nothing but taps.

The first time pressures are typed on the bar of keys in the order of a walk round the car (left front, right front,
right rear, left rear), the second time stepped from the expected reading.
"""

from __future__ import annotations

import csv
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from paddock.engine.scoring.gap import gap
from paddock.engine.scoring.plain import standings
from paddock.model.rows import PressureRow, RunRow
from paddock.session.loading import load
from tests.browser.conftest import Watched

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def folder(browser: object, tmp_path: Path) -> Path:
    """The example with runs 3 and 4 of the second day still to be driven by the estate."""
    assert browser
    home = shutil.copytree(ROOT / "example_event", tmp_path / "day")
    for name in ("times", "runs", "pressures", "treadtemps"):
        path = home / f"{name}.csv"
        rows = list(csv.DictReader(path.read_text("utf-8").splitlines()))
        kept = [row for row in rows if not _later(row)]
        with path.open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
            writer.writeheader()
            writer.writerows(kept)
    return home


def _later(row: dict[str, str]) -> bool:
    return row["number"] in ("58", "158") and row["day"] == "2" and row["run"].isdigit() and int(row["run"]) > 2


@pytest.fixture
def address(folder: Path) -> Iterator[str]:
    with subprocess.Popen(
        [sys.executable, "-m", "paddock", "serve", f"{folder}", "--port", "0"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        yield process.stdout.readline().split()[1]
        process.terminate()


def _type(seen: Watched, words: str) -> None:
    """Tap each letter on the bar, then enter."""
    for letter in words:
        seen.tap_key("space" if letter == " " else letter)
    seen.tap_key("enter")


def test_two_runs_by_touch_alone(folder: Path, address: str, tablet: Callable[..., Watched]) -> None:
    seen = tablet(820, 1180)
    seen.page.goto(address)
    seen.wait("to find", 60)
    seen.tap_key("digits and letters")

    _type(seen, "u1 0 o1 55487+1")
    seen.wait("saved: run 3")
    seen.wait("p pressures")
    seen.tap_text("p pressures")
    seen.wait("after run 3")
    _type(seen, "32 32.5 30 29.5")
    seen.wait("to find")
    seen.wait("32.5")

    _type(seen, "0 0 0 55402")
    seen.wait("saved: run 4")
    seen.wait("p pressures")
    seen.tap_text("p pressures")
    seen.wait("after run 4")
    for taps in (("+", "enter"), ("+", "-", "enter"), ("-", "enter"), ("+", "+", "enter")):
        for key in taps:
            seen.tap_key(key)
    home = seen.wait(lambda text: "to find" in text and "tyres, psi, after run 4" in text)

    event = load(folder)
    runs = {row.run: row for row in event.of(RunRow) if row.number == "58" and row.day == 2}
    assert (runs[3].entry, runs[3].mid, runs[3].exit) == (-1, 0, 1)
    assert (runs[4].entry, runs[4].mid, runs[4].exit) == (0, 0, 0)
    times = {row.run: (row.time_ms, row.cones or 0) for row in event.times if row.number == "58" and row.day == 2}
    assert (times[3], times[4]) == ((55_487, 1), (55_402, 0))
    after = {
        row.run: row for row in event.of(PressureRow) if row.number == "58" and row.day == 2 and row.moment == "after"
    }
    assert (after[3].lf_psi, after[3].rf_psi, after[3].lr_psi, after[3].rr_psi) == (32.0, 32.5, 29.5, 30.0)
    assert None not in (after[4].lf_psi, after[4].rf_psi, after[4].lr_psi, after[4].rr_psi)
    found = gap(event, "58", standings(event))
    assert found.class_ is not None
    assert found.class_.rank == 1
    assert "ASH 1st of 14" in " ".join(home.split())
    assert "set now" not in home  # the day is done: nothing is set any more
    assert [url for url in seen.requests if not url.startswith(("data:", address))] == []
    assert seen.complaints == []
    seen.page.screenshot(path=f"{folder.parent / 'loop.png'}")
