"""What widgets tell their page."""

from __future__ import annotations

from dataclasses import dataclass

from textual.message import Message


@dataclass
class Told(Message):
    """Words for the line under the entry. ``loud``: something is wrong or waits for an answer."""

    text: str
    loud: bool = False
