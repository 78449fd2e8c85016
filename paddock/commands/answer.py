"""What a verb gives back: the JSON of the contract, and the words for a person."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from paddock.commands.says.shape import LEFT_OUT
from paddock.errors import Problem


@dataclass(frozen=True, slots=True)
class Answer:
    """``text`` makes the readable answer, called only when it is wanted.

    ``data``: the JSON's keys to the engine's own values; ``commands.says`` has its type, and makes it when JSON is
    wanted. ``exact``: the text is for a program to read, and is never folded to the terminal.
    """

    data: Mapping[str, Any]
    text: Callable[[], str]
    exit_code: int = 0
    exact: bool = False


def plain(value: Any) -> Any:
    """An answer's own values as the JSON has them: a frozen value by the names of its fields, those kept back left out.

    A field is kept back where its metadata say ``json`` False.
    """
    if isinstance(value, Problem):
        return {"file": value.file, "line": value.line, "level": value.level, "message": value.message}
    if is_dataclass(value) and not isinstance(value, type):
        said = ((item.name, getattr(value, item.name)) for item in fields(value) if item.metadata.get("json", True))
        return {name.rstrip("_"): plain(part) for name, part in said if part is not LEFT_OUT}
    if isinstance(value, Mapping):
        return {name: plain(part) for name, part in value.items()}
    if isinstance(value, float):
        return exact(value)
    return [plain(part) for part in value] if isinstance(value, list | tuple) else value


def exact(value: float) -> float:
    """The decimal that is meant, 30.5 for 30.500000000000004: where twelve digits end in three noughts or more.

    Any other value is as computed, to the last bit.
    """
    short = f"{value:.11e}"
    digits, _, power = short.partition("e")
    return float(short) if power and digits.endswith("000") else value
