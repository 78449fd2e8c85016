"""Screens as plain text, compared with the ones kept in ``screens/``.

``PADDOCK_KEEP_SCREENS=1 pytest tests/tui/test_screens.py`` keeps the present ones; read the difference before you do.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from paddock.tui.rooms import ROOMS
from tests.tui.pilot import driving

KEPT = Path(__file__).parent / "screens"
SIZES = ((80, 24), (40, 20), (120, 40))


def compare(name: str, text: str) -> None:
    """Against the kept screen, or keep this one; the row of keys is left out, it grows with every room."""
    text = "\n".join(text.splitlines()[:-1]) + "\n"
    path = KEPT / f"{name}.txt"
    if os.environ.get("PADDOCK_KEEP_SCREENS"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    assert text == path.read_text("utf-8"), f"{path.name} differs"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("room", [room.name for room in ROOMS])
async def test_a_room(tmp_path: Path, room: str, size: tuple[int, int]) -> None:
    async with driving(tmp_path, size) as hand:
        await hand.app.go(room)
        await hand.settle()
        compare(f"{room}-{size[0]}x{size[1]}", hand.text)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_a_run_being_typed(tmp_path: Path, size: tuple[int, int]) -> None:
    async with driving(tmp_path, size) as hand:
        await hand.type("u2 0 o1 46512 +1")
        compare(f"typing-{size[0]}x{size[1]}", hand.text)
