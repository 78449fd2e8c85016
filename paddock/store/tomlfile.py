"""One TOML file as a frozen value: its bytes kept, its model read leniently, edits that keep comments and layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.settings import Settings
from paddock.store.disk import BOM
from paddock.store.tomlread import line_of, loads, read_car, read_checklists, read_season, read_settings

if TYPE_CHECKING:
    from paddock.model.season import Season

    TomlContent = Settings | Car | Season | Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class TomlFile:
    """``model`` None: nothing in it can be used, though its syntax is right."""

    file: str
    data: bytes
    model: TomlContent | None
    problems: tuple[Problem, ...] = ()

    @classmethod
    def parse(cls, file: str, data: bytes) -> TomlFile:
        """The file of these bytes. Raises FileFault where it is no TOML."""
        model, problems = _read(file, *loads(file, data))
        return cls(file, data, model, tuple(problems))

    def value(self, path: Sequence[str]) -> Any:
        """What stands at a path, None where there is nothing; a number with a point is a Decimal."""
        node: Any = loads(self.file, self.data)[1]
        for key in path:
            node = _below(node, key)
            if node is None:
                return None
        return node

    def line_of(self, path: Sequence[str | int]) -> int:
        """The line of the key at a path, or of what it stands in; 0 where nothing fits."""
        return line_of(self.data.decode("utf-8"), path)

    def with_value(self, path: Sequence[str], value: Any) -> TomlFile:
        """The key set, tables made as needed; None takes it out; a list's place just past its end appends to it.

        Raises ValueError where it can't stand there.
        """
        import tomlkit
        from tomlkit.exceptions import TOMLKitError

        text = self.data.decode("utf-8")
        bom = BOM if text.startswith(BOM) else ""
        try:
            document = tomlkit.parse(text[len(bom) :])
            _put(document, tuple(path), value)
            made = (bom + tomlkit.dumps(document)).encode()
        except (TOMLKitError, TypeError, KeyError, IndexError) as error:
            raise ValueError(f"{'.'.join(path)} can't be set to {value!r}: {error}") from None
        return TomlFile.parse(self.file, made)

    @staticmethod
    def fresh(file: str, path: Sequence[str], value: Any) -> TomlFile:
        """A new file with one key."""
        import tomli_w

        content: Any = _plain(value)
        for key in reversed(tuple(path)):
            content = {key: content}
        return TomlFile.parse(file, tomli_w.dumps(content).encode())


def _read(file: str, text: str, content: dict[str, Any]) -> tuple[TomlContent | None, list[Problem]]:
    if file == "event.toml":
        return read_settings(file, text, content)
    if file == "season.toml":
        return read_season(file, text, content)
    return (read_checklists if file == "checklist.toml" else read_car)(file, text, content)


def _below(node: Any, key: str) -> Any:
    if isinstance(node, dict):
        return node.get(key)
    if isinstance(node, list) and key.isdecimal() and int(key) < len(node):
        return node[int(key)]
    return None


def _plain(value: Any) -> Any:
    """Tuples to lists and nothing else changed, all the way down."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items() if item is not None}
    return [_plain(item) for item in value] if isinstance(value, list | tuple) else value


def _item(value: Any) -> Any:
    """A value as tomlkit writes it: a Decimal keeps its digits."""
    import tomlkit

    if isinstance(value, Decimal):
        return tomlkit.parse(f"v = {value:f}" if value.is_finite() else "v = nan")["v"]
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, item in value.items():
            if item is not None:
                table[str(key)] = _item(item)
        return table
    if isinstance(value, list | tuple):
        if value and all(isinstance(item, Mapping) for item in value):
            return _tables(value)
        array = tomlkit.array()
        for item in value:
            array.append(_item(item))
        return array
    return tomlkit.item(value)


def _tables(value: Sequence[Mapping[str, Any]]) -> Any:
    import tomlkit

    tables = tomlkit.aot()
    for row in value:
        table = tomlkit.table()
        for key, item in row.items():
            if item is not None:
                table[str(key)] = _item(item)
        tables.append(table)
    return tables


def _table(value: Mapping[str, Any]) -> Any:
    """A table with lines of its own, tables in it likewise."""
    import tomlkit

    table = tomlkit.table()
    for key, item in value.items():
        if item is not None:
            table[str(key)] = _table(item) if isinstance(item, Mapping) else _item(item)
    return table


def _put(node: Any, path: tuple[str, ...], value: Any) -> None:
    import tomlkit

    key: Any = int(path[0]) if isinstance(node, list) else path[0]
    if len(path) > 1:
        if isinstance(node, dict) and key not in node:
            if value is None:
                return
            begins = path[1:] == ("0",) and isinstance(value, Mapping)
            node[key] = tomlkit.aot() if begins else tomlkit.table()
        _put(node[key], path[1:], value)
    elif value is None:
        if isinstance(node, list) or key in node:
            del node[key]
    elif isinstance(node, list) and key == len(node):
        node.append(_tables([value])[0] if isinstance(node, tomlkit.items.AoT) else _item(value))
    elif isinstance(node, tomlkit.TOMLDocument) and isinstance(value, Mapping) and key not in node:
        node[key] = _table(value)
    else:
        node[key] = _item(value)
