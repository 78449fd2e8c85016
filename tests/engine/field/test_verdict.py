"""What to test next, across changes and cars."""

from __future__ import annotations

from pathlib import Path

from paddock.engine.field.verdict import judge, to_test, undecided
from paddock.engine.work.due import plan_for_next
from paddock.pages.next_test import plan_page
from paddock.pages.verdict_words import to_test_words
from paddock.render.lines import text
from paddock.session.loading import load
from tests.engine.field.made import change, of

EXAMPLE = Path(__file__).parents[3] / "example_event"
ME = ["50.000", "50.000", "48.500", "48.500"]
FIELD = {str(number): ["50.000", "50.000", "50.010", "50.000"] for number in range(41, 55)}
MINE = {"numbers": ["26", "40"], "cars": {"26": "estate", "40": "runabout"}}


def test_only_tests_of_mine_that_wait_for_a_decision() -> None:
    rows = [
        change("kept", 2, kind="test", decision="keep"), change("fix", 2, kind="repair"), change("open", 2, kind="test"),
        change("gone", 2, kind="test"), change("back", 3, kind="test", undoes="gone"),
        change("hers", 2, kind="test", number="41"), change("mine", 2, kind="test", number=None),
    ]  # fmt: skip
    assert [row.id for row in undecided(of(ME, FIELD, *rows, mine=MINE))] == ["open", "mine"]


def test_the_verdict_that_leans_comes_first_though_another_is_later() -> None:
    """The estate gained a second and a half with its change; the runabout has driven once."""
    rows = [change("h", 3, kind="test"), change("r", 4, kind="test", number="40")]
    found = to_test(of(ME, {"40": ["50.000"], **FIELD}, *rows, mine=MINE, runs_per_day=8))
    said = to_test_words(found)
    assert [item.change.id for item in found] == ["h", "r"]
    assert (found[0].car, found[0].verdict) == ("estate", "probably helped")
    assert said[0].startswith("Test next, one thing a day: estate: rear bar 2 to 3 (probably helped): ")
    assert (found[1].p_helped, found[1].leans, found[1].car) == (None, -1.0, "runabout")
    assert said[1].startswith("Then, another day: runabout: ")


def test_the_example_s_list_names_both_cars() -> None:
    event = load(EXAMPLE)
    assert {item.change.id: item.car for item in to_test(event)} == {"t5m1y": "estate", "g1w7e": "special"}
    proposed = plan_for_next(event)
    assert (to_test(event)[0].change.id, proposed and proposed.test) == (
        "t5m1y", "estate: front toe 0 against 1 mm out, a whole day each",
    )  # fmt: skip
    assert "tests nobody has decided" in text(plan_page(event, judge(event, "t5m1y")), 200)


def test_nothing_open_nothing_to_test() -> None:
    assert to_test(of(ME, FIELD)) == ()
