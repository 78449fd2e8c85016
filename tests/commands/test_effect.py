"""``paddock effect`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main

EVENT = """format = 1
name = "Spring"
days = [2026-05-09]
runs_per_day = 8
[[classes]]
code = "LIME"
[mine]
numbers = ["26", "83"]
cars = { "26" = "estate", "83" = "estate" }
"""
TIMES = {
    "26": (46.0, 46.0, 45.0, 45.0),
    "83": (47.0, 47.0, 46.2, 46.2),
    "40": (50.0, 50.0, 49.9, 49.9),
    "41": (50.0, 50.0, 49.8, 49.8),
    "42": (50.0, 50.0, 49.6, 49.6),
    "43": (50.0, 50.0, 49.5, 49.5),
}
KEYS = [
    "field_change_ms", "my_change_ms", "extra_ms", "se_ms", "df", "interval80_ms", "prior_sd_ms", "shrunk_ms",
    "shrunk_interval80_ms", "p_helped", "rank", "controls", "verdict", "sentence", "next_test", "cautions",
    "prior_source", "told_share", "power", "hoped_ms", "own_learning_ms", "own_learning_interval80_ms",
    "not_separable", "by_kind", "as_of", "faults_left_out", "rows_later",
]  # fmt: skip


def _folder(home: Path, rivals: bool = True, changes: str = "c1,1,3,26,test,rear_bar,rear bar,2,3\n") -> Path:
    home.mkdir(parents=True)
    kept = {number: times for number, times in TIMES.items() if rivals or number in {"26", "83"}}
    (home / "event.toml").write_text(EVENT)
    (home / "entrants.csv").write_text("number,class,drive\n" + "".join(f"{n},LIME,front\n" for n in kept))
    rows = [f"1,{run},{n},{time:.3f}" for n, times in kept.items() for run, time in enumerate(times, 1)]
    (home / "times.csv").write_text("day,run,number,time\n" + "\n".join(rows) + "\n")
    (home / "changes.csv").write_text("id,day,run,number,kind,key,item,before,after\n" + changes)
    return home


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    assert main([*words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_the_contracts_keys_and_whole_milliseconds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = _json(capsys, "effect", str(_folder(tmp_path / "e")), "--change", "c1")
    assert list(found) == ["format", *KEYS]
    assert found["my_change_ms"] == -1000
    assert found["field_change_ms"] == pytest.approx(-274, abs=120)
    assert found["extra_ms"] == pytest.approx(-726, abs=200)
    assert (found["controls"], found["rank"], found["df"]) == (4, 1, None)
    assert all(isinstance(found[key], int) for key in KEYS if key.endswith("_ms") and "interval80" not in key)
    low, high = found["interval80_ms"]  # type: ignore[misc]
    assert isinstance(low, int)
    assert low < found["extra_ms"] < high
    assert found["verdict"] == "probably helped"
    assert 0.8 < found["p_helped"] < 0.95  # type: ignore[operator]
    assert 0 < found["told_share"] < 1  # type: ignore[operator]
    assert 0 < found["power"] < 1  # type: ignore[operator]
    assert (found["prior_source"], found["prior_sd_ms"], found["hoped_ms"]) == ("default", 202, 200)
    assert found["not_separable"] == []


def test_null_where_nothing_can_be_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = _json(capsys, "effect", str(_folder(tmp_path / "e", rivals=False)), "--change", "c1")
    assert list(found) == ["format", *KEYS]
    assert found["my_change_ms"] == -1000
    assert [key for key in KEYS if found[key] is None] == [
        "field_change_ms", "extra_ms", "se_ms", "df", "interval80_ms", "prior_sd_ms", "shrunk_ms",
        "shrunk_interval80_ms", "p_helped", "rank", "prior_source", "told_share", "own_learning_ms",
        "own_learning_interval80_ms",
    ]  # fmt: skip
    assert (found["verdict"], found["controls"]) == ("can't tell", 0)


def test_readable_answer_shows_every_figure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["effect", str(_folder(tmp_path / "e")), "--change", "c1"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.startswith("Rear bar 2 to 3 probably helped: the field gained 0.")
    for part in (
        "you gained 1.00 s; best guess 0.", "Your log doesn't say whether runs 1, 2, 3 and 4 were mistakes.",
        "its range, 4 times in 5", "how much this day told", "without: run 1 46.000, run 2 46.000",
        "who tells the course: 43, 42, 41, 40", "left out (the same car): 83", "co-driver 83 in the same car: -0.800, -0.",
        "course and everybody's learning, day 1", "2 to 3", "old-new-new-old", "decision: open", "cannot settle",
    ):  # fmt: skip
        assert part in text


def test_runs_to_come_are_laid_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = _json(capsys, "effect", str(_folder(tmp_path / "e")), "--change", "c1")
    assert found["next_test"] == (
        "Next test of rear bar 2 to 3: runs 5 to 8: new-old-old-new (old-new-new-old begun from what is on the car); "
        "hardly anything you can do with it finds 0.20 s (3 % to say probably; eight runs 23 %)."
    )


def test_a_season_around_teaches_my_usual_learning(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    alone = _json(capsys, "effect", str(_folder(tmp_path / "year" / "a")), "--change", "c1")
    for name in ("b", "c"):
        other = _folder(tmp_path / "year" / name, changes="")
        entrants = other / "entrants.csv"  # somebody else came too: another event, not a copy of this one
        entrants.write_text(f"{entrants.read_text()}{name},LIME,front\n")
    without = _json(capsys, "effect", str(tmp_path / "year" / "a"), "--change", "c1")
    assert without == alone, "no season.toml, no season"
    (tmp_path / "year" / "season.toml").write_text('name = "2026"\n')
    known = _json(capsys, "effect", str(tmp_path / "year" / "a"), "--change", "c1")
    assert known["extra_ms"] > alone["extra_ms"] + 100, "two quiet days with the very same gain"  # type: ignore[operator]
    assert known["own_learning_ms"] < alone["own_learning_ms"] - 50  # type: ignore[operator]
    assert known["p_helped"] < alone["p_helped"]  # type: ignore[operator]
    assert "on 2 days without a change" in str(known["sentence"])


def test_unknown_change_is_wrong_use(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["effect", str(_folder(tmp_path / "e")), "--change", "zz"]) == 2
    assert "no change 'zz' in changes.csv (logged: c1 " in capsys.readouterr().err
    assert main(["effect", str(tmp_path / "e")]) == 2
    assert "--change is wanted, the id of one (logged: c1 " in capsys.readouterr().err


def test_no_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["effect", str(tmp_path / "none"), "--change", "c1"]) == 3
    assert capsys.readouterr().err.startswith("paddock: ")


def test_the_examples_changes_are_all_judged(capsys: pytest.CaptureFixture[str]) -> None:
    home = Path(__file__).parents[2] / "example_event"
    ids = [line.split(",")[0] for line in (home / "changes.csv").read_text().splitlines()[1:]]
    assert ids
    for change in ids:
        assert main(["effect", str(home), "--change", change]) == 0
    assert "Traceback" not in capsys.readouterr().out
