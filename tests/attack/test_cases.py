"""A few hundred spoilt files in passing; ``python -m tests.attack cases --seed S --count N`` by hand. What it found stays here."""

from __future__ import annotations

import io
import sys
import zipfile
from argparse import Namespace
from pathlib import Path
from random import Random

import pytest

import paddock.commands.check
from paddock.commands.common import Answer
from tests.attack import asking
from tests.attack.cases import VERBS, Case, Place, drawn
from tests.attack.many import smallest
from tests.attack.rooms import walked

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes and alarms")


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Place]:
    return {base: Place(tmp_path_factory.mktemp(base), base) for base in ("little", "whole")}


def test_spoilt_files_are_borne(places: dict[str, Place]) -> None:
    for number in range(40):
        random = Random(f"20260509-{number}")
        case = drawn(random, places)
        assert places[case.base].wrong(case, undone=number % 4 == 0) == [], f"seed 20260509 case {number}: {case}"


def _asked(words: str, *spoilt: tuple[str, bytes | str]) -> Case:
    return Case("little", spoilt, tuple(words.split()), (), next(verb for verb in VERBS if verb.words == words))


def _zip_with(name: str) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr(zipfile.ZipInfo(name), b"x")
    return made.getvalue()


UNPACK = "export --unpack {source} -o {out}/back"


@pytest.mark.parametrize(
    "case",
    [
        _asked(UNPACK, ("out/source.zip", _zip_with(""))),
        _asked(UNPACK, ("out/source.zip", _zip_with("\0x"))),
        _asked("merge {a} {b}", ("home/a/entrants.csv", "a folder"), ("home/a/event.toml", b"")),
        _asked("merge {a} {b}", ("home/a/cars", "a pipe"), ("home/a/event.toml", b"")),
        _asked("gears {car} --speeds --plot", ("home/a/cars/estate.toml", b'mass_kg = "' + b"x" * 200_000 + b'"\n')),
    ],
    ids=lambda case: case.words[0],
)
def test_what_was_found(places: dict[str, Place], case: Case) -> None:
    assert places["little"].wrong(case) == []


def test_what_fails_is_made_smaller(places: dict[str, Place], monkeypatch: pytest.MonkeyPatch) -> None:
    def bare(args: Namespace) -> Answer:
        [int(line.split(b",")[4] or b"0") for line in (args.folder / "times.csv").read_bytes().splitlines()[1:]]
        return Answer({"problems": []}, str)

    rows = b"day,run,number,time,cones\n1,1,58,46.1,2\n1,1,12,47.1,1e999\n1,2,58,46.0,\n"
    case = _asked("check {a}", ("home/a/times.csv", rows), ("home/a/notes.csv", b"id\n"))
    assert places["little"].wrong(case) == []
    monkeypatch.setattr(paddock.commands.check, "run", bare)
    assert "invalid literal for int" in "".join(places["little"].wrong(case))
    small = smallest(case, lambda less: "invalid literal" in "".join(places["little"].wrong(less)))
    assert small.spoilt == (("home/a/times.csv", b"\n,,,,e"),)


@pytest.mark.parametrize(
    ("does", "said"),
    [
        (lambda args: (args.folder / "times.csv").write_text("day"), "and home/a/times.csv is changed"),
        (lambda args: (args.folder / ".paddock").mkdir(), "and home/a/.paddock is changed"),
        (lambda _: print("\x1b[2J"), "an escape reaches the terminal"),
        (lambda _: print("Traceback", file=sys.stderr), "Traceback"),
        (lambda _: any(False for _ in iter(int, 1)), "HangError"),
        (lambda _: 1 / 0, "ZeroDivisionError"),
        (lambda _: print("nan"), "no JSON"),
    ],
)  # fmt: skip
def test_the_net_sees(places: dict[str, Place], monkeypatch: pytest.MonkeyPatch, does: object, said: str) -> None:
    case = _asked("check {a} --json", ("home/a/notes.csv", b"id,day,topic,text\n"))
    assert places["little"].wrong(case) == []
    monkeypatch.setattr(asking, "HANG_S", 0.2)
    monkeypatch.setattr(paddock.commands.check, "run", lambda args: (does(args), Answer({"problems": []}, str))[1])  # type: ignore[operator]
    assert said in "".join(places["little"].wrong(case))
    monkeypatch.undo()
    assert places["little"].wrong(case) == []  # everything is as it was


def test_the_screens_bear_a_spoilt_folder(tmp_path: Path) -> None:
    assert walked(20260509, 3, tmp_path, 5) == []
