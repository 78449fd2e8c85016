"""The worked cars in the docs are what the commands print. To renew them: ``python -m tests.commands.test_cars_worked``."""

from __future__ import annotations

import re
import shlex
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

from paddock.__main__ import main

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "methods" / "cars-worked.md"
BLOCK = re.compile(r"```console\n\$ paddock ([^\n]+)\n(.*?)```", re.DOTALL)


def printed(words: str) -> str:
    """What a command prints, without the spaces that end its lines."""
    out = StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out):
        patch.setenv("COLUMNS", "100")
        assert main(shlex.split(words)) == 0
    return "".join(line.rstrip() + "\n" for line in out.getvalue().splitlines())


def renewed(page: str) -> str:
    """The page with every answer as printed now."""
    return BLOCK.sub(lambda block: f"```console\n$ paddock {block[1]}\n{printed(block[1])}```", page)


def test_every_answer_in_the_page_is_what_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    page = PAGE.read_text(encoding="utf-8")
    assert len(BLOCK.findall(page)) == 5
    for words, answer in BLOCK.findall(page):
        assert answer == printed(words), words


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
