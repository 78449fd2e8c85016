"""Screens of the example as plain text, compared with the ones kept in ``screens/``.

``PADDOCK_KEEP_SCREENS=1 pytest tests/tui/test_screens.py`` keeps the present ones; read the difference before you do.
"""

from __future__ import annotations

import os
from contextlib import AbstractAsyncContextManager
from pathlib import Path

import pytest

from paddock.tui.rooms import ROOMS
from tests.tui.pilot import EXAMPLE, EXAMPLE_NOW, Hand, driving

KEPT = Path(__file__).parent / "screens"
SIZES = ((80, 24), (40, 20), (120, 40))
POSTED = """\
No;Driver;Run 1;Run 2;Run 3;Run 4;Run 5
31;Robin Tamsin Vale;46.398;46.181;47.206;46.064+2;45.999
44;;45.9;45.8;45.7;45.6;45.555
"""
"""Results of the example as posted, for the page that brings them in."""
at_every_size = pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")


def compare(name: str, text: str) -> None:
    """Against the kept screen, or keep this one; the row of keys is left out, it grows with every room."""
    text = "\n".join(text.splitlines()[:-1]) + "\n"
    path = KEPT / f"{name}.txt"
    if os.environ.get("PADDOCK_KEEP_SCREENS"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    assert text == path.read_text("utf-8"), f"{path.name} differs"


def showing(tmp_path: Path, size: tuple[int, int]) -> AbstractAsyncContextManager[Hand]:
    """The example, at a minute of its second day."""
    return driving(tmp_path, size, source=EXAMPLE, now=EXAMPLE_NOW)


@at_every_size
@pytest.mark.parametrize("room", [room.name for room in ROOMS])
async def test_a_room(tmp_path: Path, room: str, size: tuple[int, int]) -> None:
    async with showing(tmp_path, size) as hand:
        await hand.app.go(room)
        await hand.settle()
        compare(f"{room}-{size[0]}x{size[1]}", hand.text)


@at_every_size
async def test_a_run_being_typed(tmp_path: Path, size: tuple[int, int]) -> None:
    async with showing(tmp_path, size) as hand:
        await hand.type("u2 0 o1 46512 +1")
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
        await hand.press("full_stop")
        await hand.settle()
        await hand.press("a")
        await hand.type("run 5: left the bar alone")
        await hand.press("enter", "backspace", "j", "up")
        compare(f"after-some-{size[0]}x{size[1]}", hand.text)
