"""TOML files to models, leniently: a bad key is a problem with its line and left out, the rest is kept."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING, Any, TypeVar

from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.settings import Settings, TomlModel
from paddock.store.disk import BOM, FileFault, decode

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from paddock.model.season import Season


# on which line of a TOML text a key stands: a search over lines, good enough to point at a fault


_PART = r"""(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)"""
_KEY = rf"{_PART}(?:\s*\.\s*{_PART})*"
_TABLE = re.compile(rf"\s*\[(\[)?\s*({_KEY})\s*\]")
_ASSIGN = re.compile(rf"\s*({_KEY})\s*=")
_SPLIT = re.compile(_PART)


def _parts(key: str) -> list[str]:
    return [part.strip("\"'") for part in _SPLIT.findall(key)]


def _places(text: str) -> list[tuple[tuple[str, ...], int]]:
    """Every table head and key with its full path (places in arrays of tables as digits) and line."""
    found: list[tuple[tuple[str, ...], int]] = []
    counts: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for line, body in enumerate(text.splitlines(), 1):
        if head := _TABLE.match(body):
            table = tuple(_parts(head[2]))
            if head[1]:
                counts[table] = counts.get(table, -1) + 1
            table = _numbered(table, counts)
            found.append((table, line))
        elif key := _ASSIGN.match(body):
            found.append(((*table, *_parts(key[1])), line))
    return found


def _numbered(table: tuple[str, ...], counts: dict[tuple[str, ...], int]) -> tuple[str, ...]:
    path: tuple[str, ...] = ()
    for size in range(1, len(table) + 1):
        path += (table[size - 1],)
        if table[:size] in counts:
            path += (str(counts[table[:size]]),)
    return path


def line_of(text: str, path: Sequence[str | int]) -> int:
    """The line of the key at ``path``, or of what it stands in; 0 where nothing fits."""
    wanted = tuple(map(str, path))
    lines = _lines_of(text)
    return next((lines[wanted[:size]] for size in range(len(wanted), 0, -1) if wanted[:size] in lines), 0)


@lru_cache(maxsize=4)
def _lines_of(text: str) -> dict[tuple[str, ...], int]:
    """Each place to its first line: a file with thousands of faults is gone through once."""
    lines: dict[tuple[str, ...], int] = {}
    for place, at in _places(text):
        lines.setdefault(place, at)
    return lines


M = TypeVar("M", bound=TomlModel)
Path = tuple[str | int, ...]
_MAX_DROPS = 200
_MANY = 20
"""From this many faults on a round drops them all."""
_DEEP = re.compile(r"""(?<![\w"'.-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){100}""")
_ANY_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)
_MOST_TABLES = 1000
_DEEPEST = 100
_LONG = re.compile(r"(?<!\w)[+-]?(?:[0-9_]{19,}|0[xob][0-9A-Fa-f_]{16,})(?!\w)")
_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")


def _number(text: str) -> Decimal:
    value = Decimal(text)
    if value.is_finite() and value and abs(value.adjusted()) > 30:
        raise ValueError(f"{text} is no number that can be meant")
    return value


def loads(file: str, data: bytes) -> tuple[str, dict[str, Any]]:
    """The text (without byte-order mark) and its content, numbers with a point as Decimal. Raises FileFault."""
    text = decode(file, data).removeprefix(BOM)
    deep = _DEEP.search(text)
    if deep is not None:
        raise FileFault(file, text.count("\n", 0, deep.start()) + 1, "a key of more than 100 parts can't be meant")
    tables = list(islice(_ANY_TABLE.finditer(text), _MOST_TABLES + 1))
    if len(tables) > _MOST_TABLES:
        line = text.count("\n", 0, tables[-1].start()) + 1
        raise FileFault(file, line, f"more than {_MOST_TABLES} tables in [ ] can't be meant: bring back the right file")
    try:
        content = tomllib.loads(text, parse_float=_number)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(file, text, str(error)) from None
    except (ValueError, RecursionError, ArithmeticError) as error:
        raise FileFault(file, 0, f"can't be read: {error}") from None
    if text.count("[") + text.count("{") > _DEEPEST and _deeper(content):
        raise FileFault(file, 0, f"lists more than {_DEEPEST} deep can't be meant: bring back the right file")
    if long := _LONG.search(text):
        _no_huge(file, text.count("\n", 0, long.start()) + 1, content)
    return text, content


def _deeper(content: dict[str, Any]) -> bool:
    """Whether anything stands in more lists and tables than who writes the file again can follow."""
    level: list[Any] = [content]
    for _ in range(_DEEPEST + 1):
        level = [item for held in level for item in (held.values() if isinstance(held, dict) else held)
                 if isinstance(item, dict | list)]  # fmt: skip
    return bool(level)


def _no_huge(file: str, line: int, value: Any) -> None:
    """TOML's whole numbers have 64 bits (TOML 1.0.0, Integer): one beyond is an error there too."""
    if isinstance(value, dict | list):
        for item in value.values() if isinstance(value, dict) else value:
            _no_huge(file, line, item)
    elif isinstance(value, int) and not -(2**63) <= value < 2**63:
        raise FileFault(file, line, "a whole number of more than 18 digits can't be meant")


_NO_VALUE = re.compile(r"=\s*(#.*)?$")
"""Nothing after the sign."""


def _syntax(file: str, text: str, said: str) -> FileFault:
    found = _AT_LINE.search(said)
    what = _AT_LINE.sub("", said)
    what = what[:1].lower() + what[1:]
    if found is None or found[1] is None:
        return FileFault(file, text.count("\n") + 1, f"{what}: the file is cut off or something is not closed")
    line = int(found[1])
    body = text.split("\n")[line - 1].strip()
    mend = (
        "each key once only"
        if "overwrite" in what
        else "a value is missing"
        if _NO_VALUE.search(body)
        else "text goes in double quotes, a list in [ ], one key = value a line"
    )
    return FileFault(file, line, f"{what} in {body[:60]!r}: {mend}")


_WANTED = {
    "int": "a whole number",
    "float": "a number",
    "decimal": "a number",
    "string": "text in double quotes",
    "bool": "true or false",
    "date": "a date like 2026-05-09",
    "tuple": "a list in [ ]",
    "list": "a list in [ ]",
    "dict": "a table",
    "model": "a table",
}


def _sentence(error: ErrorDetails) -> str:
    kind, context = error["type"], error.get("ctx", {})
    if kind == "missing":
        return "is missing: write it"
    if kind == "literal_error":
        return f"{error['input']!r}: write {context['expected']}".replace("'", '"')
    if kind == "value_error":
        return str(context["error"])
    if kind == "string_too_short":
        return "is blank: write it"
    limits = {
        "greater_than": "over",
        "greater_than_equal": "at least",
        "less_than_equal": "at most",
        "less_than": "under",
    }
    if kind in limits:
        return f"{error['input']} is out of range: {limits[kind]} {next(iter(context.values()))}"
    stem = kind.split("_")[0]
    return f"{_shown(error['input'])} can't be meant: {_WANTED.get(stem, 'another value')} is wanted"


def _shown(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)[:60]


def _step(node: Any, key: str | int) -> tuple[bool, Any]:
    if isinstance(node, dict) and key in node:
        return True, node[key]
    if isinstance(node, list) and isinstance(key, int) and key < len(node):
        return True, node[key]
    return False, None


def _place(data: Any, loc: Sequence[str | int], missing: bool) -> Path:
    """The path in the file that an error's location means: union tags, which are no keys, end it."""
    path: list[str | int] = []
    node = data
    for key in loc:
        there, node_below = _step(node, _spelt(node, key))
        if not there:
            break
        path.append(_spelt(node, key))
        node = node_below
    if missing and len(path) < len(loc):
        return (*path, loc[len(path)])
    return tuple(path)


def _spelt(node: Any, key: str | int) -> str | int:
    """The key as the file has it, where another unit of its family stands there."""
    if isinstance(node, dict) and isinstance(key, str) and key not in node and "_" in key:
        stem = key.rsplit("_", 1)[0] + "_"
        return next((name for name in node if name.startswith(stem) and "_" not in name[len(stem) :]), key)
    return key


def _without(node: Any, path: Path) -> Any:
    """A copy without what stands at ``path``; an item of a plain list takes the whole list with it."""
    key, rest = path[0], path[1:]
    if isinstance(node, list):
        assert isinstance(key, int)
        return [*node[:key], *([_without(node[key], rest)] if rest else []), *node[key + 1 :]]
    below = node[key]
    plain = isinstance(below, list) and not any(isinstance(item, dict) for item in below)
    if not rest or (plain and len(rest) == 1):
        return {name: value for name, value in node.items() if name != key}
    return {**node, key: _without(below, rest)}


def _lenient(model: type[M], file: str, text: str, data: dict[str, Any]) -> tuple[M | None, list[Problem]]:
    from pydantic import ValidationError

    problems: list[Problem] = []
    for _ in range(_MAX_DROPS):
        try:
            return model.model_validate(data), problems
        except ValidationError as error:
            errors = error.errors(include_url=False)
        if len(errors) > _MANY:
            data, more = _all_dropped(data, errors, file, text)
            problems += more
            if more:
                continue
        path, sentence = _first(data, errors)
        if not path:
            break
        problems.append(Problem(file, line_of(text, path), f"{_dotted(path)}: {sentence}"))
        drop = path if _reaches(data, path) else path[:-1]
        if not drop:
            break
        data = _without(data, drop)
    return None, problems


def _all_dropped(
    data: dict[str, Any], errors: Sequence[ErrorDetails], file: str, text: str
) -> tuple[dict[str, Any], list[Problem]]:
    """Many faults dropped in one round, from the last to the first so that the places before stay as they are."""
    said: dict[Path, dict[str, None]] = {}
    for error in errors:
        said.setdefault(_place(data, error["loc"], error["type"] == "missing"), {})[_sentence(error)] = None
    said.pop((), None)
    drops = {_drop(data, path): None for path in said}
    for size in sorted({len(drop[:-1]) for drop in drops if drop}, reverse=True):
        below: dict[Path, set[str | int]] = {}
        for drop in drops:
            if drop and len(drop) == size + 1:
                below.setdefault(drop[:-1], set()).add(drop[-1])
        for parent, keys in below.items():
            data = _thinned(data, parent, keys)
    return data, [
        Problem(file, line_of(text, path), f"{_dotted(path)}: {'; or '.join(found)}") for path, found in said.items()
    ]


def _drop(data: dict[str, Any], path: Path) -> Path:
    """What goes with a fault at ``path``: a plain list goes whole."""
    path = path if _reaches(data, path) else path[:-1]
    node: Any = data
    for at, key in enumerate(path):
        if isinstance(node, list) and not any(isinstance(item, dict) for item in node):
            return path[:at]
        node = node[key]
    return path


def _thinned(node: Any, parent: Path, keys: set[str | int]) -> Any:
    """A copy without ``keys`` of what stands at ``parent``."""
    if parent:
        if isinstance(node, list):
            at = int(parent[0])
            return [*node[:at], _thinned(node[at], parent[1:], keys), *node[at + 1 :]]
        return {**node, parent[0]: _thinned(node[parent[0]], parent[1:], keys)}
    if isinstance(node, list):
        return [item for at, item in enumerate(node) if at not in keys]
    return {key: value for key, value in node.items() if key not in keys}


def _first(data: dict[str, Any], errors: Sequence[ErrorDetails]) -> tuple[Path, str]:
    """The place of the first error and all that is said of it (a union says several things)."""
    places = [_place(data, error["loc"], error["type"] == "missing") for error in errors]
    said = [_sentence(error) for error, place in zip(errors, places, strict=True) if place == places[0]]
    return places[0], "; or ".join(dict.fromkeys(said))


def _reaches(node: Any, path: Path) -> bool:
    for key in path:
        there, node = _step(node, key)
        if not there:
            return False
    return True


def _dotted(path: Path) -> str:
    return ".".join(str(key + 1) if isinstance(key, int) else key for key in path)


def _factor(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise ValueError(f"{_shown(value)} can't be meant: a number is wanted")
    try:
        factor = Decimal(value.replace(",", ".")) if isinstance(value, str) else Decimal(value)
    except ArithmeticError:
        raise ValueError(f"{_shown(value)} can't be meant: a number is wanted") from None
    if not factor.is_finite() or not 0 < factor < 1000:
        raise ValueError(f"{value} is no factor: a number over 0 is wanted")
    if factor != round(factor, 9):
        raise ValueError(f"{value}: at most nine decimals are kept")
    return factor


def _index(file: str, text: str, table: Mapping[str, object]) -> tuple[dict[str, Any], list[Problem]]:
    factors: dict[str, Decimal] = {}
    problems = []
    for code, value in table.items():
        if code == "edition":
            continue
        try:
            factors[code] = _factor(value)
        except ValueError as error:
            problems.append(Problem(file, line_of(text, ("index", code)), f"index.{code}: {error}"))
    edition = {"edition": table["edition"]} if "edition" in table else {}
    return {**edition, "factors": factors}, problems


def read_settings(file: str, text: str, content: dict[str, Any]) -> tuple[Settings | None, list[Problem]]:
    """``event.toml``: the settings without their bad keys; None where nothing can be used."""
    problems: list[Problem] = []
    if isinstance(content.get("index"), dict):
        table, problems = _index(file, text, content["index"])
        content = {**content, "index": table}
    settings, more = _lenient(Settings, file, text, content)
    return settings, problems + more


def read_car(file: str, text: str, content: dict[str, Any]) -> tuple[Car | None, list[Problem]]:
    """``cars/<name>.toml``: the car without its bad keys; None where nothing can be used."""
    return _lenient(Car, file, text, content)


def read_season(file: str, text: str, content: dict[str, Any]) -> tuple[Season | None, list[Problem]]:
    """``season.toml``: the season without its bad keys; None where nothing can be used."""
    from paddock.model.season import Season

    return _lenient(Season, file, text, content)


def read_checklists(file: str, text: str, content: dict[str, Any]) -> tuple[dict[str, tuple[str, ...]], list[Problem]]:
    """``checklist.toml``: each named list of lines of text."""
    lists: dict[str, tuple[str, ...]] = {}
    problems = []
    for name, items in content.items():
        if isinstance(items, list) and all(isinstance(item, str) for item in items):
            lists[name] = tuple(items)
        else:
            problems.append(
                Problem(file, line_of(text, (name,)), f"{name}: a list of texts in double quotes is wanted")
            )
    return lists, problems
