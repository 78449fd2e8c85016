"""Copies of an event folder on the disk: what is in each, files as texts and back."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from paddock.errors import FolderError, LockedError, Problem, SaveError
from paddock.model.columns import spec_of
from paddock.model.rows import ROWS
from paddock.store import aside, disk
from paddock.store.csvfile import CsvFile
from paddock.store.disk import BOM, DOCUMENTS, AstrayError, FileFault, decode, inside, kept
from paddock.store.folder import Doc, why
from paddock.store.journal import JournalEntry
from paddock.store.layout import DELIMITERS, cells_of, ending_of, layout_of, render, split
from paddock.store.rowsteps import KeyStep, RowStep, SavedStep, named_cells
from paddock.store.spoken import key_name
from paddock.store.tomlfile import TomlFile
from paddock.store.tomlread import loads

# true conflicts: the same thing changed here and by other hands. Theirs stays in the file, mine is kept here


_HEADER = ["what", "file", "row", "column", "mine", "theirs"]


@dataclass(frozen=True, slots=True)
class MergeConflict:
    """One cell or key: as it would be by my edit, as it is in the file. Blank: nothing there."""

    file: str
    row: str
    column: str
    mine: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """An edit that could not be put in because other hands changed the same thing."""

    entry: JournalEntry
    reason: str
    differences: tuple[MergeConflict, ...]


def conflict_of(entry: JournalEntry, reason: str, docs: Mapping[str, Doc]) -> Conflict:
    """What an entry wanted, beside what its files hold now."""
    found = [item for step in entry.steps for item in _differences(step, docs.get(step.file))]
    return Conflict(entry, reason, tuple(found))


def _differences(step: SavedStep, doc: Doc | None) -> list[MergeConflict]:
    if isinstance(step, KeyStep):
        theirs = doc.value(step.path) if isinstance(doc, TomlFile) else None
        mine, there = ("" if value is None else str(value) for value in (step.after, theirs))
        return [MergeConflict(step.file, "", ".".join(step.path), mine, there)] if mine != there else []
    return _cells(step, doc) if isinstance(step, RowStep) else []


def _cells(step: RowStep, doc: Doc | None) -> list[MergeConflict]:
    row = layout_of(spec_of(step.file), step.headers).read(
        cells_of(step.after or step.before or "", step.delimiter), 0
    )[0]
    mine = named_cells(step.headers, cells_of(step.after or "", step.delimiter))
    theirs: dict[str, str] = {}
    if isinstance(doc, CsvFile) and row is not None:
        same = next((record for record in doc.records if record.row is not None and record.row.key == row.key), None)
        theirs = {} if same is None else named_cells(doc.layout.headers, same.cells)
    name = step.file if row is None else key_name(step.file, row.key)
    pairs = ((column, mine.get(column, ""), theirs.get(column, "")) for column in {**mine, **theirs})
    return [MergeConflict(step.file, name, column, ours, other) for column, ours, other in pairs if ours != other]


def keep(folder: Path, conflict: Conflict) -> None:
    """Appends to ``.paddock/conflicts.csv``. Raises OSError."""
    path = kept(folder, "conflicts.csv")
    path.parent.mkdir(exist_ok=True)
    lines = [] if path.exists() else [_HEADER]
    lines += [[conflict.entry.label, d.file, d.row, d.column, d.mine, d.theirs] for d in conflict.differences]
    disk.append(path, "".join(render(line, ",", "\n") for line in lines).encode())


CONFLICTS = "merge-conflicts.csv"
"""The list of what copies said differently: file, row, column, the value kept, another value."""

_LOOKED_AT = "looked-at.csv"
_MOST_LOOKED_AT = 1_000_000


def looked_at(folder: Path) -> frozenset[tuple[str, ...]]:
    """Lines of the list of conflicts, and copies, that were looked at on this device; none where it can't be told."""
    try:
        text = (disk.read(kept(folder, _LOOKED_AT), _MOST_LOOKED_AT) or b"").decode()
    except (OSError, ValueError):
        return frozenset()
    return frozenset(tuple(record.cells) for record in split(text, ",") if not record.fault)


def look_at(folder: Path, line: Sequence[str]) -> None:
    """Keep that a line was looked at; says nothing when it can't: it is told again then."""
    with contextlib.suppress(OSError):
        path = kept(folder, _LOOKED_AT)
        path.parent.mkdir(exist_ok=True)
        disk.append(path, render(line, ",", "\n").encode())


_SMALL = 30_000_000
_ID = re.compile(rb"""^id\s*=\s*(["'])(.*?)\1""", re.MULTILINE)
_STRAY = re.compile(r"(?P<stem>[a-z]+)(?:[ ._~-]|\().*\.(?P<kind>csv|toml)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class CopiedFile:
    """A file of one copy. ``data`` None: too large to hold, ``digest`` tells it apart."""

    path: Path
    data: bytes | None
    digest: str


@dataclass(frozen=True, slots=True)
class MergedFile:
    """A CSV file as texts. ``whole`` False: a record could not be split and is only in the file's own bytes.
    ``cut``: the last row ends in the middle, without a line ending and short of cells."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    bom: str
    delimiter: str
    newline: str
    whole: bool
    cut: bool = False

    def without_stump(self, others: Iterable[MergedFile]) -> MergedFile:
        """Without its last row where that is cut and a row of another copy may go on from it."""
        if not self.cut:
            return self
        stump = dict(zip(self.headers, self.rows[-1], strict=False))
        last = self.headers[len(self.rows[-1]) - 1]
        longer = False
        for other in others:
            for cells in other.rows[:-1] if other.cut else other.rows:
                row = dict(zip(other.headers, cells, strict=False))
                if any(row.get(name, "") != cell for name, cell in stump.items() if name != last):
                    continue
                rest = row.get(last, "").startswith(stump[last])
                if row.get(last, "") == stump[last] and not any(row[name] for name in row if name not in stump):
                    return self
                longer |= rest
        return replace(self, rows=self.rows[:-1], whole=False, cut=False) if longer else self


def digest(data: bytes) -> str:
    """What tells two contents apart."""
    return hashlib.sha256(data).hexdigest()


def kept_name(file: str, content: CopiedFile) -> str:
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


def content_of(path: Path) -> CopiedFile:
    """The bytes of a file. Raises FolderError where it can't be read or is none."""
    try:
        if path.stat().st_size <= _SMALL:
            data = disk.read(path) or b""
            return CopiedFile(path, data, digest(data))
        with path.open("rb") as file:
            return CopiedFile(path, None, hashlib.file_digest(file, "sha256").hexdigest())
    except OSError as error:
        raise FolderError(f"{path} {why(error)}") from None


def id_in(folder: Path) -> str:
    """The event's ``id`` as the head of ``event.toml`` has it, "" where there is none; asked of every folder beside an
    event, so nothing else of the file is read."""
    try:
        data = disk.read(folder / "event.toml", disk.most_bytes("event.toml")) or b""
    except OSError:
        return ""
    found = _ID.search(data.partition(b"\n[")[0])
    return found[2].decode(errors="replace").strip() if found else ""


def strays_in(folder: Path) -> dict[str, list[Path]]:
    """A sync program's second copies of the event's files, like ``times (conflict).csv``, by the file they copy."""
    found: dict[str, list[Path]] = {}
    for name, path in sorted(files_in(folder).items()):
        match = _STRAY.fullmatch(path.name)
        file = f"{match['stem']}.{match['kind']}".lower() if match else ""
        if name == path.name and name not in ROWS and (file in ROWS or file in DOCUMENTS):
            found.setdefault(file, []).append(path)
    return found


def table_of(file: str, data: bytes) -> MergedFile | None:
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
    whole = not any(record.fault for record in filled)
    cut = whole and bool(rows) and not ending_of(records[-1].raw) and 0 < len(rows[-1]) < len(filled[0].cells)
    return MergedFile(tuple(filled[0].cells), rows, bom, delimiter, newline, whole, cut)


def render_table(headers: Sequence[str], rows: Sequence[Sequence[str]], like: Sequence[MergedFile]) -> bytes:
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
        if not value.is_finite():
            return tomlkit.value("nan" if value.is_nan() else "-inf" if value < 0 else "inf")
        return tomlkit.value(str(value) if any(sign in str(value) for sign in ".E") else f"{value}.0")
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list) else value


# the joined folder written: at any moment of it no value of either copy is lost, and once more goes on from there


_LOCK_WAIT_S = 5.0


def begun_conflicts(folder: Path) -> Path | None:
    """The list of conflicts from before a merge that was broken off; None where none was."""
    try:
        mark = kept(folder, disk.MERGE_MARK)
    except OSError:
        return None
    return mark if mark.is_file() else None


def broken_off(folder: Path) -> tuple[Problem, ...]:
    """What ``check`` says of a merge that was not finished."""
    why = (
        f"a merge into this folder was broken off: merge once more, or delete .paddock/{disk.MERGE_MARK} to leave it so"
    )
    return (Problem(CONFLICTS, 0, why, "warning"),) if begun_conflicts(folder) else ()


def write_joined(
    target: Path, made: Mapping[str, bytes], copied: Mapping[str, CopiedFile], known: Mapping[str, str]
) -> None:
    """Puts the joined files into ``target``, each whole or not at all; the list of conflicts and the names that are new
    come first, so that what is replaced stands elsewhere already. A new folder is put in its place in one step.

    ``known``: digests of the target's own files as they were read; one that changed since stops the merge.
    Raises FolderError, LockedError, SaveError.
    """
    try:
        if not known:
            with aside.built(target) as draft:
                _put(draft, made, copied, known)
            return
        if not made and not copied and begun_conflicts(target) is None:
            return
        with _locked(target):
            _nothing_in_the_way(target, {*made, *copied} - known.keys())
            _mark(target)
            disk.sweep(target)
            _put(target, made, copied, known)
            disk.remove(kept(target, disk.MERGE_MARK))
    except disk.MovedError:
        raise SaveError(f"{target}: a file changed while it was joined; merge once more") from None
    except aside.InTheWayError:
        raise SaveError(f"{target} is there already and not empty: choose another name") from None
    except OSError as error:
        raise disk.save_error(str(target), error) from None


def _nothing_in_the_way(target: Path, new: Iterable[str]) -> None:
    """A pipe or a folder where a new file belongs stops the merge before its first file, not half way."""
    for file in sorted(new):
        place = inside(target, file)
        if place.exists() and _digest(place) is not None:
            raise disk.MovedError
        for above in (target / name for name in list(Path(file).parents)[:-1]):
            if above.exists() and not above.is_dir():
                raise FolderError(f"{above} is a file, a folder is wanted: move it away")


def _mark(target: Path) -> None:
    """What this merge lists is no choice made by hand: the list from before is kept till it is through."""
    if begun_conflicts(target) is None:
        disk.replace(kept(target, disk.MERGE_MARK), disk.read(inside(target, CONFLICTS)) or b"")


def _put(folder: Path, made: Mapping[str, bytes], copied: Mapping[str, CopiedFile], known: Mapping[str, str]) -> None:
    for file in sorted({*made, *copied}, key=lambda file: (file != CONFLICTS, file in known, file)):
        place = inside(folder, file)
        place.parent.mkdir(parents=True, exist_ok=True)

        def as_read(place: Path = place, file: str = file) -> bool:
            return known.get(file) == _digest(place)

        if file in made:
            disk.replace(place, made[file], as_read)
        else:
            disk.copy(copied[file].path, place, as_read)


def _digest(place: Path) -> str | None:
    return content_of(place).digest if place.exists() else None


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The lock an open event saves under."""
    import filelock

    place = kept(folder, "lock")
    place.parent.mkdir(exist_ok=True)
    lock = filelock.FileLock(place, timeout=_LOCK_WAIT_S, poll_interval=0.01)
    try:
        lock.acquire()
    except filelock.Timeout:
        raise LockedError(f"{folder}: another copy of the program is writing") from None
    try:
        yield
    finally:
        lock.release()
