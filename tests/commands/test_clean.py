"""No name and no value, whoever wrote it, steers the terminal: every verb, its errors, the text to post, every screen."""

from __future__ import annotations

import json
import shutil
import unicodedata
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.tui.rooms import ROOMS
from tests.tui.pilot import EXAMPLE, driving

ESC, CSI, TURN = "\\u001b]0;owned\\u0007\\u001b[2J", "\u009b31m", "\u202e"


def hostile(folder: Path) -> Path:
    """The example with escapes in every kind of name."""
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns(".paddock"))
    event = folder / "event.toml"
    text = event.read_text("utf-8")
    text = text.replace('name = "', f'name = "{ESC}', 1).replace('site = "', f'site = "{ESC}', 1)
    code = text.split('code = "', 1)[1].split('"')[0]
    event.write_text(text.replace(f'code = "{code}"', f'code = "{code}{ESC}"', 1), "utf-8")
    for path in folder.glob("*.csv"):
        head, *rows = path.read_text("utf-8").split("\n")
        at = next(
            (
                n
                for n, name in enumerate(head.split(","))
                if name in ("driver", "note", "text", "item", "reason", "before")
            ),
            None,
        )
        if at is not None:
            path.write_text("\n".join([head, *(_spoilt(row, at) for row in rows)]), "utf-8")
    for path in (folder / "cars").glob("*.toml"):
        car = path.read_text("utf-8")
        path.write_text(car.replace("[setup]", f'[setup]\n"spring{ESC}" = "soft{ESC}"', 1), "utf-8")
    (folder.parent / "season.toml").write_text(f'name = "{ESC}"\n', "utf-8")
    return folder


def _spoilt(row: str, at: int) -> str:
    cells = row.split(",")
    if len(cells) > at and '"' not in row and cells[at]:
        cells[at] += CSI + TURN
    return ",".join(cells)


def harmful(text: str) -> set[str]:
    return {char for char in text if unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs")} - {"\n"}


VERBS = [
    "check F", "standings F", "gap F --number 26", "next F --number 26", "effect F --change x", "chances F --number 26", "tyres F",
    "season P", "debrief F -o O.html", "export F -o O.zip", "merge F F", "import F F/times.csv", "bar F/cars/estate.toml",
    "gears F/cars/estate.toml", "gap F --number \x1b[2J", "check \x9b31m", "next F --number \u202e7", "\x1b[2J", "standings F --day 99",
]  # fmt: skip


@pytest.mark.parametrize("line", VERBS)
@pytest.mark.parametrize("form", ["text", "json"])
def test_no_verb_prints_an_escape(tmp_path: Path, capsys: pytest.CaptureFixture[str], line: str, form: str) -> None:
    folder = hostile(tmp_path / "season" / "event")
    words = [word.replace("F", str(folder), 1) if word[0] == "F" else word for word in line.split(" ")]
    words = [
        str(tmp_path / "season") if word == "P" else str(tmp_path / word) if word[0] == "O" else word for word in words
    ]
    code = main([*words, *(["--json"] if form == "json" else [])])
    out, err = capsys.readouterr()
    assert out + err
    assert harmful(out + err) == set()
    if form == "json" and code in (0, 1):
        assert json.loads(out)["format" if "format" in out else next(iter(json.loads(out)))] is not None
    for post in tmp_path.glob("O*.txt"):
        assert harmful(post.read_text("utf-8")) == set()


async def test_no_screen_shows_an_escape(tmp_path: Path) -> None:
    hostile(tmp_path / "event")
    async with driving(tmp_path) as hand:
        for room in ROOMS:
            await hand.app.go(room.name)
            await hand.settle()
            assert harmful(hand.text) == set(), room.name


def test_json_says_the_same_after_cleaning() -> None:
    from paddock.clean import clean_json

    said = {"a\x9b\u202e": ["\x7f\u2028\x1b", "ä – 😀"]}
    text = clean_json(json.dumps(said, ensure_ascii=False))
    assert harmful(text) == set()
    assert json.loads(text) == said
