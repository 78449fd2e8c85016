"""Tables that lie about: files in the event's folder and the one above that may hold posted results."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from paddock.errors import UsageError
from paddock.model.rows import ROWS
from paddock.store import disk
from paddock.store.disk import kept, typed
from paddock.store.merge import CONFLICTS

_ENDINGS = frozenset((".csv", ".tsv", ".txt", ".htm", ".html"))
_NAME = "import-source.txt"
_MOST = 200
_MOST_BYTES = 10_000


@dataclass(frozen=True, slots=True)
class Near:
    """A file or folder. ``name``: as one would type it; ``where``: here, above, or ""; ``last``: brought in before."""

    path: Path
    name: str
    where: str
    changed: datetime | None
    folder: bool = False
    last: bool = False


def tables_near(folder: Path) -> tuple[Near, ...]:
    """The source used last, then the newest; the event's own tables are left out."""
    last = last_source(folder)
    found = [*_files(folder, folder, "here"), *_files(folder, folder.resolve().parent, "above")]
    if last is not None and all(item.path != last for item in found) and os.path.isfile(last):
        found.append(Near(last, str(last), "", _changed(last), last=True))
    found = [Near(i.path, i.name, i.where, i.changed, i.folder, i.path == last) for i in found]
    return tuple(sorted(found, key=lambda item: (item.last, item.changed or datetime.min), reverse=True)[:_MOST])


def _files(event: Path, place: Path, where: str) -> Iterator[Near]:
    own = {*ROWS, CONFLICTS}
    for path in _listed(place):
        if path.suffix.lower() in _ENDINGS and path.is_file() and not (place == event and path.name in own):
            yield Near(path.resolve(), path.name, where, _changed(path))


def _listed(place: Path) -> list[Path]:
    try:
        return [path for path in place.iterdir() if not path.name.startswith(".")]
    except OSError:
        return []


def _changed(path: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime)
    except (OSError, OverflowError, ValueError):
        return None


def completions(folder: Path, text: str) -> tuple[Near, ...]:
    """What a typed beginning may mean: names near the event that hold it; with a stroke, what that folder holds."""
    if "/" not in text and os.sep not in text and not text.startswith("~"):
        wanted = text.casefold()
        return tuple(item for item in tables_near(folder) if wanted in item.name.casefold())
    try:
        beginning = typed(text)
    except UsageError:
        return ()
    place, begun = (beginning, "") if text.endswith(("/", os.sep)) else (beginning.parent, beginning.name)
    base = place if place.is_absolute() else folder / place
    paths = (path for path in _listed(base) if path.name.casefold().startswith(begun.casefold()))
    return tuple(_typed(path, place) for path in sorted(paths) if path.is_dir() or path.suffix.lower() in _ENDINGS)


def _typed(path: Path, place: Path) -> Near:
    name = str(place / path.name) + ("/" if path.is_dir() else "")
    return Near(path, name, "", _changed(path), path.is_dir())


def last_source(folder: Path) -> Path | None:
    """The file brought in last; None where none is kept."""
    try:
        text = (disk.read(kept(folder, _NAME), _MOST_BYTES) or b"").decode().strip()
    except (OSError, ValueError):
        return None
    return Path(text) if text and "\0" not in text else None


def keep_source(folder: Path, source: Path) -> None:
    """Keep the file brought in; says nothing when it can't, for it is only a convenience."""
    try:
        place = kept(folder, _NAME)
        place.parent.mkdir(exist_ok=True)
        disk.replace(place, f"{source.resolve()}\n".encode())
    except (OSError, ValueError):
        return


_NAME_REMEMBERED = "import.json"
_MOST_REMEMBERED = 50
_MOST_BYTES_REMEMBERED = 1_000_000


def remembered(folder: Path) -> dict[str, dict[str, str]]:
    """Table signature to role and column label; empty where nothing usable is kept."""
    try:
        found = json.loads(disk.read(kept(folder, _NAME_REMEMBERED), _MOST_BYTES_REMEMBERED) or b"{}")
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {kind: roles for kind, roles in found.items() if _is_map(roles)}


def _is_map(roles: object) -> bool:
    return isinstance(roles, dict) and all(isinstance(text, str) for pair in roles.items() for text in pair)


def remember(folder: Path, signature: str, roles: Mapping[str, str]) -> None:
    """Keep a confirmed map; says nothing when it can't, for it is only a convenience."""
    before = remembered(folder)
    if before.get(signature) == dict(roles):
        return
    before.pop(signature, None)
    maps = dict(list(before.items())[1 - _MOST_REMEMBERED :]) | {signature: dict(roles)}
    try:
        place = kept(folder, _NAME_REMEMBERED)
        place.parent.mkdir(exist_ok=True)
        disk.replace(place, json.dumps(maps, indent=1).encode())
    except OSError:
        return
