"""The copies of one TOML file joined by key, on plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.engine.merge.tables import Clash, ClashesSeen, joined_order, settled, sort_key

_NAMES = ("code", "id")
"""What tells the tables of an array apart: classes by code, gauges by id."""


@dataclass(frozen=True, slots=True)
class MergedDocument:
    """``content``: the joined values; ``set_keys``: how many keys copy ``target`` lacks or has otherwise."""

    content: dict[str, Any]
    set_keys: int
    clashes: tuple[Clash, ...]


def merge_documents(
    file: str, copies: Sequence[Mapping[str, Any]], target: int | None = 0, seen: Sequence[ClashesSeen] = ()
) -> MergedDocument:
    """The copies of a TOML file as one: every key of every copy.

    Lists of text are joined, tables of a list by their ``code`` or ``id``; where other values differ one is
    kept as in ``merge_tables`` and the rest is listed. The order of ``copies`` changes nothing else.
    """
    merge = _Merge(file, seen or [{} for _ in copies], [])
    content = merge.tables((), list(copies))
    before = {} if target is None else copies[target]
    return MergedDocument(content, _changed(content, before), tuple(merge.clashes))


@dataclass(frozen=True, slots=True)
class _Merge:
    """One file on its way from copies to one document."""

    file: str
    seen: Sequence[ClashesSeen]
    clashes: list[Clash]

    def tables(self, path: tuple[str, ...], copies: list[Mapping[str, Any] | None]) -> dict[str, Any]:
        keys = joined_order([list(copy) for copy in copies if copy is not None])
        return {
            key: self._value((*path, key), [None if copy is None else copy.get(key) for copy in copies]) for key in keys
        }

    def _value(self, path: tuple[str, ...], said: list[Any]) -> Any:
        there = [value for value in said if value is not None]
        if all(value == there[0] and isinstance(value, type(there[0])) for value in there[1:]):
            return there[0]
        if all(isinstance(value, Mapping) for value in there):
            return self.tables(path, said)
        if all(_is_texts(value) for value in there):
            return joined_order([list(dict.fromkeys(value)) for value in there])
        name = next((name for name in _NAMES if all(_is_named(value, name) for value in there)), None)
        return self._kept(path, said) if name is None else self._named(path, name, said)

    def _named(self, path: tuple[str, ...], name: str, said: list[Any]) -> list[Any]:
        by_name = [None if value is None else {item[name]: item for item in value} for value in said]
        order = joined_order([list(copy) for copy in by_name if copy is not None])
        return [
            self._value((*path, key), [None if copy is None else copy.get(key) for copy in by_name]) for key in order
        ]

    def _kept(self, path: tuple[str, ...], said: list[Any]) -> Any:
        there = [value for value in said if value is not None]
        column = ".".join(path)
        known = [copy.get(("", column), frozenset()) for copy in self.seen]
        pairs = [(said_text(value), known[at]) for at, value in enumerate(said) if value is not None]
        chosen = settled(pairs)
        kept = max((value for value in there if chosen in (None, said_text(value))), key=_rank)
        if any(value != kept for value in there):
            shown = tuple(None if value is None else said_text(value) for value in said)
            self.clashes.append(Clash(self.file, "", column, said_text(kept), shown))
        return kept


def _is_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _is_named(value: Any, name: str) -> bool:
    if not (isinstance(value, list) and value and all(isinstance(item, Mapping) for item in value)):
        return False
    names = [item.get(name) for item in value]
    return all(isinstance(item, str) for item in names) and len(set(names)) == len(names)


def said_text(value: Any) -> str:
    """A value as the list of conflicts has it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(said_text, value))}]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {said_text(value[key])}" for key in sorted(value)) + "}"
    return str(value)


def _rank(value: Any) -> tuple[Any, ...]:
    """Numbers by size, anything else by its text; a whole number before the same one with a point."""
    number = not isinstance(value, str | bool | list | Mapping) and hasattr(value, "__float__")
    return (*(sort_key(float(value)) if number else sort_key(said_text(value))), said_text(value))


def _changed(content: Any, before: Any) -> int:
    """Keys of ``content`` that ``before`` lacks or has otherwise."""
    if isinstance(content, Mapping) and isinstance(before, Mapping):
        return sum(_changed(value, before.get(key)) for key, value in content.items())
    return int(content != before)
