"""The benchmark's own parts at a size a test can afford: they run, and what is compared is the same."""

from __future__ import annotations

import platform

import pytest

from paddock.engine.scoring.standings import standings
from paddock.engine.scoring.tables import Standings
from tests.bench import saving
from tests.bench.bench_standings import answered, event_of, field, same
from tests.bench.comparing import compared
from tests.bench.report import Figure, drawn, machine, table


@pytest.mark.parametrize("driven", [False, True])
def test_every_engine_gives_the_same_columns(driven: bool) -> None:
    """Both of ours among them, in both orders of rows."""
    assert same(*field(400, driven))


def test_the_program_answers_from_rows_or_in_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    few = answered(*field(40))()
    assert isinstance(few, Standings)
    assert few == standings(event_of(*field(40)))
    monkeypatch.setattr("tests.bench.bench_standings.FEW_RUNS", 39)
    assert isinstance(answered(*field(40))(), list)


def test_driven_rows_are_the_same_runs_in_another_order() -> None:
    by_entrant, driven = field(200)[0], field(200, driven=True)[0]
    assert not by_entrant.equals(driven)
    assert by_entrant.sort("e", "day", "run").equals(driven.sort("e", "day", "run"))


def test_a_difference_between_engines_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    times, entrants, of = field(200)
    monkeypatch.setattr("tests.bench.peers._SQL", "select 'not it'")
    assert not same(times, entrants, of)


def test_saving_and_comparing_give_figures() -> None:
    found = [*saving.saves(8, 4, 1), *compared(300, True, 1)]
    assert all(figure.value > 0 for figure in found)
    assert {figure.peer for figure in found} >= {"raw steps", "DuckDB", "pandas", "SQLite", "plain Python"}


def test_a_bar_is_held_against_the_value_the_ratio_or_the_excess() -> None:
    assert Figure("plain", 5.0, bar=5.0).met
    assert not Figure("ratio", 5.0, beside=2.0, bar=2.0, of="ratio").met
    assert Figure("beyond", 5.0, beside=2.0, bar=3.0, of="beyond").met
    assert Figure("told", 5.0).met is None


def test_the_table_has_a_row_a_figure_and_the_machine_no_name() -> None:
    lines = table([Figure("one", 1.234, beside=1.0, peer="floor", bar=2.0, of="ratio"), Figure("two", 123.4)])
    assert [line.split("|")[1].strip() for line in lines.splitlines()[2:]] == ["one", "two"]
    assert "| 1.23 ms" in lines
    assert "yes" in lines
    assert platform.node() not in machine().replace(",", "").split()


def test_work_in_step_with_the_runs_is_drawn_as_a_stair_of_twelve() -> None:
    found = drawn(
        [Figure("a start", 3.0), *(Figure(f"{runs} runs: reading", runs / 100) for runs in (300, 3_000, 30_000))]
    )
    head, *lines = found.splitlines()
    assert head == "reading"
    assert [line.count("#") for line in lines] == [18, 30, 42]
    assert lines[0].split() == ["300", "#" * 18, "3.00", "ms"]


def test_growth_has_each_work_at_each_size() -> None:
    found = [*saving.growth((100, 200), 1)]
    assert [figure.what for figure in found] == [
        f"{runs} runs: {work}"
        for work in ("folder read, checked", "all tables", "run accepted, tables fresh")
        for runs in (100, 200)
    ]
    assert [figure.beside for figure in found[1::2]] == [figure.value for figure in found[::2]]
