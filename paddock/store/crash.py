"""A note about a fault of the program, in the user's state folder."""

from __future__ import annotations

import traceback
from pathlib import Path


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
