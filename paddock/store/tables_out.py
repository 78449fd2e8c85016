"""Rows out to Parquet, for any engine, and to a spreadsheet in which no cell is ever executed."""

from __future__ import annotations

import io
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.errors import FolderError, Problem, UsageError
from paddock.model.columns import ColumnSpec, spec_of
from paddock.model.event import Event
from paddock.model.rows import ROWS
from paddock.model.season import Season
from paddock.store import disk
from paddock.store.archive import write_whole
from paddock.store.disk import FileFault, inside, most_bytes
from paddock.store.folder import REQUIRED, why
from paddock.store.tomlread import loads, read_season

if TYPE_CHECKING:
    import polars as pl


# a directory of event folders: which there are, and its ``season.toml``


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


CellType = type
"""One of ``str int float bool date``."""
_STARTS = re.compile(r"[\s\x00-\x1f]*[=+\-@＝＋－＠]|[\t\r\n]")
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


def frame(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, CellType]) -> pl.DataFrame:
    """``rows`` as a frame of exactly ``columns``, typed; None is null. Needs polars (see scoring.need_polars)."""
    import polars as pl

    types = {str: pl.String, int: pl.Int64, float: pl.Float64, bool: pl.Boolean, date: pl.Date}
    data = {name: [row[name] for row in rows] for name in columns}
    return pl.DataFrame(data, schema={name: types[kind] for name, kind in columns.items()})


def inert(text: str) -> str:
    """A text no spreadsheet takes for a formula: an apostrophe before ``= + - @``, unless it is a number."""
    return f"'{text}" if _STARTS.match(text) and not _NUMBER.fullmatch(text.strip()) else text


def write_parquet(frames: Mapping[str, pl.DataFrame], directory: Path) -> tuple[Path, ...]:
    """One ``<name>.parquet`` each. Raises FolderError."""
    directory.mkdir(parents=True, exist_ok=True)
    files = []
    for name, table in frames.items():
        out = io.BytesIO()
        table.write_parquet(out)
        files.append(directory / f"{name}.parquet")
        write_whole(files[-1], out.getvalue())
    return tuple(files)


def write_partitioned(table: pl.DataFrame, directory: Path, by: Sequence[str]) -> tuple[Path, ...]:
    """``directory/season=2026/event=.../*.parquet``: folders name the values of ``by``, files hold the rest.

    Takes the place of what stood there, if that was such a tree; raises UsageError when it was not,
    FolderError when it can't be written. Rows with nothing in ``by`` stand under ``__HIVE_DEFAULT_PARTITION__``.
    """
    _ours(directory, by)
    try:
        directory.parent.mkdir(parents=True, exist_ok=True)
        draft = Path(tempfile.mkdtemp(dir=directory.parent, prefix=".parquet-"))
        try:
            if table.height:
                _sink(table, draft / "new", by)
            else:
                _empty(table, draft / "new", by)
            if directory.exists():
                directory.replace(draft / "old")
            (draft / "new").replace(directory)
        finally:
            shutil.rmtree(draft, ignore_errors=True)
    except OSError as error:
        raise FolderError(f"{directory} can't be written: {error.strerror or error}") from error
    return tuple(sorted(directory.rglob("*.parquet")))


def _sink(table: pl.DataFrame, directory: Path, by: Sequence[str]) -> None:
    """The columns of ``by`` only in the folders' names: other engines refuse a column that stands twice."""
    import polars as pl

    table.lazy().sink_parquet(pl.PartitionBy(directory, key=list(by), include_key=False), mkdir=True)


def _empty(table: pl.DataFrame, directory: Path, by: Sequence[str]) -> None:
    """No rows, yet the columns can be read."""
    place = directory.joinpath(*(f"{name}=none" for name in by))
    place.mkdir(parents=True)
    table.drop(by).write_parquet(place / "0.parquet")


def _ours(directory: Path, by: Sequence[str]) -> None:
    if not directory.exists():
        return
    for path in directory.rglob("*"):
        parts = path.relative_to(directory).parts
        folders = parts if path.is_dir() else parts[:-1]
        named = all(part.startswith(f"{name}=") for part, name in zip(folders, by, strict=False))
        if path.is_symlink() or not named or not (path.is_dir() or path.suffix == ".parquet"):
            raise UsageError(f"{directory} holds other things ({path.name}): name a new folder")


def write_spreadsheet(frames: Mapping[str, pl.DataFrame], target: Path, created: date | None = None) -> None:
    """One sheet each in an ``.xlsx``; texts are made ``inert``, and links are not followed. Raises FolderError."""
    from xlsxwriter import Workbook

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with Workbook(out, options) as book:
        when = created or date(2000, 1, 1)
        book.set_properties({"created": datetime(when.year, when.month, when.day)})
        for name, table in frames.items():
            _calm(table).write_excel(book, _sheet_name(name, book), table_style="Table Style Light 1", autofit=True)
    write_whole(target, out.getvalue())


def _calm(table: pl.DataFrame) -> pl.DataFrame:
    import polars as pl

    texts = [name for name, kind in table.schema.items() if kind == pl.String]
    return table.with_columns(pl.Series(name, _inert_all(table[name]), pl.String) for name in texts)


def _inert_all(texts: Iterable[str | None]) -> list[str | None]:
    """A cell holds 32,767 letters at most; what is over is cut, and said with three dots."""
    return [None if text is None else _short(inert(text)) for text in texts]


def _short(text: str) -> str:
    return text if len(text) <= 32_767 else text[:32_764] + "..."


def _sheet_name(name: str, book: Any) -> str:
    plain = re.sub(r"[\[\]:*?/\\']", " ", name).strip()[:28] or "table"
    taken = {sheet.get_name().casefold() for sheet in book.worksheets()}
    return next(text for text in (plain, *(f"{plain} {at}" for at in range(2, 99))) if text.casefold() not in taken)


def event_frames(event: Event) -> dict[str, pl.DataFrame]:
    """Every table of an event by its file's name, columns named as in the contract, in the units kept inside."""
    frames = {}
    for file in ROWS:
        spec = spec_of(file)
        rows = event.tables.get(file, ())
        names = {column.field: _name(column) for column in spec.columns}
        kinds = {_name(column): _KINDS.get(column.kind.name, str) for column in spec.columns}
        frames[file.removesuffix(".csv")] = frame(
            [{name: getattr(row, field) for field, name in names.items()} for row in rows], kinds
        )
    return frames


_KINDS: Mapping[str, CellType] = {
    "time": int, "float": float, "ordinal": int, "count": int, "balance": int, "flag": bool, "date": date,
}  # fmt: skip


def _name(column: ColumnSpec) -> str:
    return column.field if column.kind.name == "time" else column.header
