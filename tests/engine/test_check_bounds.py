"""The checks' edges: a value on the edge is let through, one step beyond it is asked about."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from paddock.engine.check.figures import close_to, day_fault, index_problems, repeated, said, settings_problems
from paddock.engine.check.sift import doubts
from paddock.errors import Problem
from paddock.model.rows import (
    FittedRow,
    NoteRow,
    PressureRow,
    Row,
    RunRow,
    TimeRow,
    TreadRow,
    TreadTempRow,
    TyreRow,
    WeatherRow,
    WorkRow,
)
from tests.cars import saloon
from tests.factories import entrant, settings


def asked(row: Row) -> list[str]:
    found = doubts([row])
    assert all(item.level == "warning" and item.file == row.FILE and item.line == row.line for item in found)
    return [item.message for item in found]


def time(**more: Any) -> TimeRow:
    return TimeRow(**({"day": 1, "run": 1, "number": "26", "line": 7, "time_ms": 45_000} | more))


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        ({"time_ms": 10_000}, {"time_ms": 9_999}),
        ({"time_ms": 300_000}, {"time_ms": 300_001}),
        ({"cones": 15}, {"cones": 16}),
        ({"misses": 8}, {"misses": 9}),
        ({"cones": None}, {"cones": 99}),
        ({"cones": 15, "misses": 8}, {"cones": 16, "misses": 8}),
        ({"misses": None}, {"cones": 15, "misses": 9}),
        ({"time_ms": 10_000}, {"time_ms": 300_000, "misses": 9}),
        ({"time_ms": 300_000}, {"time_ms": 10_000, "cones": 16}),
        ({"time_ms": None, "status": "dns"}, {"status": "dns"}),
        ({"time_ms": None, "status": "dnf"}, {"time_ms": None}),
        ({"status": "dnf"}, {"time_ms": None, "status": None}),
    ],
)
def test_times_on_the_edge(inside: dict[str, Any], outside: dict[str, Any]) -> None:
    assert asked(time(**inside)) == []
    assert len(asked(time(**outside))) == 1


def pressure(**more: Any) -> Row:
    return PressureRow(day=1, number="26", moment="cold", line=3, **more)


def tread_temp(**more: Any) -> Row:
    return TreadTempRow(day=1, run=1, number="26", corner="lf", **more)


def tread(**more: Any) -> Row:
    return TreadRow(day=0, tyre="A", **more)


def weather(**more: Any) -> Row:
    return WeatherRow(day=1, **more)


def tyre(**more: Any) -> Row:
    return TyreRow(tyre="A", **more)


def run(**more: Any) -> Row:
    return RunRow(day=1, run=1, number="26", **more)


def work(**more: Any) -> Row:
    return WorkRow(id="w", **more)


@pytest.mark.parametrize(
    ("made", "field", "low", "high"),
    [
        (pressure, "lf_psi", 12, 75), (pressure, "rf_psi", 12, 75), (pressure, "lr_psi", 12, 75),
        (pressure, "rr_psi", 12, 75), (pressure, "tyre_c", -25, 130), (pressure, "air_c", -25, 50),
        (pressure, "wait_min", 0, 600), (weather, "surface_c", -25, 80), (weather, "humidity_pct", 0, 100),
        (weather, "station_hpa", 600, 1085), (weather, "wind_kmh", 0, 150), (tread_temp, "inner_c", -25, 150),
        (tread_temp, "middle_c", -25, 150), (tread_temp, "outer_c", -25, 150), (tread, "inner_mm", 0, 14),
        (tread, "middle_mm", 0, 14), (tread, "outer_mm", 0, 14), (tyre, "floor_mm", 0, 8),
        (tyre, "max_cold_psi", 25, 75), (run, "lost_s", 0, 60), (work, "torque_nm", 1, 900),
    ],
)  # fmt: skip
def test_figures_on_the_edge(made: Any, field: str, low: float, high: float) -> None:
    """The project's own wide bounds, as documented: common practice, no source."""
    assert asked(made(**{field: float(low)})) == []
    assert asked(made(**{field: float(high)})) == []
    (below,) = asked(made(**{field: low - 0.1}))
    (above,) = asked(made(**{field: high + 0.1}))
    assert field.removesuffix("_psi")[:2] in below
    assert "is that right?" in above


def test_a_pressure_in_kpa_is_recognised() -> None:
    """207 kPa / 6.894757 = 30.02 psi (the exact factor of the SI, NIST SP 811)."""
    assert asked(pressure(lf_psi=207.0)) == ["lf reads 207 psi: is that right?; if that is kPa it is 30 psi"]
    assert asked(pressure(lf_psi=10.26)) == ["lf reads 10.3 psi: is that right?"]
    assert asked(pressure(lf_psi=105.04)) == ["lf reads 105 psi: is that right?; if that is kPa it is 15.2 psi"]
    assert asked(pressure(lf_psi=100.0)) == ["lf reads 100 psi: is that right?; if that is kPa it is 14.5 psi"]
    assert asked(pressure(lf_psi=99.9)) == ["lf reads 99.9 psi: is that right?"]


def test_flags_and_blanks_are_no_figures() -> None:
    assert asked(tyre(directional=True, floor_mm=None)) == []
    assert asked(tyre(directional=True, floor_mm=9.25)) == ["floor_mm is 9.25 mm: is that right?"]


# --- what the checks share --------------------------------------------------------------------------------------


def test_a_near_word_is_offered_and_a_far_one_not() -> None:
    assert close_to("PNE", ["OAK", "PINE"]) == "; did you mean PINE?"
    assert close_to("FIR", ["OAK", "PINE"]) == ""


def test_a_key_twice_names_the_first_line() -> None:
    rows = [time(line=2), time(line=3, run=2), time(line=4, try_="a"), time(line=5)]
    ((row, words),) = repeated(rows)
    assert row.line == 5
    assert words == "day 1, run 1, number 26 is on line 2 already: take one of the two out"
    assert repeated([time(), time()], lambda _row: None) == []
    assert [row.line for row, _ in repeated(rows, lambda row: row.number)] == [3, 4, 5]


def test_days_outside_the_event() -> None:
    assert day_fault(time(day=2), 2) is None
    assert day_fault(time(day=3), 2) == "day 3 is outside the event: event.toml lists 2 days"
    assert day_fault(time(day=2), 1) == "day 2 is outside the event: event.toml lists 1 day"
    assert day_fault(time(day=9), 0) is None
    assert day_fault(NoteRow(id="n"), 1) is None
    assert day_fault(entrant("26"), 1) is None
    assert day_fault(FittedRow(day=1, number="26", corner="lf", tyre="A"), 1) is None


def test_a_problem_is_at_its_row() -> None:
    assert said(time(line=9), "words") == Problem("times.csv", 9, "words", "fault")


# --- event.toml -------------------------------------------------------------------------------------------------


def said_of(cars: Any = None, numbers: tuple[str, ...] = ("26",), **more: Any) -> list[tuple[int, str, str]]:
    places = {("classes",): 4, ("days",): 2, ("mine", "numbers"): 8, ("mine", "cars"): 9, ("format",): 1,
              ("index", "PINE"): 6, ("altitude_m",): 3, ("rules", "cone_s"): 5, ("index",): 7}  # fmt: skip
    found = settings_problems(settings(**more), lambda path: places.get(path, 0), set(numbers), cars or {})
    assert all(item.file == "event.toml" for item in found)
    return [(item.line, item.level, item.message) for item in found]


def test_a_sound_file_raises_no_question() -> None:
    assert said_of() == []


@pytest.mark.parametrize(
    ("more", "line", "level", "words"),
    [
        ({"classes": [{"code": "raw"}]}, 4, "fault", "can't be called 'raw'"),
        ({"classes": [{"code": "index"}]}, 4, "fault", "can't be called 'index'"),
        ({"classes": [{"code": "A"}, {"code": "B"}, {"code": "A"}]}, 4, "fault", "class A is listed twice"),
        ({"classes": []}, 0, "warning", "no classes"),
        ({"days": []}, 2, "fault", "no days"),
        ({"days": [date(2026, 5, 9), date(2026, 5, 9)]}, 2, "warning", "not in order"),
        ({"days": [date(2026, 5, 10), date(2026, 5, 9)]}, 2, "warning", "not in order"),
        ({"mine": {"numbers": ["32"]}}, 8, "warning", "my number 32 isn't in entrants.csv"),
        ({"mine": {"numbers": ["26"], "cars": {"26": "other"}}}, 9, "warning", "no usable cars/other.toml for number 26"),
        ({"format": 2}, 1, "warning", "format 2 is not known here"),
        ({"index": {"factors": {"PINE": Decimal("0.39")}}}, 6, "warning", "an index of 0.39 for PINE"),
        ({"index": {"factors": {"PINE": Decimal("1.51")}}}, 6, "warning", "an index of 1.51 for PINE"),
        ({"altitude_m": -431.0}, 3, "warning", "an altitude of -431 m"),
        ({"altitude_m": 4501.0}, 3, "warning", "an altitude of 4501 m"),
        ({"rules": {"cone_s": "20.001"}}, 5, "warning", "20.001 s a cone"),
    ],
)  # fmt: skip
def test_what_event_toml_gets_wrong(more: dict[str, Any], line: int, level: str, words: str) -> None:
    ((at, how, message),) = said_of(**more)
    assert (at, how) == (line, level)
    assert words in message


@pytest.mark.parametrize(
    "more",
    [
        {"index": {"factors": {"PINE": Decimal("0.4"), "OAK": Decimal("1.5")}}},
        {"altitude_m": -430.0},
        {"altitude_m": 4500.0},
        {"rules": {"cone_s": 20}},
        {"cars": {"mine": saloon()}, "mine": {"numbers": ["26"], "cars": {"26": "mine"}}},
        {"days": [date(2026, 5, 9)]},
    ],
)
def test_what_event_toml_may_say(more: dict[str, Any]) -> None:
    assert said_of(**more) == []


def test_an_index_that_is_wanted_and_missing() -> None:
    def wanted(factors: dict[str, str], *rows: Any) -> list[str]:
        of = settings(index={"factors": factors})
        return [
            item.message.split(",")[0] for item in index_problems(rows, of, lambda path: 7 if path == ("index",) else 0)
        ]

    pine, oak = entrant("26", "PINE"), entrant("7", "OAK")
    assert wanted({}, pine) == []
    assert wanted({}, pine, oak) == ["[index] has no OAK"]
    assert wanted({"OAK": "0.8"}, pine, oak) == ["[index] has no PINE"]
    assert wanted({"FIR": "0.8"}, oak, pine) == ["[index] has no OAK", "[index] has no PINE"]
    assert wanted({"FIR": "0.8"}, entrant("26", "PINE", index="FIR"), entrant("9", None)) == []
    found = index_problems([pine], settings(index={"factors": {"FIR": "0.8"}}), lambda _path: 7)
    assert [(item.file, item.line, item.level) for item in found] == [("event.toml", 7, "fault")]
