"""Copies of an event folder on the disk: what is in each, files as texts and back."""

from __future__ import annotations

import hashlib
import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paddock.errors import FolderError
from paddock.model.rows import ROWS
from paddock.store import disk
from paddock.store.folder import why
from paddock.store.places import DOCUMENTS, AstrayError, inside
from paddock.store.records import DELIMITERS, cells_of, ending_of, render, split
from paddock.store.text import BOM, FileFault, decode
from paddock.store.tomlread import loads

CONFLICTS = "merge-conflicts.csv"
"""The list of what copies said differently: file, row, column, the value kept, another value."""

_SMALL = 30_000_000
_STRAY = re.compile(r"(?P<stem>[a-z]+)(?:[ ._~-]|\().*\.(?P<kind>csv|toml)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Content:
    """A file of one copy. ``data`` None: too large to hold, ``digest`` tells it apart."""

    path: Path
    data: bytes | None
    digest: str


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file as texts. ``whole`` False: a record could not be split and is only in the file's own bytes."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    bom: str
    delimiter: str
    newline: str
    whole: bool


def digest(data: bytes) -> str:
    """What tells two contents apart."""
    return hashlib.sha256(data).hexdigest()


def kept_name(file: str, content: Content) -> str:
    """Where a content that lost its name stands: beside it, never read as a file of the event."""
    return f"{file}.kept-{content.digest[:8]}"


def files_in(folder: Path) -> dict[str, Path]:
    """Every plain file by its name in the folder; left out are hidden ones, what ``.paddock`` holds, and links that
    lead outside.

    Raises FolderError for no folder.
    """
    if not folder.is_dir():
        raise FolderError(f"{folder}: there is no such folder")
    found = {}
    for place, below, names in os.walk(folder):
        below[:] = sorted(name for name in below if not name.startswith("."))
        for name in names:
            path = Path(place, name)
            if not name.startswith(".") and path.is_file() and _own(folder, path):
                found[path.relative_to(folder).as_posix()] = path
    return found


def _own(folder: Path, path: Path) -> bool:
    try:
        inside(folder, path.relative_to(folder).as_posix())
    except AstrayError:
        return False
    return True


def content_of(path: Path) -> Content:
    """The bytes of a file. Raises FolderError where it can't be read or is none."""
    try:
        if path.stat().st_size <= _SMALL:
            data = disk.read(path) or b""
            return Content(path, data, digest(data))
        with path.open("rb") as file:
            return Content(path, None, hashlib.file_digest(file, "sha256").hexdigest())
    except OSError as error:
        raise FolderError(f"{path} {why(error)}") from None


def strays_in(folder: Path) -> dict[str, list[Path]]:
    """A sync program's second copies of the event's files, like ``times (conflict).csv``, by the file they copy."""
    found: dict[str, list[Path]] = {}
    for name, path in sorted(files_in(folder).items()):
        match = _STRAY.fullmatch(path.name)
        file = f"{match['stem']}.{match['kind']}".lower() if match else ""
        if name == path.name and name not in ROWS and (file in ROWS or file in DOCUMENTS):
            found.setdefault(file, []).append(path)
    return found


def table_of(file: str, data: bytes) -> Table | None:
    """A CSV file as texts; None where nothing in it can be used."""
    try:
        text = decode(file, data)
    except FileFault:
        return None
    bom = BOM if text.startswith(BOM) else ""
    text = text[len(bom) :]
    first = next((line for line in text.splitlines() if line.strip(" \t,;")), "")
    delimiter = max(DELIMITERS, key=lambda sign: len(cells_of(first, sign)))
    records = split(text, delimiter)
    filled = [record for record in records if record.fault or any(map(str.strip, record.cells))]
    if not filled or filled[0].fault:
        return None
    rows = tuple(tuple(record.cells) for record in filled[1:] if not record.fault)
    newline = ending_of(filled[0].raw) or "\n"
    return Table(tuple(filled[0].cells), rows, bom, delimiter, newline, not any(record.fault for record in filled))


def render_table(headers: Sequence[str], rows: Sequence[Sequence[str]], like: Sequence[Table]) -> bytes:
    """A CSV file in the manner its copies share; where they differ, commas, newlines, no byte-order mark."""
    delimiter, newline, bom = _shared({table.delimiter for table in like}, ","), "\n", ""
    newline = _shared({table.newline for table in like}, "\n")
    bom = _shared({table.bom for table in like}, "")
    return (bom + "".join(render(cells, delimiter, newline) for cells in (headers, *rows))).encode()


def _shared(found: set[str], otherwise: str) -> str:
    return found.pop() if len(found) == 1 else otherwise


def document_of(file: str, data: bytes) -> dict[str, Any] | None:
    """The values of a TOML file; None where it is none."""
    try:
        return loads(file, data)[1]
    except FileFault:
        return None


def render_document(data: bytes, content: Mapping[str, Any]) -> bytes:
    """A TOML file's text with its values brought to ``content``, its comments kept where they stand."""
    import tomlkit

    text = data.decode("utf-8")
    bom = BOM if text.startswith(BOM) else ""
    document = tomlkit.parse(text[len(bom) :])
    _bring(document, tomllib.loads(text[len(bom) :]), content)
    return (bom + tomlkit.dumps(document)).encode()


def _bring(table: Any, now: Mapping[str, Any], wanted: Mapping[str, Any]) -> None:
    for key in sorted(wanted):
        value, old = wanted[key], now.get(key)
        if isinstance(value, Mapping) and isinstance(old, Mapping):
            _bring(table[key], old, value)
        elif old is None or old != value:
            table[key] = _plain(value)


def _plain(value: Any) -> Any:
    """A value tomlkit can write: Decimals by their own text."""
    from decimal import Decimal

    import tomlkit

    if isinstance(value, Decimal):
        return tomlkit.value(str(value) if "." in str(value) else f"{value}.0")
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list) else value
