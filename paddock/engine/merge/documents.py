"""The copies of one TOML file joined by key, on plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.engine.merge.order import joined_order, sort_key
from paddock.engine.merge.sheet import Clash

__all__ = ["MergedDocument", "merge_documents"]

_NAMES = ("code", "id")
"""What tells the tables of an array apart: classes by code, gauges by id."""


@dataclass(frozen=True, slots=True)
class MergedDocument:
    """``content``: the joined values; ``set_keys``: how many keys copy ``target`` lacks or has otherwise."""

    content: dict[str, Any]
    set_keys: int
    clashes: tuple[Clash, ...]


def merge_documents(file: str, copies: Sequence[Mapping[str, Any]], target: int | None = 0) -> MergedDocument:
    """The copies of a TOML file as one: every key of every copy.

    Lists of text are joined, tables of a list by their ``code`` or ``id``; where other values differ the one
    that sorts last is kept and the rest is listed. The order of ``copies`` changes nothing else.
    """
    clashes: list[Clash] = []
    content = _tables(file, (), list(copies), clashes)
    before = {} if target is None else copies[target]
    return MergedDocument(content, _changed(content, before), tuple(clashes))


def _tables(
    file: str, path: tuple[str, ...], copies: list[Mapping[str, Any] | None], clashes: list[Clash]
) -> dict[str, Any]:
    there = [copy for copy in copies if copy is not None]
    keys = joined_order([list(copy) for copy in there])
    return {
        key: _value(file, (*path, key), [None if copy is None else copy.get(key) for copy in copies], clashes)
        for key in keys
    }


def _value(file: str, path: tuple[str, ...], said: list[Any], clashes: list[Clash]) -> Any:
    there = [value for value in said if value is not None]
    if all(value == there[0] and isinstance(value, type(there[0])) for value in there[1:]):
        return there[0]
    if all(isinstance(value, Mapping) for value in there):
        return _tables(file, path, said, clashes)
    if all(_is_texts(value) for value in there):
        return joined_order([list(dict.fromkeys(value)) for value in there])
    name = next((name for name in _NAMES if all(_is_named(value, name) for value in there)), None)
    if name is not None:
        return _named(file, path, name, said, clashes)
    return _kept(file, path, said, clashes)


def _is_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _is_named(value: Any, name: str) -> bool:
    if not (isinstance(value, list) and value and all(isinstance(item, Mapping) for item in value)):
        return False
    names = [item.get(name) for item in value]
    return all(isinstance(item, str) for item in names) and len(set(names)) == len(names)


def _named(file: str, path: tuple[str, ...], name: str, said: list[Any], clashes: list[Clash]) -> list[Any]:
    by_name = [None if value is None else {item[name]: item for item in value} for value in said]
    order = joined_order([list(copy) for copy in by_name if copy is not None])
    return [
        _value(file, (*path, key), [None if copy is None else copy.get(key) for copy in by_name], clashes)
        for key in order
    ]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(_text, value))}]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_text(value[key])}" for key in sorted(value)) + "}"
    return str(value)


def _rank(value: Any) -> tuple[Any, ...]:
    """Numbers by size, anything else by its text; a whole number before the same one with a point."""
    number = not isinstance(value, str | bool | list | Mapping) and hasattr(value, "__float__")
    return (*(sort_key(float(value)) if number else sort_key(_text(value))), _text(value))


def _kept(file: str, path: tuple[str, ...], said: list[Any], clashes: list[Clash]) -> Any:
    there = [value for value in said if value is not None]
    kept = max(there, key=_rank)
    if any(value != kept for value in there):
        shown = tuple(None if value is None else _text(value) for value in said)
        clashes.append(Clash(file, "", ".".join(path), _text(kept), shown))
    return kept


def _changed(content: Any, before: Any) -> int:
    """Keys of ``content`` that ``before`` lacks or has otherwise."""
    if isinstance(content, Mapping) and isinstance(before, Mapping):
        return sum(_changed(value, before.get(key)) for key, value in content.items())
    return int(content != before)
