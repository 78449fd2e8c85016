"""Which file names mean one and the same file on every system."""

from __future__ import annotations

import unicodedata

__all__ = ["folded", "portable"]

_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{digit}" for kind in ("com", "lpt") for digit in range(1, 10))}
_BAD = set('<>:"|?*\\')
_UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def portable(path: str) -> bool:
    """A relative path with forward slashes that stays below its folder and needs no dotted name."""
    return all(_part(part) for part in path.split("/"))


def folded(path: str) -> str:
    """Paths that fold alike are one file on systems that pass over case or the spelling of accents."""
    return unicodedata.normalize("NFC", path).casefold()


def _part(part: str) -> bool:
    if not part or part.startswith(".") or part != part.rstrip(". "):
        return False
    if any(char in _BAD or unicodedata.category(char) in _UNSEEN for char in part):
        return False
    return len(part.encode()) <= 255 and part.partition(".")[0].rstrip().casefold() not in _DEVICES
