"""Completion: what each shell offers once its script is sourced, asked of the shell itself where it is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from paddock import answer
from paddock.commands.completion import SCRIPTS
from paddock.commands.verbs import VERBS
from tests.store.folders import small_folder

ROOT = Path(__file__).parents[2]

ASKED = {
    "bash": """\
source ./script
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _paddock "$1" >/dev/null; printf '%s\\n' "${COMPREPLY[@]}"
""",
    "zsh": """\
compdef() { : }
_files() { local found=(${words[CURRENT]}*(N)); [[ $1 == -/ ]] && found=(${words[CURRENT]}*(N/)); print -rl -- $found }
compadd() { print -rl -- $found }
source ./script
words=("$@"); CURRENT=$#; _paddock
""",
    "fish": """\
source ./script
complete -C "$argv"
""",
    "powershell": """\
. ./script.ps1
$line = $args -join ' '
(TabExpansion2 -inputScript $line -cursorColumn $line.Length).CompletionMatches.CompletionText
""",
}
"""A session of each shell: the script sourced, then the candidates printed for the line handed over as words."""
PROGRAM = {"powershell": "pwsh"}


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder ``may`` beside a file, and the program to call."""
    folder = small_folder(tmp_path / "may day")
    folder.rename(tmp_path / "may")
    (tmp_path / "may" / "changes.csv").write_text("id,day,run,at,number,kind,key\nabc12,1,2,10:15,26,test,rear_bar\n")
    (tmp_path / "mail.txt").write_text("")
    (tmp_path / "my season").mkdir()
    program = tmp_path / "bin" / "paddock"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nPYTHONPATH="{ROOT}" exec "{sys.executable}" -m paddock "$@"\n')
    program.chmod(0o755)
    return tmp_path


def offered(shell: str, place: Path, words: list[str]) -> set[str]:
    name = PROGRAM.get(shell, shell)
    if shutil.which(name) is None:
        pytest.skip(f"{name} is not installed here: its script is only looked at")
    script = place / ("script.ps1" if shell == "powershell" else "script")
    script.write_text(f"{answer('completion', shell)['script']}\n")
    (place / "asked").write_text(ASKED[shell])
    plain = {"bash": ["--norc"], "zsh": ["-f"], "fish": ["--no-config"], "powershell": ["-NoProfile", "-File"]}[shell]
    env = os.environ | {"PATH": f"{place / 'bin'}:{os.environ['PATH']}", "HOME": f"{place}"}
    done = subprocess.run(
        [name, *plain, "asked", "paddock", *words], capture_output=True, text=True, check=False, cwd=place, env=env
    )
    assert done.stderr == ""
    return {line.split("\t")[0].rstrip("/") for line in done.stdout.splitlines() if line}


@pytest.mark.parametrize("shell", SCRIPTS)
@pytest.mark.parametrize(
    ("words", "wanted", "not_wanted"),
    [
        (["m"], {"merge", "may", "my season"}, {"mail.txt", "gap"}),
        (["gap", "ma"], {"may"}, {"mail.txt"}),
        (["gap", "may", "--number", ""], {"26", "7"}, {"may", "abc12"}),
        (["import", "may", "--json", "ma"], {"may", "mail.txt"}, set()),
        (["standings", "may", "--class", ""], {"index", "raw"}, {"26"}),
        (["effect", "may", "--change", "a"], {"abc12"}, set()),
        (["next", "may", "--unit", ""], {"psi", "kpa", "bar"}, {"may"}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_shell_offers(shell: str, words: list[str], wanted: set[str], not_wanted: set[str], place: Path) -> None:
    found = offered(shell, place, words)
    assert wanted <= {item.replace("\\", "") for item in found}, found
    assert not not_wanted & found


def test_every_verb_and_every_option_is_offered(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place / "may")
    assert set(VERBS) <= set(answer("completion", "words", "=")["words"])
    for verb in VERBS:
        words = answer("completion", "words", f"={verb}", "=--")["words"]
        assert {"--json", "--help"} <= set(words), verb
    assert answer("completion", "words", "=gap", "=--number", "=")["words"] == ["26", "7"]
    assert answer("completion", "words", "=bar", "=x.toml", "=--folder", "=.", "=--number", "=2")["words"] == ["26"]
    assert answer("completion", "words", "=nonsense", "=")["words"] == []


def test_a_folder_that_cannot_be_read_offers_nothing(place: Path) -> None:
    (place / "may" / "entrants.csv").write_bytes(b"\xff\xfe\x00number")
    assert answer("completion", "words", "=gap", f"={place / 'may'}", "=--number", "=")["words"] == []
