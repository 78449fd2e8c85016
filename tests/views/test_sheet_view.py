"""The set-up sheet in words, and tread depths as typed."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, TimeRow
from paddock.model.settings import Mine, Settings
from paddock.views.sheet import SheetLine, behind, fastest_head, new_value, sheet_of, state_of
from paddock.views.tyres import depth_words, read_depths


def event(*changes: dict[str, Any]) -> Event:
    """Two runs of 26, the second faster; the bar as it came is 3-3."""
    rows = tuple(ChangeRow(**{"day": 1, "number": "26", "setting": "rear_bar", **change}) for change in changes)
    times = tuple(TimeRow(day=1, run=run, number="26", time_ms=46000 - run) for run in (1, 2))
    settings = Settings(mine=Mine(numbers=("26",), cars={"26": "car"}))
    return Event("test", settings, {"changes.csv": rows, "times.csv": times}, {"car": Car(setup={"rear_bar": "3-3"})})


def only(of: Event) -> SheetLine:
    (line,) = sheet_of(of, "26").lines
    return line


TRIED = {"id": "a", "run": 2, "before": "3-3", "after": "3-4", "kind": "test"}


@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ([], ""), ([TRIED], "on test"), ([{**TRIED, "decision": "keep"}], "changed"),
        ([{**TRIED, "kind": "repair"}], "changed"), ([{**TRIED, "decision": "revert"}], "to put back"),
        ([{**TRIED, "run": 3}], "not as fastest"),
        ([{**TRIED, "run": 1}, {"id": "b", "run": 2, "before": "3-4", "after": "3-3", "undoes": "a"}], "put back"),
    ],
)  # fmt: skip
def test_what_stands_out(changes: list[dict[str, Any]], state: str) -> None:
    assert state_of(only(event(*changes))) == state


def test_the_latest_change_is_told_first() -> None:
    of = event({**TRIED, "run": 1, "reason": "pushes"}, {"id": "b", "run": 2, "before": "3-4", "after": "4-4"})
    assert behind(of, "26", only(of)) == (
        "day 1 run 2: 3-4 to 4-4, open",
        "day 1 run 1: 3-3 to 3-4, test, pushes, open",
    )
    assert fastest_head(sheet_of(of, "26").fastest[0]) == "d1 r2"


def test_a_new_value_starts_from_what_is_on_now() -> None:
    of = event(TRIED)
    made = new_value(of, "26", 1, "10:00:00", only(of), {"after": "4-4", "kind": "correction"})
    cells = made.edits[0].cells  # type: ignore[union-attr]
    assert (cells["setting"], cells["item"], cells["before"], cells["after"]) == ("rear_bar", "rear bar", "3-4", "4-4")
    assert (cells["kind"], cells["run"]) == ("correction", 3)


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
