"""What other hands changed while the event was open, by row and by key, so that it can be told and taken back."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.model.rows import Row
from paddock.store.csvfile import CsvFile
from paddock.store.disk import FileFault
from paddock.store.folder import Broken, Doc
from paddock.store.rowsteps import Docs
from paddock.store.tomlfile import TomlFile
from paddock.store.tomlread import loads


@dataclass(frozen=True, slots=True)
class OutsideChange:
    """``key``: the row's, or the path of a TOML file's key. ``before``, ``after``: row or value, None: not there."""

    file: str
    key: tuple[Any, ...]
    before: Any
    after: Any


_Place = tuple[str, tuple[Any, ...], bool]
"""File, key and whether the row is a run that led to a re-run."""


class OtherHands:
    """What differs between the files as they were shown and as they came from the disk, gathered since the opening."""

    def __init__(self) -> None:
        self._known: dict[_Place, OutsideChange] = {}
        self._good: dict[str, Doc] = {}

    def notice(self, shown: Docs, now: Docs) -> None:
        """Other files from now on. One that can't be used for a moment is held against what it was before."""
        self._good |= {file: doc for file, doc in shown.items() if not isinstance(doc, Broken)}
        for file in shown.keys() | now.keys():
            was, is_ = self._good.get(file), now.get(file)
            if was is not is_ and not isinstance(is_, Broken) and (was is not None or file not in shown):
                for change in _changed(file, was, is_):
                    self._add(change)

    def _add(self, change: OutsideChange) -> None:
        led = "rerun" in (getattr(change.before, "status", None), getattr(change.after, "status", None))
        place = (change.file, change.key, led)
        first = self._known.pop(place, None)
        before = change.before if first is None else first.before
        if not _alike(before, change.after):
            self._known[place] = OutsideChange(change.file, change.key, before, change.after)

    def standing(self, docs: Docs, mine: Iterable[tuple[str, tuple[Any, ...]]]) -> tuple[OutsideChange, ...]:
        """What is still so: what was changed again since, by whomever, is nothing to take back any more. ``mine``:
        files and keys told as put aside."""
        apart = set(mine)
        changes = [change for change in self._known.values() if (change.file, change.key) not in apart]
        wanted: dict[str, set[tuple[Any, ...]]] = defaultdict(set)
        for change in changes:
            wanted[change.file].add(change.key)
        now = {file: _rows_known_by(docs.get(file), keys) for file, keys in wanted.items()}
        return tuple(c for c in changes if _stands(c, docs.get(c.file), now[c.file].get(c.key, [])))

    def let_be(self, seen: Iterable[object]) -> None:
        """Looked at, and to stay as it is."""
        gone = list(seen)
        self._known = {place: change for place, change in self._known.items() if change not in gone}


def _rows_known_by(doc: Doc | None, keys: set[tuple[Any, ...]]) -> dict[tuple[Any, ...], list[Row]]:
    found: dict[tuple[Any, ...], list[Row]] = defaultdict(list)
    for row in doc.rows if isinstance(doc, CsvFile) else ():
        if row.key in keys:
            found[row.key].append(row)
    return found


def _changed(file: str, was: Doc | None, now: Doc | None) -> Iterator[OutsideChange]:
    if isinstance(now, CsvFile) or (now is None and isinstance(was, CsvFile)):
        yield from _rows(file, was if isinstance(was, CsvFile) else None, now)
    elif isinstance(now, TomlFile) and isinstance(was, TomlFile):
        old, new = dict(_keys(was)), dict(_keys(now))
        for path in dict.fromkeys((*old, *new)):
            if old.get(path) != new.get(path):
                yield OutsideChange(file, path, old.get(path), new.get(path))


def _rows(file: str, was: CsvFile | None, now: CsvFile | None) -> Iterator[OutsideChange]:
    old, new = _only(was, now), _only(now, was)
    for key in dict.fromkeys((*old, *new)):
        gone, come = old.get(key, []), new.get(key, [])
        for at in range(max(len(gone), len(come))):
            before = gone[at] if at < len(gone) else None
            after = come[at] if at < len(come) else None
            if not _alike(before, after):
                yield OutsideChange(file, key, before, after)


def _only(one: CsvFile | None, other: CsvFile | None) -> dict[tuple[Any, ...], list[Row]]:
    """By key, the rows whose text the other file does not hold."""
    found: dict[tuple[Any, ...], list[Row]] = defaultdict(list)
    if one is not None:
        alike = other is not None and (one.layout.headers, one.delimiter) == (other.layout.headers, other.delimiter)
        there = Counter(record.raw.strip() for record in other.records) if alike and other is not None else Counter()
        for record in one.records:
            text = record.raw.strip()
            if there[text]:
                there[text] -= 1
            elif record.row is not None:
                found[record.row.key].append(record.row)
    return found


def cells(row: Row) -> dict[str, Any]:
    """A row's values by field; where it stands is none."""
    return {name: getattr(row, name) for name in type(row).model_fields if name != "line"}


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, Row) and isinstance(other, Row):
        return cells(one) == cells(other)
    return bool(one == other)


def _keys(doc: TomlFile) -> Iterator[tuple[tuple[str, ...], Any]]:
    try:
        content = loads(doc.file, doc.data)[1]
    except FileFault:
        return
    yield from _below((), content.items())


def _below(path: tuple[str, ...], pairs: Iterable[tuple[str, Any]]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for key, value in pairs:
        here = (*path, key)
        if isinstance(value, Mapping):
            yield from _below(here, value.items())
        elif isinstance(value, list) and value and all(isinstance(part, Mapping) for part in value):
            yield from _below(here, ((str(at), part) for at, part in enumerate(value)))
        else:
            yield here, value


def _stands(change: OutsideChange, doc: Doc | None, rows: Sequence[Row]) -> bool:
    if isinstance(doc, TomlFile):
        return bool(doc.value(change.key) == change.after)
    return any(_alike(row, change.after) for row in rows) if change.after is not None else not rows
