"""What widgets tell their page."""

from __future__ import annotations

from dataclasses import dataclass

from textual.message import Message

__all__ = ["Stepped", "Told"]


@dataclass
class Told(Message):
    """Words for the line under the entry. ``loud``: something is wrong or waits for an answer."""

    text: str
    loud: bool = False


@dataclass
class Stepped(Message):
    """A stepper was tapped: ``by`` steps, up or down."""

    name: str
    by: int
