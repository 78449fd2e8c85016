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

from paddock.store import disk
from paddock.store.steps import ColumnStep, FileStep, KeyStep, RowStep, Step

__all__ = ["Entry", "Journal", "History"]

_KINDS: dict[str, type[Any]] = {"row": RowStep, "column": ColumnStep, "file": FileStep, "key": KeyStep}
_NAMES = {kind: name for name, kind in _KINDS.items()}
_MOST_BYTES = 2_000_000
_KEPT_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing done. ``of``: what an undo or redo is about; of a ``do`` the entry it is one with, or blank."""

    id: str
    op: Literal["do", "undo", "redo"]
    label: str
    steps: tuple[Step, ...]
    of: str = ""


@dataclass(frozen=True, slots=True)
class History:
    """``done``: what can be undone, latest last; ``undone``: what can be redone; ``open``: begun, end unknown.

    The steps are those carried out last: turned round, they are the way back from where the files are now.
    """

    done: tuple[Entry, ...] = ()
    undone: tuple[Entry, ...] = ()
    open: tuple[Entry, ...] = ()


def _value_out(value: Any) -> str | None:
    """A TOML value as TOML, which keeps its type."""
    import tomli_w

    return None if value is None else tomli_w.dumps({"v": value})


def _value_in(text: str | None) -> Any:
    import tomllib
    from decimal import Decimal

    return None if text is None else tomllib.loads(text, parse_float=Decimal)["v"]


def _step_out(step: Step) -> dict[str, Any]:
    found = {"step": _NAMES[type(step)]} | {field.name: getattr(step, field.name) for field in fields(step)}
    if isinstance(step, KeyStep):
        found |= {"before": _value_out(step.before), "after": _value_out(step.after)}
    return found


def _step_in(found: Mapping[str, Any]) -> Step:
    values = dict(found)
    kind = _KINDS[values.pop("step")]
    for name in ("headers", "path"):
        if name in values:
            values[name] = tuple(values[name])
    if kind is KeyStep:
        values |= {"before": _value_in(values["before"]), "after": _value_in(values["after"])}
    step: Step = kind(**values)
    return step


def _line(found: Mapping[str, Any]) -> bytes:
    return json.dumps(found, ensure_ascii=True, separators=(",", ":")).encode() + b"\n"


def _entry_line(entry: Entry) -> bytes:
    head = {"op": entry.op, "id": entry.id, "of": entry.of, "label": entry.label}
    return _line({**head, "steps": [_step_out(step) for step in entry.steps]})


class Journal:
    """The journal of one folder. Everything raises OSError as the disk does."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / ".paddock" / "journal"

    def begin(self, entries: Iterable[Entry]) -> None:
        """Entries written and on the disk, before their tables are."""
        self.path.parent.mkdir(exist_ok=True)
        disk.append(self.path, b"".join(map(_entry_line, entries)))

    def end(self, ids: Iterable[str], how: Literal["done", "off"] = "done") -> None:
        """Entries marked. Not synced: should it be lost, the tables are looked at again."""
        lines = b"".join(_line({"op": how, "id": name}) for name in ids)
        if lines:
            disk.append(self.path, lines, sync=False)

    def read(self) -> History:
        """What can be undone, redone, and what was begun without a known end."""
        entries: dict[str, Entry] = {}
        ends: dict[str, str] = {}
        order: list[str] = []
        for found in self._lines():
            if found["op"] in ("done", "off"):
                ends[found["id"]] = found["op"]
                order.append(found["id"])
            elif found["op"] in ("do", "undo", "redo"):
                entries[found["id"]] = _entry_in(found)
        return _history(entries, ends, order)

    def _lines(self) -> Iterable[dict[str, Any]]:
        for raw in (disk.read(self.path) or b"").split(b"\n"):
            try:
                found = json.loads(raw)
                if isinstance(found, dict) and isinstance(found["id"], str) and isinstance(found["op"], str):
                    yield found
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


def _as_done(entry: Entry) -> Entry:
    return Entry(entry.id, "do", entry.label, entry.steps, entry.of)


def _entry_in(found: Mapping[str, Any]) -> Entry:
    try:
        steps = tuple(_step_in(step) for step in found["steps"])
        return Entry(found["id"], found["op"], str(found["label"]), steps, str(found["of"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        return Entry(found["id"], found["op"], "", ())


def _history(entries: Mapping[str, Entry], ends: Mapping[str, str], order: Iterable[str]) -> History:
    done: dict[str, Entry] = {}
    undone: dict[str, Entry] = {}
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
