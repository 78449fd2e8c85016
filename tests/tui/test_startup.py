"""What the first paint waits for, and what it doesn't."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from textual import events

from paddock.tui.app import PaddockApp
from tests.small import NOW, small_event
from tests.tui.pilot import Hand

ROOT = Path(__file__).parents[2]
_CODE = """
import asyncio, sys, threading
from datetime import datetime
from pathlib import Path
from paddock.tui.app import PaddockApp

never = threading.Event()

def opener(folder):
    never.wait(20)
    raise SystemExit

async def main():
    app = PaddockApp(Path(sys.argv[1]), now=lambda: datetime(2026, 6, 14, 13, 8), opener=opener)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        text = "\\n".join(strip.text for strip in app.screen._compositor.render_strips())
        print(sorted({name.split(".")[0] for name in sys.modules} & set(sys.argv[2].split(","))))
        print("46.402" in text and "Two days on the fairground" in text)
        await pilot.press("4", "5", "enter")
        print(app.screen.half_typed)
        never.set()

asyncio.run(main())
"""


def test_the_first_paint_comes_before_the_heavy_imports(tmp_path: Path) -> None:
    heavy = "polars,numpy,scipy,matplotlib,aiohttp,markdown_it,pygments,tomlkit,lxml,watchdog"
    env = {"PATH": "", "PYTHONPATH": f"{ROOT}", "HOME": str(tmp_path), "TEXTUAL_ANIMATIONS": "none"}
    run = subprocess.run(
        [sys.executable, "-c", _CODE, f"{small_event(tmp_path / 'event')}", heavy],
        env=env,
        capture_output=True,
        text=True,
        timeout=60,
    )
    lines = run.stdout.splitlines()
    assert lines[:3] == ["[]", "True", "45"], run.stderr


def test_pydantic_is_not_imported_by_the_first_page() -> None:
    code = (
        "import sys, paddock.tui.app, paddock.tui.screens.home, paddock.store.glance; print('pydantic' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert run.stdout.strip() == "False"


async def test_a_key_before_the_first_page_waits_for_it(tmp_path: Path) -> None:
    class Hurried(PaddockApp):
        async def open_folder(self, folder: Path) -> None:
            await self.on_event(events.Key("4", "4"))
            await self.on_event(events.Key("5", "5"))
            await super().open_folder(folder)

    folder = small_event(tmp_path / "event")
    app = Hurried(folder, now=lambda: NOW)
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.open()
        assert hand.page.entry.value == "45"
