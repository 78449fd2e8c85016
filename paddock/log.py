"""A record of what the program did, line by line, in a file named by ``--log FILE``; without it nothing is kept.

It holds the machine's kind, the words of the command, what was saved where and how long it took, and faults with their
place in the program: names of files and pages, never what stands in them.
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter, strftime
from typing import TextIO

from paddock.errors import FolderError, UsageError

_out: TextIO | None = None
_lock = threading.Lock()
_start = 0.0


def asked(words: Sequence[str]) -> list[str]:
    """The words of a command without ``--log FILE``, which may stand anywhere; the record is begun where it is there.

    Raises UsageError, FolderError.
    """
    left, path = [], None
    rest = iter(words)
    for word in rest:
        if word == "--log":
            path = next(rest, None)
            if path is None or path.startswith("-"):
                raise UsageError("--log wants the file to write to")
        elif word.startswith("--log="):
            path = word.removeprefix("--log=")
        else:
            left.append(word)
    if path is not None:
        begin(Path(path), left)
    return left


def begin(path: Path, words: Sequence[str] = ()) -> None:
    """Write to the end of ``path`` from now on. Raises FolderError where that can't be."""
    global _out, _start
    try:
        _out = path.open("a", encoding="utf-8", errors="replace")
    except OSError as error:
        raise FolderError(f"{path} can't be written: {(error.strerror or str(error)).lower()}") from None
    import platform

    from paddock import __version__

    _start = perf_counter()
    try:
        size = os.get_terminal_size(2)
        shown = f"{size.columns}x{size.lines}"
    except OSError:
        shown = "no terminal"
    note(
        f"paddock {__version__}, Python {platform.python_version()}, {platform.system()} {platform.machine()}, {shown}"
    )
    note(f"TERM {os.environ.get('TERM', '-')}, encoding {sys.stdout.encoding}, words: {' '.join(words)}")


def note(text: str) -> None:
    """A line of the record: clock, seconds since the start, what. Nothing where no record was asked for."""
    if _out is None:
        return
    told = " | ".join(line for line in text.splitlines() if line.strip())
    with _lock:
        try:
            _out.write(f"{strftime('%H:%M:%S')} {perf_counter() - _start:8.3f} {told}\n")
            _out.flush()
        except (OSError, ValueError):  # a full disk must not end the program for its record
            return


def end(code: int) -> None:
    """The last line, with the exit code."""
    global _out
    if _out is None:
        return
    note(f"ended with {code}")
    _out.close()
    _out = None
