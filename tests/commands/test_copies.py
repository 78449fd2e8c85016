"""A copy of an event beside it counts once, and that is said; ids tell a copy from another event."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from paddock import answer
from paddock.errors import UsageError
from paddock.folders.seasons import season_beside
from paddock.session.loading import check, load
from tests.seasonfiles import write_event

TIMES = {"26": ("47.250", "46.512"), "7": ("48.003",)}


@pytest.fixture
def season(tmp_path: Path) -> Path:
    """One event with a change."""
    changes = "id,day,run,number,kind,key\nabc12,1,2,26,test,rear_bar\n"
    write_event(tmp_path / "may", TIMES, changes=changes)
    (tmp_path / "season.toml").write_text("name = 'A year'\n")
    return tmp_path


def with_id(folder: Path, own: str) -> None:
    path = folder / "event.toml"
    path.write_text(f'id = "{own}"\n' + path.read_text())


def test_a_copy_counts_once_and_is_named(season: Path) -> None:
    alone = answer("season", season)
    shutil.copytree(season / "may", season / "may (copy)")
    found = answer("season", season)
    assert [found[key] for key in ("points", "runs", "changes", "events")] == [
        alone[key] for key in ("points", "runs", "changes", "events")
    ]
    assert found["problems"] == [
        {"file": "may (copy)", "line": 0, "level": "warning", "message": "left out: the same event as may"}
    ]


def test_a_copy_that_went_on_is_known_by_its_id_and_the_first_counts(season: Path) -> None:
    with_id(season / "may", "k7q2m9xd")
    shutil.copytree(season / "may", season / "tablet")
    with (season / "tablet" / "times.csv").open("a") as file:
        file.write("1,3,26,46.000,,,\n")
    found = answer("season", season)
    assert len(found["runs"]) == 2
    assert [item["message"] for item in found["problems"]] == [  # type: ignore[attr-defined]
        "left out: the same event as may, and they differ: may counts"
    ]


def test_two_events_with_the_same_entrants_and_no_times_are_two(season: Path) -> None:
    for name, day in (("june", "2026-06-06"), ("july", "2026-07-04")):
        write_event(season / name, {"26": (), "7": ()}, day=day)
    assert len(answer("season", season)["events"]) == 3


@pytest.mark.parametrize("asked", ["may", "may (copy)"])
def test_a_verdict_takes_no_copy_for_another_event(season: Path, asked: str) -> None:
    shutil.copytree(season / "may", season / "may (copy)")
    assert season_beside(season / asked, load(season / asked)) == ()


def test_every_new_folder_has_an_id_of_its_own(tmp_path: Path) -> None:
    for name in ("a", "b"):
        answer("new", tmp_path / name, "--days", "2026-05-09", "--number", "26")
    answer("new", tmp_path / "c", "--from", tmp_path / "a", "--days", "2026-06-09")
    ids = [load(tmp_path / name).settings.id for name in "abc"]
    assert len({*ids}) == 3
    assert all(own and len(own) == 8 for own in ids)
    assert not [problem for name in "abc" for problem in check(tmp_path / name) if problem.level == "fault"]


def test_a_new_folder_keeps_its_place_and_forecast(tmp_path: Path) -> None:
    answer(
        "new", tmp_path / "a", "--days", "2026-05-09", "--altitude-m", "300", "--site", "Quay", "--coldest-c", "4",
        "--hottest-c", "19,5",
    )  # fmt: skip
    found = load(tmp_path / "a").settings
    assert (found.site, found.altitude_m) == ("Quay", 300.0)
    assert (found.forecast.coldest_c, found.forecast.hottest_c) == (4.0, 19.5)


@pytest.mark.parametrize(("flag", "value"), [("--altitude-m", "high"), ("--coldest-c", "99")])
def test_a_new_folder_refuses_an_impossible_place(flag: str, value: str, tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        answer("new", tmp_path / "a", flag, value)
    assert not (tmp_path / "a").exists()


FORECAST = "[forecast]\nnext_hottest_c = 9\nnext_coldest_c = 14\n"


def test_the_keys_of_mine_and_of_the_next_days_forecast(season: Path) -> None:
    path = season / "may" / "event.toml"
    path.write_text(path.read_text().replace('numbers = ["26"]', 'numbers = ["26"]\ndriven_home = true') + FORECAST)
    found = load(season / "may").settings
    assert found.mine.driven_home is True
    assert (found.forecast.next_hottest_c, found.forecast.next_coldest_c) == (9.0, 14.0)
    said = [problem.message for problem in check(season / "may") if problem.file == "event.toml"]
    assert said == ["next_coldest_c 14 is above next_hottest_c 9: swap them"]
    path.write_text(path.read_text().replace("next_hottest_c = 9", "next_hottest_c = 88"))
    assert [problem.level for problem in check(season / "may") if problem.file == "event.toml"] == ["fault"]


def test_the_next_days_forecast_is_not_carried(tmp_path: Path) -> None:
    answer("new", tmp_path / "a", "--days", "2026-05-09", "--number", "26")
    path = tmp_path / "a" / "event.toml"
    path.write_text(path.read_text().replace("[forecast]", "[forecast]\nnext_hottest_c = 30\nnext_coldest_f = 50"))
    answer("new", tmp_path / "b", "--from", tmp_path / "a", "--days", "2026-06-09")
    assert load(tmp_path / "b").settings.forecast.next_hottest_c is None
    assert load(tmp_path / "b").settings.forecast.next_coldest_c is None


@pytest.mark.parametrize(("line", "level"), [("id = 7", "fault"), ('id = " "', "warning"), ('id = "x"', "")])
def test_an_id_is_text(line: str, level: str, season: Path) -> None:
    path = season / "may" / "event.toml"
    path.write_text(f"{line}\n{path.read_text()}")
    assert [problem.level for problem in check(season / "may") if problem.file == "event.toml"] == [level][
        : bool(level)
    ]
