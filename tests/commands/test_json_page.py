"""``docs/json.md`` names every key that any verb prints."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from paddock import answer
from paddock.commands.verbs import VERBS
from tests.seasonfiles import write_event
from tests.store.folders import small_folder

PAGE = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
SECTIONS = {found[1]: found[2] for found in re.finditer(r"^## (\w+)\n(.*?)(?=^## |\Z)", PAGE, re.DOTALL | re.MULTILINE)}
ALIKE = {
    "gap": {"class": "TABLE", "index": "TABLE"}, "chances": {"class": "TABLE", "index": "TABLE"},
    "bar": {"front": "AXLE", "rear": "AXLE"},
}  # fmt: skip
"""Objects that are described once."""
CAR = """\
name = "estate"
mass_kg = 1000
front_share = 0.6
cg_height_mm = 520
wheelbase_mm = 2400
drive = "front"
[front]
track_mm = 1450
spring_n_mm = 40.0
spring_mr = 0.9
roll_centre_mm = 60.0
[rear]
track_mm = 1440
spring_n_mm = 40.0
spring_mr = 0.9
roll_centre_mm = 60.0
[front.bar]
diameter_mm = 20.0
length_mm = 860.0
arms_mm = [220.0, 200.0]
mr = 0.6
left = 1
right = 2
[rear.bar]
diameter_mm = 18.0
length_mm = 860.0
arms_mm = [220.0, 200.0]
mr = 0.6
left = 1
right = 1
[gearbox]
ratios = [3.6, 2.1, 1.45]
final = 3.9
efficiency = 0.92
limiter_rpm = 6800
grip_g = 0.95
rolling_circumference_mm = 1905
[engine]
rpm = [2000, 3500, 5000, 6500]
torque_nm = [180, 230, 225, 190]
"""
PRESSURES = "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,air_c\n1,,26,cold,08:00,30,30,39,39,12\n1,2,26,after,10:33,36,36,45,45,18\n"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season of two events, one with a car, and posted results."""
    home: Path = tmp_path_factory.mktemp("json")
    folder = small_folder(home / "season" / "may")
    (folder / "cars" / "estate.toml").write_text(CAR)
    (folder / "pressures.csv").write_text(PRESSURES)
    (folder / "changes.csv").write_text("id,day,run,at,number,kind,key\nabc12,1,2,10:15,26,test,rear_bar\n")
    (folder / "runs.csv").write_text("day,run,number,at,mistake,mid,surface\n1,2,26,10:31,no,-2,dry\n")
    tread = "day,tyre,inner_mm,middle_mm,outer_mm\n0,H1,5,5,5\n1,H1,4.8,4.8,4.6\n"
    (folder / "tyres.csv").write_text("tyre,set,kind,runs_before,floor_mm\nH1,a,street,4,2\n")
    (folder / "fitted.csv").write_text("day,run,number,corner,tyre\n1,1,26,lf,H1\n")
    (folder / "tread.csv").write_text(tread)
    (folder / "event.toml").write_text((folder / "event.toml").read_text() + "\n[extra]\n", encoding="utf-8")
    write_event(home / "season" / "june", {"26": ("47.250",), "7": ("48.003",)}, day="2026-06-09")
    (folder / "course.csv").write_text("day,element,name,kind\n1,1,first,slalom\n1,2,end,finish\n")
    (folder / "splits.csv").write_text("day,run,number,element,at_s,source\n1,1,26,1,20.0,video\n1,2,26,1,20.2,video\n")
    moving = (f"{at * 0.2},46.5,{8.9 + at * 2e-5:.6f}\n" for at in range(300))
    (home / "run.csv").write_text("time_s,lat,lon\n" + "".join(moving))
    (home / "season" / "season.toml").write_text("[[events]]\nname = 'Autumn'\ndays = [2026-09-20]\n")
    (home / "posted.csv").write_text(
        "number,driver,run 3,Faults\n26,Ada Nowhere,46.100,x\n7,Otter Brook,47.2,x\n99,?,x,\n"
    )
    small_folder(home / "other")
    with (home / "other" / "times.csv").open("a") as file:
        file.write("1,3,26,46.000,,,,,\n")
    (home / "other" / "times.csv").write_text((home / "other" / "times.csv").read_text().replace("46.512", "46.511"))
    return home


def lines(home: Path) -> dict[str, list[object]]:
    may, car = home / "season" / "may", home / "season" / "may" / "cars" / "estate.toml"
    return {
        "version": [], "check": [may], "standings": [may], "gap": [may], "next": [may, "--why"], "chances": [may],
        "air": ["--gauge", 30, "--temp-c", 25, "--to-temp-c", 5], "effect": [may, "--change", "abc12"],
        "bar": [car, "--rear", "2-2", "--lateral-g", "0.6"], "tyres": [may], "where": [may],
        "track": [may, home / "run.csv", "--day", 1, "--run", 1], "debrief": [may, "-o", home / "x.html"],
        "gears": [car, "--hold", 2, "--from-kmh", 60, "--length-m", 90], "export": [may, "-o", home / "x.zip"],
        "new": [home / "fresh"], "import": [may, home / "posted.csv", "--day", 1],
        "merge": [may, home / "other", "--into", home / "joined"], "season": [home / "season"], "hindsight": [home / "season"],
        "completion": ["bash"], "describe": ["folder"],
    }  # fmt: skip


def keys(value: Any, path: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for key, inside in value.items():
            yield f"{path}{key}"
            yield from keys(inside, f"{path}{key}.")
    elif isinstance(value, list):
        for inside in value:
            yield from keys(inside, f"{path[:-1]}[].")


def named(verb: str) -> set[str]:
    """Every key the page names for a verb."""
    return {"format", "faults_left_out", "rows_later", *re.findall(r"`([^`]+)`", SECTIONS[verb])}


def as_described(verb: str, path: str) -> str:
    head, dot, rest = path.partition(".")
    if head == "balance" and rest.partition(".")[2]:
        return f"balance.AXLE.{rest.partition('.')[2]}" if rest.partition(".")[0] in {"front", "rear"} else path
    path = f"{ALIKE.get(verb, {}).get(head, head)}{dot}{rest}" if dot else path
    return re.sub(r"^(AXLE|[\w.]+)\.problems\[\]\.", "problems[].", path)


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb != "serve"])
def test_every_key_that_is_printed_is_described(verb: str, place: Path) -> None:
    found = answer(verb, *lines(place)[verb])
    printed = {as_described(verb, path) for path in keys(found) if not path.startswith("mapping.")}
    assert printed - named(verb) == set()
    assert len(found) > 1


def test_the_page_describes_every_verb_and_no_other() -> None:
    assert set(SECTIONS) == set(VERBS) - {"serve"}


def test_every_key_of_the_top_is_printed_or_asked_for(place: Path) -> None:
    """No key stands in the page that nothing prints."""
    for verb, words in lines(place).items():
        if verb in {"new", "merge", "debrief", "export"}:
            continue
        top = {key for key in named(verb) if re.fullmatch(r"[a-z_0-9]+", key)}
        printed = set(answer(verb, *words))
        told = {
            key
            for row in re.findall(r"^\| (`[^|]*) \|", SECTIONS[verb], re.MULTILINE)
            for key in re.findall(r"`([a-z_0-9]+)`", row)
        }
        assert told & top <= printed, verb
