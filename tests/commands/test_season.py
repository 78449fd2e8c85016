"""``paddock season`` from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import duckdb
import openpyxl
import pytest

from paddock.__main__ import main
from tests.seasonfiles import write_event

RULES = """
name = "2026"
currency = "euro"
[points]
by_place = [10, 8, 6]
tables = ["class", "index"]
[drops]
worst = 1
[[events]]
folder = "01-spring"
fee = 50
[[events]]
name = "Autumn"
days = [2026-10-03]
fee = "62.50"
closes = 2026-09-20
"""
CHANGES = "id,day,run,number,key,before,after,decision\nc1,1,2,26,rear bar,3,2,keep\n"


@pytest.fixture
def season(tmp_path: Path) -> Path:
    home = tmp_path / "year"
    write_event(home / "01-spring", {"26": ("46.0", "45.0"), "7": ("45.5",), "8": ("47.0",)}, "Spring", "2026-04-01",
                changes=CHANGES)  # fmt: skip
    write_event(home / "02-may", {"26": ("46.0+1",), "7": ("45.5",)}, "May", "2026-05-01")
    write_event(home / "03-june", {"26": ("44.0",), "8": ("45.0",)}, "June", "2026-06-01")
    (home / "season.toml").write_text(RULES)
    (home / "photos").mkdir()
    return home


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    capsys.readouterr()
    assert main(["season", *words, "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_points_runs_and_changes(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = _json(capsys, f"{season}")
    assert {"points", "runs", "changes"} <= set(data)
    table = data["points"][0]  # type: ignore[index]
    assert (table["name"], table["counted"]) == ("PINE", 3)
    assert [(row["rank"], row["driver"], row["points"]) for row in table["rows"]] == [
        (1, "Driver 26", 28), (2, "Driver 7", 18), (3, "Driver 8", 14),
    ]  # fmt: skip
    assert [item["points"] for item in table["rows"][0]["events"]] == [10, 8, 10]
    runs = data["runs"]
    assert [(row["event"], row["run"], row["raw_ms"], row["total_ms"]) for row in runs] == [  # type: ignore[attr-defined]
        ("01-spring", 1, 46_000, 46_000), ("01-spring", 2, 45_000, 45_000), ("02-may", 1, 46_000, 48_000),
        ("03-june", 1, 44_000, 44_000),
    ]  # fmt: skip
    assert data["changes"][0]["key"] == "rear bar"  # type: ignore[index]
    assert data["changes"][0]["date"] == "2026-04-01"  # type: ignore[index]
    assert data["problems"] == []


def test_my_own_answer_comes_before_the_tables(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where I stand and what is open, then my tables, what the year taught, and last the tables I am not in."""
    more = (season / "03-june" / "entrants.csv").read_text().replace("8,Driver 8,estate,PINE", "8,Driver 8,estate,OAK")
    (season / "03-june" / "entrants.csv").write_text(more)
    assert main(["season", f"{season}", "--year"]) == 0
    out = capsys.readouterr().out
    wanted = (
        "PINE: Driver 26 1st of 3 with 28 points, 10 ahead of Driver 7", "what is still open", "Autumn: a win gives 10",
        "─ PINE: ", "─ the car's changes", "─ my runs and changes", "─ the other tables", "─ OAK: ",
    )  # fmt: skip
    places = [out.find(part) for part in wanted]
    assert -1 not in places
    assert places == sorted(places)


def test_one_broken_folder_is_named_and_the_rest_counts(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (season / "02-may" / "event.toml").write_bytes(b"\x00\x01 nonsense")
    data = _json(capsys, f"{season}")
    assert [item["file"] for item in data["problems"]] == ["02-may"]  # type: ignore[attr-defined]
    assert [item["event"] for item in data["events"]] == ["01-spring", "03-june"]  # type: ignore[attr-defined]
    assert data["points"][0]["rows"][0]["points"] == 20  # type: ignore[index]
    main(["season", f"{season}"])
    assert "! 02-may: left out of the season: event.toml" in capsys.readouterr().out


def test_faulty_lines_are_counted_and_said(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (season / "03-june" / "times.csv").open("a") as out:
        out.write("1,2,26,fast,,,\n")
    data = _json(capsys, f"{season}")
    assert [(item["file"], item["level"]) for item in data["problems"]] == [("03-june", "warning")]  # type: ignore[attr-defined]


def test_a_bad_key_of_the_season_is_named_with_its_line(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (season / "season.toml").write_text('[points]\nrule = "luck"\nby_place = [10, 8, 6]\n')
    data = _json(capsys, f"{season}")
    assert [(item["file"], item["line"]) for item in data["problems"]] == [("season.toml", 2)]  # type: ignore[attr-defined]
    assert data["points"][0]["rows"][0]["points"] == 28  # type: ignore[index]


def test_without_season_toml_the_defaults_are_used(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (season / "season.toml").unlink()
    found = _json(capsys, f"{season}")
    table = found["points"][0]  # type: ignore[index]
    told = [item for item in found["problems"] if item["file"] == "season.toml"]  # type: ignore[attr-defined]
    assert [item["level"] for item in told] == ["warning"]
    assert main(["season", f"{season}"]) == 0
    assert capsys.readouterr().out.count("There is no season.toml") == 1
    assert table["counted"] is None
    assert table["rows"][0]["points"] == 28


def test_words_say_what_is_open_and_what_it_costs(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["season", f"{season}"]) == 0
    out = capsys.readouterr().out
    assert "2026: 3 events read, 3 with results, 1 booked to come" in out
    assert "PINE: the best 3 count" in out
    assert "Driver 26, PINE: place 1 is settled, save for a tie" in out
    assert "Driver 26, index: place 1 is settled, save for a tie" in out
    assert "Autumn: a win gives 10 and adds 2; up to 8 points would be dropped" in out
    assert "Fees: 50 euro for events run, 62.5 euro to come" in out
    assert re.search(r"Autumn +2026-10-03 +to come +62.5 euro +clos", out), out
    assert "My runs: 4, with a time 4: 3 clean, 1 with penalties. Changes: 1, kept 1, taken back 0." in " ".join(
        out.split()
    )


def test_tables_for_other_engines(season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = _json(capsys, f"{season}", "--parquet", f"{tmp_path / 'out'}", "--xlsx", f"{tmp_path / 'out.xlsx'}")
    tree = f"read_parquet('{tmp_path}/out/runs/**/*.parquet')"
    found = duckdb.sql(f"select event, count(*), min(raw_ms) from {tree} group by 1 order by 1")
    assert found.fetchall() == [("01-spring", 2, 45_000), ("02-may", 1, 46_000), ("03-june", 1, 44_000)]
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")
    assert book.sheetnames == ["points", "runs", "changes", "tyres"]
    assert book["runs"].max_row == len(data["runs"]) + 1  # type: ignore[arg-type]


@pytest.mark.parametrize(("words", "code"), [(["{tmp}/none"], 3), (["{tmp}"], 3), (["{season}/01-spring"], 2), ([], 2)])
def test_errors(words: list[str], code: int, season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    assert main(["season", *(word.format(tmp=tmp_path / "empty", season=season) for word in words)]) == code
    assert capsys.readouterr().err.count("\n") == 1


def test_reading_writes_nothing(season: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in season.rglob("*")}
    main(["season", f"{season}"])
    assert {path: path.stat().st_mtime_ns for path in season.rglob("*")} == before


def test_a_name_with_an_escape_code_cannot_move_the_cursor(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (season / "01-spring" / "entrants.csv").read_text()
    (season / "01-spring" / "entrants.csv").write_text(text.replace("Driver 7", "Driver \u202e7"))
    main(["season", f"{season}"])
    assert "\u202e" not in capsys.readouterr().out


def test_a_folder_whose_name_begins_with_a_dot_is_no_event(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_event(season / ".put-away", {"26": ("40.0",)}, "Old", "2026-07-01")
    data = _json(capsys, f"{season}")
    assert len(data["events"]) == 3  # type: ignore[arg-type]
