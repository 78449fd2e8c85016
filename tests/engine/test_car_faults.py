"""Faults of a car file for a check of the folder, and the page that explains every value."""

from __future__ import annotations

from pathlib import Path

from paddock.engine.check.figures import car_faults
from paddock.model.car import Car, measures
from tests.cars import coupe, saloon

PAGE = Path(__file__).parents[2] / "docs" / "methods" / "car-values.md"
OPENING = """# Every value of a car file

What it is, where to measure it, what happens without it. Every key is optional. The same table stands behind the car
editor; `[rear]` and `[rear.bar]` have the same keys as `[front]` and `[front.bar]`, `[targets.damp]` and
`[targets.wet]` those of `[targets.dry]`. Ranges outside which a value is struck out as a slip are in
`paddock/model/car*.py, beside each field`. How to measure and usual ranges: common practice, no source.

**Before going under the car:** level ground, wheels chocked, on stands.
"""


def page() -> str:
    """The page as the data have it."""
    parts, table = [OPENING], None
    for row in measures():
        head, _, key = row.key.rpartition(".")
        if head.startswith("rear") or head in ("targets.damp", "targets.wet"):
            continue
        if head != table:
            parts.append(f"\n## {f'`[{head}]`' if head else 'The car'}\n\n| key | unit | what | how | without |\n"
                         "|---|---|---|---|---|\n")  # fmt: skip
            table = head
        parts.append(f"| `{key}` | {row.unit} | {row.meaning} | {row.how} | {row.without} |\n")
    return "".join(parts)


def test_the_page_is_what_the_data_say() -> None:
    # To renew it: python -m tests.engine.test_car_faults
    assert PAGE.read_text(encoding="utf-8") == page()


def test_sound_or_empty_cars_have_no_faults() -> None:
    for car in (saloon(), coupe(), Car(), saloon(mass_kg=None, engine={}, gearbox={})):
        assert car_faults(car) == ()


def test_every_room_is_asked() -> None:
    car = saloon(
        rear__bar__left=9, front__bar__bore_mm=30, gearbox__ratios=[3.5, 1.4, 2.0],
        engine__torque_nm=[250], limits={"front_min_psi": 50, "max_cold_psi": 44, "wheel_max_psi": 60},
        targets={"dry": {"front_psi": 70}}, advice={"step_psi": 9},
    )  # fmt: skip
    assert {item.key for item in car_faults(car)} == {
        "rear.bar.left", "front.bar.bore_mm", "gearbox.ratios", "engine.torque_nm", "limits.front_min_psi",
        "targets.dry.front_psi", "advice",
    }  # fmt: skip


def test_springs_that_carry_nothing_are_a_fault() -> None:
    """600 kg, 61 % in front, 400 kg of it wheels: -34 kg; 1000 kg, 40 % behind, 400 kg of it wheels: nothing."""
    for car in (
        saloon(mass_kg=600, front__unsprung_kg=400.0),
        saloon(mass_kg=1000, front_share=0.6, front__unsprung_kg=400.0, rear__unsprung_kg=400.0),
    ):
        (found,) = car_faults(car)
        assert (found.key, found.level) == ("mass_kg", "fault")
        assert found.message.startswith(f"the unsprung masses leave nothing of {car.mass_kg:g} kg")
    assert car_faults(saloon(mass_kg=1000, front_share=0.6, front__unsprung_kg=400.0, rear__unsprung_kg=399.0)) == ()


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
