"""The unit a file writes a field in."""

from __future__ import annotations

from pathlib import Path

from paddock.session import Session


def test_the_ending_of_the_header(tmp_path: Path) -> None:
    folder = tmp_path / "event"
    folder.mkdir()
    (folder / "event.toml").write_text('name = "a"\ndays = [2026-05-09]\n', "utf-8")
    for name, header in (("entrants.csv", "number"), ("times.csv", "day,run,number,time")):
        (folder / name).write_text(header + "\n", "utf-8")
    (folder / "tread.csv").write_text("day,tyre,inner_32nds,middle_mm\n", "utf-8")
    session = Session.open(folder)
    assert session.unit_of("tread.csv", "inner_mm") == "32nds"
    assert session.unit_of("tread.csv", "middle_mm") == "mm"
    assert session.unit_of("tread.csv", "outer_mm") == ""
    assert session.unit_of("fitted.csv", "tyre") == ""
