"""Confirmed column maps, kept in the event folder's ``.paddock/`` and lost without harm."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from paddock.store import disk
from paddock.store.places import kept

_NAME = "import.json"
_MOST = 50
_MOST_BYTES = 1_000_000


def remembered(folder: Path) -> dict[str, dict[str, str]]:
    """Table signature to role and column label; empty where nothing usable is kept."""
    try:
        found = json.loads(disk.read(kept(folder, _NAME), _MOST_BYTES) or b"{}")
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
    maps = dict(list(before.items())[1 - _MOST :]) | {signature: dict(roles)}
    try:
        place = kept(folder, _NAME)
        place.parent.mkdir(exist_ok=True)
        disk.replace(place, json.dumps(maps, indent=1).encode())
    except OSError:
        return
