"""Programs killed at random moments: entering, in a terminal, and within each of the ``OPERATIONS``."""

from __future__ import annotations

import itertools
import json
import os
import select
import shutil
import signal
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

from tests.attack.operations import OPERATIONS, Files, Operation, files, what_is_wrong
from tests.session import entering
from tests.store.folders import small_folder

MEMORY = Path("/dev/shm")
HANG_S = 60


def kills(seed: int, count: int, wanted: str = "") -> Iterator[tuple[str, list[str]]]:
    """One kill after another: of what, and what was wrong afterwards. A third enters runs, the rest is shared out.

    ``wanted``: of that one alone (``entering``, ``screens`` or an operation's name).
    """
    read_once()
    names = [wanted] if wanted else ["entering"] * 5 + [operation.name for operation in OPERATIONS]
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
        told = {name: _rounds(Path(own), name, seed, names.count(name) * count) for name in dict.fromkeys(names)}
        for at in range(count):
            name = names[at % len(names)]
            yield name, next(told[name])


def read_once() -> None:
    """What the children would all read for themselves. None of it starts a thread: then no child could be forked."""
    import polars  # noqa: F401

    import paddock.commands.debrief
    import paddock.commands.export
    import paddock.commands.import_
    import paddock.commands.new
    import paddock.commands.track
    import paddock.engine.results
    import paddock.folders.importing
    import paddock.folders.starting
    import paddock.folders.tracking
    import paddock.render.debrief
    import paddock.store.archive  # noqa: F401


def _rounds(own: Path, name: str, seed: int, most: int) -> Iterator[list[str]]:
    if name == "screens":
        from tests.attack.screens import screens

        yield from screens(own, seed, most)
    elif name == "entering":
        folder = own / "entering"
        kept = itertools.count(seed, 25)
        while True:  # five-and-twenty kills of one folder, then all of it undone again
            shutil.rmtree(folder, ignore_errors=True)
            small_folder(folder)
            found = entering.rounds(folder, 25, next(kept))
            yield from ([said] if said else [] for said in found)
    else:
        operation = next(item for item in OPERATIONS if item.name == name)
        yield from _broken_off(own / name.replace(" ", "-"), operation, Random(f"{seed}-{name}"))


def _broken_off(own: Path, operation: Operation, random: Random) -> Iterator[list[str]]:
    """The operation in a child killed some time into it; then once more, undisturbed."""
    sound, whole = own / "sound", own / "whole"
    sound.mkdir(parents=True)
    said = in_child(lambda: operation.prepare(sound) and None)
    shutil.copytree(sound, whole)
    begun = time.perf_counter()
    said += in_child(lambda: operation.act(whole) and None)
    lasts = time.perf_counter() - begun
    before, after = files(sound), files(whole)
    if said or before == after:
        yield [*said, f"undisturbed: {'nothing changed' if before == after else 'changed'}"]
        return
    for turn in itertools.count():
        place = own / "place"
        shutil.copytree(sound, place)
        pid, ears = _begun(lambda place=place: operation.act(place) and None)  # type: ignore[misc]
        select.select([], [], [], random.uniform(0, lasts * 1.1))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(ears)
        yield _afterwards(operation, place, before, after, operation.again and turn % 4 == 0)
        shutil.rmtree(place)


def _afterwards(operation: Operation, place: Path, before: Files, after: Files, again: bool) -> list[str]:
    wrong = in_child(lambda: what_is_wrong(place, operation, before, after))
    if again:
        said = in_child(lambda: operation.act(place) and None)
        now = files(place)
        if said or now != after:
            differing = sorted(name for name in now.keys() | after.keys() if now.get(name) != after.get(name))
            wrong.append(f"once more: {said}, other than undisturbed: {differing}")
    return wrong


def in_child(does: Callable[[], list[str] | None], most_s: float = HANG_S) -> list[str]:
    """What it says, or how it failed, from a process of its own: this one stays without threads, so it can be forked.
    ``most_s``: seconds of the clock."""
    pid, ears = _begun(does)
    heard, late = b"", time.monotonic() + most_s
    while select.select([ears], [], [], max(0.0, late - time.monotonic()))[0]:
        more = os.read(ears, 65536)
        if not more:
            os.waitpid(pid, 0)
            os.close(ears)
            return json.loads(heard or b'["ended without a word"]')  # type: ignore[no-any-return]
        heard += more
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    os.close(ears)
    return [f"hangs for {most_s} s"]


def _begun(does: Callable[[], list[str] | None]) -> tuple[int, int]:
    ears, mouth = os.pipe()
    pid = os.fork()
    if pid:
        os.close(mouth)
        return pid, ears
    said: list[str]
    try:
        said = does() or []
    except BaseException as error:
        said = [f"{type(error).__name__}: {error}"]
    try:
        os.write(mouth, json.dumps(said).encode()[:60_000])
    finally:
        os._exit(0)
