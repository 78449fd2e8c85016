"""What a situation gathers: the surface by two logs, what was set since it turned, the start, the state in hand. By hand."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.pressure.ahead import stood_min
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.left import runs_left
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.readings import car_log
from paddock.engine.pressure.signs import from_the_wet, ran_on, surface_now
from paddock.engine.pressure.situation import Situation, situation
from paddock.model.rows import FittedRow, GridRow, Row, SetupChange, TimeRow, TyreRow, WeatherRow
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, clock, cold, logged, put
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told
from tests.factories import entrant, runs

# --- the surface ----------------------------------------------------------------------------------------------------------


def weather(at: str | None, word: str | None, day: int = 1) -> WeatherRow:
    return WeatherRow(day=day, at=at, surface=word, air_c=14.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("kinds", list(itertools.product((True, False), repeat=3)), ids=str)
def test_the_surface_by_both_logs_is_the_newest_word_since_its_spell_began(kinds: tuple[bool, ...]) -> None:
    """Three words an hour apart, each of a run's log or of the weather's, every mixture: told again in the plainest way."""
    for words in itertools.product(("dry", "drying", "damp", "wet"), repeat=3):
        rows: list[Row] = []
        counts, ran = [], 0
        for hour, (is_run, word) in enumerate(zip(kinds, words, strict=True), 9):
            counts.append(ran)
            if is_run:
                ran += 1
                rows.append(logged(ran, surface=word, at=f"{hour:02d}:00"))
            else:
                rows.append(weather(f"{hour:02d}:00", word))
        of = told(*rows, times=("47",) * ran)
        begun = 2
        while begun and words[begun - 1] == words[2]:
            begun -= 1
        found = surface_now(of, car_log(of, ME), 1)
        assert (found.word, found.since_run, found.since_min) == (words[2], counts[begun], 540.0 + 60 * begun), words
        assert found.from_wet == bool({"damp", "wet"} & set(words))
        assert found.changing == (words[2] == "drying" or (begun > 0 and ran - counts[begun] <= 1)), words


def test_what_a_run_was_driven_on() -> None:
    """Its own word, else what was seen last before it that day."""
    rows = (weather("08:00", "damp"), logged(1, surface=None), logged(2, surface="dry"), weather("10:30", "wet"),
            logged(3, surface=None))  # fmt: skip
    of = told(*rows, times=("47", "47", "47"))
    log = car_log(of, ME)
    assert [ran_on(of, log, place) for place in (-1, 0, 1, 2, 3)] == [None, "damp", "dry", "wet", None]
    blind = told(logged(1, surface=None), weather("10:30", "wet"))
    assert ran_on(blind, car_log(blind, ME), 0) is None
    next_day = told(weather("08:00", "damp"), logged(1, surface=None, day=2))
    assert ran_on(next_day, car_log(next_day, ME), 1) is None


@pytest.mark.parametrize(
    ("first", "then", "more", "wet"),
    [
        ("damp", "dry", {}, True), ("wet", "dry", {}, True), ("standing", "dry", {}, True), ("damp", "drying", {}, True),
        ("dry", "dry", {}, False), ("damp", "damp", {}, False), ("drying", "dry", {}, False), ("damp", "dry", {"day": 2}, False),
        ("damp", "dry", {"run": None}, False), ("damp", "dry", {"run": 2}, False),
    ],
)  # fmt: skip
def test_a_change_that_was_first_driven_in_the_wet(first: str, then: str, more: dict[str, Any], wet: bool) -> None:
    change = SetupChange(**({"id": "a", "day": 1, "run": 1, "number": ME, "setting": "rear_bar"} | more))
    of = told(logged(1, surface=first), logged(2, surface=then), change, times=("47", "47"))
    assert from_the_wet(of, car_log(of, ME), change, 1) is wet


def test_a_change_that_was_changed_since_is_no_longer_of_the_wet() -> None:
    def still(**later: Any) -> bool:
        change = SetupChange(id="a", day=1, run=1, number=ME, setting="rear_bar")
        other = SetupChange(**({"id": "b", "day": 1, "run": 2, "number": ME, "setting": "rear_bar"} | later))
        of = told(logged(1, surface="damp"), logged(2), change, other, times=("47", "47"))
        return from_the_wet(of, car_log(of, ME), change, 1)

    assert not still()
    assert still(setting="front_bar")
    assert still(number="5")


# --- what was set since the surface turned --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("front", "rear", "done"),
    [(32.0, 40.0, True), (28.0, 36.0, True), (32.1, 38.0, False), (30.0, 35.9, False), (30.0, 44.0, False)],
)
def test_a_setting_within_two_psi_of_the_target_counts_as_the_way_there(front: float, rear: float, done: bool) -> None:
    """The damp target of 30 and 38."""
    rows = (MORNING, logged(1), logged(2, surface="damp"), after(2, *HOT), put(3, front, front, rear, rear, at="10:05"))
    assert seen(*rows, times=("47", "47")).target_done is done
    half = car().model_copy(
        update={"targets": {**car().targets, "damp": car().targets["damp"].model_copy(update={"rear_psi": None})}}
    )
    assert seen(*rows, times=("47", "47"), of=half).target_done is (abs(front - 30.0) <= 2.0)


def test_only_a_setting_made_since_it_turned_counts() -> None:
    wet = weather("09:20", "standing")
    late, early = (put(2, 34.0, 34.0, 41.0, 41.0, at=at) for at in ("09:20", "09:19"))
    rows = (MORNING, logged(1), after(1, *HOT))
    assert seen(*rows, wet, late).standing_done
    assert not seen(*rows, wet, early).standing_done
    assert not seen(*rows, wet, after(1, 34.0, 34.0, 41.0, 41.0, at="09:30")).standing_done, "read is not set"
    far = put(2, 31.9, 31.9, 41.0, 41.0, at="09:30")
    assert (seen(*rows, wet, far).standing_done, seen(*rows, wet, far).target_done) == (False, True)
    high = put(2, 35.5, 35.5, 42.5, 42.5, at="09:30")
    assert (seen(*rows, wet, high).standing_done, seen(*rows, wet, high).target_done) == (True, False)
    assert not seen(*rows, wet, late, of=car().model_copy(update={"targets": {}})).standing_done
    damp_runs = (MORNING, put(1, 30.0, 30.0, 38.0, 38.0, at="08:51"), logged(1, surface="damp"), after(1, *HOT))
    assert not seen(*damp_runs).target_done, "set cold, before the run the spell began with"


# --- targets and aims -----------------------------------------------------------------------------------------------------


def at(*rows: Row, asked: Asked | None = None, **more: Any) -> Situation:
    of = told(*rows, **more)
    return situation(of, ME, clock(of), asked=asked)


def test_the_target_that_is_asked_for_stands_in_its_place() -> None:
    rows = (MORNING, logged(1), after(1, *HOT))
    bent = [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": 0.5}]
    front = at(*rows, asked=Asked(front_psi=32.0), gauges=bent)
    assert (front.wanted("lf"), front.wanted("rr")) == (31.5, 44.0)
    rear = at(*rows, asked=Asked(rear_psi=40.0))
    assert (rear.wanted("rf"), rear.wanted("lr")) == (34.0, 40.0)
    bare = at(*rows, asked=Asked(rear_psi=40.0), of=car().model_copy(update={"targets": {}}))
    assert (bare.wanted("rf"), bare.wanted("lr"), bare.aim("rf")) == (None, 40.0, None)
    before_any = at(asked=Asked(front_psi=32.0), gauges=bent, times=())
    assert before_any.wanted("lf") == 31.5
    water = weather("09:20", "standing")
    assert (at(*rows, water).hot("lf"), at(*rows, water, asked=Asked(front_psi=32.0)).hot("lf")) == (34.0, 32.0)
    assert at(*rows, of=car().model_copy(update={"targets": {}})).hot("lf") is None


def test_what_a_corner_is_held_to() -> None:
    """Rested or of a tyre fitted since: the cold plan; else what ends the next run at the target."""
    rested = at(MORNING, times=())
    assert [rested.aim(corner) for corner in ("lf", "rr")] == [rested.plan.front.cold_psi, rested.plan.rear.cold_psi]
    hot = at(MORNING, logged(1), after(1, *HOT))
    for corner, target in (("lf", 34.0), ("rf", 34.0), ("lr", 44.0)):
        way = hot.way[corner]
        share = (way.now_c + 273.15) / (way.end_c + 273.15)
        assert hot.aim(corner) == pytest.approx((target + way.outside_psi) * share - way.outside_psi)
        assert way.ends_at(way.set_for(target)) == pytest.approx(target)
        assert way.ends_at(30.0, way.now_c) == pytest.approx(30.0)
    tyres = (TyreRow(tyre="a"), TyreRow(tyre="b"), FittedRow(day=1, run=1, number=ME, corner="lf", tyre="a"),
             FittedRow(day=1, run=2, number=ME, corner="lf", tyre="b"))  # fmt: skip
    fresh = at(MORNING, logged(1), after(1, *HOT), *tyres)
    assert fresh.fresh == ("lf",)
    assert fresh.aim("lf") == fresh.plan.front.cold_psi
    assert fresh.aim("rf") == pytest.approx(34.0, abs=0.5)


def test_a_rested_car_is_held_at_the_air_of_now() -> None:
    """30 psi at 12 C are 30.93 at 18 C, 13.99 outside; a corner out of line stays as it was read."""
    found = at(MORNING, weather("08:00", None).model_copy(update={"air_c": 18.0}), times=())
    outside = 96_472.48 / 6894.757
    assert found.now["lf"] == pytest.approx((30.0 + outside) * 291.15 / 285.15 - outside, abs=0.001)
    hot = at(MORNING, logged(1), after(1, *HOT), weather("09:20", None))
    assert hot.now == Corners(*HOT)
    assert (hot.rested, rested_after(50), rested_after(40)) == (False, True, False)


def rested_after(minutes: int) -> bool:
    """A reading that long after the run, 44 minutes past nine at the latest."""
    return at(MORNING, logged(1), before(2, *HOT, at=f"09:{minutes:02d}" if minutes < 60 else "10:00")).rested


@pytest.mark.parametrize(("minute", "rested"), [(25, False), (26, True)])
def test_tyres_off_their_blankets_are_warm_for_three_quarters_of_an_hour(minute: int, rested: bool) -> None:
    of = told(cold(35.5, 35.5, 46.0, 46.0, tyre_c=55.0, at="08:40"), times=())
    s = situation(of, ME, clock(of, f"2026-05-09T09:{minute}"))
    assert (s.rested, s.found_warm) == (rested, not rested)
    assert s.now["lf"] == (pytest.approx(29.01, abs=0.01) if rested else 35.5), "at 12 C, 13.99 psi outside"


def test_which_balance_is_clear() -> None:
    base = seen(MORNING, after(1, *HOT), logged(1))
    for felt, tight, loose in (((-2,), True, False), ((2,), False, True), ((-1,), False, False), ((1,), False, False),
                               ((-2, 2), False, False), ((-3, 1), True, False), ((3, -1), False, True)):  # fmt: skip
        found = replace(base, balance=dict(zip(("entry", "exit"), felt, strict=False)))
        assert (found.understeer, found.oversteer, found.oversteers) == (tight, loose, max(felt) >= 2), felt


def test_the_reading_of_another_day_or_of_the_evening_before_does_not_count() -> None:
    yesterday = told(
        MORNING,
        logged(1),
        after(1, *HOT),
        weather("08:00", None, day=2),
        TimeRow(day=2, run=1, number="5", time_ms=45_000, at="09:00"),
    )
    found = situation(yesterday, ME, clock(yesterday, "2026-05-10T09:10"))
    assert (found.step, found.age_min, found.now) == (None, None, Corners())
    eve = told(cold(30, 30, 39, 39, air_c=18.0, at="00:00:01"), times=())
    for hour, counts in (("02:59", True), ("03:00", False)):
        assert (situation(eve, ME, clock(eve, f"2026-05-09T{hour}")).step is not None) is counts


# --- when the next run starts ---------------------------------------------------------------------------------------------


def start_wait(*extra: Row, minute: str = "09:03", interval: int | None = 60, **more: Any) -> float:
    """Minutes of cooling counted from the reading at ``minute`` to the run the order sends out."""
    grid = [GridRow(day=1, number=number, group="A", order=order) for order, number in enumerate((ME, "5"), 1)]
    of = told(MORNING, logged(1), after(1, *HOT, at=minute), *grid, *extra, grid={"interval_s": interval}, **more)
    times = [
        TimeRow(day=1, run=1, number=ME, time_ms=47_000, at="09:00"),
        TimeRow(day=1, run=1, number="5", time_ms=45_000, at="09:01"),
    ]
    of = replace(of, tables={**of.tables, "times.csv": tuple(times)})
    s = situation(of, ME, clock(of), asked=Asked(air_c=10.0))
    return s.way["lf"].end_c


def test_the_running_order_tells_how_long_a_tyre_stands_before_its_run() -> None:
    """Mine is the second start after 9:01; told to five minutes: 0, 10 and 20 minutes from the reading at 9:03.

    The warmth that is left falls by e in 20 minutes, over the 10 C asked for and the 5 K of a wet run.
    """
    surface = weather("09:05", "wet")
    near, middle, far = (start_wait(surface, interval=interval) for interval in (240, 600, 1200))
    assert (middle - 15.0) / (near - 15.0) == pytest.approx(math.exp(-0.5))
    assert (far - 15.0) / (near - 15.0) == pytest.approx(math.exp(-1.0))
    assert start_wait(surface, interval=660) == middle
    assert start_wait(surface, interval=60) == start_wait(surface, interval=None), "gone by: as if no order were known"


def test_runs_left_of_each_entry() -> None:
    """By number of the run; a start not taken is gone; who withdrew has none."""
    of = told(logged(1), mine={"numbers": [ME, "5"]}, times=("47", "47"), runs_per_day=3)
    log = car_log(of, ME)
    assert runs_left(of, ME, log, 1) == {ME: 1, "5": 2}
    assert runs_left(of, ME, log, 2) == {ME: 3, "5": 3}
    stood = replace(of, tables={**of.tables, "times.csv": (*of.times, *runs("5", 1, "", "", "dns"))})
    assert runs_left(stood, ME, car_log(stood, ME), 1) == {ME: 1, "5": 0}
    gone = replace(of, tables={**of.tables, "entrants.csv": (entrant(ME), entrant("5", status="withdrawn"))})
    assert runs_left(gone, ME, car_log(gone, ME), 1) == {ME: 1}
    unlisted = replace(of, tables={**of.tables, "entrants.csv": ()})
    assert runs_left(unlisted, ME, car_log(unlisted, ME), 1) == {ME: 1}
    endless = told(logged(1), runs_per_day=None)
    assert runs_left(endless, ME, car_log(endless, ME), 1) is None


def test_how_long_a_car_had_stood() -> None:
    """Three minutes count as at once: so long takes the walk round the car."""
    for minute, stood in ((3, 0.0), (4, 3.2), (5, 4.2), (30, 29.2)):
        reading = car_log(told(logged(1), after(1, *HOT, at=f"09:{minute:02d}")), ME).readings[0]
        assert stood_min(reading) == pytest.approx(stood, abs=0.3), minute
