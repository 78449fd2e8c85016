"""The first paint's reader: right, forgiving, and free of heavy imports."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

from paddock.store.glance import GlanceRun, glance
from tests.store.folders import every_byte, small_folder


def test_what_the_first_paint_shows(tmp_path: Path) -> None:
    path = small_folder(tmp_path / "event")
    before = every_byte(path)
    seen = glance(path)
    assert (seen.name, seen.numbers) == ("Two days at the old car park", ("26",))
    assert seen.days == (date(2026, 5, 9), date(2026, 5, 10))
    assert seen.runs == (GlanceRun("1", "1", "26", "47.250", "", ""), GlanceRun("1", "2", "26", "46.512", "", ""))
    assert every_byte(path) == before


def test_other_manners(tmp_path: Path) -> None:
    path = small_folder(tmp_path / "event")
    (path / "times.csv").write_bytes("\ufeff\r\nRun; Day;NUMBER;status\r\n2;1; 26 ;dnf\r\n3\r\n".encode())
    assert glance(path).runs == (GlanceRun("1", "2", "26", "", "", "dnf"),)


def test_nothing_to_read(tmp_path: Path) -> None:
    assert glance(tmp_path / "nowhere").name == "nowhere"
    assert glance(tmp_path / "nowhere").runs == ()


def test_it_imports_nothing_heavy() -> None:
    code = "import sys, paddock.store.glance; print(*sorted({'pydantic','polars','tomlkit','csv'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["csv"]
