"""What a verb gives back: the JSON of the contract, and the words for a person."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["Answer"]


@dataclass(frozen=True, slots=True)
class Answer:
    """``data``: the JSON object; ``text``: makes the readable answer, called only when it is wanted.

    ``exact``: the text is for a program to read, and is never folded to the terminal.
    """

    data: Mapping[str, Any]
    text: Callable[[], str]
    exit_code: int = 0
    exact: bool = False
