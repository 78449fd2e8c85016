"""Lines half typed on a page in a browser, kept for the moment it takes to load it again.

One file a tab in the user's own state folder, taken away when it is read; what nobody comes back for goes after a day.
"""

from __future__ import annotations

import contextlib
import json
import re
import time
from collections.abc import Mapping
from pathlib import Path

from paddock.store import disk

TAB_VARIABLE = "PADDOCK_TAB"
"""The environment's name for the tab that a process draws for."""
_TAB = re.compile(r"[a-z0-9]{8,32}")
_DAY_S = 86_400
_MOST_BYTES = 100_000


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
        found = json.loads((disk.read(path, _MOST_BYTES) or b"null").decode())
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
