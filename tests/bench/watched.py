"""A program in a terminal whose every piece of output carries the time it came."""

from __future__ import annotations

import os
import re
import select
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter

from tests.tui.terminal import Terminal

ROOT = Path(__file__).parents[2]
_CODES = re.compile(rb"\x1b(?:\[[^a-zA-Z]*[a-zA-Z]|[_P][^\x1b]*\x1b\\|[()].|[=>78])")
_ASKED = b"\x1b[?2026$p"


def plain_of(output: bytes) -> bytes:
    """Output without its codes."""
    return _CODES.sub(b"", output)


def shows_first(text: bytes) -> bool:
    """The example's name and my runs are there."""
    return b"Two days" in text and b"55.514" in text


class Watched(Terminal):
    """Output is kept with its time and drawn only when ``text`` is asked for, so that drawing delays nothing."""

    def __init__(self, argv: list[str], env: dict[str, str]) -> None:
        self.began = perf_counter()
        self.seen = bytearray()
        super().__init__(argv, (80, 24), env)

    def take(self, wait: float) -> float | None:
        """The time at which more output came, None where none did. Raises EOFError when the program has ended."""
        if not select.select([self.fd], [], [], wait)[0]:
            return None
        at = perf_counter()
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            raise EOFError(self.plain()[-2000:].decode(errors="replace")) from None
        self.raw += data
        self.seen += data
        if _ASKED in data:
            os.write(self.fd, b"\x1b[?2026;2$y")
        return at

    def plain(self) -> bytes:
        """What came since ``forget``, without codes."""
        return plain_of(bytes(self.seen))

    def forget(self) -> None:
        """Begin to watch anew."""
        self.seen.clear()

    def when(self, fits: Callable[[bytes], bool], limit: float = 30.0) -> float:
        """Seconds from the start of the program until what came fits."""
        end = perf_counter() + limit
        while perf_counter() < end:
            at = self.take(0.5)
            if at is not None and fits(self.plain()):
                return at - self.began
        raise TimeoutError(self.plain()[-2000:].decode(errors="replace"))

    def quiet(self, seconds: float) -> float | None:
        """Take output until none came for so long; the time of the last of it."""
        last = None
        while (at := self.take(seconds)) is not None:
            last = at
        return last

    def typed(self, keys: str, fits: Callable[[bytes], bool], rest: float = 0.06) -> tuple[float, float]:
        """Milliseconds from a key to what fits, and to the last of what it caused."""
        self.forget()
        begin = perf_counter()
        self.send(keys)
        first = self.when(fits) + self.began
        last = self.quiet(rest) or first
        return (first - begin) * 1000, (last - begin) * 1000


@contextmanager
def ended(terminal: Watched) -> Iterator[Watched]:
    """Ended in any case."""
    try:
        yield terminal
    finally:
        terminal.close()


def floor() -> Watched:
    """The bare app, starting."""
    return Watched([sys.executable, f"{ROOT / 'tests' / 'bench' / 'floor_app.py'}"], {"PYTHONPATH": f"{ROOT}"})


def screens(folder: Path, home: Path) -> Watched:
    """``paddock FOLDER``, starting, with settings and state in ``home``."""
    own = {name: f"{home / name}" for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME")}
    return Watched([sys.executable, "-m", "paddock", f"{folder}"], {**own, "PYTHONPATH": f"{ROOT}"})


@contextmanager
def both(folder: Path, home: Path) -> Iterator[tuple[Watched, Watched]]:
    """The floor and the program, side by side and at rest."""
    with ended(floor()) as bare, ended(screens(folder, home)) as ours:
        bare.when(lambda text: b"floor is painted" in text)
        ours.when(lambda text: b"to find" in text)
        bare.quiet(1.0)
        ours.quiet(1.0)
        yield bare, ours
