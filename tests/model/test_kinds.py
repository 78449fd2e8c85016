"""Cells to values and back; exact where results are settled."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.model.columns import spec_of
from paddock.model.rows import ROWS
from paddock.model.units import KINDS, format_time, parse_time_ms, plain_number


@given(st.integers(0, 9_999_999), st.integers(0, 3))
def test_a_printed_time_is_exact(ms: int, decimals: int) -> None:
    """Python's decimal module; the way through a float is wrong in 6 of 1,000 times."""
    text = str((Decimal(ms) / 1000).quantize(Decimal(1).scaleb(-decimals)))
    want = int(Decimal(text) * 1000)
    assert parse_time_ms(text) == want
    assert parse_time_ms(text.replace(".", ",")) == want


@given(st.integers(0, 9_999_999), st.integers(0, 3))
def test_a_time_written_reads_back(ms: int, decimals: int) -> None:
    assert parse_time_ms(format_time(ms, decimals)) == ms


@pytest.mark.parametrize(
    ("text", "ms"), [("1:02.345", 62_345), ("46", 46_000), ("46.5", 46_500), ("0.001", 1), ("46.", 46_000)]
)
def test_times_as_people_write_them(text: str, ms: int) -> None:
    assert parse_time_ms(text) == ms


@pytest.mark.parametrize(
    "text", ["46.1234", "46.1.3", "+1", "fast", "1:72.3", "-3", "４６", "46.5 s", "", "1e3", "nan"]
)
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(ValueError, match="no time"):
        parse_time_ms(text)


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [(34.5, 2, "34.5"), (0.30000000000000004, 2, "0.3"), (1e-7, 2, "0"), (-0.0, 1, "0"), (-0.04, 1, "0"), (2.675, 2, "2.68"),
     (1e9, 1, "1000000000"), (-1.25, 1, "-1.3"), (100, 1, "100")],
)  # fmt: skip
def test_plain_numbers(value: float, places: int, text: str) -> None:
    assert plain_number(value, places) == text


@pytest.mark.parametrize(
    ("kind", "good", "bad"),
    [
        ("balance", {"-3": -3, "+2": 2, "0": 0}, ["4", "-4", "u2", "1.5"]),
        ("count", {"0": 0, "12": 12}, ["-1", "1000", "one"]),
        ("ordinal", {"1": 1}, ["0", "-1"]),
        ("clock", {"9:05": "09:05", "23:59:59": "23:59:59"}, ["24:00", "9", "12:60"]),
        ("flag", {"Yes": True, "n": False, "1": True}, ["maybe"]),
        ("float", {"34,5": 34.5, "34.5": 34.5, "-2": -2.0}, ["nan", "inf", "1e99", "3 4", "1,2,3"]),
        ("date", {}, ["2026-13-01", "1.5.2026"]),
    ],
)
def test_kinds_read_or_say_the_mend(kind: str, good: dict[str, object], bad: list[str]) -> None:
    for text, value in good.items():
        assert KINDS[kind].read(text) == value
    for text in bad:
        with pytest.raises(ValueError, match=r"."):
            KINDS[kind].read(text)


def test_every_file_of_the_contract_has_its_columns() -> None:
    """The folder's contract, word for word."""
    contract = {
        "entrants.csv": "number, driver, car, class, index, drive, tyre_kind, control, status",
        "grid.csv": "day, number, group, order, work_group",
        "times.csv": "day, run, number, time, cones, misses, status, at, try",
        "runs.csv": "day, run, number, at, mistake, unsafe, lost_s, lost_where, entry, mid, exit, slalom, surface, note",
        "pressures.csv": "day, run, number, moment, at, lf_psi, rf_psi, lr_psi, rr_psi, tyre_c, air_c, wait_min, gauge, sun, cooling, note",
        "treadtemps.csv": "day, run, number, corner, inner_c, middle_c, outer_c, mark",
        "changes.csv": "id, day, run, at, number, kind, key, item, before, after, reason, expect, undoes, decision",
        "weather.csv": "day, at, air_c, surface_c, humidity_pct, station_hpa, surface, sky, wind_kmh",
        "notes.csv": "id, day, run, at, topic, text, element",
        "tyres.csv": "tyre, set, size, kind, date_code, bought, price, runs_before, directional, min_cold_psi, max_cold_psi, floor_mm, delivery_days",
        "fitted.csv": "day, run, number, corner, tyre, orientation",
        "tread.csv": "day, tyre, inner_mm, middle_mm, outer_mm",
        "worklist.csv": "id, opened, item, reason, due, torque_nm, done, note",
        "ticks.csv": "list, item, day, at",
        "course.csv": "day, element, name, kind, lat, lon",
        "splits.csv": "day, run, number, element, at_s, error_s, source",
    }
    assert {file: ", ".join(column.header for column in spec_of(file).columns) for file in ROWS} == contract
