"""Tread depths as typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.actions.tyres import depth_words, read_depths


@given(st.lists(st.integers(0, 99), min_size=3, max_size=3))
def test_depths_run_together_or_with_a_sign_are_one(tenths: list[int]) -> None:
    plain = " ".join(f"{value:02d}" for value in tenths)
    pointed = " ".join(f"{value / 10:.1f}" for value in tenths)
    found = read_depths(plain, "mm")
    assert found == read_depths(pointed, "mm") == read_depths(pointed.replace(".", ","), "mm")
    assert depth_words(found.values(), "mm") == pointed.replace(" ", "/")


@given(st.lists(st.integers(1, 24), min_size=3, max_size=3))
def test_thirty_seconds_come_back_as_typed(depths: list[int]) -> None:
    found = read_depths(" ".join(map(str, depths)), "32nds")
    assert found["inner"] == pytest.approx(depths[0] * 25.4 / 32, abs=5e-4)
    assert depth_words(found.values(), "32nds") == "/".join(f"{depth:.1f}" for depth in depths)


@pytest.mark.parametrize("text", ["", "4.4", "4.4 4.6 3.1 2", "a b c", "- - -", "4.4 4.6 -3"])
def test_what_is_no_reading(text: str) -> None:
    with pytest.raises(ValueError, match=r"type three depths|at least one depth"):
        read_depths(text, "mm")
