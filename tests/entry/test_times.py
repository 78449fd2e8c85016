"""A typed time is one value, or a sentence; never a guess."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.entry import Wrong, read_time
from paddock.model.units import format_time


@pytest.mark.parametrize(
    ("text", "decimals", "ms"),
    [
        ("46.512", 3, 46512), ("46,512", 3, 46512), ("46512", 3, 46512), (" 46.512 ", 3, 46512),
        ("103.456", 3, 103456), ("103456", 3, 103456), ("1:02.345", 3, 62345), ("1:02345", 3, 62345),
        ("46.51", 2, 46510), ("4651", 2, 46510), ("46.5", 1, 46500), ("465", 1, 46500), ("46", 0, 46000),
        ("9.512", 3, 9512),
    ],
)  # fmt: skip
def test_one_time_however_it_is_written(text: str, decimals: int, ms: int) -> None:
    assert read_time(text, decimals) == ms


@pytest.mark.parametrize(
    ("text", "decimals"),
    [
        ("4613", 3), ("46,13", 3), ("46.1.3", 3), ("46", 3), ("4", 3), ("", 3), ("465123", 3), ("46.", 3), (".512", 3),
        ("1:72.345", 3), ("1:2.345", 3), ("0.000", 3), ("999.999", 3), ("-46.512", 3), ("46.512s", 3), ("46512", 2),
        ("46.512", 2), ("٤٦٥١٢", 3), ("4 6512", 3), ("1e5", 3),
    ],
)  # fmt: skip
def test_a_doubt_is_asked_about(text: str, decimals: int) -> None:
    found = read_time(text, decimals)
    assert isinstance(found, Wrong)
    assert found.field == "time"
    assert found.sentence


def test_two_ways_are_both_named() -> None:
    found = read_time("4613", 3)
    assert isinstance(found, Wrong)
    assert "4.613" in found.sentence
    assert "46.130" in found.sentence


@given(st.integers(10_000, 199_999))
def test_with_point_comma_or_neither_is_the_same_time(ms: int) -> None:
    text = format_time(ms, 3)
    assert read_time(text, 3) == ms
    assert read_time(text.replace(".", ","), 3) == ms
    assert read_time(text.replace(".", ""), 3) == ms


@given(st.text(max_size=12), st.integers(0, 3))
def test_anything_at_all_gives_a_time_in_range_or_a_sentence(text: str, decimals: int) -> None:
    found = read_time(text, decimals)
    assert isinstance(found, Wrong) or 0 < found <= 600_000


@given(st.from_regex(r"\A[0-9]{1,8}\Z"), st.integers(0, 3))
def test_bare_digits_are_read_only_where_the_point_can_stand_in_one_place(digits: str, decimals: int) -> None:
    found = read_time(digits, decimals)
    whole = len(digits) - decimals
    if not isinstance(found, Wrong):
        assert whole == 2 or (whole == 3 and digits[0] == "1")
