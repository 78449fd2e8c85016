"""What is asked about the next event, and its folder made from this one."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.tui.asking import Question, one_of

if TYPE_CHECKING:
    from paddock.engine.pressure.cold import SitePlace
    from paddock.model.event import Event


def next_questions(event: Event, home: Path, coldest: Callable[[], object]) -> list[Question]:
    """Folder, name, days, site, altitude, forecast. ``coldest``: what was answered to it, once it was."""
    from paddock.entry.event import read_days
    from paddock.entry.next_event import folder_of, read_altitude

    def read_folder(text: str) -> Path:
        folder = folder_of(text, home)
        if os.path.lexists(folder) and not (os.path.isdir(folder) and _empty(folder)):
            raise ValueError(f"{folder.name} is there already: choose another name")
        return folder

    old = event.settings
    altitude = "" if old.altitude_m is None else f"{old.altitude_m:g}"
    return [
        Question("folder", "folder", "beside this one, like november_inland", needed=True, read=read_folder),
        Question("name", "name", "as it should be shown"),
        Question("days", "days", "2026-07-11, or 2026-07-11 +1", needed=True, read=read_days),
        Question("site", "site", "where it is held", usual=old.site or ""),
        Question("altitude", "altitude m", "- where it isn't known", usual=altitude, read=read_altitude),
        *_forecast(coldest),
    ]


def _empty(folder: Path) -> bool:
    try:
        return not any(folder.iterdir())
    except OSError:
        return False


def _forecast(coldest: Callable[[], object]) -> list[Question]:
    from paddock.entry.next_event import read_air, read_hottest

    return [
        Question("coldest", "coldest air C", "of the forecast", read=read_air),
        Question("hottest", "hottest air C", "of the forecast", read=lambda text: read_hottest(text, coldest())),
    ]


def index_question(event: Event, given: Mapping[str, object]) -> str | None:
    """What to ask about the index table, None: nothing, or it was answered."""
    from paddock.engine.season.carry import index_question as asks

    days = given["days"]
    assert isinstance(days, tuple)
    return None if "index" in given else asks(event, days)


def index_answer() -> Question:
    """Whether the index table still holds."""
    return Question("index", "still holds", "yes or no", usual="yes", read=one_of(yes="yes", no="no"))


def make_next(home: Path, event: Event, given: Mapping[str, object], place: SitePlace) -> tuple[Path, str]:
    """The folder, and what was carried in words. Raises FolderError."""
    from paddock.folders.starting import carry_on
    from paddock.pages.after import carried_lines

    folder, days, site = given["folder"], given["days"], given.get("site")
    assert isinstance(folder, Path)
    assert isinstance(days, tuple)
    name = str(given.get("name") or folder.name.replace("_", " ").replace("-", " "))
    carried = carry_on(
        home, event, folder, name, days, place, None if site is None else str(site), given.get("index") != "no"
    )
    return folder, "\n".join((f"{folder} is ready; Enter goes there", *carried_lines(carried)))
