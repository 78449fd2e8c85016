"""A whole day from the keyboard, within its budgets, and the transcript of it in the docs."""

from __future__ import annotations

from pathlib import Path

from tests.tui.day import DOC, document, drive


async def test_the_day_goes_as_written(tmp_path: Path) -> None:
    taken = await drive(tmp_path)
    over = [(item.step.what, item.keys) for item in taken if item.step.most is not None and item.keys > item.step.most]
    assert over == []
    assert DOC.read_text("utf-8") == document(taken), "python -m tests.tui.day writes it anew"
    times = (tmp_path / "event" / "times.csv").read_text("utf-8")
    assert "1,1,58,52.318" in times
    assert "1,2,58,50.871,1" in times
    assert "1,3,58,50.233" in times
    assert "1,2,23,51.402" in times
    changes = (tmp_path / "event" / "changes.csv").read_text("utf-8")
    assert ",keep" in changes
