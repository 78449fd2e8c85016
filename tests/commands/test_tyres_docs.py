"""What docs/methods/tyres.md and work.md say about the example is what the program says, and the sums are right."""

from __future__ import annotations

import math
import re
import shutil
from argparse import ArgumentParser
from datetime import date
from pathlib import Path

import pytest

from paddock.commands import tyres
from paddock.commands.carry import carry
from paddock.folders.reading import load
from paddock.model.rows import NoteRow, TreadRow, WorkRow

ROOT = Path(__file__).parents[2]
TYRES = (ROOT / "docs/methods/tyres.md").read_text(encoding="utf-8")
WORK = (ROOT / "docs/methods/work.md").read_text(encoding="utf-8")
SEASON = """[[events]]
name = "Harbour"
days = [2026-06-06]
[[events]]
name = "Hill"
days = [2026-06-27, 2026-06-28]
"""


@pytest.fixture
def example(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "example_event", tmp_path / "spring")
    (tmp_path / "season.toml").write_text(SEASON, encoding="utf-8")
    return tmp_path / "spring"


def test_the_tyre_lines_and_the_day_to_order(example: Path) -> None:
    parser = ArgumentParser()
    tyres.configure(parser)
    text = tyres.run(parser.parse_args([str(example)])).text()
    lines = [line for block in re.findall(r"```\n(.*?)```", TYRES, re.DOTALL) for line in block.splitlines()]
    assert len(lines) == 2
    for line in lines:
        assert line in text.splitlines()
    sentence = re.search(r"`(H1 and H2: .*?)`", TYRES, re.DOTALL)
    assert sentence is not None
    assert " ".join(sentence[1].split()) in " ".join(text.split())


def test_the_sums_of_the_tyres() -> None:
    s, tau = math.sqrt(2) * 0.1 / 5, 0.25 * 0.07
    pull = s**2 / (s**2 + tau**2)
    rate = pull * 0.07 + (1 - pull) * 0.08
    left = 1.0 / rate - 4
    for figure in (
        f"{s:.5f}",
        f"{pull:.4f}",
        f"{rate:.5f}",
        f"{left:.2f}",
        f"{168 / (73 + left):.2f}",
        f"{left - 5:.2f}",
    ):
        assert figure in TYRES
    assert (date(2026, 5, 10) - date(2025, 4, 6)).days == 399
    assert "399 days" in TYRES
    assert f"{3.0 - 4 * rate:.2f} mm" in WORK


def test_the_worklist_carried_into_the_next_event(example: Path) -> None:
    folder = example.parent / "harbour"
    carry(example, folder, "Harbour", [date(2026, 6, 6)])
    event = load(folder)
    table = re.findall(r"^\| (.*?) \| (next run|before run 1|2026-05-28) \| (\d*) ?\|$", WORK, re.MULTILINE)
    assert len(table) == 6
    rows = [row for row in event.of(WorkRow) if not (row.item or "").startswith("read the tread")]
    made = [(row.item, row.due, f"{row.torque_nm:.0f}" if row.torque_nm else "") for row in rows]
    assert made == table
    assert next(row.outer_mm for row in event.of(TreadRow) if row.tyre == "H2") == pytest.approx(2.71)
    cold = next(row.text or "" for row in event.of(NoteRow) if (row.text or "").startswith("hatch: at"))
    assert "at 15 °C front 31.5, rear 42.1" in cold
    assert "= 31.5 psi" in WORK
