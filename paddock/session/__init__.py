"""One event: loaded for reading, or open for edits that are saved, undone and shared."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock.session.loading import event_of, load

if TYPE_CHECKING:
    from paddock.session.opened import Saved, Session

__all__ = ["Saved", "Session", "event_of", "load"]


def __getattr__(name: str) -> object:
    """What is open for edits is imported when it is asked for: reading an event needs no keeper, watch or journal."""
    if name in {"Saved", "Session"}:
        from paddock.session import opened

        return getattr(opened, name)
    raise AttributeError(name)
