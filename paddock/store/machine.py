"""The system's clipboard, read through whichever reader the system has."""

from __future__ import annotations

import importlib.util
import os
import platform
import shutil
import subprocess
import sys
import traceback
from functools import cache
from pathlib import Path

from paddock.errors import UsageError
from paddock.store.sources import LIMIT_BYTES

# the system's clipboard, read through whichever reader the system has


_READERS = (
    ("wl-paste", "--no-newline"),
    ("xclip", "-selection", "clipboard", "-o"),
    ("xsel", "--clipboard", "--output"),
    ("pbpaste",),
    ("powershell.exe", "-NoProfile", "-Command", "Get-Clipboard -Raw"),
    ("termux-clipboard-get",),
)
_SECONDS = 5


def read_clipboard() -> bytes:
    """What was copied last, as bytes. Raises UsageError where there is no reader or nothing to read."""
    found = [(path, reader) for reader in _READERS if (path := shutil.which(reader[0]))]
    if not found:
        raise UsageError(
            "this system gives no way to read its clipboard: paste into the command instead, with - as source"
        )
    for path, reader in found:
        try:
            done = subprocess.run([path, *reader[1:]], capture_output=True, timeout=_SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired):
            continue
        if done.returncode == 0 and done.stdout.strip():
            return done.stdout[: LIMIT_BYTES + 1]
    raise UsageError("the clipboard is empty or holds no text")


# whether polars can run on this processor, looked up before it is imported


NEEDED = frozenset({"avx", "avx2", "fma", "bmi1", "bmi2", "movbe"})
_X86 = frozenset({"x86_64", "amd64", "x86", "i386", "i686"})
_WINDOWS_AVX2 = 40  # PF_AVX2_INSTRUCTIONS_AVAILABLE


def lacking(machine: str, flags: frozenset[str] | None, compat: bool) -> frozenset[str]:
    """What a processor lacks for polars; empty: it can run, or nobody can tell (``flags`` None)."""
    if machine.lower() not in _X86 or flags is None or compat:
        return frozenset()
    return NEEDED - flags


def _linux_flags() -> frozenset[str] | None:
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="ascii", errors="replace")
    except OSError:
        return None
    line = next((line for line in text.splitlines() if line.startswith("flags")), None)
    return None if line is None else frozenset(line.partition(":")[2].split())


def _windows_flags() -> frozenset[str] | None:
    import ctypes

    kernel = getattr(ctypes, "windll", None)
    if kernel is None:
        return None
    return NEEDED if kernel.kernel32.IsProcessorFeaturePresent(_WINDOWS_AVX2) else frozenset()


def _flags() -> frozenset[str] | None:
    if sys.platform == "linux":
        return _linux_flags()
    return _windows_flags() if os.name == "nt" else None


@cache
def why_not_polars() -> str | None:
    """A sentence where polars can't or shall not run here, else None. ``PADDOCK_PLAIN=1`` asks for that."""
    if os.environ.get("PADDOCK_PLAIN") == "1":
        return "PADDOCK_PLAIN=1 asks for the plain scorer"
    if importlib.util.find_spec("polars") is None:
        return "polars is not installed: pip install polars"
    compat = importlib.util.find_spec("_polars_runtime_compat") is not None
    missing = lacking(platform.machine(), _flags(), compat)
    if not missing:
        return None
    return f"this processor has no {', '.join(sorted(missing))}, which polars needs: pip install 'paddock[compat]'"


# a note about a fault of the program, in the user's state folder


def note(error: BaseException, more: str = "") -> str:
    """Write the traceback (no values of variables) and ``more``; returns words on where it is."""
    from platformdirs import user_state_path

    from paddock.log import note as record

    record("".join(traceback.format_exception(error)))
    text = "".join(traceback.format_exception(error)) + more
    try:
        folder: Path = user_state_path("paddock", ensure_exists=True)
        (folder / "last-fault.txt").write_text(text, encoding="utf-8")
    except OSError:
        return "no note of it could be written"
    return f"a note of it is in {folder / 'last-fault.txt'}"
