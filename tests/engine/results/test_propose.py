"""Headers and values to roles."""

from __future__ import annotations

import pytest

from paddock.engine.results import choose, propose, remembered_form, signature
from paddock.engine.results.headers import Meaning, meaning_of
from paddock.errors import UsageError
from tests.engine.results.tables import at_event, grid, taken, written


@pytest.mark.parametrize(
    ("label", "meaning"),
    [
        ("No.", Meaning("number")), ("Startnr.", Meaning("number")), ("Dossard", Meaning("number")),
        ("Start nr", Meaning("number")), ("N°", Meaning("number")), ("Fahrer", Meaning("name")),
        ("Prénom", Meaning("first")), ("Klasse", Meaning("class")), ("Run 1", Meaning("run", 1)),
        ("1. Lauf", Meaning("run", 1)), ("2nd run", Meaning("run", 2)), ("R3", Meaning("run", 3)),
        ("1ª manga", Meaning("run", 1)), ("Manche 2", Meaning("run", 2)), ("Åk 1", Meaning("run", 1)),
        ("Run 2 cones", Meaning("cones", 2)), ("Strafe 1", Meaning("penalty", 1)), ("4", Meaning("run", 4)),
        ("Run 1 total", Meaning("total", 1)), ("Gesamtzeit", Meaning("-")), ("Best", Meaning("-")),
        ("Rückstand", Meaning("-")), ("Pos", Meaning("-")), ("Colour of socks", Meaning("")), ("Zeit", Meaning("time")),
    ],
)  # fmt: skip
def test_headers(label: str, meaning: Meaning) -> None:
    assert meaning_of(label) == meaning


def test_runs_side_by_side_with_seconds_beside_them() -> None:
    columns, seen = taken(
        """Pos|Startnr.|Fahrer|1. Lauf|Strafe|2. Lauf|Strafe|Gesamt
        1|26|Birch|46,512|2|46,9|0|93,412
        2|83|Pine|47,1|0|ausgeschieden||
        3|4|Cedar|48,2|4|49,0|2|97,2"""
    )
    assert dict(columns.columns) == {"number": 1, "name": 2, "run1": 3, "penalty1": 4, "run2": 5, "penalty2": 6}
    assert written(seen) == {
        ("26", 1): "46.512+1", ("26", 2): "46.900", ("83", 1): "47.100", ("83", 2): "dnf",
        ("4", 1): "48.200+2", ("4", 2): "49.000+1",
    }  # fmt: skip


def test_one_run_to_a_row_with_cones_and_status() -> None:
    columns, seen = taken("number|run|time|cones|status\n26|1|46.512|0|\n26|2|47.1|2|\n83|1|||dnf\n4|1|48.2|1.0|")
    assert set(columns.columns) == {"number", "run", "time", "cones", "status"}
    assert written(seen) == {("26", 1): "46.512", ("26", 2): "47.100+2", ("83", 1): "dnf", ("4", 1): "48.200+1"}


def test_rows_without_a_run_number_count_up() -> None:
    _, seen = taken("Car|Time\n26|46.5\n83|47.1\n26|46.1\n83|dnf")
    assert written(seen) == {("26", 1): "46.500", ("83", 1): "47.100", ("26", 2): "46.100", ("83", 2): "dnf"}


def test_a_penalty_column_with_odd_values_counts_cones() -> None:
    _, seen = taken("No|Run 1|Pen\n26|46.5|1\n83|47.1|2\n4|48.0|3")
    assert written(seen) == {("26", 1): "46.500+1", ("83", 1): "47.100+2", ("4", 1): "48.000+3"}


def test_names_instead_of_numbers() -> None:
    _, seen = taken("Driver|Run 1\nBIRCH Jay|46.5\nPine, Corin|47.1\nA. Cedar|48.0\nNobody Here|49.0\nHazel|50.1")
    assert written(seen) == {("26", 1): "46.500", ("83", 1): "47.100", ("4", 1): "48.000", ("07", 1): "50.100"}
    assert [(item.line, item.why[:28]) for item in seen.unread] == [(5, "nobody called Nobody Here is")]


def test_without_a_header_the_best_is_left_out() -> None:
    columns, seen = taken("26|46.5|46.1|46.1\n83|47.5|47.6|47.5\n4|48.1|48.3|48.1")
    assert dict(columns.columns) == {"number": 0, "run1": 1, "run2": 2}
    assert written(seen)["83", 2] == "47.600"


def test_places_behind_the_times_are_no_cones() -> None:
    columns, seen = taken(
        "No|Run 1|Run 2\n26|46.5 (1)|47.0 (2)\n83|47.5 (2)|46.0 (1)\n4|48.0 (3)|48.1 (4)\n5|49.1 (4)|48.0 (3)"
    )
    assert columns.ranks == {"run1", "run2"}
    assert not any(row.cones for row in seen.rows)


def test_cones_in_brackets_are_cones() -> None:
    columns, seen = taken("No|Run 1\n26|46.5 (1)\n83|47.5 (1)\n4|48.0\n5|45.1 (4)")
    assert not columns.ranks
    assert written(seen)["5", 1] == "45.100+4"


def test_a_header_of_two_rows() -> None:
    columns, seen = taken("No|Run 1|Run 1|Run 2|Run 2\nNo|Time|Cones|Time|Cones\n26|46.5|1|45.3|\n83|47.0||47.5|2")
    assert columns.columns["cones2"] == 4
    assert written(seen) == {("26", 1): "46.500+1", ("26", 2): "45.300", ("83", 1): "47.000", ("83", 2): "47.500+2"}


def test_a_number_that_is_only_the_place_is_not_taken_for_the_car() -> None:
    columns, _ = taken("Pos|Car|Run 1\n1|26|46.5\n2|83|47.5\n3|4|48.1")
    assert columns.columns["number"] == 1


def test_a_second_set_of_runs_is_named_not_mixed_in() -> None:
    columns, seen = taken("No|AM 1|AM 2|PM 1\n26|46.5|46.1|45.9\n83|47.2|46.9|46.8\n4|48.0|47.5|dnf")
    assert columns.left_over == ("PM 1",)
    assert ("26", 3) not in written(seen)


def test_given_roles_stand_above_the_proposal() -> None:
    text = "No|Driver|AM 1|AM 2|PM 1\n26|Birch|46.5|46.1|45.9\n83|Pine|47.2|46.9|46.8"
    columns, seen = taken(text, given="number=No,run1=AM 1,run2=am 2,run3=5")
    assert dict(columns.columns) == {"number": 0, "name": 1, "run1": 2, "run2": 3, "run3": 4}
    assert written(seen)["26", 3] == "45.900"


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ("nimber=No", "roles"),
        ("number=Nope", "no column"),
        ("number=No,number=2", "twice"),
        ("run1=R", "called"),
        ("x", "roles"),
    ],
)
def test_a_given_role_or_column_that_is_not_there(given: str, word: str) -> None:
    with pytest.raises(UsageError, match=word):
        propose(grid("No|R|R\n26|46.5|47.0"), at_event(), None, given)


def test_a_confirmed_map_is_used_again_and_takes_the_next_run_with_it() -> None:
    first = grid("A|B|Leg one\n26|x|46.5\n83|y|47.5")
    columns = propose(first, at_event(), None, "number=A,run1=Leg one")
    kept = {signature(first): remembered_form(first, columns)}
    again = propose(grid("A|B|Leg one\n26|x|46.5\n83|y|47.9"), at_event(), kept)
    assert again.remembered
    assert dict(again.columns)["run1"] == 2
    later = grid("Car|Run 1|Run 2\n26|46.5|46.1")
    before = grid("Car|Run 1\n26|46.5")
    kept = {signature(before): remembered_form(before, propose(before, at_event()))}
    assert propose(later, at_event(), kept).columns["run2"] == 2


def test_a_remembered_place_counts_only_in_a_table_as_wide() -> None:
    narrow = grid("No|Pen|Run 1|Pen\n26|2|46.5|4\n83|0|47.5|2")
    kept = {
        signature(narrow): remembered_form(narrow, propose(narrow, at_event(), None, "number=No,run1=Run 1,penalty1=4"))
    }
    wide = grid("No|Pen|Run 1|Pen|Run 2|Pen\n26|2|46.5|4|47.0|0\n83|0|47.5|2|47.0|2")
    assert propose(narrow, at_event(), kept).columns["penalty1"] == 3
    assert dict(propose(wide, at_event(), kept).columns) == {
        "number": 0, "run1": 2, "penalty1": 3, "run2": 4, "penalty2": 5,
    }  # fmt: skip


def test_a_remembered_place_that_is_another_column_by_now_is_not_used() -> None:
    narrow = grid("No|Pen|Run 1|Pen\n26|2|46.5|4\n83|0|47.5|2")
    columns = propose(narrow, at_event(), None, "number=No,run1=Run 1,penalty1=4")
    kept = {signature(narrow): remembered_form(narrow, columns)}
    moved = grid("No|Pen|Pen|Run 1|Pen\n26|2|2|46.5|4\n83|0|0|47.5|2")
    assert propose(moved, at_event(), kept).columns["penalty1"] == 4


def test_the_table_with_the_times_is_chosen() -> None:
    menu = grid("Home|News\nAbout|Contact")
    points = grid("No|Points\n26|9\n83|6")
    results = grid("No|Run 1\n26|46.5\n83|47.0")
    assert choose([menu, points, results], at_event()) == 2
    assert choose([results, menu, results], at_event()) == 0


def test_a_table_seen_before_is_chosen_first() -> None:
    big = grid("No|Run 1\n" + "\n".join(f"{n}|46.5" for n in range(20)))
    small = grid("Car|R1\n26|46.5\n83|47.5")
    assert choose([big, small], at_event()) == 0
    kept = {signature(small): remembered_form(small, propose(small, at_event()))}
    assert choose([big, small], at_event(), kept) == 1


def test_a_table_that_can_not_be_told_is_not_usable() -> None:
    columns, _ = taken("Home|News\nAbout|Contact\nMore|Menu")
    assert not columns.usable


def test_a_cell_of_thousands_of_digits_is_no_place() -> None:
    rows = "\n".join(f"{number}|46.5{number}" for number in ("7" * 5000, *range(20, 50)))
    assert dict(propose(grid(f"what|Time\n{rows}"), at_event()).columns)
