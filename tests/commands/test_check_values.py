"""A value that can't be is a fault of ``check``, stays out of what is answered, and asks for the unit it would fit."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.store.folders import small_folder

CAR = """\
name = "estate"
[targets.dry]
front_psi = 34
rear_psi = 30
[limits]
front_min_psi = 28
rear_min_psi = 26
max_cold_psi = 50
wheel_max_psi = 60
[first_run]
front_rise_k = 20
[front]
track_mm = 1500
[front.bar]
diameter_mm = 22
length_mm = 900
arms_mm = [240, 220, 200, 180]
mr = 0.6
left = 2
right = 2
"""
TYRES = "tyre,max_cold_psi,floor_mm\nA,44,1.6\n"


def said(path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, list[tuple[str, int, str, str]]]:
    code = main(["check", str(path), "--json"])
    found = json.loads(capsys.readouterr().out)["problems"]
    return code, [(item["file"], item["line"], item["level"], item["message"]) for item in found]


def event(path: Path, car: str = CAR, more: str = "", tyres: str = TYRES) -> Path:
    small_folder(path)
    (path / "cars" / "estate.toml").write_text(car)
    (path / "event.toml").write_text((path / "event.toml").read_text() + 'cars = { "26" = "estate" }\n' + more)
    (path / "tyres.csv").write_text(tyres)
    return path


def test_a_sound_car_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(event(tmp_path / "e"), capsys) == (0, [])


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("front_psi = 34", "front_psi = 240", 3, "targets.dry.front_psi: 240 psi can't be, 8 to 100 can; did you mean kPa?"),
        ("front_min_psi = 28", "front_min_psi = 193", 6, "limits.front_min_psi: 193 psi can't be, 8 to 100 can; did you mean kPa?"),
        ("track_mm = 1500", "track_mm = 15", 13, "front.track_mm: 15 mm can't be, 500 to 2500 can; did you mean 1500 mm?"),
        ("left = 2", "left = 99", 19, "front.bar.left: hole 99 isn't there: the arm has 4"),
        ("front_min_psi = 28", "front_min_psi = 55", 6, "limits.front_min_psi: 55 psi is over max_cold_psi, 50 psi"),
        ("front_psi = 34", "front_psi = 62", 3, "targets.dry.front_psi: 62 psi is over wheel_max_psi, 60 psi"),
        ("wheel_max_psi = 60", "wheel_max_psi = 60\nplacard_rear_psi = 70", 10, "limits.placard_rear_psi: 70 psi is over"),
        ("mr = 0.6", "mr = 6", 18, "front.bar.mr"),
    ],
)  # fmt: skip
def test_beyond_its_bounds_is_a_fault(
    old: str, new: str, line: int, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert old in CAR
    code, found = said(event(tmp_path / "e", CAR.replace(old, new)), capsys)
    assert code == 1
    faults = [item for item in found if item[2] == "fault"]
    assert [item[:2] for item in faults] == [("cars/estate.toml", line)]
    assert words in faults[0][3]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("[[gauges]]\nid = 'dial'\noffset_psi = 30\n", "gauges.1.offset_psi: 30 psi can't be, -15 to 15 can"),
        ("[[gauges]]\nid = 'dial'\nstep_psi = 7\n", "gauges.1.step_psi: 7 psi can't be, 0 to 5 can; did you mean kPa?"),
        ("[forecast]\nhottest_c = 78\n", "forecast.hottest_c: 78 C can't be, -50 to 60 can; did you mean Fahrenheit?"),
        ("[grid]\ninterval_s = 0\n", "grid.interval_s: 0 s can't be, 1 to 3600 can"),
    ],
)
def test_event_and_gauges_have_bounds(
    more: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, found = said(event(tmp_path / "e", more=more), capsys)
    assert (code, len(found), found[0][2]) == (1, 1, "fault")
    assert words in found[0][3]


@pytest.mark.parametrize(
    ("tyres", "words"),
    [
        ("tyre,max_cold_psi\nA,44\nB,350\n", "max_cold_psi: 350 psi can't be, 10 to 150 can; did you mean kPa?"),
        ("tyre,max_cold_kpa\nA,300\nB,44\n", "max_cold_kpa: 6.38166 psi (from 44 kpa) can't be, 10 to 150 can; did you mean psi?"),
        ("tyre,floor_mm\nA,1.6\nB,30\n", "floor_mm: 30 mm can't be, 0 to 20 can"),
    ],
)  # fmt: skip
def test_a_tyre_has_bounds_and_its_fault_hides_no_other(
    tyres: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = event(tmp_path / "e", tyres=tyres)
    code, found = said(path, capsys)
    assert (code, [item[:3] for item in found]) == (1, [("tyres.csv", 3, "fault")])
    assert words in found[0][3]
    assert main(["tyres", str(path), "--json"]) == 0
    assert [item["tyre"] for item in json.loads(capsys.readouterr().out)["tyres"]] == ["A"]


def test_a_target_that_parks_under_the_minimum_is_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """34 psi hot, 20 K over 15 C, is 48.7 psi absolute x 288.15 / 308.15 = 45.5, 30.8 on the gauge (Gay-Lussac)."""
    code, found = said(event(tmp_path / "e", CAR.replace("front_min_psi = 28", "front_min_psi = 31")), capsys)
    assert (code, [item[:3] for item in found]) == (0, [("cars/estate.toml", 3, "warning")])
    assert "a target of 34 psi parks the tyre at 30.8 psi (15 C), under the lowest pressure, 31 psi" in found[0][3]
    code, found = said(event(tmp_path / "f", CAR.replace("rear_min_psi = 26", "rear_min_psi = 31")), capsys)
    assert (code, [item[:3] for item in found]) == (0, [("cars/estate.toml", 4, "warning")])
    assert said(event(tmp_path / "g", CAR.replace("front_min_psi = 28", "front_min_psi = 30.7")), capsys) == (0, [])


def test_advice_never_goes_to_a_target_that_cant_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = event(tmp_path / "e", CAR.replace("front_psi = 34", "front_psi = 240"))
    assert main(["next", str(path), "--number", "26", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert all(value is None or value < 60 for value in (answer["set"] or {}).values())
