"""The screens on a spoilt folder: every room is opened and looked through, nothing falls over, nothing is written."""

from __future__ import annotations

import asyncio
import tempfile
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from random import Random

from paddock.tui.rooms import ROOMS
from tests.attack.asking import every
from tests.attack.cases import little_event, whole_event
from tests.attack.kills import MEMORY, in_child
from tests.attack.spoiling import ODD, little
from tests.tui.pilot import EXAMPLE_NOW, driving

LOOKING = ("down", "down", "pagedown", "end", "up", "home")
"""Keys that show something else and write nothing."""
LASTS_S = 5.0
"""Seconds of processor for one room and a few keys in it."""
WAITS_S = 900.0
"""Seconds of the clock for a folder, on a machine however crowded."""


def rooms(seed: int, count: int) -> Iterator[tuple[str, list[str]]]:
    """One spoilt folder after another, each in a process of its own: what was spoilt, and what was wrong."""
    for number in range(count):
        with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
            yield (
                "folder walked through",
                in_child(lambda number=number, own=own: walked(seed, number, Path(own)), WAITS_S),
            )  # type: ignore[misc]


def walked(seed: int, number: int, own: Path, most: int = len(ROOMS)) -> list[str]:
    """What was wrong with one folder; ``most``: rooms looked at."""
    random = Random(f"{seed}-{number}-rooms")
    folder = (little_event if random.random() < 0.5 else whole_event)(own / "event")
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    spoilt = random.sample([*names, "../season.toml"], random.choice((1, 1, 2, 3)))
    for name in spoilt:
        data = (folder / name).read_bytes() if name in names else b"[[points]]\n"
        (folder / name).unlink(missing_ok=True)
        if random.random() < 0.04:
            ODD[random.choice(tuple(ODD))](folder / name)
        else:
            (folder / name).write_bytes(little(random, data))
    try:
        wrong = asyncio.run(_walk(random, own, most))
    except BaseException:
        wrong = [traceback.format_exc()[-3000:]]
    return [f"seed {seed} folder {number} ({', '.join(spoilt)}): {line}" for line in wrong]


async def _walk(random: Random, own: Path, most: int) -> list[str]:
    wrong, before = [], every(str(own))
    async with driving(own, random.choice(((80, 24), (40, 20), (120, 50))), now=EXAMPLE_NOW) as hand:
        for room in random.sample(ROOMS, most):
            if hand.page.NAME == "welcome":
                break
            begun = time.process_time()
            await hand.app.go(room.name)
            await hand.settle()
            wrong += [f"{room.name} is not shown"] if hand.page.NAME not in (room.name, "welcome") else []
            await hand.press(*random.sample(LOOKING, 3))
            await hand.settle()
            took = time.process_time() - begun
            wrong += [f"{room.name}: {took:.1f} s"] if took > LASTS_S else []
            wrong += (
                [f"{room.name}: an escape or nothing at all"] if "\x1b" in hand.text or not hand.text.strip() else []
            )
    after = every(str(own))
    changed = [name for name in sorted(before.keys() | after.keys()) if before.get(name) != after.get(name)]
    return wrong + [f"{name} is changed" for name in changed if not name.startswith("event/.paddock")]
