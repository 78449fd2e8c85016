"""Copies of an event folder joined: read, brought together file by file, written to one of them or to a third."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from paddock.engine.merge import Clash, CopiedTable, merge_documents, merge_tables
from paddock.engine.merge.tables import ClashesSeen
from paddock.errors import FolderError, Problem, UsageError
from paddock.model.rows import ROWS
from paddock.store import merge as store
from paddock.store.aside import InTheWayError, ready
from paddock.store.disk import is_document
from paddock.store.folder import REQUIRED
from paddock.store.merge import CopiedFile, MergedFile, begun_conflicts, write_joined
from paddock.words import plural

T = TypeVar("T")

_HEADER = ("file", "row", "column", "kept", "other")
ConflictLine = tuple[str, ...]
"""File, row, column, the value kept, another one."""


@dataclass(frozen=True, slots=True)
class Stray:
    """A second copy of ``file`` that a sync program left; ``news``: how many rows and cells it says that the file
    does not."""

    path: Path
    file: str
    news: int


@dataclass(frozen=True, slots=True)
class Merged:
    """``added`` and ``updated`` count rows and keys of the target; ``files``: those written; ``beside``: files that
    could not be joined, and where the other content stands; ``strays`` were there and not taken in."""

    target: Path
    added: int
    updated: int
    clashes: tuple[Clash, ...]
    files: tuple[str, ...]
    beside: tuple[tuple[str, str], ...]
    strays: tuple[Stray, ...]

    @property
    def conflicts(self) -> int:
        """Places where the copies differ, a whole file counted once."""
        return len(self.clashes) + len(self.beside)


@dataclass(slots=True)
class _Result:
    """``known``: the target's own contents as they were read."""

    made: dict[str, bytes] = field(default_factory=dict)
    copied: dict[str, CopiedFile] = field(default_factory=dict)
    known: dict[str, str] = field(default_factory=dict)
    added: int = 0
    updated: int = 0
    clashes: list[Clash] = field(default_factory=list)
    beside: list[tuple[str, str]] = field(default_factory=list)

    def put(self, file: str, content: CopiedFile) -> None:
        """The file as one copy has it."""
        if content.data is not None:
            self.made[file] = content.data
        else:
            self.copied[file] = content

    def only_new(self) -> None:
        """Forgets what the target has already."""
        self.made = {file: data for file, data in self.made.items() if self.known.get(file) != store.digest(data)}
        self.copied = {file: it for file, it in self.copied.items() if self.known.get(file) != it.digest}


def merge_folders(a: Path, b: Path, into: Path | None = None, copies: bool = False) -> Merged:
    """Joins ``a`` and ``b`` into ``into``, or into ``a``; what ``into`` holds already is joined as well.

    ``copies``: second copies a sync program left in them are taken in too. Whatever the order of ``a`` and
    ``b``, the files come out the same, and once more changes nothing. Raises UsageError, FolderError, SaveError.
    """
    folders = _folders(a, b, into, copies)
    target = into if into is not None else a
    sources = [store.files_in(folder) for folder in folders]
    at = next((place for place, folder in enumerate(folders) if _same(folder, target)), None)
    found = [(file, path) for folder in folders for file, paths in store.strays_in(folder).items() for path in paths]
    if copies:
        sources += [{file: path} for file, path in dict.fromkeys(found)]
    begun = {place: path for place, folder in enumerate(folders) if (path := begun_conflicts(folder))}
    result = _joined(sources, at, begun)
    write_joined(target, result.made, result.copied, result.known)
    left = () if copies else tuple(_stray(file, path) for file, path in dict.fromkeys(found))
    files = tuple(sorted({*result.made, *result.copied}))
    clashes = tuple(sorted(result.clashes, key=lambda clash: (clash.file, clash.row, clash.column)))
    return Merged(target, result.added, result.updated, clashes, files, tuple(sorted(set(result.beside))), left)


def _folders(a: Path, b: Path, into: Path | None, copies: bool) -> list[Path]:
    if _same(a, b) and not copies:
        raise UsageError("the two folders are one and the same; with --copies its second copies are taken in")
    for folder in (a, b):
        if folder.is_dir() and not (folder / "event.toml").exists():
            raise FolderError(f"{folder} holds no event.toml and is no copy of an event")
    places = [place for place in (a, b, into) if place is not None]
    for inner in places:
        outer = next((place for place in places if place.resolve() in inner.resolve().parents), None)
        if outer is not None:
            raise UsageError(f"{inner} lies inside {outer}: keep the copies apart")
    if into is None or _same(into, a) or _same(into, b):
        return [a, b]
    if (into / "event.toml").exists():
        return [a, b, into]
    try:
        ready(into)
    except InTheWayError:
        raise UsageError(f"{into} is not empty and holds no event: name a new folder or a copy of the event") from None
    return [a, b]


def _same(one: Path, other: Path) -> bool:
    return one.resolve() == other.resolve()


def _joined(sources: Sequence[Mapping[str, Path]], at: int | None, begun: Mapping[int, Path] | None = None) -> _Result:
    """``begun``: by source, its list of conflicts from before a merge that was broken off."""
    result = _Result()
    listed = [_lines(files.get(store.CONFLICTS)) for files in sources]
    chosen = listed.copy()
    for place, path in (begun or {}).items():
        chosen[place] = _lines(path)
    for file in sorted({name for files in sources for name in files} - {store.CONFLICTS}):
        contents = {place: store.content_of(files[file]) for place, files in enumerate(sources) if file in files}
        if at is not None and at in contents:
            result.known[file] = contents[at].digest
        _join(file, contents, at, [_seen(lines, file) for lines in chosen], result)
    if at is not None and store.CONFLICTS in sources[at]:
        result.known[store.CONFLICTS] = store.content_of(sources[at][store.CONFLICTS]).digest
    _list(listed, result)
    result.only_new()
    return result


def _join(file: str, contents: dict[int, CopiedFile], at: int | None, seen: list[ClashesSeen], result: _Result) -> None:
    alike = len({content.digest for content in contents.values()}) == 1
    if alike:
        if at not in contents:
            content = next(iter(contents.values()))
            result.put(file, content)
            table = store.table_of(file, content.data or b"") if file in ROWS else None
            result.added += len(table.rows) if table else 0
    elif file in ROWS:
        _join_tables(file, contents, at, seen, result)
    elif is_document(file):
        _join_documents(file, contents, at, seen, result)
    else:
        _keep_all(file, contents, result)


def _join_tables(
    file: str, contents: dict[int, CopiedFile], at: int | None, seen: list[ClashesSeen], result: _Result
) -> None:
    tables = {place: store.table_of(file, content.data or b"") for place, content in contents.items()}
    read = {place: table for place, table in tables.items() if table is not None}
    if not read:
        _keep_all(file, contents, result)
        return
    good = {
        place: table.without_stump(other for at_, other in read.items() if at_ != place)
        for place, table in read.items()
    }  # fmt: skip
    places = list(good)
    sheets = [CopiedTable(good[place].headers, good[place].rows) for place in places]
    merged = merge_tables(file, sheets, _own(places, at), [seen[place] for place in places])
    result.added += merged.added
    result.updated += merged.updated
    result.clashes += merged.clashes
    whole = [contents[place].data or b"" for place in places if _is(good[place], merged.sheet)]
    result.made[file] = (
        min(whole) if whole else store.render_table(merged.sheet.headers, merged.sheet.rows, list(good.values()))
    )
    _beside(file, [contents[place] for place in tables if place not in good or not good[place].whole], result)


def _own(places: list[int], at: int | None) -> int | None:
    return places.index(at) if at is not None and at in places else None


def _is(table: MergedFile, sheet: CopiedTable) -> bool:
    """The copy already reads as the joined table."""
    width = len(table.headers)
    padded = tuple(row + ("",) * (width - len(row)) for row in table.rows)
    return table.whole and (table.headers, padded) == (sheet.headers, sheet.rows)


def _join_documents(
    file: str, contents: dict[int, CopiedFile], at: int | None, seen: list[ClashesSeen], result: _Result
) -> None:
    found = {place: store.document_of(file, content.data or b"") for place, content in contents.items()}
    good = {place: document for place, document in found.items() if document is not None}
    if not good:
        _keep_all(file, contents, result)
        return
    places = list(good)
    copies = [good[place] for place in places]
    merged = merge_documents(file, copies, _own(places, at), [seen[place] for place in places])
    result.updated += merged.set_keys
    result.clashes += merged.clashes
    texts = {contents[place].data or b"": document for place, document in good.items()}
    result.made[file] = _document(texts, merged.content)
    _beside(file, [contents[place] for place in contents if place not in good], result)


def _document(texts: Mapping[bytes, dict[str, Any]], content: dict[str, Any]) -> bytes:
    """The longest text that says it all, else the longest text brought to say it."""
    full = [text for text, document in texts.items() if document == content]
    base = max(full or texts, key=lambda text: (len(text), text))
    return base if full else store.render_document(base, content)


def _keep_all(file: str, contents: dict[int, CopiedFile], result: _Result) -> None:
    """Files that can't be joined: the largest keeps the name, the others stand beside it."""
    largest = max(contents.values(), key=lambda content: (content.path.stat().st_size, content.digest))
    result.put(file, largest)
    _beside(file, [content for content in contents.values() if content.digest != largest.digest], result)


def _beside(file: str, others: Sequence[CopiedFile], result: _Result) -> None:
    for content in others:
        name = store.kept_name(file, content)
        result.beside.append((file, name))
        result.put(name, content)


# ---- the list of conflicts


def listed(folder: Path) -> tuple[ConflictLine, ...]:
    """What joined copies said differently, as ``merge-conflicts.csv`` of the folder has it."""
    path = folder / store.CONFLICTS
    return tuple(_lines(path)) if path.is_file() else ()


def open_conflicts(folder: Path) -> tuple[ConflictLine, ...]:
    """Those that nobody has looked at on this device."""
    lines = listed(folder)
    return tuple(line for line in lines if line not in store.looked_at(folder)) if lines else ()


def _lines(path: Path | None) -> list[ConflictLine]:
    content = store.content_of(path) if path is not None else None
    table = store.table_of(store.CONFLICTS, content.data or b"") if content else None
    return [tuple((row + ("",) * 5)[:5]) for row in table.rows] if table else []


def _seen(lines: Sequence[ConflictLine], file: str) -> ClashesSeen:
    found: dict[tuple[str, str], set[str]] = {}
    for name, row, column, kept, other in lines:
        if name == file:
            found.setdefault((row, column), set()).update((kept, other))
    return {cell: frozenset(values) for cell, values in found.items()}


def _list(listed: Sequence[Sequence[ConflictLine]], result: _Result) -> None:
    fresh = [(c.file, c.row, c.column, c.kept, other) for c in result.clashes for other in c.others]
    fresh += [(file, "", "", "the file", name) for file, name in result.beside]
    lines = {_cell(line): line for line in sorted(line for lines in listed for line in lines)}
    lines |= {_cell(line): line for line in sorted(fresh)}
    if lines:
        result.made[store.CONFLICTS] = store.render_table(_HEADER, sorted(lines.values()), [])


def _cell(line: ConflictLine) -> tuple[Any, ...]:
    """Two values of one cell are one line, whichever of them is kept now."""
    return (*line[:3], frozenset(line[3:]))


# ---- second copies


def strays(folder: Path) -> tuple[Stray, ...]:
    """A sync program's second copies in an event folder, with how much each would bring."""
    return tuple(_stray(file, path) for file, paths in store.strays_in(folder).items() for path in paths)


def half_synced(folder: Path) -> Iterator[Problem]:
    """What a program that keeps folders alike has not brought yet, or brought twice."""
    names = sorted(path.name for path in folder.iterdir())
    for file in REQUIRED:
        part = next((name for name in names if name[0] in ".~" and file in name), None)
        if file not in names and part is not None:
            said = f"{part} looks like a part of it on its way: if the folder is being synced, let that finish"
            yield Problem(file, 0, said, "warning")
    for copy in second_copies(folder):
        if copy.news:
            with_it, which = (f"{folder.name} --copies", copy.file) if copy.file else (copy.path.name, "this event")
            more = f"a second copy of {which} with {plural(copy.news, 'thing')} more to say"
            yield Problem(copy.path.name, 0, f"{more}: paddock merge {folder.name} {with_it} takes them in", "warning")


def _stray(file: str, path: Path) -> Stray:
    other = store.content_of(path)
    if file in ROWS and store.table_of(file, other.data or b"") is None:
        return Stray(path, file, 0)
    own = {name: path.parent / name for name in (file, store.CONFLICTS) if (path.parent / name).is_file()}
    return Stray(path, file, _news(own, {file: path}))


def _news(own: Mapping[str, Path], other: Mapping[str, Path]) -> int:
    """How many rows, cells and keys ``other`` says that ``own`` does not, a conflict listed already left out."""
    found = _joined([own, other], 0)
    listed = {_cell(line) for line in _lines(own.get(store.CONFLICTS))}
    fresh = {_cell((c.file, c.row, c.column, c.kept, other)) for c in found.clashes for other in c.others}
    beside = sum(name not in own for _, name in set(found.beside))
    return found.added + found.updated + len(fresh - listed) + beside


# the same event in another folder beside this one


@dataclass(frozen=True, slots=True)
class SecondCopy:
    """Another folder with the same event, or (``file``) a file a sync program doubled; ``news``: how much it says that
    is not here."""

    path: Path
    file: str
    news: int

    @property
    def line(self) -> tuple[str, ...]:
        """What is kept once it was looked at: with more to say it is told again."""
        return ("second copy", self.path.name, f"{self.news}")


def second_copies(folder: Path) -> tuple[SecondCopy, ...]:
    """Copies of an event that lie with it: folders beside it with the same ``id``, and doubled files in it. One that
    can't be read says nothing."""
    found = [SecondCopy(stray.path, stray.file, stray.news) for stray in _quietly(lambda: strays(folder)) or ()]
    here = folder.resolve()
    own = store.id_in(here)
    for path in sorted(here.parent.glob("*/event.toml")) if own else ():
        if path.parent != here and store.id_in(path.parent) == own:
            news = _quietly(lambda: _news(store.files_in(here), store.files_in(path.parent)))  # noqa: B023
            found.append(SecondCopy(path.parent, "", news or 0))
    return tuple(found)


def open_copies(folder: Path) -> tuple[SecondCopy, ...]:
    """Those that say more than the event and were not looked at since."""
    found = tuple(copy for copy in second_copies(folder) if copy.news)
    return tuple(copy for copy in found if copy.line not in store.looked_at(folder)) if found else ()


def _quietly(read: Callable[[], T]) -> T | None:
    try:
        return read()
    except (FolderError, OSError):
        return None
