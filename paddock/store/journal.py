"""The undo journal: ``.paddock/journal``, one JSON line for each thing done, ahead of the tables.

A line ``do``, ``undo`` or ``redo`` carries the steps; a line ``done`` says that they are in the tables, ``off`` that
they never will be or can't be undone any more. A line that can't be read is passed over: the journal holds only
what may be lost.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal

from paddock.errors import Problem
from paddock.store import disk
from paddock.store.disk import belongs, is_document, is_table, kept
from paddock.store.folder import forget_copies, is_sum, is_track
from paddock.store.layout import DELIMITERS
from paddock.store.rowsteps import ColumnStep, FileStep, KeyStep, RowStep, SavedStep, TrackStep

_KINDS: dict[str, type[Any]] = {
    "row": RowStep,
    "column": ColumnStep,
    "file": FileStep,
    "key": KeyStep,
    "track": TrackStep,
}
_NAMES = {kind: name for name, kind in _KINDS.items()}
JOURNAL = ".paddock/journal"
_READ_BYTES = 64_000_000
_MOST_BYTES = 2_000_000
_KEPT_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One thing done. ``of``: what an undo or redo is about; of a ``do`` the entry it is one with, or blank."""

    id: str
    op: Literal["do", "undo", "redo"]
    label: str
    steps: tuple[SavedStep, ...]
    of: str = ""


@dataclass(frozen=True, slots=True)
class History:
    """``done``: what can be undone, latest last; ``undone``: what can be redone; ``open``: begun, end unknown;
    ``refused``: entries that reach for a file that is none of the event's, none of whose steps is taken.

    The steps are those carried out last: turned round, they are the way back from where the files are now.
    """

    done: tuple[JournalEntry, ...] = ()
    undone: tuple[JournalEntry, ...] = ()
    open: tuple[JournalEntry, ...] = ()
    refused: tuple[Problem, ...] = ()


def _value_out(value: Any) -> str | None:
    """A TOML value as TOML, which keeps its type."""
    import tomli_w

    return None if value is None else tomli_w.dumps({"v": value})


def _value_in(text: str | None) -> Any:
    import tomllib
    from decimal import Decimal

    return None if text is None else tomllib.loads(text, parse_float=Decimal)["v"]


def _step_out(step: SavedStep) -> dict[str, Any]:
    found = {"step": _NAMES[type(step)]} | {field.name: getattr(step, field.name) for field in fields(step)}
    if isinstance(step, KeyStep):
        found |= {"before": _value_out(step.before), "after": _value_out(step.after)}
    return found


class _NoFileError(ValueError):
    """A step reaches for a file that is none of the event's."""


def _step_in(found: Mapping[str, Any]) -> SavedStep:
    """The step, held against what a step may be, for anybody may have written the line. Raises ValueError and such."""
    values = dict(found)
    kind = _KINDS[values.pop("step")]
    known = {KeyStep: is_document, TrackStep: _is_own_track}.get(kind, is_table)
    if not known(_text(values["file"])):
        raise _NoFileError(values["file"])
    if kind is TrackStep:
        sums = (_maybe(values["before"]), _maybe(values["after"]))
        if not all(found is None or is_sum(found) for found in sums):
            raise ValueError("no sum of a track")
        return TrackStep(values["file"], *sums)
    if kind is KeyStep:
        values |= {"path": _texts(values["path"])}
        values |= {name: _value_in(values[name]) for name in ("before", "after")}
        values |= {name: _maybe(values[name]) for name in ("before_text", "after_text")}
    elif kind is RowStep:
        values |= {"headers": _texts(values["headers"])}
        values |= {name: _maybe(values[name]) for name in ("before", "after")}
        if not (values["before"] or values["after"]):
            raise ValueError("no row at all")
        if values["delimiter"] not in DELIMITERS or type(values["place"]) is not int or values["place"] < 0:
            raise ValueError("no place of a row")
    else:
        _text(values["header" if kind is ColumnStep else "top"])
    if any(type(values.get(name, False)) is not bool for name in ("add", "glued")):
        raise TypeError("a yes or no is wanted")
    step: SavedStep = kind(**values)
    return step


def _is_own_track(file: str) -> bool:
    return is_track(file) and belongs(file)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError("a text is wanted")
    value.encode()
    return value


def _maybe(value: object) -> str | None:
    return None if value is None else _text(value)


def _texts(values: object) -> tuple[str, ...]:
    if not isinstance(values, list) or not values:
        raise TypeError("texts are wanted")
    return tuple(map(_text, values))


def _line(found: Mapping[str, Any]) -> bytes:
    return json.dumps(found, ensure_ascii=True, separators=(",", ":")).encode() + b"\n"


def _entry_line(entry: JournalEntry) -> bytes:
    head = {"op": entry.op, "id": entry.id, "of": entry.of, "label": entry.label}
    return _line({**head, "steps": [_step_out(step) for step in entry.steps]})


class Journal:
    """The journal of one folder. Everything raises OSError as the disk does."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def path(self) -> Path:
        """Where it lies. Raises OSError where something else stands there."""
        return kept(self._folder, "journal")

    def begin(self, entries: Iterable[JournalEntry]) -> None:
        """Entries written and on the disk, before their tables are."""
        path = self.path
        path.parent.mkdir(exist_ok=True)
        disk.append(path, b"".join(map(_entry_line, entries)))

    def end(self, ids: Iterable[str], how: Literal["done", "off"] = "done") -> None:
        """Entries marked. Not synced: should it be lost, the tables are looked at again."""
        lines = b"".join(_line({"op": how, "id": name}) for name in ids)
        if lines:
            disk.append(self.path, lines, sync=False)

    def read(self) -> History:
        """What can be undone, redone, and what was begun without a known end."""
        entries: dict[str, JournalEntry] = {}
        ends: dict[str, str] = {}
        order: list[str] = []
        refused: list[Problem] = []
        for line, found in self._lines():
            if found["op"] in ("done", "off"):
                ends[found["id"]] = found["op"]
                order.append(found["id"])
            elif found["op"] in ("do", "undo", "redo"):
                try:
                    entries[found["id"]] = _entry_in(found)
                except _NoFileError as reason:
                    refused.append(Problem(JOURNAL, line, _no_file(str(reason))))
        return replace(_history(entries, ends, order), refused=tuple(refused))

    def _lines(self) -> Iterable[tuple[int, dict[str, Any]]]:
        for line, raw in enumerate((disk.read(self.path, _READ_BYTES) or b"").split(b"\n"), 1):
            try:
                found = json.loads(raw)
                if isinstance(found, dict) and isinstance(found["id"], str) and isinstance(found["op"], str):
                    yield line, found
            except (ValueError, KeyError, RecursionError):
                continue

    @property
    def long(self) -> bool:
        """It has grown so long that opening suffers."""
        try:
            return self.path.stat().st_size > _MOST_BYTES
        except OSError:
            return False

    def shorten(self) -> None:
        """Keeps the latest entries alone; what was undone can't be done again then."""
        history = self.read()
        kept: list[bytes] = []
        for entry in reversed(history.done):
            kept.append(_entry_line(_as_done(entry)) + _line({"op": "done", "id": entry.id}))
            if sum(map(len, kept)) > _KEPT_BYTES:
                break
        disk.replace(self.path, b"".join(reversed(kept)) + b"".join(map(_entry_line, history.open)))
        left = (step for entry in (*history.done[-len(kept) :], *history.open) for step in entry.steps)
        named = (step for step in left if isinstance(step, TrackStep))
        forget_copies(self._folder, {digest for step in named for digest in (step.before, step.after) if digest})


def refused_in(folder: Path) -> tuple[Problem, ...]:
    """What the journal of a folder wants of files that are none of the event's; nothing where it can't be read."""
    try:
        return Journal(folder).read().refused
    except OSError:
        return ()


def _no_file(file: str) -> str:
    return f"reaches for {file[:80]!a}, which is no file of an event: refused; delete {JOURNAL}, only undo is lost"


def _as_done(entry: JournalEntry) -> JournalEntry:
    return JournalEntry(entry.id, "do", entry.label, entry.steps, entry.of)


def _entry_in(found: Mapping[str, Any]) -> JournalEntry:
    try:
        steps = tuple(_step_in(step) for step in found["steps"])
        return JournalEntry(found["id"], found["op"], str(found["label"]), steps, str(found["of"]))
    except _NoFileError:
        raise
    except (KeyError, TypeError, ValueError, AttributeError, ArithmeticError, RecursionError):
        return JournalEntry(found["id"], found["op"], "", ())


def _history(entries: Mapping[str, JournalEntry], ends: Mapping[str, str], order: Iterable[str]) -> History:
    done: dict[str, JournalEntry] = {}
    undone: dict[str, JournalEntry] = {}
    for name in order:
        entry = entries.get(name)
        if entry is None or not entry.steps:
            continue
        if ends[name] == "off":
            done.pop(name, None)
            undone.pop(name, None)
        elif entry.op == "do":
            done[name] = entry
            undone.clear()
        elif entry.op == "undo" and entry.of in done:
            undone[entry.of] = replace(done.pop(entry.of), steps=entry.steps)
        elif entry.op == "redo" and entry.of in undone:
            done[entry.of] = replace(undone.pop(entry.of), steps=entry.steps)
    begun = tuple(entry for name, entry in entries.items() if name not in ends and entry.steps)
    return History(tuple(done.values()), tuple(undone.values()), begun)
