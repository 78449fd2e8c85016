"""Small event folders on the disk, for tests of seasons, exports and reports."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

EVENT = """format = 1
name = "{name}"
days = [{day}]
runs_per_day = 3
[[classes]]
code = "PINE"
[[classes]]
code = "OAK"
scored_by = "index"
[index]
PINE = 0.812
OAK = 0.856
[mine]
numbers = ["26"]
"""


def write_event(
    folder: Path, times: Mapping[str, tuple[str, ...]], name: str = "An event", day: str = "2026-05-09", **files: str
) -> Path:
    """A folder whose entrants are the keys of ``times`` with their runs; ``files``: other CSV files by stem."""
    folder.mkdir(parents=True)
    (folder / "event.toml").write_text(EVENT.format(name=name, day=day), encoding="utf-8")
    entries = "".join(f"{number},Driver {number},estate,PINE\n" for number in times)
    (folder / "entrants.csv").write_text("number,driver,car,class\n" + entries, encoding="utf-8")
    runs = "".join(_row(number, at, text) for number, texts in times.items() for at, text in enumerate(texts, 1))
    (folder / "times.csv").write_text("day,run,number,time,cones,misses,status\n" + runs, encoding="utf-8")
    for stem, text in files.items():
        (folder / f"{stem}.csv").write_text(text, encoding="utf-8")
    return folder


def _row(number: str, run: int, text: str) -> str:
    time, _, cones = text.partition("+")
    return f"1,{run},{number},{time},{cones},,\n" if text[0].isdigit() else f"1,{run},{number},,,,{text}\n"
