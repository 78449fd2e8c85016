"""What the pressure rules stand on, part by part: signs, what was set, gates, stamps of the worklist, the response."""

from __future__ import annotations

import math
from typing import Any

import pytest

from paddock.engine.air import AirState, carry
from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.gate import leads_with_one_left, move_gates, open_change
from paddock.engine.pressure.learned import Sample, learn, samples_of
from paddock.engine.pressure.limits import Bound, Weather, bounds
from paddock.engine.pressure.signs import AxleSigns, Sign, all_signs, axle_signs, hottest_tread, phases, supporting
from paddock.engine.pressure.situation import Situation, situation
from paddock.engine.pressure.surface import SurfaceNow, surface_now
from paddock.engine.pressure.unsafe import _Stamp, _stamp, limits, stop, work_done
from paddock.engine.readings.log import car_log
from paddock.engine.readings.timeline import CarRun
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, FittedRow, Row, TimeRow, TreadTempRow, TyreRow, WeatherRow, WorkRow
from tests.engine.situations import HOT, ME, MORNING, after, before, cold, logged, put
from tests.engine.test_pressure_rules import told
from tests.factories import entrant, event, runs, settings


def tread(
    corner: str, inner: float | None, middle: float | None, outer: float | None, mark: str | None = None
) -> TreadTempRow:
    return TreadTempRow(
        day=1, run=1, number=ME, corner=corner, inner_c=inner, middle_c=middle, outer_c=outer, mark=mark
    )  # type: ignore[arg-type]


def seen(*rows: Row, **more: Any) -> Situation:
    return situation(told(*rows, **more), ME)


# --- signs ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left", "right", "mark"),
    [
        ("past", "on", "past"), ("short", "on", "on"), ("short", "short", "short"), ("short", "past", None),
        (None, None, None), (None, "past", "past"),
    ],
)  # fmt: skip
def test_the_harder_rolled_tyre_counts(left: str | None, right: str | None, mark: str | None) -> None:
    found = axle_signs([tread("lf", None, None, None, left), tread("rf", None, None, None, right)], 3.0)
    assert (found["front"].mark, found["rear"].mark, found["front"].middle) == (mark, None, None)


@pytest.mark.parametrize(
    ("left", "right", "middle"),
    [
        (3.0, 3.0, "hot"), (2.9, 3.0, "even"), (9.0, -2.9, "hot"), (9.0, -3.0, "even"), (-3.0, -3.0, "cool"),
        (-2.9, -3.0, "even"), (-9.0, 2.9, "cool"), (-9.0, 3.0, "even"), (0.0, 0.0, "even"),
    ],
)  # fmt: skip
def test_a_middle_against_its_edges(left: float, right: float, middle: str) -> None:
    rows = [tread("lr", 44.0, 50.0 + left, 56.0), tread("rr", 50.0, 50.0 + right, 50.0)]
    assert axle_signs(rows, 3.0)["rear"].middle == middle
    assert axle_signs([tread("lr", None, 60.0, 50.0)], 3.0)["rear"].middle is None


def test_what_an_axle_says() -> None:
    assert AxleSigns("past").under
    assert not AxleSigns("on").under
    assert AxleSigns("short", "hot").over
    assert not AxleSigns("short", "even").over
    assert not AxleSigns("on", "hot").over


def test_the_hottest_tread_and_the_phases() -> None:
    assert (
        hottest_tread([tread("lf", 60.0, 70.0, None), tread("rf", 66.0, 66.0, 66.0), tread("lr", None, None, None)])
        == 66.0
    )
    assert hottest_tread([tread("lf", None, None, None)]) is None
    assert phases(None) == {}
    assert phases(logged(1, "-2 0 1 3")) == {"entry": -2, "mid": 0, "exit": 1, "slalom": 3}


def test_every_sign_and_whether_it_counts() -> None:
    found = all_signs(
        {"front": AxleSigns("past", "even"), "rear": AxleSigns(None, "cool")}, {"entry": -2, "mid": 1, "exit": 0}
    )
    assert [(sign.kind, sign.axle, sign.value, sign.counts) for sign in found] == [
        ("mark", "front", "past", True), ("middle", "front", "even", False), ("middle", "rear", "cool", True),
        ("entry", None, "-2", True), ("mid", None, "+1", False), ("exit", None, "0", False),
    ]  # fmt: skip
    assert [sign.says for sign in found[3:]] == ["understeer", "oversteer, faint", "neutral"]


def test_which_signs_agree() -> None:
    signs = all_signs(
        {"front": AxleSigns("past", "cool"), "rear": AxleSigns("short", "hot")}, {"entry": -2, "mid": 2, "exit": -1}
    )

    def agree(axle: str, up: bool, side: int, *marks: str) -> list[str]:
        return [
            f"{sign.axle or ''} {sign.kind} {sign.value}".strip() for sign in supporting(signs, axle, up, side, marks)
        ]

    assert agree("front", True, -1) == ["front mark past", "front middle cool", "entry -2"]
    assert agree("front", False, 1) == ["mid +2"]
    assert agree("rear", False, 1) == ["rear mark short", "rear middle hot", "mid +2"]
    assert agree("rear", True, -1) == ["entry -2"]
    assert agree("rear", True, -1, "front past") == ["front mark past", "entry -2"]
    assert agree("rear", True, -1, "front on") == ["entry -2"]


# --- what was set -----------------------------------------------------------------------------------------------


def test_how_far_an_axle_was_set_since_the_run() -> None:
    rows = (MORNING, after(1, *HOT), logged(1))
    assert seen(*rows).changed == {"front": 0.0, "rear": 0.0}
    assert seen(*rows, put(2, 33.0, 33.5, 44.0, 44.0, at="09:05")).changed == {"front": 1.0, "rear": 0.0}
    assert seen(*rows, put(2, 34.0, 35.0, 42.0, 44.0, at="09:05")).changed == {"front": 1.0, "rear": 2.0}
    twice = seen(*rows, put(2, 33.0, 34.0, 44.0, 44.0, at="09:05"), put(2, 32.5, 34.0, 44.0, 44.0, at="09:06"))
    assert twice.changed == {"front": 1.0, "rear": 0.0}
    some = put(2, 33.0, 34.0, 44.0, 44.0, at="09:05").model_copy(update={"lr_psi": None, "rr_psi": None})
    assert seen(*rows, some).changed == {"front": 1.0, "rear": 0.0}
    blind = seen(logged(1), put(2, 33.0, 33.0, 44.0, 44.0, at="09:05"))
    assert blind.changed == {"front": math.inf, "rear": math.inf}
    earlier = seen(MORNING, put(1, 33.0, 33.0, 42.0, 42.0, at="08:51"), logged(1), after(1, *HOT))
    assert earlier.changed == {"front": 0.0, "rear": 0.0}
    none = seen(MORNING, put(1, 33.0, 33.0, 42.0, 42.0, at="08:51"), times=())
    assert none.changed == {"front": 0.0, "rear": 0.0}


def test_the_hot_reading_with_what_was_set_since() -> None:
    rows = (MORNING, after(1, *HOT), logged(1))
    assert seen(*rows).hot.lf == 34.0
    outside = told(*rows).settings.altitude_m and seen(*rows).step
    assert outside is not None
    found = seen(*rows, put(2, 33.0, 34.0, 44.0, 44.0, at="09:05"))
    assert (found.hot.lf, found.hot.rf) == (pytest.approx(33.0), pytest.approx(34.0))
    assert seen(MORNING).hot.lf is None
    assert seen(*rows, cold(30, 30, 39, 39, day=2)).hot.lf is None
    assert seen(
        logged(1), after(1, *HOT, air_c=None), put(2, 33.0, 34.0, 44.0, 44.0, at="09:05", air_c=None)
    ).hot.lf == pytest.approx(33.0)  # type: ignore[arg-type]


def test_the_target_counts_as_set_only_within_the_gauges_noise() -> None:
    rows = (MORNING, logged(1, surface="dry"), logged(2, surface="damp"), after(2, *HOT))

    def done(*psi: float) -> bool:
        return seen(*rows, put(3, *psi, at="10:05"), times=("47", "47")).target_done

    assert done(30.0, 30.0, 38.0, 38.0)
    assert done(30.59, 29.41, 38.59, 37.41)
    assert not done(30.61, 30.0, 38.0, 38.0)
    assert not done(29.39, 30.0, 38.0, 38.0)
    assert not seen(*rows, times=("47", "47")).target_done
    early = (MORNING, put(1, 30.0, 30.0, 38.0, 38.0, at="08:51"), *rows[1:])
    assert not seen(*early, times=("47", "47")).target_done


def test_the_tyres_fitted_for_the_coming_run_give_the_maximum() -> None:
    tyres = [
        TyreRow(tyre="a", max_cold_psi=44.0),
        TyreRow(tyre="b", max_cold_psi=36.0),
        TyreRow(tyre="c", max_cold_psi=35.0),
    ]
    fitted = [
        FittedRow(day=1, run=run, number=ME, corner="lf", tyre=name) for run, name in ((1, "a"), (2, "b"), (3, "c"))
    ]
    parked = AirState(30.0, 96468.0)
    found = seen(MORNING, after(1, *HOT), logged(1), *tyres, *fitted)
    assert found.step is not None
    temp = found.step.corners["lf"].temp_c
    assert temp is not None
    assert found.bound["lf"].high == pytest.approx(carry(36.0, parked, AirState(temp, 96468.0)), abs=0.01)


def test_hottest_and_coldest_air() -> None:
    assert seen(MORNING).weather == Weather(30.0, 12.0)
    assert seen(MORNING, WeatherRow(day=1, at="08:00", air_c=33.0)).weather == Weather(33.0, 12.0)
    assert seen(cold(30, 30, 39, 39, air_c=8.0)).weather == Weather(30.0, 8.0)
    assert seen(cold(30, 30, 39, 39, air_c=34.0)).weather == Weather(34.0, 12.0)
    assert seen(MORNING, forecast={}).weather == Weather(12.0, 12.0)


def test_balance_in_words() -> None:
    def sides(balance: str) -> tuple[bool, bool]:
        found = seen(MORNING, after(1, *HOT), logged(1, balance))
        return found.understeer, found.oversteer

    assert [sides(text) for text in ("-1 0 0 0", "0 0 1 0", "-1 0 1 0", "0 0 0 0")] == [
        (True, False), (False, True), (False, False), (False, False),
    ]  # fmt: skip


def test_what_is_stale_and_how_small_a_change_may_be() -> None:
    assert seen(MORNING, logged(1)).stale
    fresh = seen(MORNING, logged(1), after(1, *HOT))
    assert (fresh.stale, fresh.runs_today, fresh.min_psi) == (False, 1, 0.6)
    coarse = seen(MORNING, gauges=[{"id": "dial", "step_psi": 1.0, "repeat_psi": 0.3}])
    assert coarse.min_psi == 1.0
    assert (fresh.wanted("lf"), fresh.wanted("rr")) == (34.0, 44.0)
    assert not fresh.unread
    assert seen(MORNING, after(1, -1, -1, -1, -1)).unread


# --- limits -----------------------------------------------------------------------------------------------------


def test_bounds_without_and_with_figures() -> None:
    assert not Bound(30.0, 30.0).impossible
    assert Bound(30.1, 30.0).impossible
    assert not Bound(30.0, None).impossible
    assert [Bound(30.0, 40.0).clamp(psi) for psi in (29.0, 35.0, 41.0)] == [30.0, 35.0, 40.0]
    assert Bound(41.0, 40.0).clamp(50.0) == 40.0
    assert Bound().clamp(3.0) == 3.0
    reading = seen(MORNING).track.steps[0].reading
    bare = bounds(reading, {}, None, {"lf": TyreRow(tyre="a", max_cold_psi=44.0)}, Weather())
    assert (bare["lf"].high, bare["lf"].low, bare["lf"].no_raise) == (44.0, None, "")
    assert bare["rf"].no_raise == "no cold maximum is known for the right front tyre"
    assert bare["lf"].no_lower == "no minimum and no placard is known for the front"
    cool = bounds(reading, {"lf": 10.0}, None, {"lf": TyreRow(tyre="a", max_cold_psi=44.0)}, Weather(5.0, None))
    assert cool["lf"].high == pytest.approx(
        carry(44.0, AirState(20.0, reading.ambient_pa), AirState(10.0, reading.ambient_pa))
    )


# --- gates ------------------------------------------------------------------------------------------------------


def test_two_signs_and_a_step_the_gauge_can_tell() -> None:
    mark, phase = Sign("mark", "front", "past", "", True), Sign("entry", None, "-2", "", True)
    assert move_gates((mark, phase), 1.0, 0.6) == ()
    assert move_gates((mark,), 1.0, 0.6) == ("only one sign agrees (front mark past), two are wanted",)
    assert move_gates((), 1.0, 0.6) == ("no sign agrees, two are wanted",)
    assert move_gates((mark, phase), -0.6, 0.6) == ()
    assert move_gates((mark, phase), -0.5, 0.6) == ("a step of 0.5 psi is under what the gauge can tell (0.6 psi)",)


def change(**more: Any) -> ChangeRow:
    return ChangeRow(**({"id": "c", "day": 1, "run": 2, "number": ME, "item": "rear bar"} | more))


@pytest.mark.parametrize(
    ("more", "is_open"),
    [
        ({}, True), ({"run": 1}, False), ({"number": "5"}, False), ({"number": None}, True), ({"decision": "keep"}, False),
        ({"kind": "correction"}, False), ({"undoes": "x"}, False), ({"day": None}, True), ({"run": None}, False),
        ({"day": 2}, True),
    ],
)  # fmt: skip
def test_a_change_is_open_until_run_twice(more: dict[str, Any], is_open: bool) -> None:
    of = told(logged(1), logged(2), change(**more), times=("47", "47"))
    assert (open_change(of, ME, car_log(of, ME)) is not None) is is_open


def test_a_change_taken_back_is_closed() -> None:
    of = told(logged(1), change(), change(id="d", undoes="c"))
    assert open_change(of, ME, car_log(of, ME)) is None


def leader(*mine: str, rival: str = "50", **more: Any) -> bool:
    of = event([entrant(ME), entrant("5")], [*runs(ME, 1, *mine), *runs("5", 1, rival)], settings(**more))
    return leads_with_one_left(of, ME)


def test_leading_with_one_run_left() -> None:
    assert leader("48", "48")
    assert not leader("48")
    assert not leader("48", "48", "48")
    assert not leader("51", "51")
    assert not leader("48", "48", rival="dns")
    assert not leader("48", "48", runs_per_day=None)
    assert leader("48", "", rules={"count": {"best_of_first": 2}})
    assert not leads_with_one_left(event([], []), "9")


# --- stop -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "stamp"),
    [
        ("day 1 09:10", _Stamp(1, None, 550.0)), ("day 1 run 2", _Stamp(1, 2)), ("1/2", _Stamp(1, 2)), ("d2 r3", _Stamp(2, 3)),
        ("2026-05-09 09:10", _Stamp(1, None, 550.0)), ("2026-05-08", _Stamp(0)), ("2026-05-10", _Stamp(2)),
        ("09:10", _Stamp(None, None, 550.0)), ("7", _Stamp()), ("soon", _Stamp()), (None, _Stamp()), ("", _Stamp()),
    ],
)  # fmt: skip
def test_when_a_worklist_row_was_written(text: str | None, stamp: _Stamp) -> None:
    assert _stamp(text, event([], [], settings())) == stamp


def test_what_is_surely_before_a_run() -> None:
    run = CarRun(2, 3, ME, time=TimeRow(day=2, run=3, number=ME, at="10:00"))
    before_it = [_Stamp(1), _Stamp(0), _Stamp(2, 2), _Stamp(2, None, 599.0)]
    not_before = [_Stamp(), _Stamp(3), _Stamp(2), _Stamp(2, 3), _Stamp(2, None, 600.0), _Stamp(2, 4, 0.0)]
    assert [item.earlier_than(run) for item in before_it] == [True] * 4
    assert [item.earlier_than(run) for item in not_before] == [False] * 6


def work(**more: Any) -> WorkRow:
    return WorkRow(**({"id": "w"} | more))


@pytest.mark.parametrize(
    ("rows", "done"),
    [
        ([], False),
        ([work(item="look at the vibration", done="yes")], True),
        ([work(item="look at the vibration", done=" No ")], False),
        ([work(item="look at the vibration", done="yes"), work(id="v", note="vibration again")], False),
        ([work(item="left front", done="yes")], False),
        ([work(item="unsafe", done="yes")], True),
        ([work(item="nuts", opened="day 1 run 1", done="yes")], True),
        ([work(item="nuts", opened="day 1 run 2", done="yes")], False),
    ],
)  # fmt: skip
def test_work_done_on_what_was_seen(rows: list[WorkRow], done: bool) -> None:
    assert work_done(event([], [], settings(), *rows), CarRun(1, 1, ME), "vibration left front") is done


def test_why_nothing_stops() -> None:
    assert stop(seen(MORNING, after(1, *HOT), logged(1))) == "nothing unsafe was logged"
    mended = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), work(item="vibration", done="yes"))
    assert stop(mended) == "run 1's vibration: done"
    when = work(item="vibration", done="day 1 10:12")
    since = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), logged(2), when)
    assert stop(since) == "run 1's vibration: done day 1 10:12"
    still = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), logged(2))
    assert stop(still) == "run 1's vibration: not logged again since, but the work on it isn't ticked off"


@pytest.mark.parametrize(("psi", "stops"), [(42.1, False), (41.9, True)])
def test_how_sudden_a_fall_stops(psi: float, stops: bool) -> None:
    found = advise(told(MORNING, before(1, *HOT), after(1, 34.0, 34.0, 44.0, psi), logged(1)), ME)
    assert (found.rule == 1) is stops


@pytest.mark.parametrize(("psi", "wanted"), [(51.2, 50.6), (52.0, 51.0), (51.0, None)])
def test_over_the_maximum_is_brought_inside_by_what_the_gauge_can_tell(psi: float, wanted: float | None) -> None:
    """Parked at 30 C the cold maximum is 51; 51.2 less the least change of 0.6 is 50.6."""
    found = limits(seen(cold(30.0, 30.0, 39.0, psi, air_c=30.0), times=()))
    assert (None if isinstance(found, str) else found.wanted) == (
        None if wanted is None else {"rr": pytest.approx(wanted)}
    )


@pytest.mark.parametrize(("psi", "wanted"), [(25.8, 26.4), (25.0, 26.0), (26.0, None)])
def test_under_the_minimum_is_brought_inside_likewise(psi: float, wanted: float | None) -> None:
    found = limits(seen(cold(psi, 30.0, 39.0, 39.0), times=()))
    assert (None if isinstance(found, str) else found.wanted) == (
        None if wanted is None else {"lf": pytest.approx(wanted)}
    )


def test_a_fall_before_the_last_run_is_past() -> None:
    rows = (
        MORNING,
        before(1, *HOT),
        after(1, 34, 34, 44, 41),
        logged(1),
        put(2, *HOT, at="09:05"),
        logged(2),
        after(2, *HOT),
    )
    assert advise(told(*rows, times=("47", "47")), ME).rule != 1
    worked = work(item="rr valve")
    assert advise(told(*rows[:4], worked), ME).rule == 1


# --- surface ----------------------------------------------------------------------------------------------------


def surface(*rows: Row, times: tuple[str, ...] = ()) -> SurfaceNow:
    of: Event = told(*rows, times=times)
    return surface_now(of, car_log(of, ME))


def test_the_surface_now_and_since_when() -> None:
    assert surface() == SurfaceNow(None, 0, False)
    assert surface(logged(1)) == SurfaceNow("dry", 0, False, False)
    assert surface(logged(1), logged(2, surface="damp")) == SurfaceNow("damp", 1, True, True)
    assert surface(logged(1), logged(2, surface="damp"), logged(3, surface="damp")) == SurfaceNow(
        "damp", 1, False, True
    )
    assert surface(logged(1, surface="drying")).changing
    assert surface(logged(1, surface="damp"), logged(2, surface="dry"), logged(3), logged(4)) == SurfaceNow(
        "dry", 1, False, True
    )
    assert surface(WeatherRow(day=1, at="10:30", surface="wet"), logged(1), logged(2)) == SurfaceNow(
        "wet", 2, True, True
    )
    assert surface(WeatherRow(day=1, at="08:30", surface="wet"), logged(1), logged(2)) == SurfaceNow(
        "dry", 0, False, True
    )
    assert surface(WeatherRow(day=1, surface="wet")) == SurfaceNow("wet", 0, False, True)
    assert surface(WeatherRow(day=2, surface="wet"), logged(1)).word == "dry"
    assert [SurfaceNow(word, 0, False).target for word in ("drying", "standing", "damp", None)] == [
        "dry",
        "wet",
        "damp",
        "dry",
    ]


# --- the learned response ---------------------------------------------------------------------------------------


def test_a_response_by_hand() -> None:
    """Balance = 0.5 (front - 33) exactly over one day: slope 0.5, no scatter; the rear never moved."""
    fronts = (32.0, 34.0, 33.0, 35.0, 31.0, 33.0, 34.0)
    samples = [Sample(1, place, 0.5 * (psi - 33), psi, 44.0) for place, psi in enumerate(fronts)]
    found = learn(samples, 6, 2.0)
    assert list(found) == ["front"]
    front = found["front"]
    assert (front.slope, front.low, front.high) == (pytest.approx(0.5), pytest.approx(0.5), pytest.approx(0.5))
    assert (front.runs, front.spread_psi) == (7, 4.0)
    assert front.evidence.startswith(
        "learned from 7 runs over 4.0 psi: front +1 psi brings 0.50 of a step to oversteer"
    )
    assert learn(samples, 8, 2.0) == {}
    assert learn(samples, 7, 4.0) != {}
    assert learn(samples, 7, 4.1) == {}
    assert learn(samples[:4], 4, 2.0) == {}
    assert learn(samples[:5], 4, 2.0) != {}
    flat = [Sample(1, place, 0.5 * (-1) ** place, psi, 44.0) for place, psi in enumerate(fronts)]
    assert learn(flat, 6, 2.0) == {}


def test_which_runs_teach() -> None:
    rows = [
        logged(1, "1 1 -1 -1"), after(1, 34.0, 35.0, 44.0, 45.0), logged(2, mistake=True), after(2, *HOT), logged(3, surface="wet"),
        after(3, *HOT), logged(4),
    ]  # fmt: skip
    of = told(*rows, times=("47", "47", "47", "47"))
    assert samples_of(car_log(of, ME), ME, ("dry",)) == (Sample(1, 0, 0.0, 34.5, 44.5),)
    assert samples_of(car_log(of, ME), "5", ("dry",)) == ()
