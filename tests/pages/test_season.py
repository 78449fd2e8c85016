"""The season in words: the rows around me, fees and closing dates, rows found by words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.season.points import SeasonRow, SeasonTable
from paddock.folders.seasons import open_season
from paddock.pages.season import around, points_page, to_come_page
from paddock.pages.season_records import RecordTable, change_list, run_list, tyre_list
from paddock.render.lines import text
from tests.seasonfiles import write_event

RULES = """
currency = "euro"
[[events]]
folder = "b"
fee = "10.50"
closes = 2026-04-20
[[events]]
name = "soon"
days = [2026-07-01]
fee = 20
closes = {closes}
[[events]]
name = "for fun"
points = false
fee = 5
"""


def _table(count: int) -> SeasonTable:
    rows = tuple(SeasonRow(at, f"D{at}", f"{at}", Decimal(count - at), ()) for at in range(1, count + 1))
    return SeasonTable("PINE", rows, None)


def _ranks(shown: list[SeasonRow | None]) -> list[int]:
    return [0 if row is None else row.rank for row in shown]


def test_the_top_and_two_on_each_side_of_me() -> None:
    assert _ranks(around(_table(20), frozenset({"D10"}))) == [1, 2, 3, 0, 8, 9, 10, 11, 12, 0]
    assert _ranks(around(_table(20), frozenset())) == [1, 2, 3, 0]
    assert _ranks(around(_table(6), frozenset({"D4"}))) == [1, 2, 3, 4, 5, 6]


@given(st.integers(0, 40), st.sets(st.integers(1, 40), max_size=4))
def test_every_row_of_mine_stands_and_no_gap_is_said_twice(count: int, mine: set[int]) -> None:
    shown = _ranks(around(_table(count), frozenset(f"D{at}" for at in mine)))
    assert {at for at in mine if at <= count} <= set(shown)
    assert all(pair != (0, 0) for pair in pairwise(shown))
    assert [rank for rank in shown if rank] == sorted({rank for rank in shown if rank})


def _season(tmp_path: Path, closes: str = "2026-06-20") -> Any:
    write_event(tmp_path / "a", {"26": ("46.0",), "7": ("45.5",)}, "A", "2026-04-01")
    write_event(tmp_path / "b", {"26": ("46.0",), "7": ("47.5",)}, "B", "2026-05-01")
    (tmp_path / "season.toml").write_text(RULES.format(closes=closes))
    return open_season(tmp_path)


@pytest.mark.parametrize(
    ("closes", "closing"),
    [
        ("2026-06-20", "closes 2026-06-20, in 19 days"),
        ("2026-06-02", "closes 2026-06-02, in 1 day"),
        ("2026-06-01", "closes 2026-06-01, today"),
        ("2026-05-30", "closed 2026-05-30, 2 days ago"),
    ],
)
def test_booked_events_by_date_with_fee_and_closing(tmp_path: Path, closes: str, closing: str) -> None:
    said = text(to_come_page(_season(tmp_path, closes), date(2026, 6, 1)), 100)
    rows = [" ".join(row.split()) for row in said.splitlines()]
    at = rows.index("event days fee entries")
    assert rows[at + 1 : at + 5] == [
        "b 2026-05-01 run 10.5 euro",
        f"soon 2026-07-01 to come 20 euro {closing}",
        "for fun no points 5 euro",
        "Fees: 10.5 euro for events run, 25 euro to come",
    ]


def test_without_rules_no_points_are_shown(tmp_path: Path) -> None:
    _season(tmp_path)
    (tmp_path / "season.toml").unlink()
    view = open_season(tmp_path)
    said = text(points_page(view), 80)
    assert said.startswith("2 events read, 2 with results\n")
    assert "There is no season.toml" in said
    assert "PINE" not in said
    assert len(view.runs) == 2


def test_tables_with_me_come_first(tmp_path: Path) -> None:
    _season(tmp_path)
    text_ = (tmp_path / "a" / "entrants.csv").read_text()
    (tmp_path / "a" / "entrants.csv").write_text(text_.replace("Driver 7,estate,PINE", "Driver 7,estate,ASH"))
    event = (tmp_path / "a" / "event.toml").read_text()
    (tmp_path / "a" / "event.toml").write_text(event.replace('[[classes]]\ncode = "PINE"',
                                               '[[classes]]\ncode = "ASH"\n[[classes]]\ncode = "PINE"', 1))  # fmt: skip
    said = text(points_page(open_season(tmp_path)), 80)
    assert said.index("PINE: all scores count") < said.index("ASH: all scores count")


def test_folders_are_told_as_they_are_read(tmp_path: Path) -> None:
    _season(tmp_path)
    told: list[tuple[int, int, str]] = []
    open_season(tmp_path, lambda at, of, name: told.append((at, of, name)))
    assert told == [(1, 2, "a"), (2, 2, "b")]


def _column(listed: RecordTable, name: str, wanted: str = "") -> list[object]:
    at = [column.title for column in listed.table.columns].index(name)
    return [row.cells[at] for row in listed.found(wanted).rows]


def test_runs_stand_latest_event_first_and_are_found_by_words(tmp_path: Path) -> None:
    rows = run_list(_season(tmp_path).runs)
    assert _column(rows, "event") == ["B", "A"]
    assert _column(rows, "total") == ["46.000", "46.000"]
    assert _column(rows, "event", "driver 2026-04") == ["A"]
    assert _column(rows, "event", "2026-04 nobody") == []
    assert rows.found("nobody").empty == "nothing here has nobody: Enter shows all again"


def test_what_has_no_column_stands_in_the_rest(tmp_path: Path) -> None:
    rows = run_list(_season(tmp_path).runs)
    rest = rows.rest("0", [0, 3, 5, 6])
    assert rest.startswith("event B; day 1; no 26; index ")
    assert "driver Driver 26" in rest
    assert "date" not in rest


def _change(event: str, day: int, run: int, **more: str) -> dict[str, Any]:
    names = ("name", "date", "at", "id", "number", "car", "kind", "key", "item", "before", "after", "reason", "expect",
             "undoes", "decision")  # fmt: skip
    return dict.fromkeys(names) | {"event": event, "day": day, "run": run} | more


def test_changes_are_in_order_within_their_event() -> None:
    rows = [_change("a", 1, 3, key="rear_bar"), _change("a", 1, 2), _change("b", 2, 1, undoes="x"), _change("b", 1, 5)]
    found = change_list(rows)
    assert [*zip(_column(found, "event"), _column(found, "run"), strict=True)] == [
        ("b", "5"), ("b", "1"), ("a", "2"), ("a", "3"),
    ]  # fmt: skip
    assert _column(found, "change")[3] == "rear bar"
    assert _column(found, "decided") == ["open", "takes back", "open", "open"]


def test_a_tyres_events_stand_together() -> None:
    blank = dict.fromkeys(("date", "name", "set", "kind", "size", "car", "runs_before", "middle_mm", "outer_mm"))
    rows = [blank | {"event": event, "tyre": tyre, "runs": 3, "inner_mm": depth}
            for event, tyre, depth in (("a", "R2", None), ("a", "R1", 5.0), ("b", "R1", None))]  # fmt: skip
    found = tyre_list(rows)
    assert [*zip(_column(found, "tyre"), _column(found, "event"), strict=True)] == [
        ("R1", "a"),
        ("R1", "b"),
        ("R2", "a"),
    ]
    assert _column(found, "mm in/mid/out") == ["5.0/-/-", "", ""]
