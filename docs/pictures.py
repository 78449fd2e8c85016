"""The pictures of the docs: the real screens on the example event as SVG, the debrief and a tablet as PNG.

``python docs/pictures.py`` makes them anew in ``docs/pictures/``, the two PNG where chromium is; with ``--png DIR`` all
as PNG there, where rsvg-convert is.
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from paddock.__main__ import main as paddock
from paddock.store.personal import Personal
from tests.browser.conftest import CHROMIUM, FLAGS, Watched
from tests.tui.pilot import EXAMPLE, EXAMPLE_NOW, driving

HERE = Path(__file__).parent / "pictures"
PICTURES: tuple[tuple[str, tuple[int, int], str, Sequence[str]], ...] = (
    ("home", (80, 24), "night", ()),
    ("home-sun", (80, 24), "sun", ()),
    ("home-narrow", (40, 24), "sun", ()),
    ("run", (80, 24), "night", ("u1 0 o1 55487 +1",)),
    ("doubt", (80, 24), "sun", ("u1 0 o1 5548", "<enter>")),
    ("pressures", (80, 24), "night", ("p",)),
    ("standings", (100, 28), "night", ("s", "71 55602 1")),
    ("work", (80, 24), "sun", ("k",)),
    ("change", (80, 24), "sun", ("c", "a", "front bar", "<enter>", "<enter>", "1-2", "<enter>", "half a step")),
    ("notes", (80, 24), "night", ("n", "tyres: rears wear inside")),
    ("pad", (80, 24), "sun", ("i",)),
    ("verdicts", (80, 24), "night", (">",)),
    ("bars", (80, 24), "night", ("b",)),
    ("gears", (80, 24), "sun", ("e", "e", "g")),
    ("tyres", (80, 24), "sun", ("t",)),
    ("checklists", (80, 24), "sun", ("l",)),
    ("closing", (80, 24), "night", (")",)),
    ("season", (80, 24), "night", ("<less_than_sign>",)),
    ("help", (80, 30), "night", ("<question_mark>",)),
    ("actions", (80, 24), "night", ("<colon>", "press")),
)
"""Name, size, theme, keys."""


def _plain(svg: str) -> str:
    """Without fonts from elsewhere and random ids, so that it is the same each time and needs no network."""
    svg = re.sub(r"@font-face\s*\{.*?\}", "", svg, flags=re.DOTALL)
    svg = re.sub(r"terminal-\d+", "terminal", svg).replace("<svg ", '<svg xml:space="preserve" ', 1)
    return svg.replace("Fira Code", "DejaVu Sans Mono, Menlo, Consolas")


async def _one(name: str, size: tuple[int, int], theme: str, keys: Sequence[str], into: Path) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        async with driving(
            Path(scratch), size, personal=Personal(theme=theme), source=EXAMPLE, now=EXAMPLE_NOW, lead_after_s=0
        ) as hand:
            await hand.settle()
            for key in keys:
                await (hand.press(key.strip("<>")) if key.startswith("<") else hand.type(key))
                await hand.settle()
            (into / f"{name}.svg").write_text(_plain(hand.app.export_screenshot(title=f"paddock: {name}")), "utf-8")


def _in_a_browser(into: Path) -> None:
    """The head of the debrief, and a run typed by taps alone."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as running:
        folder = Path(shutil.copytree(EXAMPLE, Path(scratch) / "event", ignore=shutil.ignore_patterns(".paddock")))
        paddock(["debrief", str(folder), "-o", f"{scratch}/debrief.html"])
        browser = running.chromium.launch(executable_path=f"{CHROMIUM}", args=FLAGS)
        page = browser.new_page(viewport={"width": 900, "height": 1300})
        page.goto(f"file://{scratch}/debrief.html")
        page.screenshot(path=into / "debrief.png")
        with subprocess.Popen(
            [sys.executable, "-m", "paddock", "serve", str(folder), "--port", "0"], stdout=subprocess.PIPE, text=True
        ) as serving:
            assert serving.stdout is not None
            tablet = browser.new_context(viewport={"width": 820, "height": 760}, has_touch=True, is_mobile=True)
            seen = Watched(tablet.new_page())
            seen.page.goto(serving.stdout.readline().split()[1])
            seen.wait("to find", 60)
            seen.tap_key("digits and letters")
            for key in "u1 0 o1 55487+1":
                seen.tap_key("space" if key == " " else key)
            seen.wait("55.487+1")
            seen.page.screenshot(path=into / "touch.png")
            serving.terminate()
        browser.close()


def main() -> None:
    """Make every picture."""
    os.environ["TEXTUAL_ANIMATIONS"] = "none"
    HERE.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        for part in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"):
            os.environ[part] = f"{home}/{part}"
        for name, size, theme, keys in PICTURES:
            asyncio.run(_one(name, size, theme, keys, HERE))
        if CHROMIUM.exists():
            _in_a_browser(HERE)
    if "--png" in sys.argv and shutil.which("rsvg-convert"):
        target = Path(sys.argv[sys.argv.index("--png") + 1])
        target.mkdir(parents=True, exist_ok=True)
        for path in sorted(HERE.glob("*.svg")):
            subprocess.run(["rsvg-convert", "-o", str(target / f"{path.stem}.png"), str(path)], check=True)


if __name__ == "__main__":
    main()
