"""Every value of a car file is described, and what can't be is struck out with its mend."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from paddock.errors import Finding, doubt, fault, merged
from paddock.model.car import Car, FirstRun, Limits, Target, cant_be, measure_of, measures
from paddock.model.car_axle import Axle, Bar
from paddock.model.car_drive import Engine, Gearbox
from paddock.model.units import FAMILIES, Measured
from paddock.store.tomlread import loads, read_car
from tests.cars import COUPE, SALOON

TABLES: dict[str, type[Any]] = {
    "front": Axle, "rear": Axle, "front.bar": Bar, "rear.bar": Bar, "gearbox": Gearbox, "engine": Engine,
    "limits": Limits, "targets.dry": Target, "targets.damp": Target, "targets.wet": Target,
    "first_run": FirstRun,
}  # fmt: skip
HOLDERS = {"front", "rear", "bar", "gearbox", "engine", "limits", "targets", "first_run"}


def wanted() -> set[str]:
    keys = {name for name in Car.model_fields if name not in HOLDERS}
    for table, model in TABLES.items():
        keys |= {f"{table}.{name}" for name in model.model_fields if name not in HOLDERS}
    return keys


def test_every_key_of_the_model_is_described_and_no_other() -> None:
    assert {row.key for row in measures()} == wanted()


def test_every_value_says_what_where_and_what_without() -> None:
    for row in measures():
        assert row.label, row.key
        assert len(row.meaning) > 5, row.key
        assert len(row.how) > 5, row.key
        assert row.without, row.key
        assert row.low is None or row.high is None or row.low < row.high, row.key


def test_labels_of_one_axle_tell_their_keys_apart() -> None:
    labels = [row.label for row in measures() if row.key.startswith("rear")]
    assert len(labels) == len(set(labels))


def test_by_key() -> None:
    row = measure_of("rear.bar.length_mm")
    assert (row.unit, row.label) == ("mm", "Twisting length")
    with pytest.raises(KeyError):
        measure_of("rear.bar.colour")


def test_a_sound_car_is_left_as_it_is() -> None:
    for car in (SALOON, COUPE):
        assert read(car)[1] == []


def read(car: dict[str, Any]) -> tuple[Car, list[str]]:
    """A car file as the program reads it, and what is said of it."""
    text = tomli_w.dumps(car)
    found, problems = read_car("cars/car.toml", *loads("cars/car.toml", text.encode()))
    assert found is not None
    assert all(item.level == "fault" and item.line for item in problems)
    return found, [item.message for item in problems]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("front_share", 61, "did you mean 61 %? write 0.61"),
        ("front_share", 48.5, "did you mean 48.5 %? write 0.485"),
        ("mass_kg", -5, "100 to 5000 can: Four corner scales"),
        ("mass_kg", 1.3, "did you mean tonnes? that is 1300 kg"),
        ("wheelbase_mm", 2.6, "did you mean metres? that is 2600 mm"),
        ("wheelbase_mm", 260, "did you mean centimetres?"),
        ("rear.track_mm", 15, "did you mean 1500 mm?"),
        ("rear.bar.length_mm", 36, "did you mean centimetres? that is 360 mm"),
        ("rear.bar.diameter_mm", 0.9, "did you mean centimetres? that is 9 mm"),
        ("rear.bar.shear_gpa", 79000, "did you mean MPa? that is 79 GPa"),
        ("gearbox.efficiency", 92, "did you mean 92 %? write 0.92"),
        ("gearbox.limiter_rpm", 7, "did you mean thousands? that is 7000 rpm"),
        ("gearbox.final", 40, "did you mean 4?"),
        ("gearbox.shift_s", 300, "did you mean milliseconds?"),
        ("targets.dry.front_psi", 240, "did you mean kPa? write front_kpa = 240, or 34.8"),
        ("targets.wet.rear_psi", 2.1, "did you mean bar? write rear_bar = 2.1, or 30.5"),
        ("targets.dry.front_kpa", 35, "5.07632 psi (from 35 kpa) can't be, 8 to 100 can; did you mean psi?"),
        ("targets.dry.front_bar", 220, "(from 220 bar) can't be, 8 to 100 can; did you mean kPa?"),
        ("limits.front_min_psi", 180, "did you mean kPa?"),
        ("limits.max_cold_psi", 300, "did you mean kPa?"),
        ("first_run.front_rise_k", -4, "0 to 100 can"),
        ("fasteners.caliper bolt", 2800, "1 to 1000 can"),
    ],
)  # fmt: skip
def test_what_cant_be_stays_out_and_asks_for_the_unit_it_would_fit(key: str, value: float, words: str) -> None:
    made = deepcopy(SALOON)
    node = made
    *path, name = key.split(".")
    for table in path:
        node = node.setdefault(table, {})
    node[name] = value
    car, said = read(made)
    assert [message.partition(": ")[0] for message in said] == [key]
    assert words in said[0]
    left: Any = car
    for step in path:
        left = left[step] if isinstance(left, dict) else getattr(left, step)
    inside = name.replace("_kpa", "_psi").replace("_bar", "_psi")
    assert (left.get(name) if isinstance(left, dict) else getattr(left, inside)) is None
    assert (car.name, car.front.spring_n_mm) == ("saloon", 32)


def test_several_at_once_leave_the_rest() -> None:
    made = deepcopy(SALOON)
    made["mass_kg"], made["rear"]["track_mm"], made["rear"]["bar"]["diameter_mm"] = 1, 9, 900
    car, said = read(made)
    assert [message.partition(":")[0] for message in said] == ["mass_kg", "rear.track_mm", "rear.bar.diameter_mm"]
    assert car.rear.bar is not None
    assert (car.mass_kg, car.rear.track_mm, car.rear.bar.diameter_mm) == (None, None, None)
    assert (car.rear.bar.length_mm, car.rear.spring_n_mm, car.front.track_mm) == (900, 60, 1530)


BOUNDED = [row for row in measures() if row.low is not None and row.high is not None and row.key != "fasteners"]


@given(st.sampled_from(BOUNDED), st.floats(0, 1), st.floats(0.001, 1e6))
def test_bounds_hold_for_every_key_in_every_unit_it_can_be_written_in(row: Measured, share: float, off: float) -> None:
    assert row.low is not None
    assert row.high is not None
    stem, _, suffix = row.key.rpartition("_")
    units = next((f.units for f in FAMILIES.values() if f.units[0].suffix == suffix), ())
    for key, unit in [(row.key, None), *((f"{stem}_{unit.suffix}", unit) for unit in units[1:])]:
        inside = row.low + share * (row.high - row.low)
        for value, fits in ((inside, True), (row.high + off, False), (row.low - off, False)):
            *path, name = key.split(".")
            table: Any = {name: unit.outward(value) if unit else value}
            for step in reversed(path):
                table = {step: table}
            within = (row.low + 1e-9 < value < row.high - 1e-9) or not fits
            if within:
                assert (cant_be(row.key, value) is None) == fits
                try:
                    Car.model_validate(table)
                except ValidationError:
                    assert not fits
                else:
                    assert fits


def test_findings_are_said_once() -> None:
    one, other = fault("a", "x"), doubt("b", "y")
    assert merged([one, other], [one]) == (one, other)
    assert str(Finding("a", "x")) == "a: fault: x"
