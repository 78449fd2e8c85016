"""Names and notes made to break what prints them: the terminal, the page, the spreadsheet, the JSON."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import html5lib
import pytest
from rich.cells import cell_len

from paddock.__main__ import main
from tests.small import small_event

HOSTILE = (
    "[red]x[/]", "[/b]", "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</table></body>", "=1+cmd|' /C calc'!A0", "+1+1",
    "@SUM(1)", "-2+3", "\u202eevil\u2066x", "👩‍👩‍👧‍👦🏁", "全角文字列", "e\u0301" * 30, "\u2028x\u2029", "%s{0}", "\u200b\u200f", "javascript:alert(1)",
    "&lt;b&gt;", "]]>", "--><b>", "x" * 300,
)  # fmt: skip
TURNING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
"""The namespace of SpreadsheetML (ECMA-376, part 1)."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = small_event(tmp_path / "small")
    with (made / "entrants.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    for at, row in enumerate(rows):
        row["driver"] = HOSTILE[at % len(HOSTILE)]
        row["car"] = HOSTILE[(at + 7) % len(HOSTILE)]
    out = io.StringIO()
    table = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    (made / "entrants.csv").write_text(out.getvalue())
    notes = io.StringIO()
    csv.writer(notes, lineterminator="\n").writerows(
        [["id", "day", "run", "topic", "text"], *([f"n{at}", 1, 1, "line", text] for at, text in enumerate(HOSTILE))]
    )
    (made / "notes.csv").write_text(notes.getvalue())
    return made


@pytest.mark.parametrize(
    "words", [["standings"], ["gap", "--number", "7"], ["next", "--number", "7"], ["check"], ["season"]]
)
def test_a_terminal_gets_text_alone_and_no_line_is_too_wide(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    main([words[0], str(folder.parent if words[0] == "season" else folder), *words[1:]])
    said = capsys.readouterr()
    for line in (said.out + said.err).splitlines():
        assert not [sign for sign in line if unicodedata.category(sign) in ("Cc", "Cs")], ascii(line)
        assert not set(line) & TURNING
        if words[0] != "check":  # a finding is one line, for machines to take apart
            assert cell_len(line) <= 80, line


def test_the_json_gives_every_name_back(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["standings", str(folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    drivers = {row["driver"] for table in told["tables"] for row in table["rows"]}
    assert drivers & set(HOSTILE[:3])


def test_the_page_is_sound_and_runs_nothing(folder: Path, tmp_path: Path) -> None:
    """Held against the parser of the HTML standard, which raises at the first error, and the page's own policy."""
    target = tmp_path / "page.html"
    assert main(["debrief", str(folder), "-o", str(target), "--names"]) == 0
    text = target.read_text("utf-8")
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
    assert [
        item.tag for item in tree.iter() if item.tag in ("script", "img", "iframe", "object", "embed", "a", "form")
    ] == []
    assert not [name for item in tree.iter() for name in item.attrib if str(name).startswith("on")]
    policy = next(item.get("content", "") for item in tree.iter("meta") if item.get("http-equiv"))
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "script-src" not in policy
    assert "alert(1)" in text


def test_the_spreadsheet_holds_no_formula_and_no_link(folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "tables.xlsx"
    assert main(["export", str(folder), "-o", str(tmp_path / "a.zip"), "--xlsx", str(target)]) == 0
    with zipfile.ZipFile(target) as packed:
        sheets = [name for name in packed.namelist() if name.startswith("xl/worksheets/") and name.endswith(".xml")]
        assert sheets
        for name in sheets:
            root = ElementTree.fromstring(packed.read(name))
            assert root.find(f".//{SHEET}f") is None
            assert root.find(f".//{SHEET}hyperlink") is None
        texts = re.findall(r"<t[^>]*>([^<]*)</t>", packed.read("xl/sharedStrings.xml").decode())
    assert not [text for text in texts if text[:1] in "=+@" and text[:1]]
