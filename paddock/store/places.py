"""Which files are an event's own and where they may lie: the one rule for reading, saving, undo, joining and packing.

A folder may come from anybody. Nothing in it, neither a name nor a link nor the undo journal, leads the program to a
file outside it.
"""

from __future__ import annotations

import os
import stat
import unicodedata
from pathlib import Path

from paddock.errors import UsageError

DOCUMENTS = ("event.toml", "checklist.toml")
_MOST_TABLE = 8_000_000
_MOST_DOCUMENT = 400_000
_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{digit}" for kind in ("com", "lpt") for digit in range(1, 10))}
_BAD = set('<>:"|?*\\')
_UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


class AstrayError(OSError):
    """A place that leads out of the folder, or where no file stands; ``strerror`` ends a sentence."""

    def __init__(self, why: str) -> None:
        super().__init__(None, why)


def is_table(file: str) -> bool:
    """The name of a CSV file of an event."""
    from paddock.model.rows import ROWS  # the first paint does without

    return file in ROWS


def is_document(file: str) -> bool:
    """The name of a TOML file of an event: ``event.toml``, ``checklist.toml``, ``cars/<name>.toml``."""
    return file in DOCUMENTS or (file.endswith(".toml") and _plain_in("cars", file))


def belongs(file: str) -> bool:
    """The name of a file that the program reads and writes as the event's: a table, a document, ``tracks/<name>``."""
    return is_table(file) or is_document(file) or _plain_in("tracks", file)


def most_bytes(file: str) -> int:
    """The size from which a file is refused before it is read: far above any event, and what memory can bear."""
    return _MOST_TABLE if is_table(file) else _MOST_DOCUMENT


def _plain_in(place: str, file: str) -> bool:
    return file.startswith(f"{place}/") and file.count("/") == 1 and portable(file)


def portable(path: str) -> bool:
    """A relative path with forward slashes that stays below its folder, needs no dotted name and can stand on every
    system."""
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


def typed(text: str) -> Path:
    """A path as a person wrote it. Raises UsageError, with the reason, where it can be none."""
    if not text.isprintable():
        raise UsageError("a path holds no control characters")
    whole = os.path.expanduser(text)
    if whole.startswith("~"):
        raise UsageError(f"there is no user {text[1:].split('/', maxsplit=1)[0]!r} here: write the whole path")
    longest = max((len(part.encode("utf-8", "replace")) for part in whole.split("/")), default=0)
    if longest > 255 or len(whole) > 4000:
        raise UsageError("that is longer than a path can be")
    return Path(whole)


def inside(folder: Path, file: str) -> Path:
    """Where a file lies. Raises AstrayError where a link on the way leads outside the folder."""
    path = folder
    for part in file.split("/"):
        path = path / part
        if path.is_symlink() and not Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder)):
            raise AstrayError("is a link that leads outside the folder: put the file itself in its place")
    return path


def may_go_into(folder: Path, place: str) -> bool:
    """``place`` is a folder of this folder's own, no link."""
    try:
        return stat.S_ISDIR(os.lstat(folder / place).st_mode)
    except OSError:
        return False


def kept(folder: Path, name: str) -> Path:
    """A file the program keeps for itself, in ``.paddock``. Raises AstrayError for a link or what is no file."""
    path = folder / ".paddock"
    for place, wanted in ((path, stat.S_ISDIR), (path / name, stat.S_ISREG)):
        try:
            found = os.lstat(place).st_mode
        except FileNotFoundError:
            break
        if not wanted(found):
            raise AstrayError(f"{place.relative_to(folder)} is a link or another thing that does not belong there")
    return path / name
