"""check, standings, gap, new, version and the doorway, on folders a person could have written."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from paddock import __version__
from paddock.__main__ import main

EXAMPLE = Path(__file__).parents[2] / "example_event"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the example to break."""
    return Path(shutil.copytree(EXAMPLE, tmp_path / "event", ignore=shutil.ignore_patterns(".paddock")))


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(words)
    out, err = capsys.readouterr()
    return code, out, err


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    code, out, err = run(capsys, *words, "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert isinstance(found, dict)
    return found


def test_the_example_has_no_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "check", str(EXAMPLE)) == (0, "no fault found\n", "")
    assert answer(capsys, "check", str(EXAMPLE)) == {"format": 1, "problems": []}


def test_the_main_job(capsys: pytest.CaptureFixture[str]) -> None:
    """56.618 and 55.514 against 56.380 and 55.732, worked by hand: need 112.112 - 56.618 - 0.001."""
    gap = answer(capsys, "gap", str(EXAMPLE), "--number", "58")["class"]
    assert isinstance(gap, dict)
    assert gap["rank"] == 2
    assert gap["leader_number"] == "23"
    assert (gap["score_ms"], gap["leader_score_ms"], gap["gap_ms"]) == (112_132, 112_112, 20)
    assert (gap["need_raw_ms"], gap["find_raw_ms"], gap["drive_ms"], gap["penalty_ms"]) == (55_493, 21, 21, 0)
    assert gap["waiting"] == []  # a run of mine is left: the need stands before who may still come past
    code, out, _ = run(capsys, "gap", str(EXAMPLE), "--number", "58")
    assert code == 0
    assert "find 0.021 raw" in out


def test_standings_has_every_table_and_key(capsys: pytest.CaptureFixture[str]) -> None:
    tables = answer(capsys, "--json", "standings", str(EXAMPLE))["tables"]
    assert isinstance(tables, list)
    assert [item["name"] for item in tables][-2:] == ["index", "raw"]
    assert len(tables) == 9
    row = tables[0]["rows"][0]
    assert set(row) == {
        "rank", "number", "driver", "class", "score_ms", "runs_counted", "waiting", "gap_to_leader_ms",
        "gap_to_next_ms", "runs",
    }  # fmt: skip
    assert set(row["runs"][0]) == {"day", "run", "try", "raw_ms", "cones", "misses", "status", "total_ms", "counts"}
    assert len(tables[-1]["rows"]) == 84


def test_standings_in_words_shows_names_as_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "standings", str(EXAMPLE), "--day", "1")
    assert code == 0
    assert "[K] Sorrel" in out
    assert "56.618*" in out


@pytest.mark.parametrize("plain", [False, True])
def test_both_scorers_answer_alike(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, plain: bool
) -> None:
    from paddock.store.machine import why_not_polars

    usual = answer(capsys, "standings", str(EXAMPLE))
    monkeypatch.setenv("PADDOCK_PLAIN", "1" if plain else "0")
    why_not_polars.cache_clear()
    try:
        assert answer(capsys, "standings", str(EXAMPLE)) == usual
    finally:
        monkeypatch.undo()
        why_not_polars.cache_clear()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["gap", str(EXAMPLE), "--number", "999"], 2, "999 is not entered"),
        (["gap", str(EXAMPLE)], 2, "--number"),
        (["standings", str(EXAMPLE), "--day", "3"], 2, "outside the event"),
        (["standings", str(EXAMPLE), "--day", "0"], 2, "outside the event"),
        (["standings", str(EXAMPLE), "--day", "one"], 2, "invalid int"),
        (["standings", str(EXAMPLE), "--class", "CROW"], 2, "no table"),
        (["standings", "no-such-folder"], 3, "no such folder"),
        (["check", "no-such-folder"], 3, "no such folder"),
        (["no-such-verb"], 2, "no verb and no folder"),
        (["--bogus"], 2, "no verb and no folder"),
        (["wheel", "--help"], 2, "'wheel' is no verb and no folder"),
    ],
)
def test_errors_are_one_line_with_their_code(
    capsys: pytest.CaptureFixture[str], words: list[str], code: int, said: str
) -> None:
    got, out, err = run(capsys, *words)
    assert (got, out) == (code, "")
    assert said in err
    assert err.count("\n") == 1
    assert err.startswith("paddock: ")


def test_check_points_at_the_line_and_says_the_mend(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    times = folder / "times.csv"
    lines = times.read_text().splitlines()
    number_of_lines = len(lines)
    lines += ["1,1,58,57.412,0,0,,09:22:00,", "1,2,999,46.1,0,0,,,", "3,1,58,56.2,0,0,,,", "2,4,58,400.0,0,0,,,",
              "2,5,23,fast,0,0,,,"]  # fmt: skip
    times.write_text("\n".join(lines) + "\n")
    code, out, _ = run(capsys, "check", str(folder))
    assert code == 1
    said = dict(line.split(": ", 1) for line in out.splitlines() if line.startswith("times.csv"))
    at = [f"times.csv:{number_of_lines + step}" for step in range(1, 6)]
    assert list(said) == at
    assert said[at[0]].startswith("fault: day 1, run 1, number 58 is on line")
    assert "999 is not entered: add it" in said[at[1]]
    assert "day 3 is outside the event" in said[at[2]]
    assert said[at[3]] == "warning: a run of 400.000 s: is that right?"
    assert said[at[4]].startswith("fault: ")
    assert "46.512" in said[at[4]]


def test_a_faulty_row_hides_no_good_one(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    before = answer(capsys, "standings", str(folder))
    with (folder / "times.csv").open("a") as file:
        file.write("2,5,58,abc,,,,,\n")
    assert answer(capsys, "standings", str(folder)) == before | {"faults_left_out": 1}
    assert run(capsys, "standings", str(folder))[1].count("1 fault in the folder") == 1


def test_warnings_alone_are_no_failure(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    with (folder / "pressures.csv").open("a") as file:
        file.write("2,5,58,before,13:10,9,30,28,900,,,,,,,\n")
    code, out, _ = run(capsys, "check", str(folder))
    assert code == 0
    assert "lf reads 9 psi: is that right?" in out
    assert "rr reads 900 psi: is that right?; if that is kPa it is 130.5 psi" in out


def test_an_unknown_class_or_index_is_named_with_what_is_near(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    with (folder / "entrants.csv").open("a") as file:
        file.write("200,A,,BEACH,,,,,\n201,B,,HAZEL,BEECHH,,,,\n202,C,,HAZEL,,,,,\n66,again,,ELM,,,,,\n")
    code, out, _ = run(capsys, "check", str(folder))
    assert code == 1
    assert "class BEACH is unknown; did you mean BEECH?" in out
    assert "index BEECHH is unknown; did you mean BEECH?" in out
    assert "[index] has no HAZEL" in out
    assert "number 66 is on line 2 already" in out


def test_a_broken_event_file_is_told_where_it_breaks(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    file = folder / "event.toml"
    file.write_text(file.read_text().replace('on the quay"', "on the quay", 1))
    code, _, err = run(capsys, "gap", str(folder), "--number", "58")
    assert code == 3
    assert "event.toml:5: " in err
    said = answer_of(capsys, "check", str(folder))
    assert [item["line"] for item in said["problems"]] == [5]


def answer_of(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, list[dict[str, object]]]:
    found = json.loads(run(capsys, *words, "--json")[1])
    assert isinstance(found, dict)
    return found


def test_a_mistyped_number_is_never_taken_for_another_car(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    with (folder / "times.csv").open("a") as file:
        file.write("2,5,9999,46.5,0,0,,,\n2,5,058,46.5,0,0,,,\n")
    out = run(capsys, "check", str(folder))[1]
    assert "number 9999 is not entered: add it" in out
    assert "number 058 is not entered; did you mean 58?" in out


def test_no_reading_command_writes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def state() -> dict[str, tuple[bytes, int]]:
        return {
            str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
            for path in sorted(folder.rglob("*"))
            if path.is_file()
        }

    before = state()
    for words in (["check"], ["standings"], ["gap", "--number", "58"]):
        run(capsys, words[0], str(folder), *words[1:])
    assert state() == before
    assert not (folder / ".paddock").exists()


def test_a_new_folder_passes_check(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    where = str(tmp_path / "spring_one")
    made = answer(capsys, "new", where, "--days", "2026-07-11", "+1", "--number", "58", "--name", "Spring")
    assert made == {"format": 1, "folder": where, "carried": []}
    assert answer(capsys, "check", where) == {"format": 1, "problems": []}
    assert "cone_s = 2.0              # seconds a cone costs" in (tmp_path / "spring_one" / "event.toml").read_text()
    code, _, err = run(capsys, "new", where)
    assert code == 3
    assert "not empty" in err


def test_a_new_folder_needs_no_answer_in_a_pipe(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert run(capsys, "new", str(tmp_path / "a"))[0] == 0
    assert run(capsys, "new", str(tmp_path / "b"), "--days", "11.7.2026")[0] == 2
    assert not (tmp_path / "b").exists()


def test_version_help_and_completion(capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(capsys, "version") == {"format": 1, "version": __version__}
    assert run(capsys, "--version")[1] == f"paddock {__version__}\n"
    code, out, _ = run(capsys, "--help")
    assert code == 0
    assert "Exit codes: 0 answered, 1 check found faults, 2 wrong use" in out
    code, out, _ = run(capsys, "gap", "--help")
    assert code == 0
    assert "paddock gap example_event --number 58" in out
    code, out, _ = run(capsys, "completion", "bash")
    assert code == 0
    assert "completion words" in out  # the shell asks the program: no list of verbs to grow old


def test_a_fault_of_the_program_is_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr("paddock.session.loading.gap_of", lambda *_: 1 / 0)
    code, out, err = run(capsys, "gap", str(EXAMPLE), "--number", "58")
    assert (code, out) == (70, "")
    assert "a fault in the program itself" in err
    assert err.count("\n") == 1
    assert "ZeroDivisionError" in (tmp_path / "paddock" / "last-fault.txt").read_text()
