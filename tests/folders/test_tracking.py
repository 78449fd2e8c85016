"""Tracks brought into a folder: kept as they came, split, replaced, undone; and each that can't be of the run."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from paddock.__main__ import main
from paddock.engine.where.answer import where
from paddock.engine.where.line import Plane
from paddock.engine.where.placed import PlacedRun, place
from paddock.model.event import Track
from paddock.model.rows import CourseRow
from paddock.session.loading import check, load
from paddock.session.opened import Session
from tests.receivers import PLANE, RECEIVERS, Run
from tests.track_files import MORNING, csv, degrees, gpx, nmea, sentence
from tests.where_event import COURSE, NUMBER, event, recorded, runs

DRIVEN = runs(3)
KEYS = ["format", "file", "fixes", "hz", "speed", "skipped", "length_s", "official_s", "written"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return event(tmp_path / "event", DRIVEN)


def brought(folder: Path, name: str, text: str | bytes, run: int, *more: str) -> int:
    path = folder.parent / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return main(["track", str(folder), str(path), "--number", NUMBER, "--day", "1", "--run", f"{run}", "--json", *more])


def state(folder: Path) -> dict[str, bytes]:
    """Every file of the event, the undo journal left out."""
    paths = (path for path in folder.rglob("*") if path.is_file() and ".paddock" not in path.parts)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


@pytest.mark.parametrize(("kind", "make"), [("gpx", gpx), ("nmea", nmea), ("csv", csv)])
def test_a_track_is_kept_and_split(folder: Path, kind: str, make: Any, capsys: pytest.CaptureFixture[str]) -> None:
    text = make(recorded(DRIVEN[0]))
    assert brought(folder, f"my run.{kind}", text, 1) == 0
    said = json.loads(capsys.readouterr().out)
    assert list(said)[:9] == KEYS
    assert said["file"] == f"tracks/d1r1-7.{kind}"
    assert (folder / said["file"]).read_bytes() == text.encode()
    assert (said["hz"], said["speed"], said["skipped"], said["written"]) == (pytest.approx(10, abs=0.01), True, 0, 8)
    assert said["official_s"] == round(DRIVEN[0].passes_s[-1], 3)
    rows = [line.split(",") for line in (folder / "splits.csv").read_text().splitlines()[1:]]
    times = [float(row[4]) for row in rows]
    assert times == pytest.approx(DRIVEN[0].passes_s[1:], abs=0.25)  # the receiver's own offset; it is no difference
    assert times[-1] == said["official_s"]
    assert {row[6] for row in rows} == {"track"}
    assert not [problem for problem in check(folder) if problem.level == "fault"]


def test_differences_are_true_within_their_range_and_sum_to_the_official_one(folder: Path) -> None:
    for at, run in enumerate(DRIVEN, 1):
        assert brought(folder, f"{at}.gpx", gpx(recorded(run, seed=at)), at) == 0
    found = where(load(folder), NUMBER, 1, 2, "1")
    true = np.diff(np.subtract(DRIVEN[1].passes_s, DRIVEN[0].passes_s))
    assert [item.delta_ms / 1000 for item in found.elements] == pytest.approx(true, abs=0.09)
    assert all(
        abs(item.delta_ms / 1000 - t) < 2 * item.error_ms / 1000 for item, t in zip(found.elements, true, strict=True)
    )
    assert found.sum_ms == found.official_delta_ms == sum(item.delta_ms for item in found.elements)
    assert all(item.error_ms >= 50 for item in found.elements)


def test_the_same_run_again_replaces_its_track_and_undo_brings_the_old_one_back(folder: Path) -> None:
    before = state(folder)
    assert brought(folder, "a.gpx", gpx(recorded(DRIVEN[0], seed=1)), 1) == 0
    first = state(folder)
    assert brought(folder, "b.csv", csv(recorded(DRIVEN[0], RECEIVERS[3], seed=2)), 1) == 0
    second = state(folder)
    assert [name for name in second if name.startswith("tracks/")] == ["tracks/d1r1-7.csv"]
    assert second["splits.csv"] != first["splits.csv"]
    session = Session.open(folder)
    try:
        assert session.undo() == "track of run 1 of 7, day 1"
        assert state(folder) == first
        session.undo()
        assert state(folder) == before
        session.redo()
        session.redo()
        assert state(folder) == second
    finally:
        session.close()


def test_marks_of_video_stay_where_a_track_says_nothing(folder: Path) -> None:
    header = "day,run,number,element,at_s,error_s,source\n"
    (folder / "splits.csv").write_text(header + "1,1,7,3,12.90,,video\n1,2,7,3,13.10,,video\n")
    assert brought(folder, "a.gpx", gpx(recorded(DRIVEN[0])), 1) == 0
    text = (folder / "splits.csv").read_text()
    assert "1,2,7,3,13.10,,video" in text
    assert "1,1,7,3,12.90,,video" not in text


@pytest.mark.parametrize(
    ("hour", "run", "said"),
    [
        (9, 1, ""), (9, 2, "is it run 1's?"), (10, 1, "is it run 2's?"),
        (7, 1, ""),  # UTC, the log two hours ahead of it
        (6.75, 1, "the track begins 06:55 by its own clock, run 1 was logged 09:05: is it of another run?"),
    ],
)  # fmt: skip
def test_the_tracks_clock_is_held_against_the_log(
    folder: Path, hour: float, run: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = gpx(recorded(DRIVEN[0]), MORNING + (hour - 7) * 3600)
    path = folder / "times.csv"
    path.write_text(path.read_text().replace(f"{DRIVEN[1].passes_s[-1]:.3f}", f"{DRIVEN[0].passes_s[-1]:.3f}"))
    assert brought(folder, "a.gpx", text, run) == 0
    found = [doubt for doubt in json.loads(capsys.readouterr().out)["doubts"] if "by its own clock" in doubt]
    assert bool(found) is bool(said)
    assert not found or said in found[0]


def test_what_a_track_replaces_is_said(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "splits.csv").write_text("day,run,number,element,at_s,error_s,source\n1,1,7,2,9.1,,video\n")
    said = []
    for name, seed in (("a.gpx", 1), ("a.gpx", 1), ("b.gpx", 2), ("c.csv", 3)):
        assert brought(folder, name, (csv if name == "c.csv" else gpx)(recorded(DRIVEN[0], seed=seed)), 1) == 0
        said.append(json.loads(capsys.readouterr().out)["replaced"])
    earlier = ["the earlier tracks/d1r1-7.gpx"]
    assert said == [["1 mark by video"], [], earlier, earlier]


def test_a_track_with_a_gap_has_the_marks_outside_of_it(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same run with and without six seconds of it; the day's line is another run's."""
    assert brought(folder, "line.gpx", gpx(recorded(DRIVEN[0], seed=1)), 1) == 0

    def marks() -> dict[int, float]:
        rows = [line.split(",") for line in (folder / "splits.csv").read_text().splitlines()[1:]]
        return {int(row[3]): float(row[4]) for row in rows if row[1] == "2"}

    assert brought(folder, "whole.gpx", gpx(recorded(DRIVEN[1])), 2) == 0
    whole = marks()
    capsys.readouterr()
    assert brought(folder, "gap.gpx", gpx(without(DRIVEN[1], 150, 210)), 2) == 0
    said, began = json.loads(capsys.readouterr().out)["doubts"], float(recorded(DRIVEN[1])["t_s"][149])
    inside = [at for at, passed in enumerate(DRIVEN[1].passes_s) if began - 0.1 < passed < began + 6.2]
    assert inside
    assert sorted(marks()) == [at for at in whole if at not in inside]
    assert [marks()[at] for at in marks()] == pytest.approx([whole[at] for at in marks()], abs=0.03)
    assert any(text.startswith("a gap of 6.1 s, ") and "type it off a video" in text for text in said)
    assert f"no pass was found at element {', '.join(map(str, inside))}" in said


@pytest.mark.parametrize(
    ("begin", "end", "why"),
    [(20, 60, "it holds the start or the finish"), (120, 250, "too little is left for splits")],
)
def test_a_gap_that_leaves_nothing_to_tell_is_refused(
    folder: Path, begin: int, end: int, why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert brought(folder, "line.gpx", gpx(recorded(DRIVEN[0], seed=1)), 1) == 0
    before = state(folder)
    assert brought(folder, "gap.gpx", gpx(without(DRIVEN[1], begin, end)), 2) == 2
    said = capsys.readouterr().err
    assert "has a gap of" in said
    assert why in said
    assert state(folder) == before


def reversed_run(run: Run) -> dict[str, Any]:
    found = recorded(run)
    return {name: (values if name == "t_s" else values[::-1]) for name, values in found.items()}


def changed(run: Run, **columns: Any) -> dict[str, Any]:
    found = recorded(run)
    return found | {name: change(found[name].copy()) for name, change in columns.items()}


def jumped(values: Any) -> Any:
    values[200:] += 400.0
    return values


def without(run: Run, begin: int, end: int) -> dict[str, Any]:
    return {name: np.delete(values, slice(begin, end)) for name, values in recorded(run).items()}


def of_another_course() -> dict[str, Any]:
    """From this one's start to its finish in the right time, by another way."""
    run = recorded(DRIVEN[0])
    inside = (run["t_s"] > 3) & (run["t_s"] < 40)
    bow = np.where(inside, 90 * np.sin(np.pi * (run["t_s"] - 3) / 37), 0.0)
    return run | {"y_m": np.interp(run["t_s"], run["t_s"][~inside], run["y_m"][~inside]) + bow,
                  "x_m": np.interp(run["t_s"], run["t_s"][~inside], run["x_m"][~inside])}  # fmt: skip


WHOLE = gpx(recorded(DRIVEN[0]))
TWO = WHOLE.replace("</gpx>", WHOLE[WHOLE.index("<trk>") :])
BAD = {
    "truncated": (WHOLE[: len(WHOLE) // 2], "breaks off"),
    "two tracks": (TWO, "holds 2 tracks"),
    "another day": (gpx(recorded(DRIVEN[0]), MORNING - 7 * 86400), "is it of another day"),
    "a pole": (csv({**recorded(DRIVEN[0])}).replace("46.5", "89.5"), "pole"),
    "another place": (gpx(recorded(DRIVEN[0]), plane=Plane(47.0, 8.9)), "another course"),
    "gap": (gpx(without(DRIVEN[0], 150, 210)), "gap of 6.1 s, 10.8 s into the run: it can't be the day's line; bring in a whole track first"),
    "jump": (gpx(changed(DRIVEN[0], x_m=jumped)), "jumps"),
    "standing": (gpx(changed(DRIVEN[0], x_m=lambda v: v * 0, y_m=lambda v: v * 0)), "stands still"),
    "reversed": (gpx(reversed_run(DRIVEN[0])), "other way round"),
    "another way": (gpx(of_another_course()), "another course"),
    "too short": (gpx(without(DRIVEN[0], 100, 500)), "not all there"),
    "no times": (WHOLE.replace("time>", "tim>"), "no point of it has a time"),
    "entity": (WHOLE.replace("<gpx", '<!DOCTYPE gpx [<!ENTITY a "b">]>\n<gpx', 1), "document type"),
    "outside address": (WHOLE.replace("<gpx", '<!DOCTYPE gpx SYSTEM "http://example.org/a.dtd">\n<gpx', 1), "document type"),
    "no gpx": ("<kml><trk/></kml>", "no GPX"),
    "empty": ("", "empty"),
    "zip": (b"PK\x03\x04....", "zip"),
    "binary": (b"\x00\x01\x02\x03", "no text"),
    "words": ("dear diary\nit rained\n", "no track that can be read"),
    "no clock": ("place,lat,lon\n1,46.5,8.9\n", "has no column time_s"),
    "unreadable clock": ("time,lat,lon\nnoon,46.5,8.9\n", "can't be read"),
    "bad sums alone": (sentence("GNRMC,071000,A,4630.0,N,00854.0,E,1,,130626,,,A").replace("*", "*0"), "sentences"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_track_that_cannot_be_of_the_run_is_told_and_nothing_is_written(
    folder: Path, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text, why = BAD[case]
    if case in ("another way", "reversed"):  # the day has a line: only against it these can be told
        brought(folder, "line.gpx", gpx(recorded(DRIVEN[1])), 2)
    before = state(folder)
    capsys.readouterr()
    assert brought(folder, f"{case}.gpx", text, 1) == 2
    said = capsys.readouterr().err
    assert why in said
    assert said.count("\n") == 1
    assert state(folder) == before


@pytest.mark.parametrize("zone_h", [-12, -5, 0, 9, 13.75])
def test_a_clock_of_any_zone_is_taken(folder: Path, zone_h: float) -> None:
    assert brought(folder, "zone.gpx", gpx(recorded(DRIVEN[0]), MORNING + 3600 * zone_h), 1) == 0


def placed(plane: Plane, fixes: list[tuple[float, float, float, float]]) -> PlacedRun:
    """The first run's fixes (t, lat, lon, speed) found again on the course as it lies in ``plane``."""
    frame = pl.DataFrame(fixes, schema=["t_s", "lat", "lon", "speed_mps"], orient="row")
    course = [CourseRow(day=1, element=at, lat=plane.degrees(x, y)[0], lon=plane.degrees(x, y)[1])
              for at, x, y in COURSE.points()]  # fmt: skip
    return place(Track("t", frame, False, 0), course, DRIVEN[0].passes_s[-1])


def test_the_antimeridian_is_no_edge() -> None:
    plane = Plane(-16.8, 179.9985)
    fixes = degrees(recorded(DRIVEN[0]), plane)
    assert {lon > 0 for _, _, lon, _ in fixes} == {True, False}
    found = placed(plane, fixes)
    assert [mark.at_s for mark in found.marks] == pytest.approx(DRIVEN[0].passes_s[1:-1], abs=0.25)


def test_a_jump_before_or_after_the_run_is_no_part_of_the_days_line() -> None:
    """It was: a line of 5,000 km took 0.7 GB."""
    whole = degrees(recorded(DRIVEN[0]))
    began = next(at for at, fix in enumerate(whole) if fix[0] >= 0.0)
    ended = next(at for at, fix in enumerate(whole) if fix[0] > DRIVEN[0].passes_s[-1])
    sound = placed(PLANE, whole)
    for away in (slice(0, began - 4), slice(ended + 4, None)):
        moved = [fix if fix not in whole[away] else (fix[0], fix[1] + 1.0, *fix[2:]) for fix in whole]
        assert moved != whole
        found = placed(PLANE, moved)
        assert found.line.length_m < sound.line.length_m + 1.0
        assert [mark.at_s for mark in found.marks] == pytest.approx([mark.at_s for mark in sound.marks], abs=0.02)


def test_a_run_without_a_time_or_a_number_that_is_not_entered(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert brought(folder, "a.gpx", WHOLE, 9) == 2
    assert "has no time yet" in capsys.readouterr().err
    assert main(["track", str(folder), "nowhere.gpx", "--number", NUMBER, "--day", "1", "--run", "1"]) == 2
    assert "is not there" in capsys.readouterr().err
    assert main(["track", str(folder), "a", "--number", "999", "--day", "1", "--run", "1"]) == 2


def test_without_a_course_the_track_is_kept_and_the_answer_says_what_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bare = event(tmp_path / "event", DRIVEN, places=False)
    assert brought(bare, "a.gpx", WHOLE, 1) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["written"] == 0
    assert said["length_s"] is None
    assert (bare / "tracks" / "d1r1-7.gpx").exists()
    assert not (bare / "splits.csv").exists()


def test_a_phone_has_wider_ranges_and_is_known_by_its_rate_or_told(folder: Path) -> None:
    for at, run in enumerate(DRIVEN[:2], 1):
        assert brought(folder, "p.gpx", gpx(recorded(run, RECEIVERS[4], seed=at)), at) == 0
    assert min(item.error_ms for item in where(load(folder), NUMBER, 1, 2, "1").elements) >= 150


def test_a_bad_checksum_is_counted_and_skipped(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = nmea(recorded(DRIVEN[0])).splitlines(keepends=True)
    lines[300] = lines[300].replace(",A,4", ",A,5", 1)
    assert brought(folder, "a.nmea", "".join(lines), 1) == 0
    assert json.loads(capsys.readouterr().out)["skipped"] == 1
