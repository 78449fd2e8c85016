"""The keys to tap in a browser without a keyboard. What each sends is what a terminal sends for it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TapKey:
    """``label`` stands on the button, ``name`` is read out."""

    label: str
    name: str
    send: str


def _plain(letters: str) -> tuple[TapKey, ...]:
    return tuple(TapKey(letter, letter, letter) for letter in letters)


KEYS: tuple[tuple[TapKey, ...], ...] = (
    (
        TapKey("all", "all actions", "\x10"),
        TapKey("back", "back", "\x1b"),
        TapKey("⇤", "field before", "\x1b[Z"),
        TapKey("⇥", "next field", "\t"),
        TapKey("↑", "up", "\x1b[A"),
        TapKey("↓", "down", "\x1b[B"),
        TapKey("←", "left", "\x1b[D"),
        TapKey("→", "right", "\x1b[C"),
        TapKey("⏎", "enter", "\r"),
    ),
    (*_plain("1234567890"), TapKey("⌫", "delete", "\x7f")),
    (
        *_plain("uom+.-"),
        TapKey("space", "space", " "),
        TapKey("miss", "missed gate", " miss"),
        TapKey("dnf", "did not finish", " dnf"),
        TapKey("☀", "sun or night", "\x1bOQ"),
    ),
)
"""Rows of the bar; the first is always shown, the others are what a run is typed with."""
