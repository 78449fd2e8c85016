"""Bars, gears and values of any car as the screens show them: always an answer, and every value can be typed back."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from paddock.actions.car import move_bar, new_car, set_value
from paddock.engine.car.balance import Bars, bars_of
from paddock.engine.car.car_now import CarNow, car_now
from paddock.engine.car.compensation import give_back
from paddock.engine.car.gears import gear_table
from paddock.engine.car.hold_or_shift import hold_or_shift
from paddock.entry.car import read_stretch, read_value, value_text
from paddock.model.car import Car, cant_be, measures
from paddock.model.edit import SetKey
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.model.settings import Mine, Settings
from paddock.pages import bar, gears
from paddock.pages.bar import BarLine, bar_lines
from paddock.pages.car import ValueLine, value_lines, value_page, values_table
from paddock.render.lines import text
from paddock.store.tomlread import loads, read_car
from tests.cars import COUPE, SALOON, laws
from tests.commands.test_any_car import KEYS, spoilt, value


def car_of(content: dict[str, Any]) -> Car:
    """The car of a file's content, as the store reads it."""
    data = tomli_w.dumps(content).encode()
    car, _ = read_car("cars/car.toml", *loads("cars/car.toml", data))
    assert car is not None
    return car


def event_of(car: Car, *changes: SetupChange) -> Event:
    """One entry with that car."""
    settings = Settings(days=(date(2026, 5, 9),), mine=Mine(numbers=("26",), cars={"26": "car"}))
    return Event("test", settings, {"changes.csv": changes}, {"car": car})


def now_of(car: Car, *changes: SetupChange) -> CarNow:
    """The car in hand, no curve beside it."""
    return car_now(event_of(car, *changes), "26", lambda made: (made, ()))


def moved(after: str, run: int = 1, setting: str = "rear_bar") -> SetupChange:
    """A change of holes."""
    return SetupChange(id=f"c{run}", day=1, run=run, number="26", setting=setting, before="3-3", after=after)


def line_of(now: CarNow, key: str) -> ValueLine:
    """One value."""
    return next(item for item in value_lines(now) if item.key == key)


def bars_now(*changes: SetupChange) -> Bars:
    """The saloon's bars with some changes."""
    car = now_of(car_of(SALOON), *changes).car
    assert car is not None
    return bars_of(car)


def in_use(bars: Bars) -> list[str]:
    """The lines marked as set now."""
    return [line.id for line in bar_lines(bars) if line.now]


@laws
@given(
    st.sampled_from([SALOON, COUPE]), st.dictionaries(st.sampled_from(KEYS), value, max_size=6), st.integers(20, 130)
)
def test_any_car_is_shown(base: dict[str, Any], changes: dict[str, Any], width: int) -> None:
    now = now_of(car_of(spoilt(base, changes)))
    assert now.car is not None
    bars, found = bars_of(now.car), gear_table(now.car)
    hold, _ = hold_or_shift(now.car, 2, 60.0, 90.0)
    for line in bar_lines(bars)[:3]:
        back = give_back(bars.car, responses=(), **line.tried)
        assert bar.give_back_words(back)
        assert text(bar.in_hand(bars, line, back, now.findings), width)
        assert len(bar.share_plot(bars, line).series) == (1 if line.now else 2)
    pages = bar.whole(bars, None, (), plot=True), gears.whole(found, hold, (), speeds=True, plot=True)
    assert all(len(row) <= width for page in pages for row in text(page, width).splitlines())
    assert all(text(value_page(line), width) for line in value_lines(now)[::9])
    assert len(values_table(value_lines(now)).rows) == len(value_lines(now))


def at(car: Car | None, path: tuple[str, ...]) -> Any:
    """What the car file has there."""
    node: Any = car
    for name in path:
        node = node.get(name) if isinstance(node, dict) else getattr(node, name, None)
    return node


@laws
@given(st.sampled_from([SALOON, COUPE]), st.dictionaries(st.sampled_from(KEYS), value, max_size=6))
def test_every_value_shown_can_be_typed_back(base: dict[str, Any], changes: dict[str, Any]) -> None:
    now = now_of(car_of(spoilt(base, changes)))
    for item in value_lines(now):
        if item.text and not item.table and "e" not in item.text:
            if cant_be(item.key, at(now.filed, item.path)):
                with pytest.raises(ValueError, match="can't be"):
                    read_value(item.path, item.text)
                continue
            path, made = read_value(item.path, item.text)
            assert path == item.path
            assert value_text(made) == item.text


def test_every_value_of_the_file_is_listed_once() -> None:
    keys = [item.key for item in value_lines(now_of(car_of(SALOON))) if not item.table]
    assert len(keys) == len(set(keys))
    assert {row.key for row in measures()} - {"setup", "fasteners", "advice"} <= set(keys)


def test_the_last_change_says_which_holes_are_in_use() -> None:
    assert in_use(bars_now()) == ["front 1-1", "rear 3-3"]
    changes = moved("3-4"), moved("1-2", run=2)
    assert in_use(bars_now(*changes)) == ["front 1-1", "rear 1-2"]
    assert not [item for item in now_of(car_of(SALOON), *changes).findings if "setup" in item.key]


def test_a_change_that_names_no_holes_is_told_and_the_files_holes_stand() -> None:
    assert in_use(bars_now(moved("stiff"))) == ["front 1-1", "rear 3-3"]
    findings = now_of(car_of(SALOON), moved("stiff")).findings
    assert any("'stiff', which is no pair of holes" in item.message for item in findings)


def test_of_two_pairs_as_stiff_the_one_is_meant_that_moves_fewer_holes() -> None:
    """From 4-3 the softer neighbour of 3-3 is 3-3, and 2-4 is meant as 4-2."""
    ids = [line.id for line in bar_lines(bars_now(moved("4-3")))]
    assert "rear 4-3" in ids
    assert "rear 3-4" not in ids
    assert "rear 4-2" in ids


def test_moving_a_bar_is_one_step_with_its_work() -> None:
    event = event_of(car_of(SALOON), moved("3-4"))
    bars = bars_now(moved("3-4"))
    found: BarLine = next(line for line in bar_lines(bars) if line.id == "rear 4-4")
    assert bar.moved(bars, found) == "rear bar 3-4 to 4-4"
    now = next(line.pair for line in bar_lines(bars) if line.axle == "rear" and line.now)
    made = move_bar(event, "26", 1, 2, "10:00:00", "rear", now, found.pair, "pushes", (0.58, 0.571))
    cells = made.edits[0].cells  # type: ignore[union-attr]
    assert (cells["setting"], cells["before"], cells["after"], cells["reason"]) == ("rear_bar", "3-4", "4-4", "pushes")
    assert (cells["run"], cells["expect"]) == (2, "front share 58.0 % to 57.1 %")
    assert "rear end links" in text(bar.to_log(made), 120)


def test_of_both_ends_changed_only_the_share_is_told() -> None:
    """What gives one end back is no answer for two: the page has one sentence then, and three for one end."""
    car = car_of(SALOON)
    assert len(bar.give_back_words(give_back(car, (2, 2), (1, 1)))) == 1
    assert len(bar.give_back_words(give_back(car, rear=(1, 1)))) == 3


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
    _, made = read_value(line_of(now_of(car_of(SALOON)), key).path, typed)
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
        read_value(line_of(now_of(car_of(SALOON)), key).path, typed)


def test_free_tables_take_names() -> None:
    assert read_value(("setup",), 'rear_bar = "3-4"') == (("setup", "rear_bar"), "3-4")
    assert read_value(("fasteners",), "wheel nut = 90 lbft")[1] == pytest.approx(122.0236)
    assert read_value(("advice",), "quick = no") == (("advice", "quick"), False)


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("wheelbase_mm", "2.6", "did you mean metres"), ("rear.bar.diameter_mm", "900", "can't be"),
        ("targets.dry.front_psi", "240", "did you mean kPa"),
    ],
)  # fmt: skip
def test_a_value_that_cant_be_is_refused_with_the_mend(key: str, typed: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_value(key.split("."), typed)


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
    assert [(item.key, item.message) for item in now.findings] == [("", "no car file is named for 26")]
    assert now.car is None
    assert "? no car file is named for 26" in text(bar.no_bars(now.findings, None), 80)
