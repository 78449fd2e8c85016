"""What can go wrong, and how it is said.

PaddockError            owns its sentence and its exit code
  UsageError        2   wrong use, an unknown number, an impossible value
  FolderError       3   the folder can't be read or written, or is too faulty to answer
    SaveError       3   an edit could not be put on the disk (kept in memory)
    LockedError     3   another copy of the program is writing
  RefusedError      2   an edit, undo or redo that can't be done, with the reason
Problem                 a fault or a doubt in the user's files: a value, never raised
Finding                 the same of one value of a car, before it is known which file it stands in
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Level = Literal["fault", "warning"]


class PaddockError(Exception):
    """A failed operation: ``str(error)`` is one sentence for the user."""

    exit_code = 1


class UsageError(PaddockError):
    """Wrong use, an unknown number or an impossible value."""

    exit_code = 2


class RefusedError(PaddockError):
    """An edit that can't be done, with the reason."""

    exit_code = 2


class FolderError(PaddockError):
    """The folder can't be read or written, or is too faulty to answer."""

    exit_code = 3


class SaveError(FolderError):
    """An edit could not be put on the disk; it is kept in memory."""


class LockedError(FolderError):
    """Another copy of the program is writing to the folder."""


_MOST = 1000
"""Letters of a finding: what it quotes from a file may be megabytes."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One finding: ``file`` relative to the folder, ``line`` from 1 (0 = the whole file)."""

    file: str
    line: int
    message: str
    level: Level = "fault"

    def __post_init__(self) -> None:
        if len(self.message) > _MOST:  # the mend stands at the end
            object.__setattr__(self, "message", f"{self.message[: _MOST // 2]} … {self.message[-_MOST // 3 :]}")

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.level}: {self.message}"

    @property
    def at_line(self) -> str:
        """``, line 3`` for a sentence; blank for the whole file."""
        return f", line {self.line}" if self.line else ""


EXTRAS = {
    "pages": ("lxml",),
    "sheets": ("xlsxwriter",),
    "web": ("textual_serve", "aiohttp", "aiohttp_jinja2", "segno"),
    "cluster": ("distributed",),
}
"""Which modules an extra of the installation brings."""
_FOR = {
    "pages": "reading a saved page", "sheets": "writing a spreadsheet", "web": "showing the screens in a browser",
    "cluster": "counting on a cluster",
}  # fmt: skip


def missing(error: ModuleNotFoundError) -> UsageError | None:
    """What to install; None where the module is a part of paddock itself: that is a fault of the program."""
    name = (error.name or "").partition(".")[0]
    if name in {"", "paddock"}:
        return None
    extra = next((extra for extra, modules in EXTRAS.items() if name in modules), None)
    if extra is None:
        return UsageError(f"{name} is not installed: pip install . in the folder paddock came in brings it")
    return UsageError(
        f"{_FOR[extra]} needs {name}, which is not installed: "
        f"pip install '.[{extra}]' in the folder paddock came in brings it"
    )


UNSAID = {"json": False}
"""Marks a field of an answer that its JSON does not have."""


@dataclass(frozen=True, slots=True)
class Finding:
    """``key``: dotted key of the car file (``rear.bar.left``); ``fault``: can't be; ``warning``: missing, doubtful."""

    key: str
    message: str
    level: Literal["fault", "warning"] = "fault"

    def __str__(self) -> str:
        return f"{self.key}: {self.level}: {self.message}"


def fault(key: str, message: str) -> Finding:
    """A value that can't be; it is left out and the rest is computed."""
    return Finding(key, message, "fault")


def doubt(key: str, message: str) -> Finding:
    """A value that is missing or doubtful, with what is done without it."""
    return Finding(key, message, "warning")


def merged(*groups: Iterable[Finding]) -> tuple[Finding, ...]:
    """All findings in order, each said once."""
    return tuple(dict.fromkeys(item for group in groups for item in group))
