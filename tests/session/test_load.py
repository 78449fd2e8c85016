"""A folder loaded: what reading and what checking find comes together, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.engine.scoring import plain, standings
from paddock.errors import FolderError, Problem
from paddock.model.event import Event
from paddock.session import load
from paddock.session.loading import check, standings_of
from tests.store.broken import BROKEN, CROSS_FILE
from tests.store.folders import every_byte, small_folder
from tests.witness import write_folder


def test_a_sound_folder_has_no_problems(tmp_path: Path) -> None:
    event = load(small_folder(tmp_path / "event"))
    assert event.problems == ()
    assert (event.name, len(event.entrants), len(event.times)) == ("event", 2, 3)
    assert event.checklists == {"inspection": ("wheel nuts", "helmet")}
    assert list(event.cars) == ["estate"]


@pytest.mark.parametrize("name", [*BROKEN, *CROSS_FILE])
def test_a_broken_folder_loads_or_says_why(tmp_path: Path, name: str) -> None:
    path = small_folder(tmp_path / "event")
    (BROKEN | CROSS_FILE)[name](path)
    before = every_byte(path)
    try:
        said = "".join(map(str, load(path).problems))
    except FolderError as error:
        said = str(error) if str(error).startswith(f"{path}: ") else ""
    assert said
    assert "\n" not in said
    assert every_byte(path) == before


@pytest.mark.parametrize("data", [None, b"\xff\xfen\x00", b"number,class,driver\n26,LIME,J\xe4n\n"])
def test_without_entrants_that_is_the_one_thing_said(tmp_path: Path, data: bytes | None) -> None:
    path = small_folder(tmp_path / "event")
    times = (path / "times.csv").read_text("utf-8") + "1,9,999,45.1,,,\n"
    (path / "times.csv").write_text(times, "utf-8")
    assert any("999 is not entered" in str(item) for item in check(path))
    (path / "entrants.csv").unlink() if data is None else (path / "entrants.csv").write_bytes(data)
    (said,) = check(path)
    assert said.file == "entrants.csv"


@pytest.mark.parametrize("seed", range(8))
def test_without_its_doubts_an_event_is_the_same(seed: int, tmp_path: Path) -> None:
    """Rows, cars and faults; only the warnings of what is in doubt are not looked for."""
    folder = write_folder(tmp_path / "event", seed)
    with (folder / "times.csv").open("a") as file:
        file.write("1,99,nobody,50.0,,,,,\n1,98,20,900.0,77,,,,\n")
    whole, light = load(folder), load(folder, warned=False)
    assert (light.tables, light.settings, light.cars) == (whole.tables, whole.settings, whole.cars)

    def faults(event: Event) -> list[Problem]:
        return [item for item in event.problems if item.level == "fault"]

    assert faults(light) == faults(whole) != []
    assert set(light.problems) < set(whole.problems)  # run 98, 77 cones


def test_few_runs_are_scored_from_their_rows_and_many_in_columns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Either way the same tables; where polars can't run the rows answer for many too."""
    event = load(small_folder(tmp_path / "event"))
    told: list[str] = []
    for module in (plain, standings):
        answers = module.standings
        monkeypatch.setattr(
            module, "standings", lambda *of, to=answers, name=module.__name__: (told.append(name), to(*of))[1]
        )
    few = standings_of(event)
    monkeypatch.setattr("paddock.session.loading.FEW_RUNS", 2)
    many = standings_of(event)
    monkeypatch.setattr("paddock.store.machine.why_not_polars", lambda: "an old processor")
    assert standings_of(event) == many == few
    assert [name.rpartition(".")[2] for name in told] == ["plain", "standings", "plain"]
