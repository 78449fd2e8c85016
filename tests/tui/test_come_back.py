"""In a browser: a page that is loaded again has what was half typed, on the page it was typed on."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.pilot import driving

TAB, OTHER = "abcdef0123", "zyxwvu9876"


async def left(tmp_path: Path, *keys: str) -> None:
    """Keys pressed on home, then the program is told to end, as by a server whose page is gone."""
    async with driving(tmp_path) as hand:
        await hand.press(*keys)
        hand.app.exit()
        await hand.pilot.pause()


async def found(tmp_path: Path) -> tuple[str, str, str]:
    """The page in front, its line and the words under it once the event is open."""
    async with driving(tmp_path) as hand:
        return hand.page.NAME, hand.page.entry.value, hand.told


async def test_half_a_run_comes_back_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PADDOCK_TAB", TAB)
    await left(tmp_path, *"46.5")
    name, value, said = await found(tmp_path)
    assert (name, value) == ("home", "46.5")
    assert "is back" in said


async def test_another_tab_and_a_terminal_have_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PADDOCK_TAB", TAB)
    await left(tmp_path, *"46")
    monkeypatch.setenv("PADDOCK_TAB", OTHER)
    assert (await found(tmp_path))[1] == ""
    monkeypatch.delenv("PADDOCK_TAB")
    await left(tmp_path, *"47")
    assert (await found(tmp_path))[1] == ""
    monkeypatch.setenv("PADDOCK_TAB", TAB)
    assert (await found(tmp_path))[1] == "46"


async def test_the_page_in_front_comes_back_too_and_letters_stay_text(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PADDOCK_TAB", TAB)
    await left(tmp_path, "n", *"squeal")
    assert (await found(tmp_path))[:2] == ("notes", "squeal")


async def test_nothing_half_typed_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PADDOCK_TAB", TAB)
    await left(tmp_path, "4", "backspace")
    name, value, said = await found(tmp_path)
    assert (name, value) == ("home", "")
    assert "is back" not in said
