"""What the car rooms say about a value that is missing or can't be: where, what, and the mend."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

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
