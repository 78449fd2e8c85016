"""A season of six events told in one page; folders that are broken, copied or never held stand in nobody's way."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.engine.field.season import season_changes
from paddock.engine.season.year import Year, parts_of
from paddock.folders.seasons import SeasonView, open_season
from paddock.pages.document import Document, Plot, Ranges
from paddock.pages.season import to_come_page
from paddock.pages.year import read_year, year_page
from paddock.render.lines import text
from tests.sixevents import write_season


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, SeasonView, Year, Document, str]:
    home = write_season(tmp_path_factory.mktemp("year"))
    view = open_season(home)
    year = read_year(view)
    page = year_page(view, year)
    return home, view, year, page, " ".join(text(page, 100).split())


Told = tuple[Path, SeasonView, Year, Document, str]


def test_the_change_is_pooled_over_its_events_with_its_doubt(told: Told) -> None:
    """0.4 s was put into the times; the range holds it and leaves nought out."""
    _, _, year, page, said = told
    (bar,) = (item for item in year.changes if item.setting == "rear_bar")
    assert [name for name, _ in bar.effects] == ["Mill", "Harbour", "Quarry"]
    assert bar.pooled is not None
    assert bar.pooled.low < -400 < bar.pooled.high
    assert bar.pooled.high < 0
    assert "estate: rear bar hole 2 to 1" in said
    assert "very likely helped" in said or "probably helped" in said
    assert any(isinstance(block, Ranges) for block in page.blocks)


def test_heat_by_surface_and_wear_by_course(told: Told) -> None:
    _, _, year, _, said = told
    assert "estate dry front +3.7 5 8 to 23" in said
    assert "estate wet front +1.5 1 14" in said
    fronts = {item.event: item.mm for item in year.wear if item.axle == "front"}
    assert fronts["Mill"] > 1.4 * fronts["Airfield"], "harsh 1.3 against 0.7"
    assert year.asked >= 12 * 5
    assert year.held / year.asked > 0.6
    assert f"{year.held} of {year.asked} depths read lay in the 80 % range" in said


def test_tyres_are_ordered_for_what_is_booked_with_its_own_runs(told: Told) -> None:
    """The autumn event asks 60 runs, not the twelve of an event like the others."""
    assert "not enough through Autumn on 2026-10-10: order by 2026-09-30" in told[4]


def test_a_part_is_due_by_its_makers_interval(told: Told) -> None:
    """Pads new at the third event: six runs there and at three more; the oil was never changed in 36 runs."""
    _, view, year, _, said = told
    assert [(item.part, item.since, item.due) for item in year.parts] == [
        ("front pads", 24, False),
        ("gearbox oil", 36, False),
    ]
    (late,) = parts_of(view.events, "estate", {"front pads": 20})
    assert (late.since, late.due, late.done) == (24, True, "Airfield")
    assert "front pads estate 24 25 1 Airfield" in said
    assert "! due" not in text(to_come_page(view, date(2026, 9, 6)), 100)
    early = replace(view, rules=view.rules.model_copy(update={"parts": {"estate": {"front pads": 20}}}))
    assert "! due: front pads of estate, 24 runs since" in text(to_come_page(early, date(2026, 9, 6)), 200)
    due = year_page(view, Year(6, parts=(late,)))
    assert "! due: front pads of estate, 24 runs since it was seen to at Airfield, its maker says 20" in " ".join(
        text(due, 200).split()
    )


def test_cones_and_mistakes_cost_what_they_cost(told: Told) -> None:
    _, _, year, _, said = told
    costs = {item.event: item for item in year.costs}
    assert {name for name, item in costs.items() if item.cones} == {"Mill", "Quarry"}
    assert all((item.lost_ms or 0) > 0 for name, item in costs.items() if item.cones)
    assert all(item.lost_ms == 0 for name, item in costs.items() if not item.cones)
    assert "1 run marked a mistake, 1.5 s lost in them as logged" in said
    assert "2 cones, 0 gates and 0 void runs at 6 events" in said


def test_two_editions_are_told_and_the_points_are_drawn(told: Told) -> None:
    _, _, _, page, said = told
    assert "two editions of the index were used (spring table: Quay, Mill, Airfield; autumn table: Harbour" in said
    plots = [block for block in page.blocks if isinstance(block, Plot)]
    assert [plot.up for plot in plots] == ["points", "psi", "mm a run"]
    assert "fees 40 crowns for 6 runs of mine: 6.67 crowns a run" in said


def test_a_booked_event_never_held_is_no_chance_to_win(told: Told) -> None:
    view = told[1]
    assert [item.name for item in view.left] == ["Autumn"]
    page = " ".join(text(to_come_page(view, date(2026, 9, 6)), 100).split())
    assert "Washed out: a win" not in page
    assert "Washed out 2026-06-20 never held 35 crowns" in page
    assert "Fees: 40 crowns for events run, 60 crowns to come, 35 crowns for one never held" in page


def test_one_id_at_two_events_is_two_changes(told: Told, tmp_path: Path) -> None:
    home = tmp_path / "year"
    shutil.copytree(told[0], home)
    for name, item in (("2-mill", "seat"), ("4-harbour", "mirror")):
        changes = home / name / "changes.csv"
        changes.write_text(changes.read_text("utf-8") + f"clash,1,2,26,test,,{item},a,b,\n", "utf-8")
    found = {item.label: len(item.effects) for item in season_changes([event for _, event in open_season(home).events])}
    assert (found["seat a to b"], found["mirror a to b"]) == (1, 1)


def test_a_broken_folder_a_copy_and_clocks_that_disagree_leave_the_rest(told: Told, tmp_path: Path) -> None:
    home = tmp_path / "year"
    shutil.copytree(told[0], home)
    (home / "2-mill" / "event.toml").write_bytes(b"\x00")
    shutil.copytree(home / "3-airfield", home / "3-airfield-copy")
    runs = home / "4-harbour" / "runs.csv"
    runs.write_text(runs.read_text("utf-8").replace(",09:00,", ",23:00,").replace(",14:00,", ",01:00,"), "utf-8")
    view = open_season(home)
    assert [problem.file for problem in view.problems] == ["2-mill", "3-airfield-copy"]
    year = read_year(view)
    assert year.events == 5
    assert [name for name, _ in next(item for item in year.changes if item.setting == "rear_bar").effects] == [
        "Harbour", "Quarry",
    ]  # fmt: skip
    assert next(item for item in year.parts if item.part == "gearbox oil").since == 30


def test_the_command_prints_it_and_writes_the_page(
    told: Told, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "year.html"
    assert main(["season", str(told[0]), "--year", "-o", str(page)]) == 0
    said = capsys.readouterr().out
    assert "─ faults and mistakes ─" in said
    html = page.read_text("utf-8")
    assert html.count("<svg") >= 4
    assert "The year" in html
    assert 'http-equiv="Content-Security-Policy"' in html
    assert "src=" not in html
    assert main(["season", str(told[0]), "--year", "--json"]) == 0
    year = json.loads(capsys.readouterr().out)["year"]
    (bar,) = (item for item in year["changes"] if item["key"] == "rear_bar")
    assert bar["interval80_ms"][0] < bar["extra_ms"] < bar["interval80_ms"][1] < 0
    assert [item["part"] for item in year["parts"]] == ["front pads", "gearbox oil"]
    assert {item["event"] for item in year["costs"] if item["cones"]} == {"Mill", "Quarry"}
    assert year["depths_in_range"] <= year["depths_asked"]
    assert main(["season", str(told[0]), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["year"] is None
    assert main(["season", str(told[0]), "-o", str(tmp_path / "year.txt")]) == 2
