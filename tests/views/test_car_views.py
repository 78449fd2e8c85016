"""Bars, gears and values of any car as the screens show them: always an answer, and every value can be typed back."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from paddock import words_car
from paddock.model.car import Car
from paddock.model.car_values import measures
from paddock.model.edit import SetKey
from paddock.model.event import Event
from paddock.model.rows import ChangeRow
from paddock.model.settings import Mine, Settings
from paddock.render.drawn import lines_plot
from paddock.store.tomlread import loads, read_car
from paddock.views.bar import bars_of, curves, move_bar, moved_words, tried, work_words
from paddock.views.car import CarNow, car_now
from paddock.views.car_values import ValueLine, impossible, new_car, read_value, set_value, value_text, values_of
from paddock.views.gears import answer, gears_of, read_stretch, speed_rows, thrust_series
from tests.cars import COUPE, SALOON, laws
from tests.commands.test_any_car import KEYS, spoilt, value


def car_of(content: dict[str, Any]) -> Car:
    """The car of a file's content, as the store reads it."""
    data = tomli_w.dumps(content).encode()
    car, _ = read_car("cars/car.toml", *loads("cars/car.toml", data))
    assert car is not None
    return car


def event_of(car: Car, *changes: ChangeRow) -> Event:
    """One entry with that car."""
    settings = Settings(days=(date(2026, 5, 9),), mine=Mine(numbers=("26",), cars={"26": "car"}))
    return Event("test", settings, {"changes.csv": changes}, {"car": car})


def now_of(car: Car, *changes: ChangeRow) -> CarNow:
    """The car in hand, no curve beside it."""
    return car_now(event_of(car, *changes), "26", lambda made: (made, ()))


def moved(after: str, run: int = 1, setting: str = "rear_bar") -> ChangeRow:
    """A change of holes."""
    return ChangeRow(id=f"c{run}", day=1, run=run, number="26", setting=setting, before="3-3", after=after)


def line_of(now: CarNow, key: str) -> ValueLine:
    """One value."""
    return next(item for item in values_of(now) if item.key == key)


@laws
@given(st.sampled_from([SALOON, COUPE]), st.dictionaries(st.sampled_from(KEYS), value, max_size=6))
def test_any_car_is_shown(base: dict[str, Any], changes: dict[str, Any]) -> None:
    now = now_of(car_of(spoilt(base, changes)))
    bars, gears = bars_of(now), gears_of(now)
    for item in bars.lines[:3]:
        back = tried(bars, item, ())
        assert back is not None
        assert words_car.give_back_sentences(back)
        lines_plot(curves(bars, item), "g", "%", (40, 10))
    lines_plot(thrust_series(gears.table), "km/h", "N", (60, 12))
    assert all(len(row) == len(gears.gears) + 1 for row in speed_rows(gears.table))
    with suppress(ValueError):
        assert answer(gears, read_stretch("60 90"), 2)


@laws
@given(st.sampled_from([SALOON, COUPE]), st.dictionaries(st.sampled_from(KEYS), value, max_size=6))
def test_every_value_shown_can_be_typed_back(base: dict[str, Any], changes: dict[str, Any]) -> None:
    now = now_of(car_of(spoilt(base, changes)))
    for item in values_of(now):
        if item.text and not item.table and "e" not in item.text:
            path, made = read_value(item, item.text)
            assert path == item.path
            assert value_text(made) == item.text


def test_every_value_of_the_file_is_listed_once() -> None:
    keys = [item.key for item in values_of(now_of(car_of(SALOON))) if not item.table]
    assert len(keys) == len(set(keys))
    assert {row.key for row in measures()} - {"setup", "fasteners", "advice"} <= set(keys)


def test_the_last_change_says_which_holes_are_in_use() -> None:
    car = car_of(SALOON)
    assert [item.id for item in bars_of(now_of(car)).lines if item.now] == ["front 1-1", "rear 3-3"]
    bars = bars_of(now_of(car, moved("3-4"), moved("1-2", run=2)))
    assert [item.id for item in bars.lines if item.now] == ["front 1-1", "rear 1-2"]
    assert not [fault for fault in bars.faults if "setup" in fault.key]


def test_a_change_that_names_no_holes_is_told_and_the_files_holes_stand() -> None:
    bars = bars_of(now_of(car_of(SALOON), moved("stiff")))
    assert [item.holes for item in bars.lines if item.now] == ["1-1", "3-3"]
    assert any("'stiff', which is no pair of holes" in fault.message for fault in bars.faults)


def test_of_two_pairs_as_stiff_the_one_is_meant_that_moves_fewer_holes() -> None:
    """From 4-3 the softer neighbour of 3-3 is 3-3, and 2-4 is meant as 4-2."""
    bars = bars_of(now_of(car_of(SALOON), moved("4-3")))
    ids = [item.id for item in bars.lines]
    assert "rear 4-3" in ids
    assert "rear 3-4" not in ids
    assert "rear 4-2" in ids


def test_moving_a_bar_is_one_step_with_its_work() -> None:
    event = event_of(car_of(SALOON), moved("3-4"))
    bars = bars_of(car_now(event, "26", lambda made: (made, ())))
    found = bars.line("rear 4-4")
    assert found is not None
    assert moved_words(bars, found) == "rear bar 3-4 to 4-4"
    made = move_bar(event, "26", 1, "10:00:00", bars, found, "pushes")
    cells = made.edits[0].cells  # type: ignore[union-attr]
    assert (cells["setting"], cells["before"], cells["after"], cells["reason"]) == ("rear_bar", "3-4", "4-4", "pushes")
    assert cells["expect"].startswith("front share ")
    assert "rear end links" in work_words(made)


@pytest.mark.parametrize(
    ("key", "typed", "meant"),
    [
        ("mass_kg", "1310", 1310), ("mass_kg", "2888lb", 1309.974764), ("front_share", "61%", 0.61),
        ("front_share", "0,61", 0.61), ("front.track_mm", "60 in", 1524), ("front.spring_n_mm", "200lb/in", 35.02536),
        ("limits.wheel_max_psi", "4bar", 58.015095), ("gearbox.ratios", "3.5 2,0 1.4", [3.5, 2, 1.4]),
        ("gearbox.ratios", "[3.5, 2.0, 1.4]", [3.5, 2, 1.4]), ("rear.bar.arms_mm", "240,225,210", [240, 225, 210]),
        ("rear.bar.mr", "0.6", 0.6), ("rear.bar.mr", "0.6 0.58", [0.6, 0.58]), ("rear.bar.left", "3", 3),
        ("drive", "r", "rear"), ("gearbox.size", "225/45R17", "225/45R17"), ("front.roll_centre_mm", "-20", -20),
        ("rear.bar.bore_mm", "-", None), ("targets.wet.rear_psi", "2,4 bar", 34.809057),
    ],
)  # fmt: skip
def test_what_is_typed_is_understood(key: str, typed: str, meant: object) -> None:
    _, made = read_value(line_of(now_of(car_of(SALOON)), key), typed)
    assert made == (pytest.approx(meant) if isinstance(meant, float | int) else meant)


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("mass_kg", "heavy", "is no number"), ("mass_kg", "3 ft", "is no unit for this"),
        ("gearbox.ratios", "3,45", "one number or two"), ("rear.bar.left", "2.5", "a whole number"),
        ("drive", "both", "write front, rear, all"), ("setup", "rear_bar", "type name = value"),
        ("fasteners", "wheel nut = tight", "is no number"),
    ],
)  # fmt: skip
def test_what_is_no_value_gets_a_sentence(key: str, typed: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_value(line_of(now_of(car_of(SALOON)), key), typed)


def test_free_tables_take_names() -> None:
    now = now_of(car_of(SALOON))
    assert read_value(line_of(now, "setup"), 'rear_bar = "3-4"') == (("setup", "rear_bar"), "3-4")
    assert read_value(line_of(now, "fasteners"), "wheel nut = 90 lbft")[1] == pytest.approx(122.0236)
    assert read_value(line_of(now, "advice"), "quick = no") == (("advice", "quick"), False)


def test_a_value_that_cant_be_is_refused_with_the_mend() -> None:
    assert "did you mean metres?" in str(impossible(("wheelbase_mm",), 2.6))
    assert impossible(("wheelbase_mm",), 2600) is None
    assert impossible(("rear", "bar", "diameter_mm"), 900)
    assert impossible(("front", "bar", "diameter_mm"), 22) is None
    assert "did you mean kPa?" in str(impossible(("targets", "dry", "front_psi"), 240))


def test_one_quantity_keeps_one_key() -> None:
    edits = set_value("car", ("targets", "dry", "front_psi"), 34).edits
    assert edits[0] == SetKey("cars/car.toml", ("targets", "dry", "front_psi"), 34)
    assert {edit.path[-1] for edit in edits[1:]} == {"front_kpa", "front_bar"}  # type: ignore[union-attr]
    assert len(set_value("car", ("setup", "front_psi"), "34").edits) == 1


@pytest.mark.parametrize("name", ["", "  ", "../..", "x" * 60])
def test_a_car_needs_a_name_a_file_can_have(name: str) -> None:
    with pytest.raises(ValueError, match="a short name"):
        new_car("26", name)


@pytest.mark.parametrize("text", ["", "60", "a b", "60 90 0.4", "60 90 80 70 60"])
def test_what_is_no_stretch(text: str) -> None:
    with pytest.raises(ValueError, match="type the speed in km/h and the metres"):
        read_stretch(text)


def test_an_event_without_the_car_says_so() -> None:
    bare = Event("test", Settings(mine=Mine(numbers=("26",))), {})
    now = car_now(bare, "26", lambda made: (made, ()))
    assert [fault.sentence for fault in now.faults] == ["no car file is named for 26"]
    assert bars_of(now).lines == ()
    assert gears_of(now).gears == ()
