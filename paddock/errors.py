"""What can go wrong, and how it is said.

PaddockError            owns its sentence and its exit code
  UsageError        2   wrong use, an unknown number, an impossible value
  FolderError       3   the folder can't be read or written, or is too faulty to answer
    SaveError       3   an edit could not be put on the disk (kept in memory)
    ConflictError   3   the file was changed by other hands; both versions kept
    LockedError     3   another copy of the program is writing
  RefusedError      2   an edit, undo or redo that can't be done, with the reason
Problem                 a fault or a doubt in the user's files: a value, never raised
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "ConflictError",
    "FolderError",
    "LockedError",
    "PaddockError",
    "Problem",
    "RefusedError",
    "SaveError",
    "UsageError",
]

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


class ConflictError(FolderError):
    """The file was changed by other hands; both versions are kept."""


class LockedError(FolderError):
    """Another copy of the program is writing to the folder."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One finding: ``file`` relative to the folder, ``line`` from 1 (0 = the whole file)."""

    file: str
    line: int
    message: str
    level: Level = "fault"

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.level}: {self.message}"
