"""Every way to break a folder, asked for its tyres and carried on: a sentence or an answer, nothing changed in it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.session.loading import check
from tests.store.broken import BROKEN, CROSS_FILE
from tests.store.folders import every_byte, small_folder

EVERY = {**BROKEN, **CROSS_FILE}


@pytest.mark.parametrize("name", EVERY)
def test_a_broken_folder(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, target = small_folder(tmp_path / "event"), tmp_path / "next"
    EVERY[name](folder)
    before = every_byte(folder)
    for words in (["tyres", str(folder)], ["new", str(target), "--from", str(folder), "--days", "2027-01-02"]):
        code = main([*words, "--json"])
        out, err = capsys.readouterr()
        assert code in {0, 3}, err
        assert "Traceback" not in out + err
        assert (err.count("\n") == 1 and out == "") if code else json.loads(out)
    if target.exists():
        check(target)
    assert every_byte(folder) == before
