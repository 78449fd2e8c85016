"""The pictures of the tour: the real screens on the example event, as SVG in ``docs/pictures/``.

``python docs/pictures.py`` makes them anew; with ``--png DIR`` also as PNG there, where rsvg-convert is.
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

from paddock.store.personal import Personal
from tests.tui.pilot import driving

HERE = Path(__file__).parent / "pictures"
PICTURES: tuple[tuple[str, tuple[int, int], str, Sequence[str]], ...] = (
    ("home", (80, 24), "night", ()),
    ("home-sun", (80, 24), "sun", ()),
    ("home-narrow", (40, 24), "sun", ()),
    ("home-wide", (120, 32), "night", ()),
    ("run", (80, 24), "night", ("u2 0 o1 46512 +1",)),
    ("doubt", (80, 24), "sun", ("u2 0 o1 4613", "<enter>")),
    ("pressures", (80, 24), "night", ("p", "345 350 440", " t41")),
    ("standings", (100, 28), "night", ("s", "44 45500 1")),
    ("change", (80, 24), "sun", ("c", "a", "rear bar", "<enter>", "<enter>", "4-4", "<enter>", "lazy in the slalom")),
    ("notes", (80, 24), "night", ("n", "tyres: left front grains")),
    ("pad", (80, 24), "sun", ("i",)),
    ("verdicts", (80, 24), "night", (">",)),
    ("bars", (80, 24), "night", ("b",)),
    ("tyres", (80, 24), "sun", ("t",)),
    ("checklists", (80, 24), "sun", ("l",)),
    ("closing", (80, 24), "night", (".",)),
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
        async with driving(Path(scratch), size, personal=Personal(theme=theme)) as hand:
            for key in keys:
                await (hand.press(key.strip("<>")) if key.startswith("<") else hand.type(key))
                await hand.settle()
            (into / f"{name}.svg").write_text(_plain(hand.app.export_screenshot(title=f"paddock: {name}")), "utf-8")


def main() -> None:
    """Make every picture."""
    os.environ["TEXTUAL_ANIMATIONS"] = "none"
    HERE.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        for part in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"):
            os.environ[part] = f"{home}/{part}"
        for name, size, theme, keys in PICTURES:
            asyncio.run(_one(name, size, theme, keys, HERE))
    if "--png" in sys.argv and shutil.which("rsvg-convert"):
        target = Path(sys.argv[sys.argv.index("--png") + 1])
        target.mkdir(parents=True, exist_ok=True)
        for path in sorted(HERE.glob("*.svg")):
            subprocess.run(["rsvg-convert", "-o", str(target / f"{path.stem}.png"), str(path)], check=True)


if __name__ == "__main__":
    main()
