"""A line that lacks a space is refused with the mend; figures alone are never parted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.entry.pressures import read_pressures
from paddock.entry.runs import read_run
from paddock.entry.said import Wrong


@pytest.mark.parametrize(
    ("line", "mend"),
    [("u1u1050871", "u1u10 50871"), ("m46512", "m 46512"), ("dry46.512", "dry 46.512"), ("46512u1", "46512 u1")],
)
def test_a_run_that_lacks_a_space(line: str, mend: str) -> None:
    found = read_run(line, 3)
    assert isinstance(found, Wrong)
    assert found.sentence == f"{line}: is a space missing? {mend}"
    assert not isinstance(read_run(mend, 3), Wrong)


@pytest.mark.parametrize(("line", "mend"), [("285t26", "285 t26"), ("345a18", "345 a18"), ("set285", "set 285")])
def test_a_reading_that_lacks_a_space(line: str, mend: str) -> None:
    found = read_pressures(f"34 35 {line}")
    assert isinstance(found, Wrong)
    assert found.sentence == f"{line}: is a space missing? {mend}"
    assert not isinstance(read_pressures(f"34 35 {mend}"), Wrong)


@pytest.mark.parametrize("line", ["465129999", "46.5.12", "wibble"])
def test_what_no_space_mends_is_said_as_before(line: str) -> None:
    found = read_run(line, 3)
    assert isinstance(found, Wrong)
    assert "space" not in found.sentence


@given(st.text("u1o0m46.512+tb-", min_size=1, max_size=12))
def test_a_mend_that_is_offered_can_be_typed(line: str) -> None:
    found = read_run(line, 3)
    if isinstance(found, Wrong) and "space missing? " in found.sentence:
        mended = read_run(line.replace(found.text, found.sentence.partition("? ")[2]), 3)
        assert not isinstance(mended, Wrong) or "twice" in mended.sentence or "space" not in mended.sentence
