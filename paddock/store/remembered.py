"""Confirmed column maps, kept in the event folder's ``.paddock/`` and lost without harm."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

__all__ = ["remember", "remembered"]

_PLACE = ".paddock/import.json"
_MOST = 50


def remembered(folder: Path) -> dict[str, dict[str, str]]:
    """Table signature to role and column label; empty where nothing usable is kept."""
    try:
        found = json.loads((folder / _PLACE).read_text(encoding="utf-8"))
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
    kept = dict(list(before.items())[1 - _MOST :]) | {signature: dict(roles)}
    place = folder / _PLACE
    try:
        place.parent.mkdir(exist_ok=True)
        fresh = place.with_suffix(".new")
        fresh.write_text(json.dumps(kept, ensure_ascii=False, indent=1), encoding="utf-8")
        os.replace(fresh, place)
    except OSError:
        return
