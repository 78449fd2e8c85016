"""Bars of the time lost by element: next to nothing draws next to nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.engine.where.answer import where
from paddock.pages.where import where_page
from paddock.render.lines import text
from paddock.session.loading import load
from tests.where_event import NUMBER, event, runs


@pytest.mark.parametrize(("late_s", "bars"), [(0.004, {""}), (0.2, {"", "━━━━►"})])
def test_a_bar_is_as_long_as_what_it_stands_for(tmp_path: Path, late_s: float, bars: set[str]) -> None:
    driven = runs(1)
    folder = event(tmp_path / "event", [driven[0], driven[0]])
    path = folder / "times.csv"
    first, second = 40.0, 40.0 + late_s
    lines = ["day,run,number,element,at_s,error_s,source"]
    for run, late in ((1, 0.0), (2, late_s)):
        lines += [f"1,{run},{NUMBER},{at},{5 * at + (late if at > 2 else 0):.3f},,video" for at in range(1, 8)]
    (folder / "splits.csv").write_text("\n".join(lines) + "\n")
    kept = path.read_text().replace(f",{driven[0].passes_s[-1]:.3f},", f",{first:.3f},", 1)
    path.write_text(kept.replace(f",{driven[0].passes_s[-1]:.3f},", f",{second:.3f},", 1))
    found = where(load(folder), NUMBER, 1, 2, "1")
    rows = [line.split("│")[1] for line in text(where_page(found), 100).splitlines() if "│" in line]
    assert {row.split()[0] if row.split() and row.split()[0][0] in "━►" else "" for row in rows} == bars
