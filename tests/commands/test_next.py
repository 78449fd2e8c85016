"""The verb ``next``, on folders as a person would write them."""

from __future__ import annotations

import json
import re
from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from paddock.commands import common
from paddock.commands import next as verb
from paddock.commands.common import Answer
from paddock.errors import UsageError
from tests.engine.pressure.test_properties import strict

EVENT = """
name = "A day on the car park"
altitude_m = 412
days = [2026-05-09]
runs_per_day = 5
[[classes]]
code = "LIME"
[mine]
numbers = ["26"]
[forecast]
hottest_c = 31.0
coldest_c = 12.0
[grid]
interval_s = 3600
[[gauges]]
id = "dial"
step_psi = 0.5
repeat_psi = 0.3
"""
CAR = """
name = "estate"
[targets.dry]
front_psi = 34.0
rear_psi = 44.0
[limits]
front_min_psi = 26.0
rear_min_psi = 28.0
max_cold_psi = 50.0
"""
FILES = {
    "event.toml": EVENT,
    "cars/estate.toml": CAR,
    "entrants.csv": "number,driver,class\n26,A,LIME\n5,B,LIME\n",
    "grid.csv": "day,number,order\n1,26,1\n1,5,2\n",
    "times.csv": "day,run,number,time,cones,at\n1,1,26,46.5,0,10:00\n1,1,5,46.9,0,10:01\n",
    "runs.csv": "day,run,number,at,mistake,entry,mid,exit,surface\n1,1,26,10:00,no,0,-1,0,dry\n",
    "pressures.csv": (
        "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,air_c,gauge\n"
        "1,,26,cold,08:00,30,30,39,39,12,dial\n1,1,26,after,10:03,36.5,36.5,45.5,45.5,18,dial\n"
    ),
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write(tmp_path, FILES)
    monkeypatch.setattr(common, "now", lambda: datetime(2026, 5, 9, 10, 8))
    return tmp_path


def write(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")


def ask(folder: Path, *more: str, number: str = "26") -> Answer:
    parser = ArgumentParser()
    verb.configure(parser)
    return verb.run(parser.parse_args([str(folder), "--number", number, *more]))


def data(folder: Path, *more: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(json.dumps(ask(folder, *more).data, allow_nan=False))
    return found


def test_the_json_of_the_contract(folder: Path) -> None:
    found = data(folder)
    strict(found)
    assert (found["action"], found["rule"], found["moment"]) == ("set", "heat-drift", "read")
    assert (found["as_of"], found["unit"], found["fresh"]) == ("2026-05-09T10:08", "psi", True)
    assert found["now"] == {"lf": 36.5, "rf": 36.5, "lr": 45.5, "rr": 45.5}
    assert found["set"] == pytest.approx({"lf": 34.0, "rf": 34.0, "lr": 44.0, "rr": 44.0})
    assert found["confidence"] in {"high", "fair", "low"}
    assert [item["rule"] for item in found["passed_over"]] == [
        "unsafe", "limits", "first-run", "cold-plan", "standing-water"
    ]  # fmt: skip


def test_another_unit_in_and_out_is_the_same_answer(folder: Path) -> None:
    kpa = FILES["pressures.csv"].replace("_psi", "_kpa")
    for text, psi in (("36.5", 36.5), ("45.5", 45.5), (",30,30,39,39,", None)):
        if psi is not None:
            kpa = kpa.replace(text, f"{psi * 6.894757293168361:.6f}")
        else:
            kpa = kpa.replace(text, ",206.842719,206.842719,268.895534,268.895534,")
    write(folder, {"pressures.csv": kpa})
    assert data(folder)["set"]["lf"] == pytest.approx(34.0, abs=1e-4)
    assert data(folder, "--unit", "kpa")["set"]["lf"] == pytest.approx(34.0 * 6.894757293168361, abs=1e-3)


def test_the_words(folder: Path) -> None:
    text = ask(folder).text()
    assert text.splitlines()[0].startswith("Front 36.5/36.5 -> 34.0/34.0 let out,")
    assert "The maker's figures" in text


def test_an_old_reading_gives_no_setting(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "Read." not in ask(folder).text()
    monkeypatch.setattr(common, "now", lambda: datetime(2026, 5, 9, 11, 0))
    assert data(folder)["moment"] == "stale"
    assert (data(folder)["action"], data(folder)["set"], data(folder)["fresh"]) == ("read", None, False)
    assert "Read 57 min ago" in ask(folder).text()
    monkeypatch.setattr(common, "now", lambda: datetime(2026, 11, 25, 10, 8))
    assert (data(folder)["moment"], data(folder)["as_of"]) == ("read", "2026-05-09T10:04")
    assert ask(folder).text().splitlines()[-1] == "as of Sat 10:04"
    early = data(folder, "--at", "09:30")
    assert (early["moment"], early["action"], early["now"]["lf"]) == ("cold-read", "plan", 30.0)
    assert data(folder, "--at", "07:30")["moment"] == "before"
    assert data(folder, "--at", "07:30")["now"] is None


def test_the_second_page_shows_signs_and_rules(folder: Path) -> None:
    text = ask(folder, "--why").text()
    assert "The moment is read; answered by: heat drift only." in text
    assert "understeer, faint" in text
    assert "standing water" in text
    assert "last rise stands in" in text


def test_a_plan_for_the_next_event_and_a_plot(folder: Path) -> None:
    text = ask(folder, "--altitude-m", "1600", "--air-c", "8", "--hottest-c", "20", "--plot").text()
    assert "First run at 8 C: front" in text
    assert "No plot" in text
    assert "First run at 26 C: front" in ask(folder, "--air-c", "26").text(), "here, where no altitude is named"
    with pytest.raises(UsageError):
        ask(folder, "--air-c", "-400")
    with pytest.raises(UsageError, match="--air-c is wanted too"):
        ask(folder, "--altitude-m", "640")


def test_the_example_draws_its_heat() -> None:
    text = ask(Path(__file__).parents[2] / "example_event", "--plot", number="58").text()
    assert "minutes from now" in text
    assert re.search(r" front$.* rear$", text, re.MULTILINE | re.DOTALL), "each line has its name at its end"


def test_a_first_run_has_its_plan(folder: Path) -> None:
    files = {"runs.csv": "day,run,number\n", "times.csv": "day,run,number,time\n"}
    write(folder, files | {"pressures.csv": "\n".join(FILES["pressures.csv"].splitlines()[:2]) + "\n"})
    text = ask(folder).text()
    assert "First run at 12 C" in text


def test_an_unknown_number_is_wrong_use(folder: Path) -> None:
    parser = ArgumentParser()
    verb.configure(parser)
    with pytest.raises(UsageError) as caught:
        verb.run(parser.parse_args([str(folder), "--number", "99"]))
    assert caught.value.exit_code == 2


def test_a_folder_with_only_what_is_required_holds(folder: Path) -> None:
    for name in ("cars/estate.toml", "runs.csv", "pressures.csv"):
        (folder / name).unlink()
    found = data(folder)
    strict(found)
    assert (found["action"], found["moment"]) == ("read", "ran")
    assert found["now"] is found["set"] is None


def test_kpa_typed_as_psi_is_asked_about(folder: Path) -> None:
    rows = FILES["pressures.csv"].replace("36.5,36.5,45.5,45.5", "252,252,314,314")
    write(folder, {"pressures.csv": rows})
    found = data(folder)
    assert found["action"] == "read"
    assert any("kPa" in text for text in found["cautions"])


def test_unsafe_stands_above_all(folder: Path) -> None:
    head = "day,run,number,at,unsafe\n"
    write(folder, {"runs.csv": head + "1,1,26,10:00,vibration\n"})
    assert data(folder)["action"] == "stop"
    write(
        folder, {"worklist.csv": "id,opened,item,reason,done\nw1,day 1 10:05,balance a wheel,vibration,day 1 10:30\n"}
    )
    assert data(folder)["action"] == "set"


def test_standing_water_without_a_wet_target_is_named(folder: Path) -> None:
    path = folder / "runs.csv"
    path.write_text(path.read_text().replace("dry", "standing"))
    assert json.loads(json.dumps(ask(folder).data))["reason"] == (
        "standing water, and no wet target in the car file to go to"
    )


# --- one unit an answer --------------------------------------------------------------------------------------------------


@pytest.fixture
def talkative(folder: Path) -> Path:
    """A gauge that reads too high, driven home: cautions that name pressures."""
    car = CAR + "placard_front_psi = 33.0\nplacard_rear_psi = 36.0\n"
    event = EVENT.replace('numbers = ["31"]', 'numbers = ["31"]\ndriven_home = true').replace(
        "runs_per_day = 5", "runs_per_day = 1"
    )
    write(folder, {"event.toml": event + "offset_psi = 0.5\n", "cars/estate.toml": car})
    return folder


OTHER = {"psi": r"\d (kPa|bar)\b", "kpa": r"\d (psi|bar)\b", "bar": r"\d (psi|kPa)\b"}


@pytest.mark.parametrize("unit", ["psi", "kpa", "bar"])
def test_headline_cautions_and_why_are_in_one_unit(talkative: Path, unit: str) -> None:
    for runs in (1, 5):
        event = (talkative / "event.toml").read_text().replace("runs_per_day = 1", f"runs_per_day = {runs}")
        write(talkative, {"event.toml": event})
        text, found = ask(talkative, "--unit", unit, "--why").text(), data(talkative, "--unit", unit)
        label = {"kpa": "kPa"}.get(unit, unit)
        assert re.search(rf"\d {label}\b", text)
        for said in (text, json.dumps(found)):
            assert not re.search(OTHER[unit], said), said
        assert found["unit"] == unit


def test_the_caution_is_the_same_pressure_in_every_unit(talkative: Path) -> None:
    said = {unit: " ".join(data(talkative, "--unit", unit)["cautions"]) for unit in ("psi", "kpa", "bar")}
    assert "Gauge dial reads 0.5 psi high" in said["psi"]
    assert "Gauge dial reads 3.4 kPa high" in said["kpa"]
    assert "Gauge dial reads 0.034 bar high" in said["bar"]


def test_a_file_in_kpa_is_answered_in_kpa(folder: Path) -> None:
    psi = ask(folder).text()
    kpa = FILES["pressures.csv"].replace("_psi", "_kpa")
    for value in ("30", "39", "36.5", "45.5"):
        kpa = kpa.replace(f",{value},", f",{float(value) * 6.894757:.1f},").replace(
            f",{value},", f",{float(value) * 6.894757:.1f},"
        )
    write(folder, {"pressures.csv": kpa})
    assert " psi" in psi
    text = ask(folder).text()
    assert " kPa" in text
    assert not re.search(r"\d psi", text)
    assert data(folder)["unit"] == "psi"
    write(folder, {"event.toml": 'pressure_unit = "bar"\n' + EVENT})
    assert " bar" in ask(folder).text()


def test_a_doubt_about_the_unit_keeps_what_was_written(folder: Path) -> None:
    text = FILES["pressures.csv"].replace("36.5,36.5,45.5", "252,36.5,45.5")
    write(folder, {"pressures.csv": text})
    assert "252 psi: is that kPa (36.5 psi)?" in " ".join(data(folder, "--unit", "bar")["cautions"])
