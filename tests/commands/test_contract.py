"""The command line's own rules: the JSON's number, what may be left out, ``--at``, widths, exit codes, ``answer``."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len

from paddock import answer
from paddock.__main__ import main
from paddock.commands import common
from paddock.commands.verbs import VERBS
from paddock.errors import EXTRAS, FolderError, UsageError
from tests.store.folders import small_folder

ROOT = Path(__file__).parents[2]
AT = ("gap", "chances", "effect", "standings", "next")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    found = small_folder(tmp_path / "event")
    (found / "changes.csv").write_text("id,day,run,at,number,kind,key\nabc12,1,2,10:15,26,test,rear_bar\n")
    monkeypatch.setattr(common, "now", lambda: datetime(2026, 5, 20, 8))
    return found


def said(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main([*words, "--json"]) == 0, capsys.readouterr().err
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def words_of(verb: str, folder: Path) -> list[str]:
    number = ["--number", "26"] if verb in {"gap", "chances", "next"} else []
    return [verb, f"{folder}", *number, *(["--change", "abc12"] if verb == "effect" else [])]


@pytest.mark.parametrize("verb", [*AT, "check", "tyres", "debrief", "export"])
def test_every_object_says_its_format_first(verb: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert next(iter(said(capsys, *words_of(verb, folder)).items())) == ("format", 1)


@pytest.mark.parametrize("place", [0, 1, 2, 4])
def test_json_may_stand_anywhere(place: int, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = words_of("gap", folder)
    assert main([*line[:place], "--json", *line[place:]]) == 0
    assert json.loads(capsys.readouterr().out)["class"]["rank"] == 1


def test_json_without_a_verb_is_wrong_use(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([f"{folder}", "--json"]) == 2
    assert "goes with a verb" in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["gap", "chances", "next"])
def test_my_only_entry_needs_no_number(verb: str, folder: Path) -> None:
    assert answer(verb, folder) == answer(verb, folder, "--number", "26")


@pytest.mark.parametrize(("mine", "named"), [('["26", "7"]', "26, 7"), ("[]", "names no entry")])
def test_among_two_or_none_the_number_is_asked_for(mine: str, named: str, folder: Path) -> None:
    path = folder / "event.toml"
    path.write_text(path.read_text().replace('numbers = ["26"]', f"numbers = {mine}"))
    with pytest.raises(UsageError, match=f"--number is wanted.*{named}"):
        answer("gap", folder)


@pytest.mark.parametrize("verb", [*AT, "check", "tyres"])
def test_inside_an_event_the_folder_may_be_left_out(verb: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    line = words_of(verb, folder)
    whole = answer(*line)
    monkeypatch.chdir(folder)
    assert answer(line[0], *line[2:]) == whole


def test_elsewhere_the_folder_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="FOLDER is wanted"):
        answer("standings")


def test_the_source_of_an_import_alone_is_no_folder(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "posted.txt").write_text("number,driver,run 3\n26,Ada Nowhere,46.100\n7,Otter Brook,47.200\n")
    monkeypatch.chdir(folder)
    assert answer("import", "posted.txt", "--day", "1")["added"] == 2
    assert answer("import", "--day", "1", folder, "posted.txt")["added"] == 2


@pytest.mark.parametrize("verb", AT)
def test_every_answer_says_as_of_when(verb: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(*words_of(verb, folder))["as_of"].startswith("2026-05-09T1")  # type: ignore[attr-defined]
    assert main(words_of(verb, folder)) == 0
    assert "as of Sat 1" in capsys.readouterr().out


@pytest.mark.parametrize("verb", AT)
def test_at_a_time_nothing_later_is_seen(verb: str, folder: Path, tmp_path: Path) -> None:
    """The answer at a time is the one of a folder that had only the rows up to it."""
    before = {
        "times.csv": "1,1,26,47.250,,,,10:01,\n1,1,7,48.003,1,,,10:02,\n",
        "pressures.csv": "", "changes.csv": "1,2,10:15",
    }  # fmt: skip
    cut = small_folder(tmp_path / "cut")
    (cut / "times.csv").write_text("day,run,number,time,cones,misses,status,at,try\n" + before["times.csv"])
    (cut / "changes.csv").write_text((folder / "changes.csv").read_text())
    for name in ("pressures.csv", "runs.csv", "weather.csv"):
        for place in (folder, cut):
            (place / name).unlink(missing_ok=True)
    found = answer(*words_of(verb, folder), "--at", "2026-05-09T10:20")
    whole = answer(*words_of(verb, cut), "--at", "2026-05-09T10:20")
    assert found == whole
    assert found["as_of"] == "2026-05-09T10:20"


def test_a_clock_alone_is_of_the_day_in_hand(folder: Path) -> None:
    assert answer("gap", folder, "--at", "9:05") == answer("gap", folder, "--at", "2026-05-09T09:05")


@pytest.mark.parametrize("text", ["noon", "25:00", "2026-05-40T10:00", "10", "2026-05-09"])
def test_what_is_no_time_is_refused(text: str, folder: Path) -> None:
    with pytest.raises(UsageError, match="is no time: write 2026-05-09T12:58"):
        answer("gap", folder, "--at", text)


def test_on_its_day_it_is_simply_now_and_a_later_row_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(common, "now", lambda: datetime(2026, 5, 9, 10, 20))
    assert main(["standings", f"{folder}"]) == 0
    out = capsys.readouterr().out
    assert "as of" not in out
    assert "46.512" in out
    assert "later than the clock, taken as now" in out


@pytest.mark.parametrize("columns", ["", "80", "60", "40"])
@pytest.mark.parametrize("verb", [*AT, "tyres"])
def test_text_fits_the_terminal(
    verb: str, columns: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert main(words_of(verb, folder)) == 0
    for line in capsys.readouterr().out.splitlines():
        assert cell_len(line) <= int(columns or 80), line


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["gap", "{folder}"], 0), (["gap", "{folder}", "--number", "99"], 2), (["gap", "{folder}", "--day", "9"], 2),
        (["gap", "{folder}", "--colour"], 2), (["gap", "{folder}/none", "--number", "26"], 3), (["nonsense"], 2),
        (["effect", "{folder}", "--change", "none"], 2), (["chances", "{folder}", "--runs-left", "x"], 2),
        (["air", "--gauge", "x"], 2), (["check", "{folder}/none"], 3), (["check", "{folder}"], 0),
    ],
)  # fmt: skip
def test_exit_codes_and_one_line_of_error(
    words: list[str], code: int, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([word.format(folder=folder) for word in words]) == code
    out, err = capsys.readouterr()
    assert err.count("\n") == (code > 1)
    assert (out == "") == (code > 1)


def test_a_fault_gives_one_and_every_finding_keeps_its_line_in_a_pipe(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    with (folder / "times.csv").open("a") as file:
        file.write("1,3,26,4x.1,,,,,\n")
    assert main(["check", f"{folder}"]) == 1
    out = capsys.readouterr().out
    assert [line.split(": ")[1] for line in out.splitlines()] == ["fault"]


def test_answer_is_what_json_prints_and_prints_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = {verb: said(capsys, *words_of(verb, folder)) for verb in AT}
    for verb in AT:
        assert answer(*words_of(verb, folder)) == printed[verb]
        assert answer(*words_of(verb, folder), "--json") == printed[verb]
    assert capsys.readouterr() == ("", "")


def test_answer_raises_the_errors_own_exceptions(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, error in (
        (("gap", folder, "--number", 99), UsageError), (("gap", folder / "none"), FolderError),
        (("nonsense",), UsageError), (("gap", "--help"), UsageError), (("serve", folder), UsageError),
    ):  # fmt: skip
        with pytest.raises(error):
            answer(*words)
    assert capsys.readouterr() == ("", "")


def test_the_public_face_is_light() -> None:
    code = "import sys, paddock; print(*sorted(name for name in sys.modules if name.startswith('paddock.')))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == ""


def test_without_a_terminal_the_screens_say_so_instead_of_hanging(folder: Path) -> None:
    env = {name: value for name, value in os.environ.items() if name != "TEXTUAL_DRIVER"}
    for words in ([f"{folder}"], []):
        done = subprocess.run(
            [sys.executable, "-m", "paddock", *words], stdin=subprocess.DEVNULL, capture_output=True, text=True,
            check=False, timeout=30, cwd=ROOT, env=env,
        )  # fmt: skip
        assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
        assert "no terminal" in done.stderr


@pytest.mark.parametrize(
    ("module", "verb", "says"),
    [
        ("textual_serve", "serve", "pip install '.[web]'"), ("rich", "gap", "pip install . in"),
        ("xlsxwriter", "export --xlsx t.xlsx", "pip install '.[sheets]'"), ("lxml", "import page.html", "pip install '.[pages]'"),
    ],
)  # fmt: skip
def test_a_missing_package_is_named_with_what_to_install(module: str, verb: str, says: str, folder: Path) -> None:
    (folder / "page.html").write_text("<html><table><tr><td>1<td>2<tr><td>3<td>4</table>")
    verb, *rest = verb.split()
    words = [verb, f"{folder}", *(f"{folder / word}" if "." in word else word for word in rest)]
    code = f"import sys; sys.modules[{module!r}] = None\nfrom paddock.__main__ import main\nsys.exit(main({words!r}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 2, done.stderr
    assert says in done.stderr
    assert module in done.stderr
    assert "fault in the program" not in done.stderr


def test_every_extra_of_the_installation_is_known() -> None:
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]
    for extra, wanted in extras.items():
        if extra not in {"dev", "compat", "all"}:
            names = {line.split(">")[0].split("[")[0].replace("-", "_") for line in wanted}
            assert names <= set(EXTRAS[extra]), extra
    assert all(verb in VERBS for verb in AT)


def test_an_import_says_which_columns_it_does_not_use(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = folder / "posted.csv"
    source.write_text("number,driver,run 3,Faults,Team\n26,Ada Nowhere,46.100,2,A\n7,Otter Brook,47.200,0,B\n")
    assert {"Faults", "Team"} <= set(answer("import", folder, source, "--day", "1")["not_used"])
    assert main(["import", f"{folder}", f"{source}", "--day", "1"]) == 0
    assert "not used: Faults, Team" in capsys.readouterr().out


@pytest.mark.parametrize("shell", ["fish", "powershell", "bash"])
def test_every_shell_is_completed_and_paths_stay_completed(shell: str) -> None:
    """Fish and PowerShell have a script; bash's still offers file names where a folder is wanted."""
    script = answer("completion", shell)["script"]
    assert shell != "bash" or "complete -o filenames" in f"{script}" or "-o default" in f"{script}"
