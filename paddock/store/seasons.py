"""A directory of event folders: which there are, and its ``season.toml``."""

from __future__ import annotations

import os
from pathlib import Path

from paddock.errors import FolderError, Problem, UsageError
from paddock.model.season import Season
from paddock.store import disk
from paddock.store.folder import REQUIRED, why
from paddock.store.places import inside, most_bytes
from paddock.store.text import FileFault
from paddock.store.tomlread import loads, read_season

SEASON_FILE = "season.toml"


def event_folders(directory: Path) -> tuple[Path, ...]:
    """Folders in ``directory`` that are meant as events, by name: they hold one of the files an event needs.

    Raises FolderError where there is no directory or no event in it, UsageError where it is an event itself.
    """
    try:
        with os.scandir(directory) as found:
            names = sorted(item.name for item in found if item.is_dir() and not item.name.startswith("."))
    except OSError as error:
        raise FolderError(f"{directory}: {why(error)}") from None
    if (directory / "event.toml").is_file():
        raise UsageError(f"{directory} is one event: name the directory its folder stands in")
    events = tuple(directory / name for name in names if any((directory / name / file).exists() for file in REQUIRED))
    if not events:
        raise FolderError(f"{directory}: no event folder in it (a folder with event.toml)")
    return events


def season_file(directory: Path) -> tuple[Season, tuple[Problem, ...]]:
    """``season.toml``, its bad keys left out and named; the defaults where there is none."""
    try:
        data = disk.read(inside(directory, SEASON_FILE), most_bytes(SEASON_FILE))
        if data is None:
            return Season(), ()
        text, content = loads(SEASON_FILE, data)
    except OSError as error:
        return Season(), (Problem(SEASON_FILE, 0, why(error)),)
    except FileFault as fault:
        return Season(), (fault.problem,)
    season, problems = read_season(SEASON_FILE, text, content)
    return season or Season(), tuple(problems)
