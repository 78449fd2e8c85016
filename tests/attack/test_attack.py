"""A few spoilt folders in passing; ``python -m tests.attack inputs --seed S --count N`` by hand. What it found stays here."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.attack.trial import trial
from tests.store.folders import EVENT, TIMES, every_byte, small_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes and alarms")


@pytest.mark.parametrize("number", range(6))
def test_a_spoilt_folder_is_borne(tmp_path: Path, number: int) -> None:
    (tmp_path / "work").mkdir()
    assert trial(20260509, number, small_folder(tmp_path / "sound"), tmp_path / "work", 3) == []


@pytest.mark.parametrize("file", ["times.csv", "plan.txt", "weather.csv", "cars/estate.toml", "merge-conflicts.csv"])
def test_a_merge_into_a_pipe_waits_for_nobody(tmp_path: Path, capsys: pytest.CaptureFixture[str], file: str) -> None:
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (b / file).write_text({"cars/estate.toml": 'name = "h"\n'}.get(file, TIMES))
    (b / "times.csv").write_text(TIMES.replace("46.512", "46.612"))
    (a / file).unlink(missing_ok=True)
    os.mkfifo(a / file)
    main(["merge", str(a), str(b)])
    assert "is a pipe or a device" in capsys.readouterr().err
    assert (b / "entrants.csv").read_bytes() == (a / "entrants.csv").read_bytes()


@pytest.mark.parametrize(
    "value", ["9" * 400, "9223372036854775808", "-9223372036854775809", "[{a = 0xffffffffffffffff}]"]
)
def test_a_whole_number_too_large_is_a_fault_of_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], value: str
) -> None:
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (a / "cars" / "estate.toml").write_text(f'name = "h"\nmass_kg = {value}\n')
    before = every_byte(a)
    assert main(["check", str(a)]) == 1
    assert "estate.toml:2: fault: a whole number of more than 18 digits" in capsys.readouterr().out
    assert every_byte(a) == before
    (a / "event.toml").write_text(f"odd = {value}\n" + EVENT)
    (b / "event.toml").write_text("odd = nan\n" + EVENT)
    assert main(["merge", str(b), str(a)]) == 0


def test_whole_numbers_that_fit_are_read(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "a")
    (folder / "event.toml").write_text("odd = 9223372036854775807\nlow = -9223372036854775808\n" + EVENT)
    main(["check", str(folder)])
    assert main(["standings", str(folder)]) == 0


@pytest.mark.parametrize("days", [["0001-01-01"], ["9999-12-31", "+1"], ["2200-01-01"], ["1949-12-31"]])
def test_days_at_the_ends_of_the_calendar_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], days: list[str]
) -> None:
    old = small_folder(tmp_path / "old")
    for more in ([], ["--from", str(old)]):
        assert main(["new", str(tmp_path / "next"), *more, "--days", *days]) == 2
        assert "is no day of an event" in capsys.readouterr().err
    (old / "event.toml").write_text(EVENT.replace("2026-05-10", days[0]))
    assert main(["check", str(old)]) == 1
    assert "event.toml:4" in capsys.readouterr().out
