"""The system's clipboard, read through whichever reader the system has."""

from __future__ import annotations

import shutil
import subprocess

from paddock.errors import UsageError
from paddock.store.sources import LIMIT_BYTES

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
