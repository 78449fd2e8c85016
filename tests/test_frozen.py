"""A frozen value is what the standard decorator makes: the two are held against each other."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace
from inspect import signature
from typing import Any, ClassVar

import pytest

from paddock.frozen import frozen


class Plain:
    """A few of every kind."""

    KIND: ClassVar[str] = "kind"
    a: int
    b: str = "b"
    c: list[int] = field(default_factory=list, repr=False)
    d: float | None = field(default=None, compare=False)
    set: str | None = None

    @property
    def twice(self) -> int:
        return self.a * 2


class Bare:
    """Nothing in it."""


class Said:
    name: str

    def __str__(self) -> str:
        return f"<{self.name}>"

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", self.name.upper())


def again(cls: type) -> type:
    return type(cls.__name__, (), {k: v for k, v in vars(cls).items() if k not in ("__dict__", "__weakref__")})


Ours: Any = frozen(again(Plain))
Theirs: Any = dataclass(frozen=True, slots=True)(again(Plain))
Ours.__qualname__ = Theirs.__qualname__ = "Plain"


@frozen
class Kept:
    """Stands in the module under its own name, as what is pickled must."""

    a: int
    b: tuple[int, ...] = ()


@pytest.mark.parametrize("ask", [
    lambda made: repr(made(1, "x")),
    lambda made: made(1, set="y").set,
    lambda made: asdict(made(1)),
    lambda made: [(item.name, item.default, item.compare) for item in fields(made)],
    lambda made: is_dataclass(made),
    lambda made: made.__slots__,
    lambda made: made.__match_args__,
    lambda made: list(signature(made).parameters),
    lambda made: (made(1) == made(1), made(1) == made(2), made(1, d=1.0) == made(1, d=2.0), made(1) == 1),
    lambda made: replace(made(1, "x", [2]), a=5).c,
    lambda made: made(1).c is made(1).c,
    lambda made: made(1, c=[1]) == made(1, c=[1]),
    lambda made: made(3).twice,
    lambda made: made(float("nan")) == made(float("nan")),
    lambda made: made.__doc__,
    lambda made: made.KIND,
])  # fmt: skip
def test_it_answers_as_the_standard_one(ask: Callable[[Any], object]) -> None:
    assert ask(Ours) == ask(Theirs)


@pytest.mark.parametrize("do", [
    lambda made: setattr(made(1), "a", 2),
    lambda made: setattr(made(1), "new", 2),
    lambda made: delattr(made(1), "a"),
    lambda made: made(),
    lambda made: made(1, z=2),
    lambda made: hash(made(1)),
    lambda made: replace(made(1), z=2),
])  # fmt: skip
def test_it_refuses_what_the_standard_one_refuses(do: Callable[[Any], object]) -> None:
    refused = []
    for made in (Ours, Theirs):
        with pytest.raises((FrozenInstanceError, TypeError, AttributeError)) as told:
            do(made)
        refused.append(told.type)
    assert refused[0] is refused[1] or refused == [FrozenInstanceError, TypeError]


def test_hashes_copies_and_pickles() -> None:
    kept = Kept(1, (2,))
    assert {kept: 1}[Kept(1, (2,))] == 1
    assert hash(kept) != hash(Kept(2, (2,)))
    assert pickle.loads(pickle.dumps(kept)) == copy.copy(kept) == copy.deepcopy(kept) == kept
    match kept:
        case Kept(a, b):
            assert (a, b) == (1, (2,))


def test_its_own_methods_stay_and_the_last_step_is_taken() -> None:
    made: Any = frozen(again(Said))
    assert str(made("me")) == "<ME>"
    empty: Any = frozen(again(Bare))
    assert empty() == empty()
