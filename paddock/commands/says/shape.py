"""What the verbs' answers are made of: frozen values whose fields say what they mean, filled from the engine's values.

A field's ``Annotated`` words are its line in ``docs/json.md``; its name ends in its unit. A trailing ``_`` keeps a name
from being a word of Python and is not in the JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from types import NoneType
from typing import Annotated, Any, TypeVar, get_args, get_type_hints

S = TypeVar("S")


class _LeftOut:
    """Stands for a key that this answer doesn't have."""

    def __repr__(self) -> str:
        return "LEFT_OUT"


LEFT_OUT: Any = _LeftOut()


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemSaid:
    """A fault or a doubt in a file."""

    file: Annotated[str, "file within the folder"]
    line: Annotated[int, "its line, 0: the whole file"]
    level: Annotated[str, "`fault` or `warning`"]
    message: Annotated[str, "what is wrong, with the mend"]


Problems = Annotated[tuple[ProblemSaid, ...], "every finding, by file and line"]
AsOfSaid = Annotated[str | None, "the moment answered for: `2026-05-10T13:08`, the date alone where no clock is known"]
FaultsLeftOut = Annotated[int, "faults whose rows the answer is without: see `paddock check`"]
RowsLater = Annotated[int, "rows later than the clock, which count as now"]


def inner(kind: Any) -> tuple[type | None, bool]:
    """The frozen value a field holds, None for a plain one, and whether it holds many."""
    kinds = [part for part in get_args(kind) if part is not NoneType] if _is_union(kind) else [kind]
    for one in kinds:
        if is_dataclass(one) and isinstance(one, type):
            return one, False
        parts = get_args(one)
        if parts and is_dataclass(parts[0]) and isinstance(parts[0], type):
            return parts[0], True
    return None, False


def _is_union(kind: Any) -> bool:
    return NoneType in get_args(kind)


_Plan = tuple[tuple[str, str, type | None, bool, bool], ...]
_PLANS: dict[type, _Plan] = {}


def _plan(shape: type) -> _Plan:
    """Each field: its name, its key, what it holds, whether many, whether it may be left out."""
    if shape not in _PLANS:
        hints = get_type_hints(shape)
        _PLANS[shape] = tuple(
            (item.name, item.name.rstrip("_"), *inner(hints[item.name]), item.default is not MISSING)
            for item in fields(shape)
        )
    return _PLANS[shape]


def made(shape: type[S], value: object) -> S:
    """``shape`` filled from a mapping by its keys, or from any value by its attributes; what is inside it likewise.

    Raises TypeError for a key the shape doesn't have, KeyError or AttributeError for one that is missing.
    """
    taken: dict[str, Any] = {}
    for name, key, inside, many, optional in _plan(shape):
        if isinstance(value, Mapping):
            found = value.get(key, LEFT_OUT) if optional else value[key]
        else:
            found = getattr(value, name) if hasattr(value, name) else getattr(value, key)
        if inside is not None and found is not None and found is not LEFT_OUT:
            found = tuple(made(inside, item) for item in found) if many else made(inside, found)
        taken[name] = found
    if isinstance(value, Mapping) and (more := set(value) - {key for _, key, *_ in _plan(shape)}):
        raise TypeError(f"{shape.__name__} has no {', '.join(sorted(more))}")
    return shape(**taken)
