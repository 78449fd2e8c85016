"""What stands beside an event folder: the earlier events of the same cars, and the booked ones."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from paddock.errors import FolderError
from paddock.folders.copies import counted_once, same_event
from paddock.folders.reading import load
from paddock.model.event import Event
from paddock.model.rows import FittedRow
from paddock.model.season import Booking
from paddock.store.seasons import SEASON_FILE, season_file


def _read(folder: Path) -> Event | None:
    try:
        return load(folder)
    except FolderError:
        return None


def earlier_events(folder: Path, event: Event) -> tuple[Event, ...]:
    """Events in the same directory that ended before ``event`` began, in order of date.

    Only folders with fitted tyres are read; one that can't be read is passed over, a copy of another
    counts once (``paddock season`` names both).
    """
    begins = min(event.settings.days, default=None)
    if begins is None:
        return ()
    here = folder.resolve()
    beside = sorted(path.parent for path in here.parent.glob(f"*/{FittedRow.FILE}") if path.parent != here)
    found = [(path.name, other) for path in beside if (other := _read(path)) is not None]
    before = [other for _, other in counted_once(found)[0] if max(other.settings.days, default=date.max) < begins]
    return tuple(sorted(before, key=lambda other: other.settings.days))


def names_beside(folder: Path) -> tuple[str, ...]:
    """Names of the other event folders in the same directory, the one written last first."""
    here = folder.resolve()
    found = [path.parent for path in here.parent.glob("*/event.toml") if path.parent != here]
    return tuple(path.name for path in sorted(found, key=lambda path: _written(path / "event.toml"), reverse=True))


def season_beside(folder: Path, this: Event) -> tuple[Event, ...]:
    """The other events where the folder lies in a season (a directory with ``season.toml``), for what I usually do."""
    here = folder.resolve()
    if not (here.parent / SEASON_FILE).is_file():
        return ()
    from paddock.folders.seasons import open_season

    return tuple(
        event for name, event in open_season(here.parent).events if name != here.name and not same_event(event, this)
    )


def stamp_beside(folder: Path) -> object:
    """Compares unequal once what is read beside the folder may have changed."""
    here = folder.resolve()
    paths = [here.parent / SEASON_FILE, *sorted(here.parent.glob("*/*.csv")), *sorted(here.parent.glob("*/event.toml"))]
    return tuple((path, *_written(path)) for path in paths if path.parent != here)


def _written(path: Path) -> tuple[int, int]:
    """Time and size; nought where there is no such file."""
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size


def booked_beside(folder: Path) -> tuple[Booking, ...]:
    """The events of ``season.toml`` in the same directory; none where there is no such file."""
    season, _ = season_file(folder.resolve().parent)
    return season.events
