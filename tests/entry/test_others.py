"""Rivals' runs, pressures and the weather on one line."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.entry import PressureLine, RivalLine, TypedRun, Wrong, read_pressures, read_rival
from paddock.entry.between import read_between
from paddock.entry.pressures import TreadLine, read_tread
from paddock.entry.weather import WeatherLine, read_weather
from paddock.model.units import to_psi


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("83 46512 1", RivalLine("83", 46512, 1)),
        ("83 46.512", RivalLine("83", 46512)),
        ("83 46512+2", RivalLine("83", 46512, 2)),
        ("007 46512 0", RivalLine("007", 46512, 0)),
        ("12a dnf", RivalLine("12a", status="dnf")),
        ("83 46512 r2", RivalLine("83", 46512, run=2)),
        ("R2 46512 1", RivalLine("R2", 46512, 1)),
        ("83 46512 1 miss", RivalLine("83", 46512, 1, 1)),
    ],
)
def test_a_rival_as_heard(text: str, line: RivalLine) -> None:
    assert read_rival(text, 3) == line


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("", "number"), ("83", "time"), ("46.512 1", "number"), ("46512 1", "number"), ("83 4613", "time"),
        ("83 46512 40", "cones"), ("83 46512 x", "cones"), ("83 dns 46512", "time"), ("[R] 46512", "number"),
        ("83 dnf dnf", "status"), ("r2 23 56700", "number"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_rivals_line(text: str, field: str) -> None:
    found = read_rival(text, 3)
    assert isinstance(found, Wrong)
    assert found.field == field


def _four(*values: float) -> dict[str, float]:
    return dict(zip(("lf", "rf", "rr", "lr"), values, strict=False))


@pytest.mark.parametrize(
    ("text", "unit", "line"),
    [
        ("345 35 41.5 42", "psi", PressureLine(_four(34.5, 35, 41.5, 42))),
        ("345350410415", "psi", PressureLine(_four(34.5, 35, 41, 41.5))),
        ("34354142", "psi", PressureLine(_four(34, 35, 41, 42))),
        ("34,5 . 41", "psi", PressureLine({"lf": 34.5, "rr": 41})),
        ("345 350 410 415 s t41 a24 w5 # in the shade", "psi",
         PressureLine(_four(34.5, 35, 41, 41.5), "set", 41, 24, 5, None, "in the shade")),
        ("2.35", "bar", PressureLine({"lf": to_psi(2.35, "bar")})),
        ("235240245250", "kpa", PressureLine({k: to_psi(v, "kpa") for k, v in _four(235, 240, 245, 250).items()})),
        ("after", "psi", PressureLine({}, "after")),
    ],
)  # fmt: skip
def test_readings_round_the_car(text: str, unit: str, line: PressureLine) -> None:
    assert read_pressures(text, unit) == line


def test_another_walk_round_the_car() -> None:
    found = read_pressures("34 35 41 42", "psi", ("lr", "lf", "rf", "rr"))
    assert isinstance(found, PressureLine)
    assert found.psi == {"lr": 34, "lf": 35, "rf": 41, "rr": 42}


@pytest.mark.parametrize("text", ["4", "345 35 41 42 43", "a345 350", "3450", "x", "34 t41 t42", "2.35", "٣٤", "r0"])
def test_a_reading_in_doubt_is_asked_about(text: str) -> None:
    assert isinstance(read_pressures(text, "psi"), Wrong)


def test_fahrenheit_where_the_event_has_it() -> None:
    found = read_pressures("34 t104", "psi", celsius=False)
    assert isinstance(found, PressureLine)
    assert found.tyre_c == pytest.approx(40.0)


@given(st.lists(st.integers(80, 999), min_size=4, max_size=4))
@settings(max_examples=60)
def test_run_together_or_apart_is_the_same(tenths: list[int]) -> None:
    if min(tenths) < 100:
        return
    apart = read_pressures(" ".join(map(str, tenths)), "psi")
    assert apart == read_pressures("".join(map(str, tenths)), "psi")
    assert isinstance(apart, PressureLine)


@given(st.text(max_size=30), st.sampled_from(["psi", "kpa", "bar"]))
def test_no_text_breaks_the_readers(text: str, unit: str) -> None:
    assert read_pressures(text, unit) is not None
    assert read_rival(text, 3) is not None
    assert read_weather(text) is not None


def test_weather_on_a_line() -> None:
    said = WeatherLine(24, 38, 60, 964.5, 12, "dry", "high cloud")
    assert read_weather("24 38 dry h60 p964.5 w12 high cloud") == said
    assert read_weather("damp") == WeatherLine(surface="damp")
    assert read_weather("g38") == WeatherLine(surface_c=38)


@pytest.mark.parametrize("text", ["28 air 41 track dry", "Air 28 Ground 41 dry", "dry 28 air g41", "28 41 track dry"])
def test_the_figures_of_the_weather_by_their_names(text: str) -> None:
    assert read_weather(text) == WeatherLine(28, 41, surface="dry")
    assert read_between(text, 3) == WeatherLine(28, 41, surface="dry")


def test_the_rest_of_the_weather_by_its_names() -> None:
    assert read_weather("humidity 60 12 wind 964,5 station") == WeatherLine(
        humidity_pct=60, wind_kmh=12, station_hpa=964.5
    )


@pytest.mark.parametrize("text", ["335 340 305 305", "335340305305", "33.5 34 30.5 30,5", "t41 335 340 305 305 a24 w5"])
def test_four_readings_on_home(text: str) -> None:
    found = read_between(text, 3)
    assert isinstance(found, PressureLine)
    assert found.psi == {"lf": 33.5, "rf": 34.0, "rr": 30.5, "lr": 30.5}


def test_fewer_readings_on_home_say_what_they_are() -> None:
    assert read_between("set 30 30 . .", 3) == PressureLine({"lf": 30, "rf": 30}, "set")
    assert read_between(". . 350 410", 3) == PressureLine({"rr": 35.0, "lr": 41.0})
    assert isinstance(read_between("30 30 30", 3), Wrong)
    assert isinstance(read_between("335 340 305 79", 3), PressureLine)
    assert isinstance(read_between("335 340 305 .7", 3), Wrong)
    assert isinstance(read_between("46512 # 28 air, 30 30 30 30", 3), TypedRun)


@pytest.mark.parametrize(
    "text", ["", "99", "24 38 40", "dry wet", "h140", "24c", "air", "28 air 30 air", "99 air", "x air"]
)
def test_weather_in_doubt(text: str) -> None:
    assert isinstance(read_weather(text), Wrong)


def test_the_tread_of_corners_and_axles() -> None:
    assert read_tread("lf 41 45 52 past") == (TreadLine("lf", 41, 45, 52, "past"),)
    assert read_tread("F past r on") == (
        TreadLine("lf", mark="past"), TreadLine("rf", mark="past"), TreadLine("lr", mark="on"), TreadLine("rr", mark="on")
    )  # fmt: skip


@pytest.mark.parametrize("text", ["", "41 45 52", "lf", "lf 41", "lf past on", "lf 41 45 400", "f on lf past", "lf x"])
def test_a_tread_in_doubt(text: str) -> None:
    assert isinstance(read_tread(text), Wrong)
