"""A page of the docs with all that the program answers in it answered again.

A fenced ``console`` block that begins with ``$ paddock ...`` holds what its commands print, the spaces that end the lines
taken off; ``| sed '/^$/Q'`` keeps what stands before the first empty line. A part between ``<!-- NAME: made by the program -->`` and its end holds
what ``BLOCKS[NAME]`` makes.

What rests on drawn runs (chances, verdicts) may differ in its last digit on another processor: such a part stays as it is
where no figure differs by more than that.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import tempfile
from contextlib import chdir, redirect_stdout
from io import StringIO
from itertools import takewhile
from pathlib import Path
from unittest.mock import patch

from paddock.__main__ import main
from tests.renew.blocks import BLOCKS, ROOT

WIDE = "100"
FIRST_PART = " | sed '/^$/Q'"

PAGES = tuple(
    path
    for path in [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
    if "```console\n$ paddock" in (text := path.read_text(encoding="utf-8")) or ": made by the program -->" in text
)
_CONSOLE = re.compile(r"```console\n(\$ paddock .*?)```", re.DOTALL)
_SCRIPT = re.compile(r"```python\n(?P<code>.*?)```\n\n```text\n.*?```", re.DOTALL)
_SHELL = re.compile(r"^paddock ((?:season|export) .+)$", re.MULTILINE)
_COMMAND = re.compile(r"^\$ paddock (.+)$", re.MULTILINE)
_DRAWN = re.compile(r"\$ paddock (chances|effect)\b|<!-- (the example's changes|three days):")
_FIGURE = re.compile(r"\d+\.\d+|\d+(?= %|-\d+ %)")
_MARKED = re.compile(r"(<!-- (?P<name>[^:\n]+): made by the program -->\n).*?(\n<!-- end of (?P=name) -->)", re.DOTALL)


def printed(words: str) -> str:
    """What a command prints in the project's own folder, ``WIDE`` columns wide."""
    command, piped, first = words.partition(FIRST_PART)
    out = StringIO()
    with chdir(ROOT), redirect_stdout(out), patch.dict(os.environ, {"COLUMNS": WIDE}):
        assert main(shlex.split(command)) == 0, words
    assert first == "", words
    lines = [line.rstrip() for line in out.getvalue().splitlines()]
    return "".join(f"{line}\n" for line in (takewhile(bool, lines) if piped else lines))


def scripts_answered(text: str) -> str:
    """The text with what its ``python`` blocks print in the ``text`` block after each: one script, in a directory
    that holds the example, after the commands of the page's ``sh`` blocks."""
    names: dict[str, object] = {}

    def run(block: re.Match[str]) -> str:
        out = StringIO()
        with redirect_stdout(out):
            exec(compile(block["code"], "docs", "exec"), names)  # the docs' own words
        return f"```python\n{block['code']}```\n\n```text\n{out.getvalue()}```"

    with tempfile.TemporaryDirectory() as scratch, chdir(scratch):
        shutil.copytree(ROOT / "example_event", "example_event", ignore=shutil.ignore_patterns(".paddock"))
        for words in _SHELL.findall(text):
            with redirect_stdout(StringIO()):
                assert main(shlex.split(words)) == 0, words
        return _SCRIPT.sub(run, text)


def _answered(block: str) -> str:
    return "".join(f"$ paddock {words}\n{printed(words)}" for words in _COMMAND.findall(block))


def alike(one: str, other: str) -> bool:
    """Whether two texts differ by no more than one in the last digit of their figures."""
    if _FIGURE.sub("#", one) != _FIGURE.sub("#", other):
        return False
    pairs = zip(_FIGURE.findall(one), _FIGURE.findall(other), strict=True)
    places = [(float(a), float(b), len(a.partition(".")[2]), len(b.partition(".")[2])) for a, b in pairs]
    return all(mine == theirs and abs(a - b) < 1.5 * 10.0**-mine for a, b, mine, theirs in places)


def _as_it_should(before: str, now: str) -> str:
    return before if _DRAWN.search(before) and alike(before, now) else now


def renewed(page: Path) -> str:
    """The text of the page as it should be."""
    text = page.read_text(encoding="utf-8")
    text = _CONSOLE.sub(lambda block: _as_it_should(block[0], f"```console\n{_answered(block[1])}```"), text)
    if _SCRIPT.search(text):
        text = scripts_answered(text)
    return _MARKED.sub(lambda part: _as_it_should(part[0], f"{part[1]}\n{BLOCKS[part['name']]()}\n{part[3]}"), text)
