"""What grew with the square of its input, or worse, and made somebody wait: measured in steps, not in seconds."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from paddock.__main__ import main
from paddock.engine.merge.tables import columns_of
from paddock.folders.starting import open_car
from paddock.model.columns import spec_of
from paddock.pages.document import Piece
from paddock.render.pieces import folded
from paddock.store.disk import FileFault
from paddock.store.pages import page_grids
from paddock.store.plaintext import text_grids
from paddock.store.tomlread import loads
from tests.store.folders import EVENT, small_folder


def _steps(does: Callable[[], Any]) -> int:
    """Lines of Python and items handed on by its loops."""
    count = 0

    def met(_frame: FrameType, _event: str, _value: Any) -> Any:
        nonlocal count
        count += 1
        return met

    was = sys.gettrace()
    sys.settrace(met)
    try:
        does()
    finally:
        sys.settrace(was)
    return count


def _grows(make: Callable[[int], Callable[[], Any]], small: int) -> float:
    """How many times the steps of eight times the input are those of the input; 8: in step with it."""
    return _steps(make(small * 8)) / _steps(make(small))


def test_columns_without_end_are_told_apart_in_step() -> None:
    spec = spec_of("times.csv")
    assert _grows(lambda many: lambda: columns_of(spec, [f"c{at}" for at in range(many)]), 50) < 12


def test_a_word_without_end_is_broken_in_step() -> None:
    """Every line measured all that was left of it: a megabyte took minutes."""
    import time

    begun = time.process_time()
    rows = folded((Piece("x" * 1_000_000),), 80, 2)
    assert "".join(piece.text for row in rows for piece in row).count("x") == 1_000_000
    assert time.process_time() - begun < 3.0  # 250 s of processor before, 0.1 s now


def test_a_finding_quotes_no_megabyte(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    car = tmp_path / "odd.toml"
    car.write_text('mass_kg = "' + "x" * 300_000 + '"\n')
    assert main(["gears", str(car)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "can't be meant: a number is wanted" in said
    assert len(said) < 3000


def test_a_page_of_results_is_read_in_step() -> None:
    """Every row added up all rows before it: ``map(len, rows)``, seen here through rows that count."""
    page = "<table>" + "<tr><td>31</td><td>46.1</td></tr>" * 40_000 + "</table>"
    import time

    begun = time.process_time()
    grids = page_grids(page)
    assert len(grids[0].rows) == 40_000
    assert time.process_time() - begun < 8.0  # 17 s of processor before, 2 s now


def test_a_line_without_end_in_pasted_results_is_read_in_step() -> None:
    """At each of its letters all lines were cut anew."""
    import time

    rows = "".join(f"{at:>4} {at:>4}  46.{at:03d}  {'x' * (1 if at else 400_000)}\n" for at in range(8))
    begun = time.process_time()
    (grid,) = text_grids(rows)
    assert len(grid.rows) == 8
    assert time.process_time() - begun < 5.0  # over five minutes before, 0.2 s now


def test_five_hundred_holes_are_no_arm(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    holes = ", ".join(str(at) for at in range(101, 601))
    car = tmp_path / "odd.toml"
    bar = f"diameter_mm = 22\nlength_mm = 800\nmr = 0.6\nleft = 1\nright = 500\narms_mm = [{holes}]\n"
    car.write_text(f'name = "odd"\n[front]\ntrack_mm = 1500\n[front.bar]\n{bar}')
    assert open_car(car).car.front.bar is not None
    assert main(["bar", str(car)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "500 holes on one arm can't be: the first 24 are used" in said
    assert "hole 500 isn't there: the arm has 24" in said


def test_a_thousand_classes_are_no_event(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loads("event.toml", ("[[classes]]\n" * 900).encode())
    with pytest.raises(FileFault, match="more than 1000 tables"):
        loads("event.toml", ("[[classes]]\n" * 1001).encode())
    folder = small_folder(tmp_path / "event")
    (folder / "event.toml").write_text(EVENT + "[[classes]]\n" * 5000)
    assert main(["new", str(tmp_path / "next"), "--from", str(folder), "--days", "2027-01-01"]) == 3
    assert "more than 1000 tables" in capsys.readouterr().err


def test_lists_deeper_than_can_be_written_again_are_a_fault_of_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They were read, and a merge that was to write them again ended in a traceback."""
    deep = "[" * 101 + "]" * 101
    loads("checklist.toml", f"a = {deep[1:-1]}\n".encode())
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (a / "checklist.toml").write_text(f"a = {deep}\n")
    (b / "checklist.toml").write_text('after = ["salt off the car"]\n')
    assert main(["check", str(a)]) == 1
    assert "lists more than 100 deep" in capsys.readouterr().out
    assert main(["merge", str(a), str(b), "--into", str(tmp_path / "c")]) == 0


@pytest.mark.parametrize("value", ["nan", "[nan]", "{a = {b = [nan, inf]}}", "[[{a = -inf}]]", "9" * 400])
def test_a_merge_of_values_that_are_no_numbers_has_an_answer(tmp_path: Path, value: str) -> None:
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (a / "event.toml").write_text(f"odd = {value}\n" + EVENT)
    (b / "event.toml").write_text("odd = [1, {a = 2}]\n" + EVENT)
    assert main(["merge", str(a), str(b), "--into", str(tmp_path / "c")]) == 0
    assert main(["merge", str(tmp_path / "c"), str(a)]) == 0
