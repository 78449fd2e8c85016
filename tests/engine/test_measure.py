"""Every value of a car file is described, and what can't be is struck out with its mend."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.car.findings import Finding, doubt, fault, merged
from paddock.engine.car_check import checked
from paddock.engine.measure import measure_of, measures
from paddock.model.car import Axle, Bar, Car, Engine, FirstRun, Gearbox, Limits, Target
from tests.cars import coupe, saloon

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
    assert row is not None
    assert (row.unit, row.label) == ("mm", "Twisting length")
    assert measure_of("rear.bar.colour") is None


def test_a_sound_car_is_left_as_it_is() -> None:
    for car in (saloon(), coupe(), Car()):
        assert checked(car) == (car, ())


@pytest.mark.parametrize(
    ("values", "key", "words"),
    [
        ({"front_share": 61}, "front_share", "write 0.61"),
        ({"wheelbase_mm": 2.6}, "wheelbase_mm", "was it in metres"),
        ({"rear__bar__length_mm": 36}, "rear.bar.length_mm", "was it in inches"),
        ({"gearbox__efficiency": 92}, "gearbox.efficiency", "write 0.92"),
        ({"gearbox__limiter_rpm": 70}, "gearbox.limiter_rpm", "1000 to 20000"),
        ({"limits__max_cold_psi": 500}, "limits.max_cold_psi", "can't be"),
    ],
)
def test_what_cant_be_is_struck_out_with_a_hint(values: dict[str, Any], key: str, words: str) -> None:
    car, findings = checked(saloon(**values))
    assert [item.key for item in findings] == [key]
    assert words in findings[0].message
    node: Any = car
    for name in key.split("."):
        node = getattr(node, name)
    assert node is None
    assert car.name == "saloon"


def test_several_at_once_leave_the_rest() -> None:
    car, findings = checked(saloon(mass_kg=1, rear__track_mm=9, rear__bar__diameter_mm=900))
    assert {item.key for item in findings} == {"mass_kg", "rear.track_mm", "rear.bar.diameter_mm"}
    assert car.rear.bar is not None
    assert (car.mass_kg, car.rear.track_mm, car.rear.bar.diameter_mm) == (None, None, None)
    assert (car.rear.bar.length_mm, car.rear.spring_n_mm, car.front.track_mm) == (900, 60, 1530)


def test_findings_are_said_once() -> None:
    one, other = fault("a", "x"), doubt("b", "y")
    assert merged([one, other], [one]) == (one, other)
    assert str(Finding("a", "x")) == "a: fault: x"
