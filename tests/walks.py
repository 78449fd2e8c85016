"""Three walks through the house on the example: ``python -m tests.walks`` counts the modules each runs a function of."""

from __future__ import annotations

import asyncio
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any

from paddock.commands.ask import ask
from tests.tui.pilot import EXAMPLE, EXAMPLE_NOW, driving

PACKAGE = Path(__file__).parent.parent / "paddock"


@contextmanager
def walked() -> Iterator[set[str]]:
    """Modules of the package a function of which runs meanwhile, in this thread."""
    seen: set[str] = set()

    def look(frame: FrameType, event: str, _: Any) -> None:
        if event == "call" and frame.f_code.co_name != "<module>":
            with suppress(ValueError):
                seen.add(str(Path(frame.f_code.co_filename).relative_to(PACKAGE)))

    sys.setprofile(look)
    try:
        yield seen
    finally:
        sys.setprofile(None)


def verb(*words: str) -> set[str]:
    """A verb's answer as text."""
    with walked() as seen:
        ask(words[0], [str(EXAMPLE), *words[1:]]).text()
    return seen


def typed_run(folder: Path) -> set[str]:
    """A run typed at home: from its last key to the painted screen; the file is written before it."""

    async def drive() -> set[str]:
        async with driving(folder, source=EXAMPLE, now=EXAMPLE_NOW) as hand:
            await hand.type("u1 0 o1 55487")
            with walked() as seen:
                await hand.press("enter")
                await hand.settle()
            assert "55.487" in hand.text
            return seen

    return asyncio.run(drive())


def main() -> None:
    """Print each walk: how many modules, and how many of each room."""
    with tempfile.TemporaryDirectory() as folder:
        walks: dict[str, Callable[[], set[str]]] = {
            "a typed run": lambda: typed_run(Path(folder)),
            "a reading to advice": lambda: verb("next", "--number", "58"),
            "a gap": lambda: verb("gap", "--number", "58"),
        }
        for name, walk in walks.items():
            seen = walk()
            rooms = Counter(module.split("/")[0] for module in seen)
            print(f"{name}: {len(seen)} modules: " + ", ".join(f"{room} {count}" for room, count in rooms.items()))
            print("  " + " ".join(sorted(seen)))


if __name__ == "__main__":
    main()
