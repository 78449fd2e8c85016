"""What the verbs print is what the types of their answers say; ``docs/json.md`` is made from those."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from decimal import Decimal
from math import inf, nextafter
from pathlib import Path
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock import answer
from paddock.commands.common import exact, plain
from paddock.commands.says import SAYS, type_of
from paddock.commands.says.shape import made
from paddock.commands.verbs import VERBS
from paddock.folders.archiving import take
from tests.renew.said import described, paths, unit_of
from tests.seasonfiles import write_event
from tests.store.folders import small_folder

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
        "completion": ["bash"], "describe": ["folder"], "archive": [home / "archive"],
    }  # fmt: skip


@pytest.fixture(scope="module")
def answers(place: Path) -> dict[str, dict[str, Any]]:
    take(place / "archive", [place / "season"])
    return {verb: answer(verb, *words) for verb, words in lines(place).items()}


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb != "serve"])
def test_what_is_printed_is_what_its_type_says(verb: str, answers: dict[str, dict[str, Any]]) -> None:
    """Every key of the top that must be there, and below none but described ones (the page is made from the types)."""
    found = answers[verb]
    told = list(described(type_of(verb)))
    top = [key for key, _, optional in told if not re.search(r"[.\[]", key) and not optional]
    assert [key for key in found if key in top] == top
    shared = {key: again[1] for key, words, _ in told if (again := re.search(r"the keys of `([^`]+)`$", words))}
    names = {key for key, _, _ in told}

    def first(path: str) -> str:
        """The path by which a key of a shape told twice is described."""
        for key, other in shared.items():
            plain, target = f"{key}.", f"{other}[]." if f"{other}[]." in " ".join(names) else f"{other}."
            for begins in (plain, f"{key}[]."):
                if path.startswith(begins):
                    return first(f"{target}{path.removeprefix(begins)}")
        return path

    open_keys = ("mapping.", "schema.")
    printed = {first(path) for path in paths(found) if path != "format" and not path.startswith(open_keys)}
    assert printed <= names
    assert next(iter(found)) == "format"


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb != "serve"])
def test_values_are_of_their_types(verb: str, answers: dict[str, dict[str, Any]]) -> None:
    check(answers[verb], type_of(verb), verb)


def check(value: dict[str, Any], shape: type, place: str) -> None:
    hints = get_type_hints(shape)
    for item in fields(shape):
        key = item.name.rstrip("_")
        if key in value:
            fits(value[key], hints[item.name], f"{place}.{key}")


def fits(value: Any, kind: Any, place: str) -> None:
    """A JSON value against a field's type: null only where it may be, whole numbers where they are promised."""
    kinds = get_args(kind) if NoneType in get_args(kind) else (kind,)
    if value is None:
        assert NoneType in kinds, place
        return
    one = next(part for part in kinds if part is not NoneType)
    if is_dataclass(one):
        check(value, one, place)  # type: ignore[arg-type]
    elif isinstance(value, list):
        assert get_origin(one) is tuple, place
        for part in value:
            fits(part, get_args(one)[0], f"{place}[]")
    elif one is float:
        assert isinstance(value, int | float), place
    else:
        assert isinstance(value, get_origin(one) or one), f"{place}: {value!r} is no {one}"


def test_every_verb_has_a_type_and_every_key_words() -> None:
    assert set(SAYS) == set(VERBS) - {"serve"}
    for verb in SAYS:
        for key, words, _ in described(type_of(verb)):
            assert len(words) > 2, f"{verb}: {key}"


def test_a_key_its_type_lacks_is_told_and_one_left_out_is_not_printed() -> None:
    with pytest.raises(TypeError, match="AirSaid has no more"):
        made(type_of("air"), {"gauge": 1.0, "more": 2})
    with pytest.raises(KeyError):
        made(type_of("air"), {})
    whole = {"front": None, "rear": None, "balance": None, "problems": (), "cautions": ()}
    assert "change" not in plain(made(type_of("bar"), whole))


@pytest.mark.parametrize(
    ("value", "meant"),
    [(30.500000000000004, 30.5), (0.1 + 0.2, 0.3), (104.99999999999987, 105.0), (0.012499999999999957, 0.0125), (1 / 3, 1 / 3),
     (38895.77210977334, 38895.77210977334), (0.0, 0.0), (1e-300, 1e-300), (1.0000000001, 1.0000000001)],
)  # fmt: skip
def test_a_figure_is_the_decimal_that_is_meant_or_as_computed(value: float, meant: float) -> None:
    assert plain({"x": (value, -value)}) == {"x": [meant, -meant]}


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_no_figure_moves_by_more_than_noise(value: float) -> None:
    found = exact(value)
    assert found == pytest.approx(value, rel=1e-11, abs=0.0)
    assert exact(found) == found


@given(st.decimals(min_value=-9999, max_value=9999, places=4), st.integers(-3, 3))
def test_a_short_decimal_with_noise_in_its_last_bits_is_itself(meant: Decimal, steps: int) -> None:
    value = float(meant)
    for _ in range(abs(steps)):
        value = nextafter(value, inf if steps > 0 else -inf)
    assert exact(value) == float(meant) or not meant


@pytest.mark.parametrize(
    ("key", "unit"),
    [("a.need_raw_ms", "ms"), ("x[].end_rate_n_mm", "N/mm"), ("roll_nm_per_rad", "N·m/rad"), ("rise_rpm_per_s", "1/min a second"),
     ("status", ""), ("m", ""), ("step_pct", "%"), ("lateral_g", "g"), ("wear_mm_per_run", "mm a run"), ("length_s", "s")],
)  # fmt: skip
def test_the_unit_of_a_key_is_its_ending(key: str, unit: str) -> None:
    assert unit_of(key) == unit
