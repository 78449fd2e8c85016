"""The verb ``gears``: the contract's JSON, hold or shift, a curve beside the car file, refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from paddock.__main__ import main
from tests.cars import COUPE
from tests.commands.test_bar import write

GEAR = {
    "gear", "ratio", "limiter_kmh", "shift_rpm", "shift_kmh", "crosses", "light_rpm", "grip_limited_below_kmh",
}  # fmt: skip


def ask(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    assert main(["gears", *map(str, words), "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def read(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main(["gears", *map(str, words)]) == 0
    return capsys.readouterr().out


def test_the_contract(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path))
    assert [gear["gear"] for gear in found["gears"]] == [1, 2, 3, 4]
    assert all(set(gear) >= GEAR for gear in found["gears"])
    first, _, _, last = found["gears"]
    assert first["limiter_kmh"] == pytest.approx(57.15)  # 7000 rpm / 14 x 1.905 m
    assert (first["shift_rpm"], first["crosses"]) == (7000, False)
    assert first["light_rpm"] < 7000
    assert (last["shift_rpm"], last["light_rpm"], last["crosses"]) == (None, None, None)
    assert found["problems"] == []
    assert "hold" not in found


def test_hold_or_shift(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--hold", "2", "--from-kmh", "60", "--length-m", "120"]
    found = ask(capsys, write(tmp_path), *words)["hold"]
    assert found["best"] == "shift"
    assert found["shifting_saves_s"] == pytest.approx(found["hold_s"] - found["shift_s"])
    text = read(capsys, write(tmp_path), *words)
    assert "Over 120 m from 60 km/h: shift to third." in text
    assert "tenths" in text
    assert f"Hold second to {found['hold_to_m']:.0f} m" in text


def test_the_readable_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = read(capsys, write(tmp_path, COUPE), "--plot")
    assert "light rpm" in text
    assert "The driven wheels hold" in text
    assert "thrust, N" in text
    assert "\x1b" not in text
    assert text.count("less in a corner") == 1


def test_speeds_over_rpm(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = read(capsys, write(tmp_path, gearbox__limiter_rpm=7200), "--speeds").splitlines()
    # Arithmetic: 3000 rpm / (3.5 x 4) x 60 x 1.905 m = 24.49 km/h; top gear 3000 / 4.
    assert next(line.split() for line in lines if line.startswith("3000")) == ["3000", "24.5", "42.9", "61.2", "85.7"]
    assert any(line.startswith("7200") for line in lines)


def test_a_curve_beside_the_car_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    typed = ask(capsys, write(tmp_path))
    rows = zip((2000, 4000, 6000, 7000), (250, 300, 280, 240), strict=True)
    lines = [f"{rpm};{str(torque / 1.3558179483314004).replace('.', ',')}" for rpm, torque in rows]
    (tmp_path / "torque.csv").write_text("rpm;torque_lbft\n" + "\n".join(lines), encoding="utf-8")
    beside = ask(capsys, write(tmp_path, engine={"curve": "torque.csv"}))
    for one, other in zip(typed["gears"], beside["gears"], strict=True):
        assert other["light_rpm"] == (None if one["light_rpm"] is None else pytest.approx(one["light_rpm"]))


@pytest.mark.parametrize(("name", "said"), [("gone.csv", "can't be read"), ("../x.csv", "without a path")])
def test_a_curve_that_isnt_there(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, said: str) -> None:
    found = ask(capsys, write(tmp_path, engine={"curve": name}))
    assert any(said in item["message"] for item in found["problems"])
    assert found["gears"][0]["limiter_kmh"] is not None
    assert found["gears"][0]["shift_rpm"] is None


@pytest.mark.parametrize(
    ("values", "words", "gears"),
    [
        ({"gearbox__ratios": [3.5, 1.4, 2.0]}, "out of order", 3),
        ({"engine": {"rpm": [3000], "torque_nm": [200]}}, "one point", 4),
        ({"mass_kg": None}, "mass_kg: missing", 4),
        ({"gearbox__final": None}, "gearbox.final: missing", 0),
    ],
)
def test_faults_are_named_and_the_rest_computed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], values: dict[str, Any], words: str, gears: int
) -> None:
    found = ask(capsys, write(tmp_path, **values))
    assert any(words in item["message"] for item in found["problems"])
    assert len(found["gears"]) == gears
    assert words in read(capsys, write(tmp_path, **values))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--hold", "2"], "go together"),
        (["--hold", "9", "--from-kmh", "60", "--length-m", "80"], "no gear 9"),
        (["--hold", "2", "--from-kmh", "200", "--length-m", "80"], "ends at 100 km/h"),
        (["--hold", "2", "--from-kmh", "fast", "--length-m", "80"], "a number over 0"),
    ],
)
def test_wrong_use(tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    assert main(["gears", str(write(tmp_path)), *words]) == 2
    assert said in capsys.readouterr().err


def test_a_stretch_that_cant_be_told_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--hold", "2", "--from-kmh", "60", "--length-m", "80"]
    found = ask(capsys, write(tmp_path, mass_kg=None), *words)
    assert found["hold"] is None
    assert any("needs ratios" in item["message"] for item in found["problems"])
