"""Every way to break a folder, asked from the command line: a sentence, the right code, not a byte changed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.store.broken import BROKEN, CROSS_FILE
from tests.store.folders import every_byte, small_folder

EVERY = {**BROKEN, **CROSS_FILE}


def test_there_are_at_least_forty_ways() -> None:
    assert len(EVERY) >= 40


@pytest.mark.parametrize("name", EVERY)
def test_a_broken_folder_gets_sentences(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = small_folder(tmp_path / "event")
    EVERY[name](folder)
    before = every_byte(folder)
    for words in (["check"], ["standings"], ["gap", "--number", "26"]):
        code = main([words[0], str(folder), *words[1:], "--json"])
        out, err = capsys.readouterr()
        assert code in {0, 1, 2, 3}, err
        assert "Traceback" not in out + err
        if code in {2, 3}:
            assert (out, err.count("\n")) == ("", 1)
        else:
            found = json.loads(out)
            if words == ["check"]:
                assert found["problems"], "the fault is not said"
                assert all(item["file"] and item["message"] for item in found["problems"])
                assert code == int(any(item["level"] == "fault" for item in found["problems"]))
    assert every_byte(folder) == before
