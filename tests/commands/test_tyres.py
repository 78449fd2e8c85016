"""``paddock tyres`` on folders as a person writes them."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path

import pytest

from paddock.commands import tyres
from paddock.commands.common import Answer
from paddock.session.loading import check

EVENT = """format = 1
name = "Spring"
days = [2026-05-09, 2026-05-10]
runs_per_day = 5
[[classes]]
code = "LIME"
[mine]
numbers = ["26"]
"""
SEASON = """[[events]]
name = "Harbour"
days = [2026-06-06, 2026-06-07]
[[events]]
name = "Hill"
days = [2026-08-01]
"""


def _folder(directory: Path, name: str = "spring", days: str = "", **files: str) -> Path:
    folder = directory / name
    folder.mkdir()
    text = EVENT.replace("[2026-05-09, 2026-05-10]", days) if days else EVENT
    times = "".join(f"{day},{run},26,46.5\n" for day in (1, 2) for run in range(1, 6))
    whole = {
        "event.toml": text,
        "entrants.csv": "number,driver,class\n26,Me,LIME\n",
        "times.csv": "day,run,number,time\n" + times,
    }
    for file, content in (whole | {key.replace("_", "."): value for key, value in files.items()}).items():
        (folder / file).write_text(content, encoding="utf-8")
    return folder


def _spring(directory: Path) -> Path:
    return _folder(
        directory,
        tyres_csv="tyre,size,date_code,price,runs_before,directional,floor_mm,delivery_days\n"
        "A,225/45R17,0926,150,40,no,2.0,12\nB,225/45R17,0926,150,40,no,2.0,12\n",
        fitted_csv="day,run,number,corner,tyre\n1,1,26,lf,A\n1,1,26,rf,B\n",
        tread_csv="day,tyre,inner_32nds,middle_32nds,outer_32nds\n0,A,7,7,6\n0,B,7,7,6\n2,A,6.75,6.75,5\n2,B,6.75,6.75,5\n",
    )


def _ask(folder: Path) -> Answer:
    parser = ArgumentParser()
    tyres.configure(parser)
    return tyres.run(parser.parse_args([str(folder)]))


def test_json_to_the_letter(tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text(SEASON, encoding="utf-8")
    data = json.loads(json.dumps(_ask(_spring(tmp_path)).data, allow_nan=False))
    assert list(data) == ["tyres", "proposals", "refusals", "questions", "reasons", "faults_left_out", "rows_later"]
    first = data["tyres"][0]
    assert set(first) == {
        "tyre", "runs", "wear_mm_per_run", "runs_left", "runs_left_low", "runs_left_high", "limiting_edge",
    }  # fmt: skip
    assert (first["tyre"], first["runs"], first["limiting_edge"]) == ("A", 50, "outer")
    # One 32nd in ten runs; 5/32 in = 3.969 mm, 1.969 above the floor (arithmetic).
    wear = 25.4 / 32 / 10
    assert first["wear_mm_per_run"]["outer"] == pytest.approx(wear)
    assert first["wear_mm_per_run"]["inner"] == pytest.approx(wear / 4)
    assert first["runs_left"] == pytest.approx((5 * 25.4 / 32 - 2.0) / wear)
    assert first["runs_left_low"] < first["runs_left"] < first["runs_left_high"]
    kinds = {item["kind"]: item for item in data["proposals"]}
    assert set(kinds) == {"flip"}
    assert kinds["flip"]["runs_gained"] > 3
    assert kinds["flip"]["tyres"] == ["A", "B"]


def test_order_date_from_the_season_beside(tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text(SEASON, encoding="utf-8")
    folder = _spring(tmp_path)
    text = (folder / "tyres.csv").read_text().replace(",2.0,", ",2.9,")
    (folder / "tyres.csv").write_text(text)
    found = {item["kind"]: item for item in _ask(folder).data["proposals"]}
    # (3.969 - 2.9) / 0.0794 = 13.5 runs: the ten of Harbour fit, the five of Hill on 1 August don't; less 12 days.
    assert found["buy"]["order_by"] == "2026-07-20"
    assert "Hill" in found["buy"]["sentence"]


def test_the_table_says_all_there_is(tmp_path: Path) -> None:
    text = _ask(_spring(tmp_path)).text()
    assert "50 (10)" in text
    assert "225/45R17" not in text
    assert "0.020/0.020/0.079" in text
    assert "26: turn the front tyres over" in text


def test_questions_are_shown_and_rows_kept(tmp_path: Path) -> None:
    folder = _spring(tmp_path)
    with (folder / "fitted.csv").open("a") as file:
        file.write("2,1,26,lr,A\n")
    text = " ".join(_ask(folder).text().split())
    assert "? fitted.csv:4: warning: tyre A is put on lr and is still on lf (line 2)" in text


def test_earlier_events_beside_lend_their_wear(tmp_path: Path) -> None:
    _spring(tmp_path)
    rows = {
        "tyres_csv": "tyre,size,runs_before\nA,225/45R17,50\nN,225/45R17,0\n",
        "fitted_csv": "day,run,number,corner,tyre\n1,1,26,lf,N\n",
        "tread_csv": "day,tyre,inner_mm,middle_mm,outer_mm\n0,N,6,6,6\n",
        "times_csv": "day,run,number,time\n",
    }
    after = _folder(tmp_path, "summer", "[2026-07-01]", **rows)
    new = next(item for item in _ask(after).data["tyres"] if item["tyre"] == "N")
    assert new["wear_mm_per_run"]["outer"] == pytest.approx(25.4 / 32 / 10)
    alone = tmp_path / "elsewhere"
    alone.mkdir()
    new = next(
        item for item in _ask(_folder(alone, "summer", "[2026-07-01]", **rows)).data["tyres"] if item["tyre"] == "N"
    )
    assert new["wear_mm_per_run"]["outer"] is None
    assert new["runs_left"] is None


def test_no_tyres_is_an_answer(tmp_path: Path) -> None:
    answer = _ask(_folder(tmp_path))
    assert not any(answer.data.values())
    assert "tyres.csv" in answer.text()


def test_reading_writes_nothing(tmp_path: Path) -> None:
    folder = _spring(tmp_path)
    before = {path: path.read_bytes() for path in sorted(tmp_path.rglob("*")) if path.is_file()}
    _ask(folder).text()
    assert {path: path.read_bytes() for path in sorted(tmp_path.rglob("*")) if path.is_file()} == before


def test_check_asks_about_tyres(tmp_path: Path) -> None:
    folder = _spring(tmp_path)
    text = (folder / "tyres.csv").read_text().replace("B,225/45R17,0926", "B,225/45R17,926")
    (folder / "tyres.csv").write_text(text)
    found = [problem for problem in check(folder) if problem.file == "tyres.csv"]
    assert [(problem.line, problem.level) for problem in found] == [(3, "warning")]
    assert "three digits" in found[0].message
