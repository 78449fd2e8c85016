"""Whatever ends the program, entries that could not be saved are written down, and the terminal says where."""

from __future__ import annotations

import shutil
import signal
from pathlib import Path
from typing import Any

import pytest

from paddock.entry.event import folder_of
from paddock.errors import SaveError
from paddock.folders.merging import merge_folders
from paddock.session import load
from paddock.store.keeper import Keeper
from paddock.tui.screens.importing import ImportPage
from paddock.tui.screens.welcome import WelcomePage
from tests.tui.pilot import EXAMPLE, driving
from tests.tui.terminal import opened

FULL = (
    "from paddock.errors import SaveError\n"
    "from paddock.store.keeper import Keeper\n"
    "def commit(self, *args): raise SaveError('times.csv is not saved: there is no space left on the disk')\n"
    "Keeper.commit = commit\n"
)
CRASH = (
    "import paddock.tui.screens.home as home\n"
    "real = home.HomePage.accept\n"
    "def broken(self, text):\n"
    "    if text.startswith('4'): return real(self, text)\n"
    "    raise ZeroDivisionError\n"
    "home.HomePage.accept = broken\n"
)


@pytest.mark.parametrize("how", ["ctrl+q", "q twice", "SIGTERM", "SIGHUP", "crash"])
def test_what_is_not_saved_is_written_down(tmp_path: Path, how: str) -> None:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "event", ignore=shutil.ignore_patterns(".paddock")))
    with opened(folder, tmp_path, size=(100, 24), code=FULL + CRASH) as terminal:
        terminal.until("to find")
        terminal.send("45912\r")
        terminal.until("NOT SAVED")
        if how.startswith("SIG"):
            terminal.signal(getattr(signal, how))
        else:
            terminal.send({"ctrl+q": "\x11", "q twice": "qq", "crash": "u1\r"}[how])
        code = terminal.finish()
        assert code == (1 if how == "crash" else 3 if how[0] in "cq" else 128 + getattr(signal, how))
        text = "".join(terminal.text.split())
    rescued = tmp_path / "event-unsaved"
    assert f"1entryisNOTSAVEDin{folder}" in text
    assert f"itisin{rescued}" in text
    assert "entriesaresaved" not in text
    assert "45.912" in (rescued / "unsaved.txt").read_text("utf-8")
    before = len(load(folder).times)
    assert merge_folders(folder, rescued / "event").added > 0
    assert len(load(folder).times) == before + 1


def test_a_fault_with_everything_saved_says_so(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "event", ignore=shutil.ignore_patterns(".paddock")))
    with opened(folder, tmp_path, code=CRASH) as terminal:
        terminal.until("to find")
        terminal.send("45912\r")
        terminal.until("saved: run")
        terminal.send("u1\r")
        assert terminal.finish() == 1
        assert "entriesaresaved" in "".join(terminal.text.split())
    assert not (tmp_path / "event-unsaved").exists()


@pytest.fixture
def full(monkeypatch: pytest.MonkeyPatch) -> None:
    def commit(self: Keeper, *args: Any) -> Any:
        raise SaveError("times.csv is not saved: there is no space left on the disk")

    monkeypatch.setattr(Keeper, "commit", commit)


@pytest.mark.usefixtures("full")
async def test_a_place_that_can_not_be_is_refused_and_the_entry_stays(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter")
        assert hand.app.desk is not None
        for text in (*IMPOSSIBLE[:3], "/proc/version/x", "/proc/paddock"):
            await hand.app.go("faults")
            await hand.settle()
            await hand.press("a")
            hand.page.entry.value = text
            await hand.settle()
            await hand.press("enter")
            await hand.settle()
            assert "saved to" not in hand.told
            assert hand.told.startswith("! "), text
            assert len(hand.app.desk.open_session.unsaved) == 1
            await hand.app.go("home")
            await hand.settle()


IMPOSSIBLE = ["~nobodysuch/event", "x" * 300, "a/" * 3000, "a\x1b[2Jb"]


@pytest.mark.parametrize("page", ["import", "welcome"])
async def test_any_path_can_be_typed(tmp_path: Path, page: str) -> None:
    async with driving(tmp_path) as hand:
        for text in (*IMPOSSIBLE, "/proc/version/x"):
            await (hand.app._welcome("") if page == "welcome" else hand.app.go(page))
            await hand.settle()
            if isinstance(hand.page, ImportPage):
                hand.page.action_type()
            hand.page.entry.value = text
            await hand.dealt_with()
            hand.page.accept_line(text) if isinstance(hand.page, WelcomePage) else hand.page.accept(text)
            await hand.settle()
            assert hand.told.startswith("! "), text
            if page == "import":
                await hand.app.go("home")
                await hand.settle()


@pytest.mark.parametrize("text", IMPOSSIBLE)
def test_no_next_event_is_made_where_no_path_leads(tmp_path: Path, text: str) -> None:
    with pytest.raises(ValueError, match=r"no user|longer|control"):
        folder_of(text, tmp_path / "event")


@pytest.mark.usefixtures("full")
async def test_going_to_another_event_leaves_nothing_behind(tmp_path: Path) -> None:
    other = Path(shutil.copytree(EXAMPLE, tmp_path / "other", ignore=shutil.ignore_patterns(".paddock")))
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter")
        await hand.app.open_folder(other)
        await hand.open()
        await hand.settle()
        assert "NOT SAVED in" in hand.told
        assert "45.912" in (tmp_path / "event-unsaved" / "unsaved.txt").read_text("utf-8")


@pytest.mark.usefixtures("full")
async def test_an_undo_that_is_not_on_the_disk_is_not_called_done(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "z")
        assert "NOT SAVED" in hand.told
