"""The witness itself: the same answers twice, every verb answering, nothing on the random folders a fault of the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.witness import answers, write_folder


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_random_folders_are_answered_and_the_same_twice(seed: int, tmp_path: Path) -> None:
    first = answers(write_folder(tmp_path / "a" / "event", seed))
    again = answers(write_folder(tmp_path / "b" / "event", seed))
    assert first == again
    assert {words.split()[0] for words in first} >= {"check", "standings", "gap", "next", "chances", "tyres", "air"}
    assert {said.partition(" ")[0] for said in first.values()} <= {"0", "1"}
