"""From a table to runs, differences and edits; what must be refused."""

from __future__ import annotations

from datetime import datetime

import pytest

from paddock.engine.results import default_day, edits
from paddock.model.edit import AddRow, ChangeRow
from paddock.model.rows import NoteRow, RunRow, TimeRow
from tests.engine.results.tables import at_event, grid, taken, written

NOON = datetime(2026, 5, 9, 12, 0)


def mine(run: int, time_ms: int, at: str | None = "11:45", **more: object) -> TimeRow:
    return TimeRow(day=1, run=run, number="26", time_ms=time_ms, at=at, **more)  # type: ignore[arg-type]


def test_a_cone_posted_that_i_logged_clean() -> None:
    of = at_event(mine(1, 46_512, cones=0))
    _, seen = taken("No|Run 1\n26|46.512+1\n83|47.1", of, now=NOON)
    (found,) = seen.differences
    assert (found.run, found.posted, found.logged, found.minutes_left) == (1, "46.512+1", "46.512", 15)
    assert (seen.added, seen.updated, seen.unchanged) == (1, 1, 0)


def test_a_class_the_event_has_not_is_said() -> None:
    _, seen = taken("No|Class|Run 1\n26|MOSS|46.512\n901|MOSS|47.1\n902|FERN|47.2", at_event())
    (said,) = [text for text in seen.remarks if "none of this event's" in text]
    assert said.startswith("class FERN, MOSS is none of this event's: 2 drivers left without one"), "26 has its own"
    _, seen = taken("No|Run 1\n26|46.512\n901|47.1", at_event())
    assert not any("none of this event's" in text for text in seen.remarks)


@pytest.mark.parametrize(
    ("at", "now", "left"),
    [
        ("11:45", datetime(2026, 5, 9, 12, 15), 0),
        ("11:45", datetime(2026, 5, 9, 15, 0), 0),
        ("11:45", datetime(2026, 5, 9, 11, 0), 30),
        ("11:45:30", datetime(2026, 5, 9, 12, 0), 15),
        (None, NOON, None),
        ("11:45", None, None),
    ],
)
def test_minutes_left_to_protest(at: str | None, now: datetime | None, left: int | None) -> None:
    _, seen = taken("No|Run 1\n26|46.512+1\n83|47.1", at_event(mine(1, 46_512, at=at)), now=now)
    assert seen.differences[0].minutes_left == left


def test_the_log_gives_the_clock_where_the_time_row_has_none() -> None:
    of = at_event(mine(1, 46_512, at=None), rows=(RunRow(day=1, run=1, number="26", at="11:40"),))
    _, seen = taken("No|Run 1\n26|46.512+1\n83|47.1", of, now=NOON)
    assert seen.differences[0].minutes_left == 10


def test_the_same_run_as_logged_or_with_more_decimals_is_no_difference() -> None:
    of = at_event(mine(1, 46_510), mine(2, 46_500, cones=1))
    _, seen = taken("No|Run 1|Run 2\n26|46.512|46.500+1\n83|47.1|47.2", of, now=NOON)
    assert seen.differences == ()
    assert seen.updated == 1


def test_what_i_logged_is_kept_in_a_note_and_shown_again_next_time() -> None:
    text = "No|Run 1\n26|46.512+1\n83|47.1"
    of = at_event(mine(1, 46_512))
    _, seen = taken(text, of, now=NOON)
    note = next(edit for edit in edits(seen, of).edits if edit.file == "notes.csv")
    assert isinstance(note, AddRow)
    assert note.cells["text"] == "26 run 1 posted as 46.512+1, logged as 46.512"
    after = at_event(
        mine(1, 46_512, cones=1), TimeRow(day=1, run=1, number="83", time_ms=47_100), rows=(NoteRow(**note.cells),)
    )
    _, again = taken(text, after, now=NOON)
    assert [(item.posted, item.logged) for item in again.differences] == [("46.512+1", "46.512")]
    assert edits(again, after).edits == ()


def test_a_posting_put_right_is_no_difference_any_more() -> None:
    note = NoteRow(
        id="posted-1-1-26", day=1, run=1, topic="posted", text="26 run 1 posted as 46.512+1, logged as 46.512"
    )
    of = at_event(mine(1, 46_512, cones=1), rows=(note,))
    _, seen = taken("No|Run 1\n26|46.512\n83|47.1+2", of, now=NOON)
    assert seen.differences == ()
    assert seen.updated == 1


def test_again_changes_nothing_and_a_correction_changes_one_row() -> None:
    of = at_event(
        TimeRow(day=1, run=1, number="83", time_ms=47_100, cones=1), TimeRow(day=1, run=1, number="4", time_ms=48_000)
    )
    _, same = taken("No|Run 1\n83|47.1+1\n4|48.0", of)
    assert (same.added, same.updated, same.unchanged) == (0, 0, 2)
    assert edits(same, of).edits == ()
    _, seen = taken("No|Run 1\n83|47.1\n4|48.0+2", of)
    assert [edit.cells for edit in edits(seen, of).edits] == [{"cones": 0}, {"cones": 2}]


def test_a_table_without_cones_leaves_them_alone() -> None:
    of = at_event(TimeRow(day=1, run=1, number="83", time_ms=47_100, cones=1))
    _, seen = taken("No|Run 1\n83|47.1\n4|48.0", of)
    assert seen.unchanged == 1


def test_a_rerun_and_its_replacement_are_two_rows() -> None:
    of = at_event(TimeRow(day=1, run=1, number="83", status="rerun"))
    _, seen = taken("No|Run 1\n83|47.1\n4|48.0", of)
    assert (seen.added, seen.updated) == (2, 0)
    _, granted = taken("No|Run 1\n83|RR\n4|48.0", of)
    assert (granted.added, granted.unchanged) == (1, 1)
    both = at_event(*of.times, TimeRow(day=1, run=1, number="83", time_ms=47_000))
    _, later = taken("No|Run 1\n83|47.1\n4|48.0", both)
    assert [type(edit) for edit in edits(later, both).edits] == [ChangeRow, AddRow]


def test_an_entry_nobody_knows_is_entered_to_be_completed() -> None:
    of = at_event()
    _, seen = taken("No|Driver|Class|Run 1\n26|Birch|PINE|46.5\n99|New One|oak|47.1\n98|Odd One|CORK|48.1", of)
    made = [edit.cells for edit in edits(seen, of).edits if edit.file == "entrants.csv"]
    assert made == [{"number": "99", "driver": "New One", "class_": "OAK"}, {"number": "98", "driver": "Odd One"}]


def test_a_heading_above_the_rows_gives_their_class() -> None:
    _, seen = taken(grid("No|Run 1\nPINE|\n99|46.5\nOAK|OAK\n98|47.5", name="Day 1 / OAK"))
    assert [(item.number, item.class_) for item in seen.new_entrants] == [("99", "PINE"), ("98", "OAK")]


def test_number_and_class_in_one_cell_and_leading_zeros() -> None:
    _, seen = taken("Car|Run 1\n26 PINE|46.5\nOAK 4|47.1\n#7|48.0\n5.0|49.0")
    assert {row.number for row in seen.rows} == {"26", "4", "07", "5"}


def test_two_drivers_on_one_number() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Jay Birch|46.5\n26|Corin Wagtail|47.5\n4|Al Cedar|48.0")
    assert [doubt.kind for doubt in seen.doubts] == ["shared"]
    assert "Jay Birch and Corin Wagtail (lines 2, 3)" in seen.doubts[0].why
    assert written(seen) == {("4", 1): "48.000"}
    assert [item.line for item in seen.unread] == [2, 3]


def test_one_driver_in_two_lists_counts_once_and_contradictions_count_not_at_all() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Birch|46.5\n4|Cedar|48.0\n26|Jay Birch|46.5\n4|Al Cedar|48.9")
    assert written(seen) == {("26", 1): "46.500"}
    assert "lines 3 and 5 differ" in seen.unread[0].why


def test_names_that_are_other_numbers_are_left_out() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Jay Birch|46.5\n83|Al Cedar|47.0\n5|Jo Crane|48.0\n4|Cedar|49.0")
    assert ("83", 1) not in written(seen)
    assert seen.unread[0].why == "number 83 is Corin Pine here, and Al Cedar is number 4: not brought in"


@pytest.mark.parametrize(
    ("name", "title", "why"),
    [
        ("Results 2025", "", "says 2025"),
        ("", "Spring event 10.05.2025", "dated 2025-05-10"),
        ("Season 2024/25", "", "says 2025"),
        ("2026-05-11", "", "dated 2026-05-11"),
    ],
)
def test_last_years_table_by_its_date(name: str, title: str, why: str) -> None:
    _, seen = taken(grid("No|Run 1\n26|46.5\n83|47.0", name, title))
    assert [doubt.kind for doubt in seen.doubts] == ["other"]
    assert why in seen.doubts[0].why


@pytest.mark.parametrize("name", ["Results 2026", "10.05.2026", "Season 2025/26", "", "Course 2020 m", "Run 3"])
def test_this_years_table_by_its_date(name: str) -> None:
    of = grid("No|Run 1\n26|46.5\n83|47.0", name)
    _, seen = taken(of)
    assert seen.doubts == ()


def test_last_years_table_by_its_drivers() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Old Rook|46.5\n83|Ann Gull|47.0\n4|Al Cedar|48.0")
    assert "2 of 3 numbers are other drivers here" in seen.doubts[0].why


def test_another_days_times() -> None:
    of = at_event(*(TimeRow(day=1, run=1, number=n, time_ms=46_000) for n in ("26", "83", "4", "5", "07")))
    _, seen = taken("No|Run 1\n26|45.1\n83|45.2\n4|45.3\n5|45.4\n07|46.0", of)
    assert "4 of 5 times already here for day 1 would change" in seen.doubts[0].why


def test_one_time_each_and_no_word_which_run() -> None:
    _, seen = taken("No|Time\n26|46.5\n83|47.0")
    assert [doubt.kind for doubt in seen.doubts] == ["run"]
    _, told = taken("No|Time\n26|46.5\n83|47.0", given="number=No,run3=Time")
    assert written(told) == {("26", 3): "46.500", ("83", 3): "47.000"}


@pytest.mark.parametrize(
    ("row", "why"),
    [
        (f"99|{'x' * 10_000}|46.5", "the name has 10,000 characters"),
        ("99|<script>alert(1)</script>|46.5", "holds code of a page"),
        ("99|a\x1b[31mb|46.5", "control characters"),
        ("=cmd()|Somebody|46.5", "no car number"),
        ("9" * 100 + "|Somebody|46.5", "the number has 100 characters"),
        ("|Somebody|46.5", "nobody called Somebody"),
        ("99|New|forty", "number 99, run 1: 'forty' is neither"),
        ("99|New|46.1234", "more than three decimals"),
    ],
)
def test_a_row_that_can_not_be_read_is_listed_with_why(row: str, why: str) -> None:
    _, seen = taken("No|Driver|Run 1\n26|Jay Birch|46.5\n83|Corin Pine|47.0\n" + row)
    assert [item.line for item in seen.unread] == [4]
    assert why in seen.unread[0].why
    assert {row.number for row in seen.rows} == {"26", "83"}


def test_footers_and_headers_said_again_are_passed_over() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Birch|46.5\nNo|Driver|Run 1\n83|Pine|47.0\n||\nPrinted at noon||")
    assert len(seen.rows) == 2
    assert seen.unread == ()


def test_a_driver_whose_name_looks_like_a_header_is_no_header() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Birch|46.5\n100|Driver 100|47.0\n101|Name|48.0")
    assert {row.number for row in seen.rows} == {"26", "100", "101"}


def test_a_number_nothing_of_which_could_be_read_is_not_entered() -> None:
    _, seen = taken("No|Driver|Run 1\n26|Birch|46.5\n98|Rook|\n99|Gull|what")
    assert [item.number for item in seen.new_entrants] == ["98"]


def test_the_day_is_the_tables_own_todays_or_the_latest() -> None:
    of = at_event(TimeRow(day=2, run=1, number="4", time_ms=48_000))
    table = grid("No|Run 1\n26|46.5")
    assert default_day(of, table) == 2
    assert default_day(of, table, datetime(2026, 5, 9).date()) == 1
    assert default_day(of, grid("No|Run 1\n26|46.5", "9.5.2026"), datetime(2026, 5, 10).date()) == 1
    assert default_day(at_event(), table, datetime(2027, 1, 1).date()) == 1
    _, seen = taken("No|Day|Run 1\n26|2|46.5\n83|1|47.0", of)
    assert {(row.number, row.day) for row in seen.rows} == {("26", 2), ("83", 1)}


def test_totals_with_penalties_in_are_taken_apart() -> None:
    of = at_event(rules={"miss": 10})
    _, seen = taken("No|Total run|Pen\n26|48.5|2\n83|59.0|12\n4|47.0|0", of, "number=No,total1=Total run,penalty1=Pen")
    assert written(seen) == {("26", 1): "46.500+1", ("83", 1): "47.000+1/1", ("4", 1): "47.000"}


def test_all_edits_are_one_for_undo() -> None:
    of = at_event()
    _, seen = taken("No|Run 1\n26|46.5\n99|47.0", of)
    batch = edits(seen, of)
    assert batch.label == "import of 2 runs for day 1"
    assert [edit.file for edit in batch.edits] == ["entrants.csv", "times.csv", "times.csv"]
