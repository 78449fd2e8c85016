"""Why something is so: a name, and the values it is about. Its sentence stands once, in ``paddock.pages.reasons``."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reason:
    """``values``: psi, C and minutes as numbers, corners and axles by their names, other reasons."""

    name: str
    values: tuple[tuple[str, object], ...] = ()


def because(name: str, /, **values: object) -> Reason:
    """A reason of that name."""
    return Reason(name, tuple(values.items()))
