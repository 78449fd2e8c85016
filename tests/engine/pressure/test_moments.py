"""What once went wrong, and every moment on every surface with what is known and what isn't."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from itertools import product
from typing import Any

import pytest

from paddock.engine.clock import as_of, cut
from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.corners import AXLES
from paddock.engine.pressure.moment import MOMENTS, moment_of
from paddock.engine.pressure.plan import known_rises
from paddock.model.car import Car, FirstRun
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, Row, TimeRow, TyreRow, WeatherRow
from paddock.pages.pressure import headline
from paddock.pages.pressure import told as told_words
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, clock, cold, logged, now, put, rubber
from tests.engine.pressure.test_rules import told
from tests.engine.said import cautions, reason
from tests.engine.test_heat import told as fitted_day
from tests.factories import entrant, event, runs, settings

# --- what went wrong ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("surface", ["dry", "damp", "wet", "standing"])
def test_a_cold_reading_before_a_first_run_is_held_to_the_cold_plan_of_the_surface(surface: str) -> None:
    found = now(told(cold(31.0, 31.0, 34.5, 34.5), WeatherRow(day=1, at="07:40", surface=surface), times=()))
    assert (found.name, found.aim_is, found.action) == ("cold-read", "cold plan", "plan")
    assert found.known.surface.word == surface
    hot = {"dry": 44.0, "damp": 38.0, "wet": 40.0, "standing": 41.0}[surface]
    assert found.moves["lr"] < hot


@pytest.mark.parametrize(
    ("at", "name"),
    [
        ("2026-05-09T09:10", "day-done"), ("2026-05-09T22:00", "day-done"), ("2026-05-10T07:00", "before"),
        ("2026-05-08T20:00", "before"),
    ],
)  # fmt: skip
def test_an_old_hot_reading_sets_nothing_once_its_day_is_done(at: str, name: str) -> None:
    whole = told(MORNING, after(1, 37.0, 37.0, 47.0, 47.0), logged(1), runs_per_day=1)
    found = now(cut(whole, datetime.fromisoformat(at)), at=at)
    assert (found.name, found.now, found.aim_is) == (name, None, "cold plan")
    assert found.moves["lf"] < 34.0


def test_the_drive_home_has_its_caution_and_no_setting() -> None:
    """Let out to hot targets it parks under the placard; the placard is said, unless it goes home on a trailer."""
    rows = (MORNING, logged(1), after(1, *HOT))
    one = settings(altitude_m=412.0, runs_per_day=1, days=[settings().days[0]])
    home = dataclasses.replace(event([entrant(ME)], runs(ME, 1, "47"), one, *rows), cars={"estate": car()})
    assert (now(home).name, now(home).set) == ("event-done", None)
    assert any("driving home" in text and "front 33, rear 32" in text for text in cautions(now(home)))
    mine = one.mine.model_copy(update={"driven_home": False})
    trailered = dataclasses.replace(home, settings=one.model_copy(update={"mine": mine}))
    assert not any("driving home" in text for text in cautions(now(trailered)))


@pytest.mark.parametrize("driven", [None, True, False])
def test_who_is_done_hears_whose_run_a_setting_is_for_and_the_road_if_there_is_none(driven: bool | None) -> None:
    """Seen on a wet day: the co-driver entered never came, and the tyres were let out for the drive home."""
    one = settings(altitude_m=412.0, runs_per_day=1, mine={"numbers": [ME, "83"], "driven_home": driven})
    rows = (MORNING, logged(1), after(1, 38.0, 38.0, 47.0, 47.0))
    shared = dataclasses.replace(
        event([entrant(ME), entrant("83")], runs(ME, 1, "47"), one, *rows), cars={"estate": car()}
    )
    found = now(shared)
    assert (found.name, found.known.others_left) == ("read", (("83", 1),))
    assert headline(found, "psi")[0].startswith("set for 83: LF 38.0→")
    assert reason(found).startswith("for 83, who has 1 run left: ")
    road = "if nobody drives any more, for the road, cold: front 33, rear 32 psi"
    assert (road in reason(found)) == (driven is not False)
    theirs = moment_of(shared, "83", found.known.clock)
    assert "83" not in reason(theirs)
    assert headline(theirs, "psi")[0].startswith("set now: ")


def test_tomorrow_is_planned_for_its_own_forecast() -> None:
    def plan(**more: Any) -> tuple[float, bool]:
        whole = told(MORNING, after(1, *HOT), logged(1), runs_per_day=1, forecast={"coldest_c": 12.0} | more)
        found = now(whole)
        assert found.name == "day-done"
        return found.known.outside.air_c, any(item.name == "todays-air" for item in found.cautions)

    assert plan() == (12.0, True)
    assert plan(next_coldest_c=2.0, next_hottest_c=9.0) == (2.0, False)


def test_a_misread_corner_moves_neither_tyre_of_its_axle() -> None:
    found = now(told(MORNING, after(1, 34.0, 43.0, 46.0, 46.0), logged(1)))
    assert (found.name, set(found.moves), found.confidence) == ("odd-corner", {"lr", "rr"}, "low")
    assert "right front" in reason(found)
    assert found.set is not None
    assert (found.set["lf"], found.set["rf"]) == (None, None)
    right = now(
        told(MORNING, after(1, 34.0, 43.0, 46.0, 46.0), after(1, 34.0, 34.0, 46.0, 46.0, at="09:03:30"), logged(1))
    )
    assert (right.name, set(right.moves)) == ("read", {"lr", "rr"})


def test_a_corner_that_stands_still_while_its_mate_rises_is_seen() -> None:
    found = now(told(MORNING, after(1, 30.0, 33.0, 43.0, 43.0), logged(1)))
    assert found.name == "odd-corner"
    assert "left front reads 3" in reason(found)


def test_a_fall_beyond_the_mate_stops_even_where_it_reads_over_the_morning() -> None:
    rows = (MORNING, after(1, 35.0, 35.0, 45.0, 45.0), logged(1), logged(2), after(2, 35.5, 31.0, 45.5, 45.5))
    found = now(told(*rows, times=("47", "47")))
    assert (found.name, found.action) == ("odd-corner", "stop")
    assert "right front fell" in reason(found)


def test_of_unknown_temperature_nothing_is_let_out_under_the_minimum() -> None:
    """37 let out to 30 would park at 25 in 10 C air if the tyre is 30 K over the air: the minimum is 28."""
    estate = car(front_min_psi=28.0).model_copy(update={"targets": {"dry": car().targets["damp"]}})
    found = now(told(after(1, 37.0, 37.0, 40.0, 40.0, at=None, wait_min=0.0), logged(1, at=None), of=estate))
    outside = 96468.0 / 6894.757
    parked = (found.moves["lf"] + outside) * (12.0 + 273.15) / (48.0 + 273.15) - outside
    assert parked == pytest.approx(28.0, abs=0.05)
    assert "cut short" in reason(found)


@pytest.mark.parametrize(
    ("balance", "mistake", "rule"),
    [
        ("-1 0 1 0", False, "hold"), ("-2 0 1 0", False, "opposite-phases"), ("-1 0 2 0", False, "opposite-phases"),
        ("-2 0 2 0", True, "hold"), ("0 0 -3 0", True, "hold"),
    ],
)  # fmt: skip
def test_faint_marks_and_mistakes_prove_nothing(balance: str, mistake: bool, rule: str) -> None:
    assert now(told(MORNING, after(1, *HOT), logged(1, balance, mistake=mistake))).rule == rule


def test_both_tyres_of_an_axle_end_alike_where_one_stood_on_the_target() -> None:
    found = now(told(MORNING, after(1, 35.2, 34.2, 44.0, 44.0, sun="left"), logged(1)))
    assert found.set is not None
    assert found.moves["rf"] == pytest.approx(34.0)
    assert found.set["lf"] == pytest.approx(found.set["rf"])


def test_measured_first_runs_go_before_a_fit() -> None:
    whole = fitted_day(sets=False)
    fit = now(whole).known.heat.axles["front"].fit
    assert fit is not None
    rises = known_rises(whole, ME, now(whole).known.heat)
    assert (rises["front"].source, rises["front"].runs) == ("read", 1)
    assert rises["front"].low_k < rises["front"].k < rises["front"].high_k
    carried = whole.cars.get("estate", Car()).model_copy(update={"first_run": FirstRun(front_rise_k=3.0)})
    kept = dataclasses.replace(whole, cars={"estate": carried})
    assert known_rises(kept, ME, now(kept).known.heat)["front"].source == "read"
    assert known_rises(kept, ME, now(kept).known.heat, "damp")["front"].source == "usual"


def test_a_row_later_than_the_clock_counts_as_now_and_is_told() -> None:
    whole = told(MORNING, after(1, 36.5, 36.5, 44.0, 44.0, at="09:20"), logged(1))
    found = moment_of(whole, ME, as_of(whole, datetime(2026, 5, 9, 9, 10)))
    assert (found.name, found.known.age_min) == ("read", 0.0)
    assert any("a time later than now" in text for text in cautions(found))


# --- every moment, every surface, what is known -------------------------------------------------------------------------

SURFACES = ("dry", "drying", "damp", "wet", "standing")
NAMES = tuple(kind.name for kind in MOMENTS)


def made(name: str, surface: str, known: bool, two: bool, one_axle: bool) -> tuple[list[Row], dict[str, Any], str]:
    """Rows, settings and the clock of a moment. ``known``: the tyres' temperature can be inferred; ``two``: a second
    driver; ``one_axle``: only the front was read."""
    weather: list[Row] = [WeatherRow(day=1, at="07:00", air_c=14.0, surface=surface)]  # type: ignore[arg-type]
    weather += [WeatherRow(day=2, at="06:30", air_c=11.0, surface=surface)] if name == "event-done" else []  # type: ignore[arg-type]
    morning = [MORNING] if known else []
    hot = after(1, 36.0, 36.0, 45.5, 45.5)
    ran = [logged(1, surface=surface)]
    more: dict[str, Any] = {"runs_per_day": 4, "times": ("47",)}
    at = "2026-05-09T09:05"
    if one_axle:
        blank = {"lr_psi": None, "rr_psi": None}
        hot = hot.model_copy(update=blank)
    rows: dict[str, list[Row]] = {
        "unsafe": [*morning, hot, logged(1, surface=surface, unsafe="vibration")],
        "event-done": [*morning, hot, *ran, logged(1, surface=surface, day=2)],
        "day-done": [*morning, hot, *ran],
        "odd-corner": [MORNING, after(1, 34.0, 43.0, 45.5, 45.5), *ran],
        "ran": [*morning, *ran],
        "gauge-first": [*morning, hot],
        "stale": [*morning, hot, *ran],
        "set": [*morning, hot, *ran, put(2, *HOT, at="09:04")],
        "read": [*morning, hot, *ran],
        "cold-read": [MORNING],
        "before": [],
    }
    if name in {"gauge-first", "cold-read", "before"}:
        more["times"] = ()
    if name == "day-done":
        more["runs_per_day"] = 1
    if name == "event-done":
        more |= {"runs_per_day": 1}
        at = "2026-05-10T09:30"
        rows[name].append(TimeRow(day=2, run=1, number=ME, time_ms=47_000, at="09:00"))
    if name == "stale":
        at = "2026-05-09T10:30"
    if two:
        more["mine"] = {"numbers": [ME, "5"]}
    return [*weather, *rows[name]], more, at


CASES = [
    (name, surface, known, limits, targets, two, one_axle)
    for name, surface in product(NAMES, SURFACES)
    for known, limits, targets, two, one_axle in (
        (True, True, True, False, False), (False, True, True, False, False), (True, False, True, False, False),
        (True, True, False, False, False), (True, True, True, False, True), (False, False, False, False, False),
    )
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "surface", "known", "limits", "targets", "two", "one_axle"), CASES, ids=lambda value: str(value)[:10]
)
def test_every_moment_has_its_shape(
    name: str, surface: str, known: bool, limits: bool, targets: bool, two: bool, one_axle: bool
) -> None:
    rows, more, at = made(name, surface, known, two, one_axle)
    blank = dict.fromkeys(("front_min_psi", "rear_min_psi", "wheel_max_psi", "max_cold_psi"))
    estate = car() if limits else car(**blank)
    estate = estate if targets else estate.model_copy(update={"targets": {}})
    found = now(told(*rows, of=estate, **more), at=at)
    assert found.name == name, reason(found)
    actions = {
        "unsafe": {"stop"}, "event-done": {"none"}, "day-done": {"plan"}, "odd-corner": {"read", "set", "stop"},
        "ran": {"read"}, "gauge-first": {"set", "hold"}, "stale": {"read"}, "set": {"none", "set"}, "read": {"set", "hold"},
        "cold-read": {"plan", "none", "hold"}, "before": {"plan"},
    }  # fmt: skip
    assert found.action in actions[name] or (name == "cold-read" and found.rule == "limits"), reason(found)
    assert (found.set is None) == (found.action in {"stop", "read", "none"})
    assert (found.now is None) == (name in {"event-done", "day-done", "ran", "before"})
    assert found.fresh == (name in {"odd-corner", "gauge-first", "set", "read", "cold-read", "unsafe"})
    cold_ones = {"before", "cold-read", "day-done"}
    aimed = targets and name not in {"unsafe", "event-done", "ran"}
    assert found.aim_is == ("" if not aimed else "cold plan" if name in cold_ones else "hot target")
    if not targets and name != "set":
        assert not [corner for corner in found.moves if found.rule != "limits"]
    if one_axle:
        assert found.now is None or found.set is None or not {"lr", "rr"} & set(found.moves) or known
    _within(found.known.event, estate, found.moves, cold=name in cold_ones, known=known)


def _within(whole: Event, estate: Car, moves: dict[str, float], cold: bool, known: bool) -> None:
    """Parked in the hottest and the coldest air: inside the written limits (gas law, by the coolest and the warmest)."""
    for corner, psi in moves.items():
        axle = "front" if corner in AXLES["front"] else "rear"
        most, least = estate.limits.max_cold_psi, getattr(estate.limits, f"{axle}_min_psi")
        low, high = (12.0, 12.0) if cold else (14.0, 75.0 if known else 48.0)
        if most is not None:
            assert (
                carry(psi, AirState(high if known and not cold else low, 96468.0), AirState(30.0, 96468.0))
                <= most + 0.6
            )
        if least is not None and cold:
            assert psi >= least - 1e-6


def test_a_tyre_changed_since_gets_its_cold_plan_whatever_the_moment() -> None:
    tyres = [
        TyreRow(tyre="a"), TyreRow(tyre="b"), FittedRow(day=1, run=1, number=ME, corner="rr", tyre="a"),
        FittedRow(day=1, run=2, number=ME, corner="rr", tyre="b"),
    ]  # fmt: skip
    read = now(told(MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), *tyres))
    assert read.now is not None
    assert (read.now["rr"], set(read.moves)) == (None, set(CORNERS))
    assert read.moves["rr"] < 41.0
    rested = now(told(MORNING, after(1, *HOT), logged(1), before(2, 31, 31, 40, 40, at="10:30"), *tyres))
    assert rested.name == "cold-read"
    hold = now(told(MORNING, after(1, *HOT), logged(1), *tyres, *rubber(1, "front", "on")))
    assert (hold.action, set(hold.moves), hold.rule) == ("set", {"rr"}, "cold-plan")


def test_the_asking_drivers_signs_count_only_where_the_last_run_was_his() -> None:
    rows = (MORNING, logged(1, "-2 -2 0 0"), *rubber(1, "front", "past"), after(1, *HOT))
    mine = told(*rows, mine={"numbers": [ME, "5"]})
    assert now(mine).rule == "front-past"
    assert now(mine, "5").rule == "hold"
    assert any("last run was 26's" in text for _, _, text in told_words(now(mine, "5")).passed)
    assert clock(mine).source == "rows"


@pytest.mark.parametrize(
    ("put_to", "left"),
    [
        ((34.8, 35.3, 44.0, 44.0), {"lf": 34.0, "rf": 34.0}), ((34.8, 34.8, 44.0, 44.0), {}),
        ((36.0, 34.0, 44.0, 44.0), {"lf": 34.0}),
    ],
)  # fmt: skip
def test_the_remaining_step_leaves_left_and_right_alike(put_to: tuple[float, ...], left: dict[str, float]) -> None:
    """Both sides of an axle were to come to 34; one is off it by more than the gauge tells: both go there."""
    rows = (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), put(2, *put_to, at="09:04"))
    found = now(told(*rows))
    assert (found.name, found.action) == ("set", "set" if left else "none")
    assert found.moves == {corner: pytest.approx(psi, abs=0.01) for corner, psi in left.items()}


# --- each condition, seen to matter -------------------------------------------------------------------------------------


def test_what_was_unsafe_yesterday_stops_this_morning_too() -> None:
    whole = told(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), runs_per_day=1)
    found = now(whole, at="2026-05-10T07:30")
    assert (found.name, found.action) == ("unsafe", "stop")


def test_where_nobody_says_how_many_runs_there_are_the_day_is_never_done() -> None:
    found = now(told(MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), runs_per_day=None))
    assert (found.name, found.known.left) == ("read", None)


def test_a_run_since_an_odd_reading_wants_the_next_reading() -> None:
    rows = (MORNING, after(1, 34.0, 43.0, 46.0, 46.0), logged(1), logged(2))
    assert now(told(*rows, times=("47", "47"))).name == "ran"


def test_a_fall_that_the_car_file_calls_sudden_stops_though_it_is_in_line() -> None:
    rows = (MORNING, after(1, 34.0, 34.0, 44.0, 44.0), logged(1), logged(2), after(2, 34.5, 32.4, 44.5, 44.5))
    keen = car().model_copy(update={"advice": {"sudden_fall_psi": 2.0}})
    found = now(told(*rows, times=("47", "47"), of=keen))
    assert (found.name, found.action) == ("odd-corner", "stop")
    assert now(told(*rows, times=("47", "47"))).name == "read"


def test_a_second_reading_that_can_not_be_used_takes_the_first_ones_setting_back() -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1))
    assert now(told(*rows)).moves
    found = now(told(*rows, after(1, 252.0, 252.0, 314.0, 314.0, at="09:04")))
    assert (found.name, found.action, found.moves) == ("ran", "read", {})
    assert "can't be used" in reason(found)


def test_a_setting_lasts_until_the_run_and_never_grows_old() -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), put(2, *HOT, at="09:05"))
    assert now(told(*rows), at="2026-05-09T09:10").name == "set"
    assert now(told(*rows), at="2026-05-09T10:40").name == "set"


def test_a_cold_reading_after_a_break_is_no_hot_one_and_never_grows_old() -> None:
    rows = (MORNING, after(1, *HOT), logged(1), cold(31.0, 31.0, 40.5, 40.5, air_c=18.0, at="10:30"))
    for at in ("2026-05-09T10:35", "2026-05-09T12:30"):
        found = now(told(*rows), at=at)
        assert (found.name, found.aim_is) == ("cold-read", "cold plan")


@pytest.mark.parametrize(("at", "name"), [("09:48", "read"), ("09:49", "stale")])
def test_a_hot_reading_counts_for_45_minutes(at: str, name: str) -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1))
    assert now(told(*rows), at=f"2026-05-09T{at}").name == name


def test_a_gauge_before_the_typing_grows_old_as_any_other() -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 45.5, 45.5))
    assert now(told(*rows, times=()), at="2026-05-09T09:05").name == "gauge-first"
    found = now(told(*rows, times=()), at="2026-05-09T09:50")
    assert (found.name, found.moves) == ("stale", {})


def test_found_before_the_next_run_it_is_no_reading_after_the_run_not_typed_yet() -> None:
    rows = (MORNING, after(1, *HOT), before(2, 33.5, 33.5, 43.5, 43.5, at="09:30"))
    assert now(told(*rows, times=()), at="2026-05-09T09:31").name == "cold-read"


def test_a_second_morning_reading_that_can_not_be_used_is_asked_for_again() -> None:
    rows = (MORNING, cold(207.0, 207.0, 270.0, 270.0, at="07:55"))
    assert now(told(MORNING, times=())).name == "cold-read"
    found = now(told(*rows, times=()))
    assert (found.name, found.action, found.moves) == ("before", "read", {})


def test_after_a_morning_setting_a_reading_that_can_not_be_used_is_asked_for_again() -> None:
    put_cold = put(1, 30.8, 30.8, 40.2, 40.2, at="07:50", air_c=12.0)
    assert now(told(MORNING, put_cold, times=())).name == "set"
    found = now(told(MORNING, put_cold, cold(207.0, 207.0, 270.0, 270.0, at="07:55"), times=()))
    assert (found.name, found.action) == ("before", "read")


def test_read_an_hour_after_the_run_it_is_a_cold_reading_whatever_it_is_called() -> None:
    found = now(told(MORNING, logged(1), after(1, 31.0, 31.0, 40.5, 40.5, at="10:00")))
    assert (found.name, found.aim_is) == ("cold-read", "cold plan")
