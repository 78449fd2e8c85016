"""Readings that are asked about: each bound from both sides, and the order of a day's rows."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.clock import minutes
from paddock.engine.pressure.readings import Around, car_log
from paddock.engine.pressure.timeline import doubts_of, gauge_of, timeline
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, RunRow, TimeRow, WeatherRow
from paddock.model.settings import Gauge
from tests.factories import entrant, event, settings

ALL = dict.fromkeys(("lf_psi", "rf_psi", "lr_psi", "rr_psi"), 30.0)


def read(moment: str = "before", **more: Any) -> PressureRow:
    made: dict[str, Any] = {"day": 1, "run": 1, "number": "26", "moment": moment, "line": 4}
    return PressureRow(**(made | ALL | more))


def fields(
    row: PressureRow, weather_c: float | None = 20.0, ran: bool = False, since: float | None = None
) -> list[str]:
    found = doubts_of(row, settings(gauges=[Gauge(id="g")]), weather_c, ran, since)
    assert all(item.row is row for item in found)
    return [item.field for item in found if item.out]


def test_a_sound_reading_is_not_asked_about() -> None:
    assert fields(read(air_c=20.0, tyre_c=30.0, wait_min=5.0, gauge="g")) == []


@pytest.mark.parametrize(("value", "asked"), [(0.0, False), (-0.1, True), (100.0, False), (100.1, True), (None, True)])
def test_a_corner(value: float | None, asked: bool) -> None:
    assert fields(read(lf_psi=value)) == (["lf"] if asked else [])


def test_a_set_asks_nothing_of_corners_it_did_not_touch() -> None:
    front, rear = {"lf_psi": None, "rf_psi": None}, {"lr_psi": None, "rr_psi": None}
    assert fields(read(moment="set", **rear)) == []
    assert fields(read(moment="set", **front)) == []
    assert fields(read(moment="after", **rear)) == ["lr", "rr"]
    assert fields(read(moment="set", lf_psi=None)) == []
    assert fields(read(moment="set", lf_psi=None, **rear)) == []


def test_what_a_high_corner_is_taken_for() -> None:
    def words(value: float) -> str:
        (found,) = doubts_of(read(rr_psi=value), settings(), 20.0)
        return str(found)

    assert words(207.0) == "pressures.csv:4: day 1 run 1 before: right rear 207 psi: is that kPa (30 psi)? Left out"
    assert "kPa" in words(600.0)
    assert words(600.1).endswith("right rear 600.1 psi: is that right? Left out")


def test_readings_in_bar_are_recognised_together() -> None:
    bars = {"lf_psi": 2.1, "rf_psi": 2.1, "lr_psi": 2.0, "rr_psi": 2.0}
    assert fields(read(**bars)) == ["lf", "rf", "lr", "rr"]
    (first, *_) = doubts_of(read(**bars), settings(), 20.0)
    assert first.text == "left front 2.1 psi: is that bar (30.5 psi)? Left out"
    assert fields(read(**(bars | {"rr_psi": 0.5}))) == []
    assert fields(read(**(bars | {"rr_psi": 0.51}))) == ["lf", "rf", "lr", "rr"]
    assert fields(read(**(bars | {"rr_psi": 6.0}))) == []
    assert fields(read(**(bars | {"rr_psi": 5.99}))) == ["lf", "rf", "lr", "rr"]
    alone = dict.fromkeys(ALL) | {"lf_psi": 2.1}
    assert fields(read(**alone)) == ["rf", "lr", "rr"]
    two = dict.fromkeys(ALL) | {"lf_psi": 2.1, "rf_psi": 2.2}
    assert fields(read(**two)) == ["lf", "rf"]
    none = doubts_of(read(**dict.fromkeys(ALL)), settings(), 20.0)
    assert [item.text for item in none] == ["no corner was read"]


@pytest.mark.parametrize(
    ("air", "weather", "asked"),
    [
        (50.0, None, False), (50.1, None, True), (-40.0, None, False), (-40.1, None, True),
        (68.0, 20.0, True), (41.0, 26.0, False), (41.1, 26.0, False), (41.1, 10.0, True), (41.9, 11.0, True),
        (42.8, 0.1, True), (43.0, 0.0, False), (20.0, 68.0, True), (20.0, 35.0, False), (20.0, None, False),
        (10.0, -10.0, True), (-5.0, -19.0, False),
    ],
)  # fmt: skip
def test_air_in_the_other_scale(air: float, weather: float | None, asked: bool) -> None:
    """68 F is 20 C and 42.8 F is 6 C: F = 1.8 C + 32 (NIST SP 811)."""
    assert fields(read(air_c=air), weather) == (["air_c"] if asked else [])


def test_a_tyre_is_held_against_the_air_it_stands_in_else_the_weather_s() -> None:
    assert fields(read(tyre_c=104.0), 20.0) == ["tyre_c"]
    assert fields(read(tyre_c=104.0, air_c=68.0), 20.0) == ["air_c", "tyre_c"]
    assert fields(read(tyre_c=104.0, air_c=45.0), 20.0) == []
    assert fields(read(tyre_c=104.0), None) == []


def test_words_of_the_other_scale() -> None:
    (one,) = doubts_of(read(air_c=68.0), settings(), 20.0)
    assert one.text == "air 68 C: is that 20 C, typed in F? Left out"
    (other,) = doubts_of(read(air_c=20.0), settings(), 68.0)
    assert other.text == "air 20 C: is that 68 C, typed in C? Left out"


@pytest.mark.parametrize(
    ("tyre", "air", "asked"),
    [
        (120.0, None, False), (120.1, None, True), (-40.0, None, False), (-40.1, None, True),
        (104.0, 20.0, True), (85.0, 20.0, False), (85.1, 20.0, True), (100.4, 33.0, True), (86.0, 35.0, False),
    ],
)  # fmt: skip
def test_tyres_in_the_other_scale(tyre: float, air: float | None, asked: bool) -> None:
    """104 F is 40 C: 20 C over the air, where 104 C would be 84 over it."""
    assert fields(read(tyre_c=tyre, air_c=air), None) == (["tyre_c"] if asked else [])


@pytest.mark.parametrize(
    ("more", "ran", "since", "asked"),
    [
        ({"wait_min": 45.0}, True, None, False), ({"wait_min": 44.9}, True, None, True),
        ({"wait_min": 0.0}, False, None, False), ({"wait_min": 0.0}, True, None, True),
        ({"wait_min": 0.5}, False, None, True),
        ({}, True, 44.9, True), ({}, True, 45.0, False), ({"wait_min": 90.0}, True, 5.0, False), ({}, True, None, False),
        ({"tyre_c": 25.0, "air_c": 20.0}, False, None, False), ({"tyre_c": 25.1, "air_c": 20.0}, False, None, True),
    ],
)  # fmt: skip
def test_a_cold_reading_that_can_hardly_be(more: dict[str, Any], ran: bool, since: float | None, asked: bool) -> None:
    assert fields(read("cold", **more), 20.0, ran, since) == (["moment"] if asked else [])
    assert fields(read("before", **more), 20.0, ran, since) == []


def test_a_negative_wait_and_an_unknown_gauge() -> None:
    assert fields(read(wait_min=-0.1)) == ["wait_min"]
    assert fields(read(wait_min=0.0)) == []
    assert fields(read("cold", wait_min=-1.0), 20.0, True, 10.0) == ["moment", "wait_min"]
    (found,) = doubts_of(read(gauge="x"), settings(gauges=[Gauge(id="g")]), 20.0)
    assert (found.field, found.out) == ("gauge", False)
    assert gauge_of(settings(gauges=[Gauge(id="g", repeat_psi=0.1)]), read()).repeat_psi == 0.1
    assert gauge_of(settings(), read(gauge="x")) == Gauge(id="x", step_psi=0.5, repeat_psi=0.3)


# --- what surrounded a reading ----------------------------------------------------------------------------------


def around(*rows: Row, altitude_m: float | None = None) -> Around:
    return Around(event([], [], settings(altitude_m=altitude_m), *rows))


def weather(at: str | None, day: int = 1, **more: Any) -> WeatherRow:
    return WeatherRow(day=day, at=at, **more)


def test_the_nearest_weather_of_the_day() -> None:
    seen = around(
        weather("09:00", air_c=15.0),
        weather("12:00", air_c=25.0),
        weather(None, air_c=18.0),
        weather("09:00", 2, air_c=3.0),
    )
    assert seen.air_c(1, 9 * 60 + 80) == 15.0
    assert seen.air_c(1, 9 * 60 + 100) == 25.0
    assert seen.air_c(1, None) == 18.0
    assert seen.air_c(2, None) == 3.0
    assert seen.air_c(3, None) is None


@pytest.mark.parametrize(("value", "taken"), [(-40.0, True), (-40.1, False), (50.0, True), (50.1, False)])
def test_air_that_can_be_meant(value: float, taken: bool) -> None:
    assert around(weather("09:00", air_c=value)).air_c(1, 540.0) == (value if taken else None)


@pytest.mark.parametrize(("value", "taken"), [(500.0, True), (499.0, False), (1100.0, True), (1101.0, False)])
def test_a_station_pressure_that_can_be_meant(value: float, taken: bool) -> None:
    seen = around(weather("09:00", station_hpa=value))
    assert seen.ambient_pa(1, 540.0) == (value * 100 if taken else 101_325.0)
    assert seen.ambient_known(1) is taken
    assert not seen.ambient_known(2)
    assert around(altitude_m=0.0).ambient_known(1)


# --- order ------------------------------------------------------------------------------------------------------


def told(times: list[TimeRow], *rows: Row) -> Event:
    return event([entrant("26")], times, settings(), *rows)


def run(number: int, at: str | None = None, **more: Any) -> TimeRow:
    return TimeRow(**({"day": 1, "run": number, "number": "26", "time_ms": 45_000, "at": at} | more))


def order(of: Event) -> list[str]:
    return [
        item.what.moment if isinstance(item.what, PressureRow) else f"run {item.run}" for item in timeline(of, "26")
    ]


def test_clock_times_in_minutes() -> None:
    assert (minutes("09:30"), minutes("10:00:30"), minutes(None)) == (570.0, 600.5, None)


def test_without_clocks_the_moments_give_the_order() -> None:
    of = told(
        [run(2), run(1)],
        read("after"), read("set"), read("cold", run=None), read("before"), read("set", run=2), read("after", run=2),
    )  # fmt: skip
    assert order(of) == ["cold", "before", "run 1", "after", "set", "set", "run 2", "after"]
    assert [(item.runs_before, item.runs_today) for item in timeline(of, "26")] == [
        (0, 0), (0, 0), (0, 0), (1, 1), (1, 1), (1, 1), (1, 1), (2, 2),
    ]  # fmt: skip


def test_a_new_day_counts_its_own_runs() -> None:
    of = told([run(1), run(1, day=2), run(2, day=2)], read("after", day=2, run=2))
    last = timeline(of, "26")[-1]
    assert (last.runs_before, last.runs_today, last.day) == (3, 2, 2)


def test_a_late_typed_run_is_held_between_its_readings() -> None:
    of = told([run(1, "10:30")], read("before", at="10:00"), read("after", at="10:10"))
    assert [item.clock for item in timeline(of, "26")] == [600.0, 610.0, 610.0]
    early = told([run(1, "09:30")], read("before", at="10:00"), read("after", at="10:10"))
    assert [item.clock for item in timeline(early, "26")] == [600.0, 600.0, 610.0]


def test_what_is_a_run_of_the_car() -> None:
    of = told(
        [run(1, status="dns", time_ms=None), run(2, time_ms=None), run(3, time_ms=None), run(4, time_ms=None, status="dnf")],
        RunRow(day=1, run=1, number="26"), RunRow(day=1, run=3, number="26"), RunRow(day=1, run=5, number="26", at="11:00"),
        RunRow(day=1, run=6, number="7"),
    )  # fmt: skip
    found = car_log(of, "26").run_rows()
    assert [item.run for item in found] == [3, 4, 5]
    assert found[-1].at == "11:00"


def test_a_reading_without_its_run_belongs_to_the_run_before_it() -> None:
    of = told([run(1), run(2)], read("before", run=2), read("after", run=None), read("cold", run=None))
    assert [item.run for item in timeline(of, "26") if isinstance(item.what, PressureRow)] == [0, 2, 2]


def test_what_a_reading_is_worked_with() -> None:
    of = event(
        [entrant("26")], [run(1, "10:00")], settings(gauges=[Gauge(id="g", offset_psi=0.5, repeat_psi=0.2)]),
        weather("10:00", air_c=21.0, station_hpa=900.0),
        read("after", at="10:05", sun=" Left "), read("cold", run=2, at="10:30"), read("before", run=2, wait_min=180.0),
        read("before", run=2, wait_min=119.0, air_c=30.0),
    )  # fmt: skip
    after, doubted, stood, warm = car_log(of, "26").readings
    assert (after.psi.lf, after.noise_psi, after.air_c, after.ambient_pa, after.sun) == (
        29.5,
        0.4,
        21.0,
        90_000.0,
        "left",
    )
    assert (after.cold, doubted.cold, stood.cold, warm.cold) == (False, False, True, False)
    assert [item.field for item in doubted.doubts] == ["moment"]
    assert (warm.air_c, warm.usable, warm.where) == (30.0, True, "day 1 run 2 before")
    soon = event([entrant("26")], [run(1, "10:00")], settings(), read("cold", run=1, at="10:05:00"))
    assert "after standing 4." in car_log(soon, "26").doubts[0].text
    log = car_log(of, "26")
    assert (log.day, log.latest) == (1, warm)
    assert (car_log(told([]), "26").day, car_log(told([]), "26").latest) == (0, None)
