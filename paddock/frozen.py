"""Frozen values made quickly: what ``@dataclass(frozen=True, slots=True)`` makes, in two fifths of its time.

An answer is made of some two hundred such classes, and the standard decorator compiles six functions for each, one by
one: a tenth of the program's start. Here three are compiled in one go and the rest are shared.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(cls: type[T]) -> type[T]:
    """A frozen class with slots out of its annotated fields: equal by its values, hashable where they are.

    ``dataclasses.fields``, ``replace`` and ``is_dataclass`` take it for what it stands in for. It inherits from no
    other value, and no other from it.
    """
    own = {name for name in _MADE if name in cls.__dict__}
    cls.__doc__ = cls.__doc__ or cls.__name__
    made: Any = dataclass(init=False, repr=False, eq=False, slots=True)(cls)
    for name, function in (_compiled(made) | _SHARED).items():
        if name not in own:
            setattr(made, name, function)
    return made  # type: ignore[no-any-return]


def _compiled(made: Any) -> dict[str, Any]:
    """What depends on the fields: setting them, comparing by them."""
    known: dict[str, Any] = {"SET": object.__setattr__, "ANEW": MISSING, "__name__": made.__module__}
    taken, kept = [], []
    for item in fields(made):
        take, keep = _argument(item, known)
        taken.append(take)
        kept.append(keep)
    if hasattr(made, "__post_init__"):
        kept.append(" self.__post_init__()")
    compared = [item.name for item in fields(made) if item.compare]
    mine, theirs = ("".join(f"{whose}.{name}, " for name in compared) for whose in ("self", "other"))
    exec(
        f"def __init__(self, {', '.join(taken)}):\n" + "\n".join(kept or [" pass"]) + "\n"
        "def __eq__(self, other):\n"
        f" return ({mine}) == ({theirs}) if other.__class__ is self.__class__ else NotImplemented\n"
        f"def __hash__(self):\n return hash(({mine}))\n",
        known,
    )  # fmt: skip
    return {name: known[name] for name in ("__init__", "__eq__", "__hash__")}


def _argument(item: Field[Any], known: dict[str, Any]) -> tuple[str, str]:
    """A field as an argument, and the line that keeps it; its default goes into ``known``."""
    name, value = item.name, item.name
    if item.default is not MISSING:
        known[f"DEFAULT_{name}"] = item.default
        argument = f"{name}=DEFAULT_{name}"
    elif item.default_factory is not MISSING:
        known[f"DEFAULT_{name}"] = item.default_factory
        argument, value = f"{name}=ANEW", f"DEFAULT_{name}() if {name} is ANEW else {name}"
    else:
        argument = name
    return argument, f" SET(self, {name!r}, {value})"


def _refuse(_self: object, name: str, _value: object = None) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _say(self: Any) -> str:
    shown = ", ".join(f"{item.name}={getattr(self, item.name)!r}" for item in fields(self) if item.repr)
    return f"{type(self).__qualname__}({shown})"


def _packed(self: Any) -> list[Any]:
    return [getattr(self, item.name) for item in fields(self)]


def _unpacked(self: Any, state: list[Any]) -> None:
    for item, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, item.name, value)


_SHARED: dict[str, Any] = {
    "__setattr__": _refuse, "__delattr__": _refuse, "__repr__": _say, "__getstate__": _packed,
    "__setstate__": _unpacked,
}  # fmt: skip
_MADE = {"__init__", "__eq__", "__hash__", *_SHARED}
