"""The tool that makes faults: which it makes, which it leaves alone, and that a trial tells caught from survived."""

from __future__ import annotations

from pathlib import Path

from tests.mutation.__main__ import drawn, survivors
from tests.mutation.mutants import count, made
from tests.mutation.rooms import ROOMS

ROOT = Path(__file__).parent.parent.parent


def faulty(body: str) -> set[str]:
    found = [made(body, number) for number in range(count(body))]
    return {mutant.source for mutant in found if mutant}


def test_each_kind_of_fault() -> None:
    assert faulty("a < b") == {"a <= b", "a >= b"}
    assert faulty("a == b") == {"a != b"}
    assert faulty("a + b") == {"a - b"}
    assert faulty("f(3, 0.5)\n") == {"f(4, 0.5)", "f(2, 0.5)", "f(3, 1.5)", "pass"}
    assert faulty("a and b") == {"a or b"}
    assert faulty("x = not a") == {"x = a"}
    assert faulty("x = max(a)") == {"x = min(a)"}
    assert faulty("x = a if b else c") == {"x = a if not b else c"}
    assert faulty("def f():\n    return a") == {"def f():\n    return"}
    assert "def f():\n    pass\n    a = b" in faulty("def f():\n    if c:\n        return\n    a = b")


def test_what_is_left_alone() -> None:
    assert not faulty('"""Words."""\n__all__ = [1]\nif TYPE_CHECKING:\n    x = 1\n')
    assert not faulty("def f(a: int | None = None) -> X[1]:\n    'words'\n")
    assert not faulty("@frozen(True)\nclass A:\n    b: X[1]\n")
    assert faulty("x = zip(a, b, strict=True)") == set()


def test_a_fault_that_comes_to_nothing_is_no_fault() -> None:
    assert count("x = -0") == 3
    assert faulty("x = -0") == {"x = -1", "x = --1"}


def test_every_room_has_files_and_tests_and_the_same_seed_the_same_faults() -> None:
    for room in ROOMS.values():
        assert len(room.files(ROOT)) > 5
        assert all((ROOT / file).exists() for file in room.tests_for(ROOT, room.files(ROOT)[0]))
        first, possible = drawn(room, ROOT, 1, 2)
        assert len(first) == 2
        assert possible > 500
    assert first == drawn(room, ROOT, 1, 2)[0]


def test_survivors_of_a_printed_run_are_found_again() -> None:
    room = ROOMS["scoring"]
    ((file, mutant),) = drawn(room, ROOT, 1, 1)[0]
    log = f"caught   {file}:1  x  ->  y  (a test)\nSURVIVED {file}:1  {mutant.change}  (no test failed)\n"
    assert mutant.change in {again.change for _, again in survivors(room, ROOT, log)[0]}
    assert survivors(room, ROOT, "")[0] == []
