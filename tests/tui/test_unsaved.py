"""The folder can't be written: the entry stays, is marked, is tried again, and nothing else is lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from paddock.errors import SaveError
from paddock.store.keeper import Keeper
from tests.tui.pilot import driving

_FULL = "times.csv can't be written: the disk is full"


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> dict[str, bool]:
    """``disk["full"]`` True: nothing can be saved."""
    state = {"full": True}
    real = Keeper.commit

    def commit(self: Keeper, *args: Any) -> Any:
        if state["full"]:
            raise SaveError(_FULL)
        return real(self, *args)

    monkeypatch.setattr(Keeper, "commit", commit)
    return state


async def test_kept_marked_tried_again(tmp_path: Path, disk: dict[str, bool]) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        await hand.type("45912")
        await hand.press("enter")
        assert hand.told.startswith("! NOT SAVED yet, kept here: ")
        assert "disk is full" in hand.told
        assert "1 NOT SAVED" in hand.text
        assert "45.912" in hand.text
        assert hand.file("times.csv") == before
        await hand.type("s9 45500")
        await hand.press("enter")
        assert "2 NOT SAVED" in hand.text
        disk["full"] = False
        await hand.app.pass_time()
        await hand.dealt_with()
        assert "NOT SAVED" not in hand.text.splitlines()[0]
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert ",9,45.500" in hand.file("times.csv")


async def test_leaving_says_what_would_be_lost(tmp_path: Path, disk: dict[str, bool]) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "q")
        assert "1 entry is NOT SAVED" in hand.told
        disk["full"] = False


async def test_an_unsaved_entry_can_be_undone(tmp_path: Path, disk: dict[str, bool]) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        await hand.type("45912")
        await hand.press("enter", "z")
        assert "  5*  45.912" not in hand.text
        disk["full"] = False
        await hand.app.pass_time()
        assert hand.file("times.csv") == before
