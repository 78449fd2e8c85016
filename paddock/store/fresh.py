"""A new event folder, from the template that ships with the program."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from importlib.resources import files
from pathlib import Path

from paddock.errors import FolderError
from paddock.model.columns import spec_of
from paddock.model.rows import EntrantRow, TimeRow
from paddock.store.aside import InTheWayError, built


def template(
    name: str, days: Sequence[date], numbers: Sequence[str], own_id: str, more: Mapping[tuple[str, ...], object]
) -> str:
    """``event.toml`` of a new event, with its explanations. ``more``: further keys by path; None is left out."""
    import tomlkit

    document = tomlkit.parse(files("paddock").joinpath("data/event.toml").read_text(encoding="utf-8"))
    document["name"] = name
    document["days"] = list(days)
    document["mine"]["numbers"] = list(numbers)
    document["id"] = own_id
    for (*tables, key), value in more.items():
        inside = document[tables[0]] if tables else document
        if value is not None:
            inside[key] = value
    return tomlkit.dumps(document)


def default_checklists() -> str:
    """The text of the checklists that ship with the program."""
    return files("paddock").joinpath("data/checklist.toml").read_text(encoding="utf-8")


def _header(file: str) -> str:
    return ",".join(column.header for column in spec_of(file).columns) + "\n"


@contextlib.contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """An empty folder to write into, which is ``folder`` when the block ends. Raises FolderError where something stands
    there or it can't be written; then nothing is."""
    try:
        with built(folder) as draft:
            yield draft
    except InTheWayError:
        raise FolderError(f"{folder} is there already and not empty: choose another name") from None
    except OSError as error:
        raise FolderError(f"{folder} can't be made: {(error.strerror or str(error)).lower()}") from None


def write_fresh(
    folder: Path, name: str, days: Sequence[date], numbers: Sequence[str], own_id: str,
    more: Mapping[tuple[str, ...], object],
) -> None:  # fmt: skip
    """Write an event that passes ``check``; arguments as of ``template``. Raises FolderError."""
    entrants = _header(EntrantRow.FILE) + "".join(f"{number},,,OPEN,,,,,\n" for number in numbers)
    texts = {
        "event.toml": template(name, days, numbers, own_id, more),
        EntrantRow.FILE: entrants,
        TimeRow.FILE: _header(TimeRow.FILE),
        "checklist.toml": default_checklists(),
    }
    with new_folder(folder) as draft:
        for file, text in texts.items():
            (draft / file).write_text(text, encoding="utf-8", newline="\n")
