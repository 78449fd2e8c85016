"""Personal settings, recent events and lines half typed: in the user's own folders, never in an event's.

A settings file that can't be read never stops the program: the defaults stand and a sentence says why.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import time
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from paddock.store import disk

CORNERS = frozenset({"lf", "rf", "lr", "rr"})
_MOST = 8
_MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Personal:
    """``keys``: binding id to key(s); ``walk``: corners in the order one walks; ``wrong``: what was passed over.

    ``bell``: minutes before a run of mine at which a bell rings; 0: never.
    """

    theme: str = "night"
    walk: tuple[str, ...] = ("lf", "rf", "rr", "lr")
    keys: Mapping[str, str] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()
    bell: int = 0


LONGEST_BELL_MIN = 90


def settings_path() -> Path:
    """The file to edit."""
    from platformdirs import user_config_path

    return user_config_path("paddock") / "settings.toml"


def read_personal(path: Path | None = None) -> Personal:
    """The settings; missing or faulty parts stand at their defaults."""
    path = path or settings_path()
    try:
        data = tomllib.loads((disk.read(path, _MOST_BYTES) or b"").decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        return Personal(wrong=(f"{path}: can't be read ({error}): the usual keys are used",))
    return _bell(_walk(_keys(_theme(Personal(), data), data), data), data)


def _theme(found: Personal, data: Mapping[str, Any]) -> Personal:
    theme = data.get("theme", found.theme)
    if theme in ("night", "sun"):
        return replace(found, theme=theme)
    return replace(found, wrong=(*found.wrong, 'theme: write "night" or "sun"'))


def _walk(found: Personal, data: Mapping[str, Any]) -> Personal:
    walk = data.get("walk", list(found.walk))
    if isinstance(walk, list) and len(walk) == 4 and set(map(str, walk)) == CORNERS:
        return replace(found, walk=tuple(walk))
    return replace(found, wrong=(*found.wrong, 'walk: name the four corners once each, like ["lf", "rf", "rr", "lr"]'))


def _bell(found: Personal, data: Mapping[str, Any]) -> Personal:
    bell = data.get("bell", found.bell)
    if type(bell) is int and 0 <= bell <= LONGEST_BELL_MIN:
        return replace(found, bell=bell)
    return replace(found, wrong=(*found.wrong, f"bell: whole minutes before my run, 0 to {LONGEST_BELL_MIN}"))


def _keys(found: Personal, data: Mapping[str, Any]) -> Personal:
    keys = data.get("keys", {})
    if isinstance(keys, dict) and all(isinstance(value, str) and value for value in keys.values()):
        return replace(found, keys=dict(keys))
    return replace(found, wrong=(*found.wrong, '[keys]: write action = "key", a line each'))


def write_theme(theme: str, path: Path | None = None) -> None:
    """Keep the theme for next time, everything else in the file untouched. Raises OSError, ValueError."""
    import tomlkit

    path = path or settings_path()
    document = tomlkit.parse(path.read_text("utf-8-sig")) if path.exists() else tomlkit.document()
    document["theme"] = theme
    path.parent.mkdir(parents=True, exist_ok=True)
    _put(path, tomlkit.dumps(document))


def _put(path: Path, text: str) -> None:
    beside = path.with_name(f"{path.name}.{os.getpid()}.new")
    beside.write_text(text, encoding="utf-8")
    os.replace(beside, path)


def _recent_path() -> Path:
    from platformdirs import user_state_path

    return user_state_path("paddock") / "recent.json"


def read_recent(path: Path | None = None) -> tuple[Path, ...]:
    """Event folders opened before that are still there, newest first."""
    try:
        found = json.loads(disk.read(path or _recent_path(), _MOST_BYTES) or b"[]")
    except (OSError, ValueError, RecursionError):
        return ()
    texts = [item for item in found if isinstance(item, str)] if isinstance(found, list) else []
    return tuple(Path(item) for item in texts if os.path.isfile(Path(item) / "event.toml"))


def remember(folder: Path, path: Path | None = None) -> None:
    """Put a folder on top of the recent ones. A state folder that can't be written is no fault."""
    path = path or _recent_path()
    whole = folder.resolve()
    kept = [whole, *(item for item in read_recent(path) if item != whole)][:_MOST]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _put(path, json.dumps([str(item) for item in kept], indent=1))
    except OSError:
        return


TAB_VARIABLE = "PADDOCK_TAB"
"""The environment's name for the tab that a process draws for."""
_TAB = re.compile(r"[a-z0-9]{8,32}")
_DAY_S = 86_400
_MOST_BYTES_DRAFTS = 100_000


def is_tab(text: str | None) -> bool:
    """The name of a tab: letters and digits alone, for it becomes a file's."""
    return text is not None and _TAB.fullmatch(text) is not None


def keep(tab: str, folder: Path, page: str, lines: Mapping[str, str]) -> None:
    """Write down the page in front and the line half typed on each page; nothing typed: what was kept goes."""
    try:
        place = _place()
        for old in place.glob("*.json"):
            if old.stem == tab or time.time() - old.stat().st_mtime > _DAY_S:
                old.unlink(missing_ok=True)
        if lines:
            text = json.dumps({"folder": f"{folder.resolve()}", "page": page, "lines": dict(lines)})
            disk.replace(place / f"{tab}.json", text.encode())
    except OSError:  # a draft is a courtesy: nothing else may fail for it
        return


def take(tab: str, folder: Path) -> tuple[str, dict[str, str]] | None:
    """The page in front and the lines by page, taken away; None where none were kept for this folder."""
    try:
        path = _place() / f"{tab}.json"
        found = json.loads((disk.read(path, _MOST_BYTES_DRAFTS) or b"null").decode())
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(found, dict) or found.get("folder") != f"{folder.resolve()}":
        return None
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)
    page, lines = found.get("page"), found.get("lines")
    if not isinstance(page, str) or not isinstance(lines, dict):
        return None
    return page, {name: text for name, text in lines.items() if isinstance(name, str) and isinstance(text, str)}


def _place() -> Path:
    from platformdirs import user_state_path

    place = user_state_path("paddock") / "drafts"
    place.mkdir(parents=True, exist_ok=True)
    return place
