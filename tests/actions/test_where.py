"""Marks typed off a video and lines about the course: what they do, and what is asked or refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.actions.where import AskedError, course_edit, log_marks
from paddock.engine.where.answer import where
from paddock.engine.where.splits import course_of, timed_runs
from paddock.entry.said import Wrong
from paddock.entry.splits import FINISH, CourseLine, MarksLine, read_course, read_marks
from paddock.errors import UsageError
from paddock.folders.tracking import bring_track
from paddock.session.opened import Session
from tests.small import small_event
from tests.track_files import gpx
from tests.where_event import NUMBER, event, recorded, runs


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("3 s 12.40 1 15.10 2 19.86 f 58.47", (3, ((0, 12_400), (1, 15_100), (2, 19_860), (FINISH, 58_470)))),
        ("s12,40 1 15,1 f 1:02.5", (None, ((0, 12_400), (1, 15_100), (FINISH, 62_500)))),
        ("r2: S 5 F 51 1 12", (2, ((0, 5_000), (1, 12_000), (FINISH, 51_000)))),
        ("1 15.10 2 19.86 f 58.47", (None, ((1, 15_100), (2, 19_860), (FINISH, 58_470)))),
    ],
)
def test_a_line_of_marks(text: str, meant: tuple[int | None, tuple[tuple[int, int], ...]]) -> None:
    assert read_marks(text) == MarksLine(*meant)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("3 s 12.40 1", "its time is missing"),
        ("3 s 12.40", "a run's marks on one line"),
        ("x s 12.40 1 15.10", "begin with the run"),
        ("3 s 12.40 1 15.10 1 16.00", "element 1 is there twice"),
        ("3 s 12.40 2 15.10 1 16.00", "element 2 comes before element 1"),
        ("3 1 12.40 2 15.10", "must be there"),
        ("3 s 12.40 x 15.10", "is no mark"),
        ("3 s 12.40 1 quick", "is no time of a player"),
        ("3 s 12.40 1 2:75", "is no time of a player"),
    ],
)
def test_a_line_of_marks_that_cannot_be_read(text: str, why: str) -> None:
    found = read_marks(text)
    assert isinstance(found, Wrong)
    assert why in found.sentence


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("2 slalom at the wall", CourseLine(2, "slalom", "at the wall")),
        ("2 Sweeper", CourseLine(2, "sweeper", None)),
        ("2 the wall", CourseLine(2, None, "the wall")),
        ("2 at 15.10", CourseLine(2, at_ms=15_100)),
        ("2 out", CourseLine(2, out=True)),
        ("as 1", CourseLine(as_day=1)),
    ],
)
def test_a_line_about_the_course(text: str, meant: CourseLine) -> None:
    assert read_course(text) == meant
    assert isinstance(read_course("the wall"), Wrong)
    assert isinstance(read_course("2"), Wrong)
    assert isinstance(read_course("5 at 33.96 at 42.9"), Wrong)


def marks(text: str) -> MarksLine:
    found = read_marks(text)
    assert isinstance(found, MarksLine)
    return found


def course(text: str) -> CourseLine:
    found = read_course(text)
    assert isinstance(found, CourseLine)
    return found


def test_marks_begin_the_course_and_the_players_offset_cancels(tmp_path: Path) -> None:
    """Run 3 of 7 took 48.032, run 4 46.905."""
    session = Session.open(small_event(tmp_path / "event"))
    try:
        session.apply(log_marks(session.event, "7", 1, 3, marks("s 10.00 1 22.00 2 35.00 f 58.032")))
        session.apply(log_marks(session.event, "7", 1, 4, marks("s 110 1 122.1 2 134.8 f 156.905")))
        assert [row.element for row in course_of(session.event, 1)] == [1, 2, 3]
        found = where(session.event, "7", 1, 4, "3")
        assert [item.delta_ms for item in found.elements] == [100, -300, -927]
        assert found.sum_ms == 46_905 - 48_032
        session.undo()
        session.undo()
        assert not (tmp_path / "event" / "splits.csv").exists()
        assert not (tmp_path / "event" / "course.csv").exists()
    finally:
        session.close()


def test_a_total_off_by_more_than_marking_is_asked_about_and_one_of_another_run_refused(tmp_path: Path) -> None:
    session = Session.open(small_event(tmp_path / "event"))
    try:
        line = marks("s 10 1 22 f 58.232")
        with pytest.raises(AskedError, match=r"s to f is 48\.232, the official time 48\.032"):
            log_marks(session.event, "7", 1, 3, line)
        assert log_marks(session.event, "7", 1, 3, line, meant=True).edits
        for text, why in (("s 10 1 22 f 61", "is it run 3"), ("s 10 1 60", "outside the run")):
            with pytest.raises(UsageError, match=why):
                log_marks(session.event, "7", 1, 3, marks(text))
        with pytest.raises(UsageError, match="has no time yet"):
            log_marks(session.event, "7", 2, 5, marks("s 10 1 22"))
        session.apply(log_marks(session.event, "7", 1, 3, marks("s 10 1 22")))
        with pytest.raises(UsageError, match="no element 5"):
            log_marks(session.event, "7", 1, 4, marks("s 10 5 22"))
    finally:
        session.close()


def test_the_course_is_named_taken_over_and_taken_back(tmp_path: Path) -> None:
    session = Session.open(small_event(tmp_path / "event"))
    try:
        for text in ("1 slalom the wall", "2 finish"):
            session.apply(course_edit(session.event, session.path, 1, course(text)))
        session.apply(course_edit(session.event, session.path, 2, course("as 1")))
        assert [(row.element, row.kind, row.name) for row in course_of(session.event, 2)] == [
            (1, "slalom", "the wall"), (2, "finish", None),
        ]  # fmt: skip
        session.apply(log_marks(session.event, "7", 1, 3, marks("s 10 1 22")))
        session.apply(course_edit(session.event, session.path, 1, course("1 out")))
        assert [row.element for row in course_of(session.event, 1)] == [2]
        assert "1,3,7,1," not in (tmp_path / "event" / "splits.csv").read_text()
        for text, why in (("7 out", "no element 7"), ("as 2", "has a course already"), ("2 at 10", "no track")):
            with pytest.raises(UsageError, match=why):
                course_edit(session.event, session.path, 1, course(text))
    finally:
        session.close()


def test_marks_put_on_the_line_of_a_track_split_all_tracks(tmp_path: Path) -> None:
    """Without a place in course.csv: the marks of one run's video put the course on its line."""
    driven = runs(3)
    folder = event(tmp_path / "event", driven, places=False)
    session = Session.open(folder)
    try:
        for at, run in enumerate(driven, 1):
            path = tmp_path / f"{at}.gpx"
            path.write_text(gpx(recorded(run, seed=at)))
            bring_track(session, path, (1, at, NUMBER))
        assert timed_runs(session.event, 1) == ()
        for element in (2, 4, 6):
            at_s = driven[0].passes_s[element]
            edit = course_edit(session.event, folder, 1, course(f"{element} at {at_s:.3f}"), NUMBER)
            session.apply(edit)
        found = where(session.event, NUMBER, 1, 2, "1")
        true = [
            sum(driven[1].passes_s[e : e + 1]) - sum(driven[0].passes_s[e : e + 1]) for e in (2, 4, 6, 8)
        ]  # fmt: skip
        deltas = [sum(item.delta_ms for item in found.elements[: at + 1]) / 1000 for at in range(4)]
        assert deltas == pytest.approx(true, abs=0.1)
        assert found.sum_ms == found.official_delta_ms
    finally:
        session.close()


def test_a_start_after_a_run_up_takes_the_finish_with_it(tmp_path: Path) -> None:
    driven = runs(1)
    folder = event(tmp_path / "event", driven, places=False)
    path = tmp_path / "1.gpx"
    path.write_text(gpx(recorded(driven[0])))
    session = Session.open(folder)

    def put(text: str) -> dict[int, tuple[float, float]]:
        session.apply(course_edit(session.event, folder, 1, course(text), NUMBER))
        rows = course_of(session.event, 1)
        return {row.element: (row.lat, row.lon) for row in rows if row.lat is not None and row.lon is not None}

    try:
        bring_track(session, path, (1, 1, NUMBER))
        before = put("2 at 15")
        with pytest.raises(UsageError, match=r"ends .* s after its launch: the finish would be at"):
            put("0 at 30")
        moved = put("0 at 1.5")
        assert moved[2] == before[2]
        assert moved[0] != before[0]
        assert moved[8] != before[8]
        again = put("2 at 13.5")
        assert again[2] == pytest.approx(before[2], abs=1e-5)  # a metre
        assert again[0] == moved[0]
    finally:
        session.close()
