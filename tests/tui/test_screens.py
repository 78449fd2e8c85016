"""Screens of the example as plain text, compared with the ones kept in ``screens/``.

``python -m tests.renew screens`` keeps the present ones and prints the difference: read it.
"""

from __future__ import annotations

import os
from contextlib import AbstractAsyncContextManager
from pathlib import Path

import pytest

from paddock.tui.rooms import ROOMS
from tests.tui.pilot import EXAMPLE, EXAMPLE_NOW, Hand, driving

KEPT = Path(__file__).parent / "screens"
SIZES = ((80, 24), (40, 20))
WIDEST = (120, 40)
WIDE = ("home", "standings", "heat", "verdict", "sheet")
"""The pages that show more where there is room."""
POSTED = """\
No;Driver;Run 1;Run 2;Run 3;Run 4
58;Ansel Brook;56.264;55.588+2;55.514;55.402
71;;56.377;55.958;55.690;55.602+1
"""
"""Results of the example as posted, for the page that brings them in."""
at_every_size = pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")


def differs(name: str, text: str) -> list[str]:
    """Its name, where it is not the kept screen; or keep this one. The row of keys is left out, it grows with every room."""
    text = "\n".join(text.splitlines()[:-1]) + "\n"
    path = KEPT / f"{name}.txt"
    if os.environ.get("PADDOCK_KEEP_SCREENS"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    return [] if path.exists() and text == path.read_text("utf-8") else [f"{path.name}:\n{text}"]


def compare(name: str, text: str) -> None:
    """Held against the kept screen."""
    assert differs(name, text) == []


def showing(tmp_path: Path, size: tuple[int, int]) -> AbstractAsyncContextManager[Hand]:
    """The example, at a minute of its second day."""
    return driving(tmp_path, size, source=EXAMPLE, now=EXAMPLE_NOW)


@pytest.mark.parametrize("size", [*SIZES, WIDEST], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_every_room(tmp_path: Path, size: tuple[int, int]) -> None:
    """Opened one after another: each is there, has help and all actions in reach, and looks as it was kept."""
    differ, lacking = [], []
    async with showing(tmp_path, size) as hand:
        for room in ROOMS:
            await hand.app.go(room.name)
            await hand.settle()
            keys = hand.text.splitlines()[-1]
            if room.name != hand.page.NAME or "help" not in keys or "all actions" not in keys:
                lacking.append((room.name, hand.page.NAME, keys))
            if size != WIDEST or room.name in WIDE:
                differ += differs(f"{room.name}-{size[0]}x{size[1]}", hand.text)
    assert (lacking, differ) == ([], [])


@at_every_size
async def test_a_run_being_typed(tmp_path: Path, size: tuple[int, int]) -> None:
    async with showing(tmp_path, size) as hand:
        await hand.type("u1 0 o1 55487 +1")
        compare(f"typing-{size[0]}x{size[1]}", hand.text)


@at_every_size
async def test_the_leaves_of_the_verdicts(tmp_path: Path, size: tuple[int, int]) -> None:
    async with showing(tmp_path, size) as hand:
        await hand.press("greater_than_sign")
        await hand.settle()
        for name in ("figures", "course", "test"):
            await hand.press("right")
            compare(f"verdict-{name}-{size[0]}x{size[1]}", hand.text)


@at_every_size
async def test_posted_results_before_and_after_they_are_brought_in(tmp_path: Path, size: tuple[int, int]) -> None:
    (tmp_path / "posted.csv").write_text(POSTED)
    async with showing(tmp_path, size) as hand:
        await hand.press("ampersand")
        await hand.settle()
        for name in ("preview", "done"):
            await hand.press("enter")
            await hand.settle()
            compare(f"import-{name}-{size[0]}x{size[1]}", hand.text)


@at_every_size
async def test_some_of_the_day_closed(tmp_path: Path, size: tuple[int, int]) -> None:
    async with showing(tmp_path, size) as hand:
        await hand.press("right_parenthesis")
        await hand.settle()
        await hand.press("a")
        await hand.type("run 3: the softer bar")
        await hand.press("enter", "backspace", "j", "up")
        compare(f"after-some-{size[0]}x{size[1]}", hand.text)
