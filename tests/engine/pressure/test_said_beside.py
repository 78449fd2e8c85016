"""What is said beside the answer: its figures, and when it is said at all."""

from __future__ import annotations

import pytest

from tests.engine.pressure.days import COLD, SET, Day, gauge, run, whole
from tests.engine.pressure.situations import HOT, MORNING, after, car, cold, logged, now
from tests.engine.pressure.test_rules import told
from tests.engine.said import cautions

TWO = [{"id": name, "step_psi": 0.5, "repeat_psi": 0.3} for name in ("dial", "pencil")]


def said(word: str, *rows: object, **more: object) -> list[str]:
    return [text for text in cautions(now(told(*rows, **more))) if word in text]  # type: ignore[arg-type]


def test_what_is_let_out_hot_is_told_as_it_will_be_parked() -> None:
    """30 psi at 12 C read 36.5 hot: 54.1 C; 34 there is 27.8 at 12 C (13.99 psi outside at 412 m)."""
    assert said("Let out hot", MORNING, logged(1), after(1, 36.5, 36.5, 45.5, 45.5)) == [
        "Let out hot: parked at 12 °C it will read LF 27.8, RF 27.8, LR 37.9, RR 37.9 psi."
    ]


def test_two_gauges_are_told_of_where_both_were_used_today() -> None:
    other = after(1, *HOT).model_copy(update={"gauge": "pencil"})
    assert len(said("different gauges", MORNING, logged(1), other, gauges=TWO)) == 1
    assert not said("different gauges", MORNING, logged(1), after(1, *HOT), gauges=TWO)
    day2 = cold(30.0, 30.0, 39.2, 39.2, day=2).model_copy(update={"gauge": "pencil"})
    assert not said("different gauges", MORNING, logged(1), after(1, *HOT), day2, gauges=TWO), "yesterday's is gone"


def test_a_second_reading_of_tyres_of_unknown_warmth_is_carried_back_like_the_first() -> None:
    """No cold reading: neither the first reading after the run nor the second tells how warm they were at its end."""
    rows = (logged(1), after(1, 34.0, 34.0, 44.0, 44.0, at="09:12"), after(1, 33.0, 33.0, 43.0, 43.0, at="09:20"))
    way = now(told(*rows, order=False)).known.way["lf"]
    assert (way.how, way.known) == ("back", False)
    assert way.now_c - 18.0 == pytest.approx(20.0 * 0.38, abs=0.2), "20 K at the run's end, 19.2 minutes ago"
    assert way.end_c - 18.0 == pytest.approx(20.0 * 1.341, abs=0.01), "what is left 21.5 minutes on, and 20 K again"


def test_a_plan_under_a_placard_says_so_once() -> None:
    """33 psi cold, no minimum written, the plan under the placard of 33: the plan's own caution, not a return's."""
    bare = car(front_min_psi=None, rear_min_psi=None)
    found = now(told(cold(33.0, 33.0, 42.0, 42.0), of=bare, times=()))
    assert found.moves["lf"] < 32.9
    said_of = [text for text in cautions(found) if "placard" in text]
    assert said_of == ["The plan is under the front placard of 33 psi, and no minimum is written."]


def test_after_the_days_last_run_its_reading_is_offered_first_and_tomorrows_an_hour_on() -> None:
    rows = (COLD, SET, *run(1, "09:00"))
    whole_day = whole(Day("two days", rows, (), days=2, per_day=1))
    for at, kind, of_run in (("09:10", "after", 1), ("10:10", "cold", None)):
        found = now(whole_day, at=f"2026-05-09T{at}")
        assert (found.name, found.offer.kind, found.offer.run) == ("day-done", kind, of_run)


def test_a_first_run_after_a_break_is_one_of_its_first_runs() -> None:
    """Run 2 an hour after run 1: both tell what a first run warms; run 3 twenty minutes on doesn't."""
    later = [
        gauge("after", at, 34.2, 34.2, 44.2, 44.2, run=number, air_c=16.0)
        for number, at in ((2, "10:02"), (3, "10:22"))
    ]
    rows = (COLD, *run(1, "09:00"), gauge("after", "09:02", 34.0, 34.0, 44.0, 44.0, run=1, air_c=16.0),
            *run(2, "10:00"), later[0], *run(3, "10:20"), later[1])  # fmt: skip
    rise = now(whole(Day("a break", rows, (), per_day=5))).known.rises["front"]
    assert (rise.source, rise.runs) == ("read", 2)
