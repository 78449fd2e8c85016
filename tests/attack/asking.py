"""A command line put to the program in this process, all the way in, and what must never come back."""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
import stat
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from types import FrameType
from unittest.mock import patch

import paddock.store.machine
from paddock.__main__ import main
from paddock.errors import PaddockError

HANG_S = 5
"""Seconds of processor an answer may take."""
MOST_KB = 500_000
"""Memory an answer may take on top of what the process has once it is warm."""


class HangError(BaseException):
    """Something took longer than anybody waits."""


def wrong_answer(words: Sequence[str], heard: bytes = b"") -> tuple[int, str]:
    """The exit code of a command (-1: none) and what is wrong with its answer; blank where nothing is.

    ``heard``: what stands in its standard input, which is no terminal.
    """
    faults: list[str] = []

    def note(error: BaseException, _more: str = "") -> str:
        faults.append("".join(traceback.format_exception(error)))
        return ""

    code: list[int] = []
    with patch.object(paddock.store.machine, "note", note), _streams(heard) as (out, err):
        said = guarded(lambda: code.append(main(words)))
    if said or faults or not code:
        return code[0] if code else -1, said or (faults or ["ended without a code"])[0]
    return code[0], _wrong_words(words, code[0], _text(out), _text(err))


@contextlib.contextmanager
def _streams(heard: bytes) -> Iterator[tuple[io.TextIOWrapper, io.TextIOWrapper]]:
    """Streams as a pipe has them: bytes below, and as strict about what is no letter."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", errors=how) for how in ("strict", "backslashreplace"))
    stdin = patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(heard), "utf-8"))
    with stdin, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        yield out, err


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    return stream.buffer.getvalue().decode("utf-8", "replace")  # type: ignore[attr-defined, no-any-return]


def _wrong_words(words: Sequence[str], code: int, out: str, err: str) -> str:
    if code not in ({0, 1} if words[0] == "check" else {0}) | {2, 3}:
        return f"exit {code}: {err}"
    if "Traceback" in err:
        return err
    if "\x1b" in out + err:
        return "an escape reaches the terminal"
    if code > 1:
        plain = err.startswith("paddock: ") and len(err.splitlines()) == 1
        return "" if plain and not out else f"exit {code}, not one line of error: {out!r}, {err!r}"
    return _wrong_json(out) if "--json" in words else ""


def _wrong_json(out: str) -> str:
    def never(name: str) -> None:
        raise ValueError(name)

    try:
        whole = json.loads(out, parse_constant=never)
    except (ValueError, RecursionError) as error:
        return f"no JSON: {error}: {out[:300]!r}"
    return "" if len(out.splitlines()) == 1 and whole["format"] == 1 else f"no line of JSON: {out[:300]!r}"


def guarded(does: Callable[[], object]) -> str:
    """What went wrong: an exception that is not the program's own, or too long; blank where nothing did."""

    def late(_number: int, _frame: FrameType | None) -> None:
        raise HangError

    was = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, HANG_S)
    try:
        does()
    except PaddockError:
        return ""
    except AssertionError as error:
        return str(error)
    except (Exception, HangError) as error:
        signal.setitimer(signal.ITIMER_PROF, 0)
        return "".join(traceback.format_exception(error))
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, was)
    return ""


Bytes = dict[str, bytes | int]


def every(folder: str, below: str = "") -> Bytes:
    """Every name in a folder and in those within, from it: its bytes, or what else it is."""
    found: Bytes = {}
    for item in os.scandir(f"{folder}/{below}" if below else folder):
        name = below + item.name
        if item.is_file(follow_symlinks=False):
            with open(item.path, "rb", buffering=0) as file:
                found[name] = file.read()
        else:
            found[name] = stat.S_IFMT(item.stat(follow_symlinks=False).st_mode)
            if item.is_dir(follow_symlinks=False):
                found |= every(folder, name + "/")
    return found
