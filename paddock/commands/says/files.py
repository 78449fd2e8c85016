"""What the verbs of files and of the program say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from paddock.commands.says.shape import FaultsLeftOut, Problems, RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionSaid:
    """What ``paddock version`` says."""

    version: Annotated[str, "the program's version"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckSaid:
    """What ``paddock check`` says."""

    problems: Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSaid:
    """What ``paddock new`` says."""

    folder: Annotated[str, "what was made"]
    carried: Annotated[tuple[str, ...], "what was carried over, in words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportUnreadSaid:
    """``unread[]`` of ``paddock import``."""

    line: Annotated[int, "line of the source, 0: the whole table"]
    why: Annotated[str, "line of the source, 0: the whole table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportDifferenceSaid:
    """``differences`` of ``paddock import``."""

    run: Annotated[str, "which run, in words"]
    posted: Annotated[str, "as posted, in words"]
    logged: Annotated[str, "as logged, in words"]
    minutes_left: Annotated[int | None, "minutes left to protest, 0: over, null: not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportSaid:
    """What ``paddock import`` says."""

    mapping: Annotated[dict[str, str], "role to column, as `--map` takes it: one key a role"]
    not_used: Annotated[tuple[str, ...], "the filled columns that no role reads"]
    added: Annotated[int, "counts of runs"]
    updated: Annotated[int, "counts of runs"]
    unchanged: Annotated[int, "counts of runs"]
    unread: Annotated[tuple[ImportUnreadSaid, ...], "what could not be read"]
    differences: Annotated[tuple[ImportDifferenceSaid, ...], "my runs posted otherwise than I logged them"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeConflictSaid:
    """``conflicts[]`` of ``paddock merge``."""

    file: Annotated[str, "the place; row and column blank: the whole file"]
    row: Annotated[str, "the place; row and column blank: the whole file"]
    column: Annotated[str, "the place; row and column blank: the whole file"]
    a: Annotated[str, "both values"]
    b: Annotated[str, "both values"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeSaid:
    """What ``paddock merge`` says."""

    added: Annotated[int, "counts of rows"]
    updated: Annotated[int, "counts of rows"]
    conflicts: Annotated[tuple[MergeConflictSaid, ...], "where the copies differ"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefSaid:
    """What ``paddock debrief`` says."""

    file: Annotated[str, "the page written"]
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportSaid:
    """What ``paddock export`` says."""

    file: Annotated[str, "the zip, the paths in it, its checksum"]
    files: Annotated[tuple[str, ...], "the zip, the paths in it, its checksum"]
    sha256: Annotated[str, "the zip, the paths in it, its checksum"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionSaid:
    """What ``paddock completion`` says."""

    shell: Annotated[str | None, "which, and what to source; null with `words`"]
    script: Annotated[str | None, "which, and what to source; null with `words`"]
    words: Annotated[tuple[str, ...], "with `words`: what may stand where the line's last word has begun"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribeSaid:
    """What ``paddock describe`` says."""

    what: Annotated[str, "`folder`, `event` or `car`"]
    text: Annotated[str | None, "the description of the folder, as Markdown; null of the others"]
    schema: Annotated[dict[str, Any] | None, "JSON Schema of the file; null of `folder`"]
