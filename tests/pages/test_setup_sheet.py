"""The set-up sheet in words, and a line of it changed."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.actions.car import change_setting
from paddock.engine.car.setup_sheet import SheetLine, sheet
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import SetupChange, TimeRow
from paddock.model.settings import Mine, Settings
from paddock.pages.changes import line_page, sheet_table, state_of
from paddock.render.lines import text


def event(*changes: dict[str, Any]) -> Event:
    """Two runs of 26, the second faster; the bar as it came is 3-3."""
    rows = tuple(SetupChange(**{"day": 1, "number": "26", "setting": "rear_bar", **change}) for change in changes)
    times = tuple(TimeRow(day=1, run=run, number="26", time_ms=46000 - run) for run in (1, 2))
    settings = Settings(mine=Mine(numbers=("26",), cars={"26": "car"}))
    return Event("test", settings, {"changes.csv": rows, "times.csv": times}, {"car": Car(setup={"rear_bar": "3-3"})})


def only(of: Event) -> SheetLine:
    (line,) = sheet(of, "26").lines
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
    assert text(line_page(of, "26", only(of)), 60).splitlines() == [
        "rear bar: 4-4, changed",
        "day 1 run 2: 3-4 to 4-4, open",
        "day 1 run 1: 3-3 to 3-4, test, pushes, open",
    ]


def test_a_change_that_was_undone_is_told_as_taken_back() -> None:
    of = event({**TRIED, "run": 1}, {"id": "b", "run": 2, "before": "3-4", "after": "3-3", "undoes": "a"})
    assert text(line_page(of, "26", only(of)), 60).splitlines()[1:] == [
        "day 1 run 2: 3-4 to 3-3, takes back", "day 1 run 1: 3-3 to 3-4, test, taken back"
    ]  # fmt: skip


def test_the_table_has_a_column_for_each_fastest_run() -> None:
    of = event(TRIED)
    table = sheet_table(sheet(of, "26"))
    assert [column.title for column in table.columns] == ["setting", "now", "as it came", "d1 r2", ""]
    assert [(row.cells, row.mine) for row in table.rows] == [(("rear bar", "3-4", "3-3", "3-4", "on test"), True)]


def test_a_new_value_starts_from_what_is_on_now() -> None:
    of = event(TRIED)
    made = change_setting(of, "26", 1, 3, "10:00:00", "rear_bar", only(of).now, {"after": "4-4", "kind": "correction"})
    cells = made.edits[0].cells  # type: ignore[union-attr]
    assert (cells["setting"], cells["item"], cells["before"], cells["after"]) == ("rear_bar", "rear bar", "3-4", "4-4")
    assert (cells["kind"], cells["run"]) == ("correction", 3)
