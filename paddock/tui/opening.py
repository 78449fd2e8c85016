"""What runs beside the screens while an event opens: the folder read, home worked out, what comes next fetched."""

from __future__ import annotations

import gc
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.tui.desk import Desk

if TYPE_CHECKING:
    from paddock.session import Session

_OFTEN = (700, 10, 10)
"""Python's own: so many new objects before the collector looks for dropped ones."""


def open_session(folder: Path) -> Session:
    """The event of a folder."""
    from paddock.session import Session

    return Session.open(folder)


def fast_scoring() -> None:
    """Fetch the scorer of many."""
    from paddock.store.machine import why_not_polars

    if why_not_polars() is None:
        import paddock.engine.scoring.standings  # noqa: F401


def make_ready(desk: Desk, opener: Callable[[Path], Session]) -> Session:
    """Open the folder and work the home page out, beside the screens."""
    from paddock.pages.home import home

    session = opener(desk.folder)
    aside = replace(desk)
    aside.take(session)
    found = home(aside.event, aside.number, aside.now(), aside.gap(), aside.day, aside.personal.walk)
    desk.first_home = aside.state, found
    return session


def ready_for_keys() -> None:
    """What the first line typed on home needs, fetched while home is being looked at: its letters, then Enter."""
    for name in ("entry.between", "pages.pressing", "actions.runs", "engine.field.response", "engine.car.balance"):
        import_module(f"paddock.{name}")


def collect_as_usual() -> None:
    """The start put the collector off; what it made stays, and is never looked through again."""
    if gc.get_threshold()[0] > _OFTEN[0]:
        gc.freeze()
        gc.set_threshold(*_OFTEN)
