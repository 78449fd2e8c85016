"""A real terminal: the program in a pty with a terminal emulator behind it."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pyte

_STRIPPED = [
    re.compile(pattern)
    for pattern in (
        rb"\x1b\[[<>=][0-9;]*[a-zA-Z]",
        rb"\x1b\[\?[0-9;]*\$p",
        rb"\x1b\[\?[0-9;]*u",
        rb"\x1b[_P][^\x1b]*\x1b\\",
    )
]
"""What pyte would print instead of swallow."""


class Terminal:
    """``start`` runs it; ``text`` is the screen; ``until`` pumps until something is seen."""

    def __init__(self, argv: list[str], size: tuple[int, int] = (80, 24), env: dict[str, str] | None = None) -> None:
        columns, rows = size
        self.screen = pyte.Screen(columns, rows)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = bytearray()
        self.exit_code: int | None = None
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            _become(argv, rows, columns, env or {})
        _resize(self.fd, rows, columns)

    @property
    def text(self) -> str:
        """The screen, a line a row."""
        return "\n".join(self.screen.display)

    def send(self, keys: str) -> None:
        """Keys as a terminal sends them."""
        os.write(self.fd, keys.encode())

    def resize(self, columns: int, rows: int) -> None:
        """Another window size."""
        self.screen.resize(rows, columns)
        _resize(self.fd, rows, columns)

    def pump(self, wait: float = 0.02) -> bool:
        """Take in what the program wrote; False when it has closed its end."""
        ready, _, _ = select.select([self.fd], [], [], wait)
        if not ready:
            return True
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            return False
        self.raw += data
        if b"\x1b[?2026$p" in data:
            os.write(self.fd, b"\x1b[?2026;2$y")
        for pattern in _STRIPPED:
            data = pattern.sub(b"", data)
        self.stream.feed(data)
        return bool(data) or bool(ready)

    def until(self, seen: str | Callable[[], bool], limit: float = 20.0) -> float:
        """Seconds until ``seen`` is on the screen. Fails with the screen where it never is."""
        begin = time.perf_counter()
        check = seen if callable(seen) else lambda: seen in self.text
        while not check():
            if not self.pump() or time.perf_counter() - begin > limit:
                raise AssertionError(f"never saw {seen!r} in {limit} s:\n{self.text}")
        return time.perf_counter() - begin

    def finish(self, limit: float = 15.0) -> int:
        """Wait for the program to end; its exit code, 128 + n for a signal."""
        end = time.perf_counter() + limit
        while self.exit_code is None and time.perf_counter() < end:
            self.pump()
            self._reap(os.WNOHANG)
        assert self.exit_code is not None, f"still running:\n{self.text}"
        while select.select([self.fd], [], [], 0.05)[0] and self.pump(0.01):
            pass
        return self.exit_code

    def _reap(self, flags: int) -> None:
        pid, status = os.waitpid(self.pid, flags)
        if pid:
            self.exit_code = os.waitstatus_to_exitcode(status)

    def close(self) -> None:
        """End what is left of it."""
        if self.exit_code is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.pid, signal.SIGKILL)
            self._reap(0)
        os.close(self.fd)

    def signal(self, number: int) -> None:
        """Send the program a signal."""
        os.kill(self.pid, number)


def _become(argv: list[str], rows: int, columns: int, env: dict[str, str]) -> None:
    _resize(0, rows, columns)
    wanted = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", **env}
    for name in ("LINES", "COLUMNS", "NO_COLOR"):
        if name not in env:
            wanted.pop(name, None)
    try:
        os.execvpe(argv[0], argv, wanted)
    finally:
        os._exit(127)


def _resize(fd: int, rows: int, columns: int) -> None:
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))


@contextlib.contextmanager
def opened(
    folder: Path | None, home: Path, size: tuple[int, int] = (80, 24), code: str = "", **env: str
) -> Iterator[Terminal]:
    """``paddock FOLDER`` in a terminal; ``code`` runs before it. Settings and state lie in ``home``."""
    start = (
        f"import sys; {code}\nfrom paddock.__main__ import main; sys.exit(main({[str(folder)] if folder else []!r}))"
    )
    own = {name: str(home / name) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME")}
    terminal = Terminal(
        [sys.executable, "-c", start], size, {**own, "PYTHONPATH": str(Path(__file__).parents[2]), **env}
    )
    try:
        yield terminal
    finally:
        terminal.close()
