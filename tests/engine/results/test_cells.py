"""What one cell says, compared exactly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.results.cells import (
    STATUS,
    Result,
    plain,
    read_count,
    read_penalty_ms,
    read_result,
    split_penalty,
    status_of,
)
from paddock.model.settings import Rules
from paddock.model.units import format_time


@pytest.mark.parametrize(
    ("cell", "wanted"),
    [
        ("46.512", Result(46_512)),
        ("46,512", Result(46_512)),
        ("46512", Result(46_512)),
        ("46.5", Result(46_500)),
        ("47", Result(47_000)),
        (" 46.512 s", Result(46_512)),
        ('46.512"', Result(46_512)),
        ("46.512*", Result(46_512)),
        ("1:02.345", Result(62_345)),
        ("1.02,345", Result(62_345)),
        ("1.02.34", Result(62_340)),
        ("1'02\"34", Result(62_340)),
        ("1:02", Result(62_000)),
        ("46.512+1", Result(46_512, cones=1)),
        ("46,512 + 2", Result(46_512, cones=2)),
        ("46.512 (1)", Result(46_512, cones=1)),
        ("46.512 (+1)", Result(46_512, cones=1)),
        ("46.512/1", Result(46_512, cones=1)),
        ("46.512 2 cones", Result(46_512, cones=2)),
        ("46.512 +1 +1g", Result(46_512, cones=1, misses=1)),
        ("46.512 +4.0", Result(46_512, penalty_ms=4_000)),
        ("46.512+2s", Result(46_512, penalty_ms=2_000)),
        ("46.512 (+4.00)", Result(46_512, penalty_ms=4_000)),
        ("46.512 DNF", Result(46_512, status="dnf")),
        ("46.512+off", Result(46_512, status="dnf")),
        ("DNF (47.10)", Result(47_100, status="dnf")),
        ("DNF", Result(status="dnf")),
        ("D.N.F.", Result(status="dnf")),
        ("DNF1", Result(status="dnf")),
        ("999.999", Result(status="dnf")),
        ("46.512 RR", Result(46_512, status="rerun")),
    ],
)
def test_a_cell(cell: str, wanted: Result) -> None:
    assert read_result(cell) == wanted


@pytest.mark.parametrize("cell", ["", " ", "-", "—", "0.000", "n/a", "\xa0"])
def test_no_run(cell: str) -> None:
    assert read_result(cell) is None


@pytest.mark.parametrize("cell", ["46.5123", "abc", "46.5 1", "1:75.2", "4000.0", "46.5+", "46.5 zzz", "12:30:11"])
def test_what_is_refused(cell: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        read_result(cell)


def test_float_noise_of_a_spreadsheet_is_no_fourth_decimal() -> None:
    assert read_result("46.512000000000001") == read_result("46.51199999999999") == Result(46_512)
    assert read_result("46.99999999999999") == Result(47_000)


def test_a_place_in_brackets_is_no_cone() -> None:
    assert read_result("46.512 (12)", ranks=True) == Result(46_512)


# Void words from memory; common in published results, no source.
@pytest.mark.parametrize(
    ("word", "status"),
    [
        ("Did not finish", "dnf"), ("ausgeschieden", "dnf"), ("Abandon", "dnf"), ("Ritirato", "dnf"),
        ("Uitgevallen", "dnf"), ("Brutit", "dnf"), ("Keskeytti", "dnf"), ("nie ukończyła", "dnf"),
        ("Nicht gestartet", "dns"), ("Non partant", "dns"), ("nie startował", "dns"), ("nestartoval", "dns"),
        ("Disqualifié", "dsq"), ("DISQUALIFIZIERT", "dsq"), ("Squalificato", "dsq"), ("hylätty", "dsq"),
        ("Re-run", "rerun"), ("Wiederholungslauf", "rerun"), ("Training", "practice"),
    ],
)  # fmt: skip
def test_void_words(word: str, status: str) -> None:
    assert status_of(word) == status


def test_no_void_word_means_two_things() -> None:
    words = [word for known in STATUS.values() for word in known]
    assert len(words) == len(set(words))
    assert all(word == plain(word) for word in words)


@given(ms=st.integers(5_000, 999_000), cones=st.integers(0, 20), comma=st.booleans(), minutes=st.booleans())
def test_any_time_written_is_read_again(ms: int, cones: int, comma: bool, minutes: bool) -> None:
    text = format_time(ms)
    if minutes:
        text = f"{ms // 60_000}:{ms % 60_000 / 1000:06.3f}"
    text = text.replace(".", ",") if comma else text
    assert read_result(f"{text}+{cones}" if cones else text) == Result(ms, cones=cones or None)


@given(st.text(max_size=40))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        result = read_result(text)
    except ValueError:
        return
    assert result is None or result != Result()


@pytest.mark.parametrize(("cell", "count"), [("2", 2), ("2.0", 2), ("+1", 1), ("0", 0), ("", None), ("-", None)])
def test_counts(cell: str, count: int | None) -> None:
    assert read_count(cell) == count


def test_a_half_cone_is_refused() -> None:
    with pytest.raises(ValueError, match="no count"):
        read_count("1.5")


@pytest.mark.parametrize(("cell", "ms"), [("4", 4_000), ("+2,0", 2_000), ("0", 0), ("", None), ("50.00", 50_000)])
def test_added_seconds(cell: str, ms: int | None) -> None:
    assert read_penalty_ms(cell) == ms


@pytest.mark.parametrize(
    ("rules", "ms", "marks"),
    [
        ({"cone_s": 2}, 6_000, (3, 0)),
        ({"cone_s": 2, "miss": 10}, 12_000, (1, 1)),
        ({"cone_s": 2, "miss": 50}, 54_000, (2, 1)),
        ({"cone_s": "0.5"}, 1_500, (3, 0)),
        ({"cone_s": 5, "miss": 7}, 10_000, (2, 0)),
    ],
)
def test_seconds_to_the_fewest_marks(rules: dict[str, object], ms: int, marks: tuple[int, int]) -> None:
    assert split_penalty(ms, Rules.model_validate(rules)) == marks


def test_seconds_no_cones_can_add_up_to() -> None:
    with pytest.raises(ValueError, match="3 s added is no whole number of cones at 2 s"):
        split_penalty(3_000, Rules())
