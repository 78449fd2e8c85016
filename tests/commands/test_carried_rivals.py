"""Rivals of the event before wait for nobody: they count once they are seen at this one."""

from __future__ import annotations

from pathlib import Path

from paddock import answer
from tests.small import NOW, small_event
from tests.tui.pilot import driving


async def test_who_was_carried_counts_once_seen(tmp_path: Path) -> None:
    old = small_event(tmp_path / "old")
    new = tmp_path / "event"
    answer("new", new, "--from", str(old), "--days", f"{NOW:%Y-%m-%d}")
    lines = (new / "entrants.csv").read_text("utf-8").splitlines()
    assert [line.split(",")[0] for line in lines[1:] if not line.endswith("carried")] == ["7", "24"]
    async with driving(tmp_path, (100, 40), now=NOW) as hand:
        assert "nobody else is entered; 4 carried, not seen here yet" in " ".join(hand.text.split())
        await hand.type("47000")
        await hand.press("enter", "s")
        await hand.type("9 46500")
        await hand.press("enter", "h")
        page = " ".join(hand.text.split())
        assert "times in: 2 of 2, through run 1" in page
        assert "3 carried" in page
        await hand.press("underscore")
        await hand.type("13 ASH")
        await hand.press("enter")
        assert "13," in hand.file("entrants.csv")
        await hand.press("h")
        page = " ".join(hand.text.split())
        assert "times in: 2 of 3 (not 13)" in page
        assert "2 carried" in page
        await hand.press("z")
        assert "times in: 2 of 2" in " ".join(hand.text.split())
    seen = answer("gap", new, "--number", "7")["class"]["seen"]
    assert (seen["entrants"], seen["of"]) == (2, 2)
