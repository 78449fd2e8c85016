"""Marks typed off a video, and the course they are of: edits built in one place."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from paddock.actions.runs import one_row
from paddock.engine.where.placed import PlacedRun, place, position, position_in
from paddock.engine.where.splits import course_of, official_ms
from paddock.entry.splits import FINISH, CourseLine, MarksLine
from paddock.errors import UsageError
from paddock.folders.tracking import (
    RunKey,
    line_run,
    on_line,
    placed_run,
    row_edits,
    split_edits,
    track_of,
    track_of_day,
    tracked,
)
from paddock.model.edit import AddRow, Batch, RemoveRow, Single
from paddock.model.event import Event
from paddock.model.rows import CourseRow, SplitRow
from paddock.words import seconds

MARKING_MS = 100
"""Marks of start and finish off by more than this from the official time are no marking error: each has an sd of about
20 ms (published for video marked again)."""
MOST_OFF_MS = 1500
"""Off by more, they are of another run."""


class AskedError(Exception):
    """The line can be taken, once somebody says that it is meant; ``str`` asks."""


def log_marks(event: Event, number: str, day: int, run: int, line: MarksLine, meant: bool = False) -> Batch:
    """A run's marks as splits. The player's offset cancels; the total is brought to the official time.

    A course not written yet is begun with the marks that are there. Raises UsageError where the marks can't be of the
    run, AskedError where start and finish are off by more than marking is and ``meant`` is False.
    """
    official = official_ms(event, day, run, number)
    if official is None:
        raise UsageError(
            f"run {run} of {number} on day {day} has no time yet: enter it first, the marks are held to it"
        )
    marks = dict(line.marks)
    begun, ended = marks.pop(0, None), marks.pop(FINISH, None)
    course = course_of(event, day)
    numbers = [row.element for row in course if row.element]
    strange = [mark for mark in marks if mark not in (numbers[:-1] if course else marks)]
    if strange:
        raise UsageError(f"the course of day {day} has no element {strange[0]} before its finish: put it in first")
    if begun is not None and ended is not None:
        off = ended - begun - official
        if abs(off) > MOST_OFF_MS:
            raise UsageError(
                f"s to f is {seconds(ended - begun)}, the official time {seconds(official)}: is it run {run}?"
            )
        if abs(off) > MARKING_MS and not meant:
            raise AskedError(f"s to f is {seconds(ended - begun)}, the official time {seconds(official)}: Enter again "
                             "scales the marks to it, or mend the line")  # fmt: skip
        scale = official / (ended - begun)
    else:
        scale = 1.0
        begun = begun if begun is not None else (ended or 0) - official
    at = {mark: round((when - begun) * scale) for mark, when in marks.items()}
    beyond = next((mark for mark, when in at.items() if not 0 < when < official), None)
    if beyond is not None:
        raise UsageError(f"element {beyond} would be at {seconds(at[beyond])}, outside the run of {seconds(official)}")
    cells: dict[int, dict[str, object]] = {
        mark: {"at_ms": when, "error_ms": None, "source": "video"} for mark, when in at.items()
    }
    edits: list[Single] = [] if course else _begun(day, sorted(marks))
    edits += row_edits(event, (day, run, number), cells, "video")
    return Batch(f"marks of run {run}: {len(at)} splits", tuple(edits))


def _begun(day: int, marks: Sequence[int]) -> list[Single]:
    """A course of the elements that were marked, the finish after them."""
    last = max(marks, default=0) + 1
    rows: list[Single] = [AddRow(CourseRow.FILE, {"day": day, "element": mark}) for mark in range(1, last)]
    return [*rows, AddRow(CourseRow.FILE, {"day": day, "element": last, "name": "finish", "kind": "finish"})]


def course_edit(event: Event, folder: Path, day: int, line: CourseLine, number: str = "") -> Batch:
    """What a line does to the day's course; the splits of its tracks are worked out again where a mark moved.

    Raises UsageError with the mend where it can't be done.
    """
    course = course_of(event, day)
    if line.as_day is not None:
        return _as_day(event, day, line.as_day, course)
    there = next((row for row in course if row.element == line.element), None)
    if line.out:
        return _out(event, day, line.element, there)
    if line.at_ms is not None:
        return _put(event, folder, day, line, course, number)
    cells = {name: value for name, value in (("kind", line.kind), ("name", line.name)) if value}
    row = one_row(event, CourseRow, {"day": day, "element": line.element}, cells)
    return Batch(f"element {line.element}: {' '.join(str(value) for value in cells.values())}", (row,))


def _as_day(event: Event, day: int, other: int, course: Sequence[CourseRow]) -> Batch:
    rows = course_of(event, other)
    if not rows or other == day:
        raise UsageError(f"day {other} has no course to take over")
    if course:
        raise UsageError(f"day {day} has a course already: take its elements out first")
    names = ("element", "name", "kind", "lat", "lon")
    cells = ({"day": day} | {name: getattr(row, name) for name in names} for row in rows)
    edits = tuple(AddRow(CourseRow.FILE, found) for found in cells)
    return Batch(f"course of day {day} as of day {other}", edits)


def _out(event: Event, day: int, element: int, row: CourseRow | None) -> Batch:
    if row is None:
        raise UsageError(f"there is no element {element}")
    gone = [RemoveRow(SplitRow.FILE, split.key) for split in event.of(SplitRow)
            if (split.day, split.element) == (day, element)]  # fmt: skip
    return Batch(f"element {element} taken out with {len(gone)} splits", (RemoveRow(CourseRow.FILE, row.key), *gone))


def line_in_hand(event: Event, folder: Path, day: int, number: str = "") -> RunKey | None:
    """The run whose track marks are put on: the day's line, else the first track there is, mine before others."""
    key = line_run(event, day)
    if key is not None and track_of(folder, key) is not None:
        return key
    return min(tracked(folder, event, day), key=lambda item: (item[2] != number, item[1]), default=None)


def _put(
    event: Event, folder: Path, day: int, line: CourseLine, course: Sequence[CourseRow], number: str
) -> Batch:  # fmt: skip
    key = line_in_hand(event, folder, day, number)
    if key is None:
        raise UsageError(f"day {day} has no track to put a mark on: bring one in first (paddock track)")
    official = official_ms(event, *key)
    on = placed_run(folder, event, key)
    assert line.at_ms is not None
    if official is None or on is None:
        raise UsageError(f"the track of run {key[1]} of {key[2]} can't be held against the course any more: bring it "
                         "in again")  # fmt: skip
    if not 0 <= line.at_ms <= official:
        raise UsageError(
            f"{seconds(line.at_ms)} is outside run {key[1]} of {seconds(official)}, whose track is the line"
        )
    if not any(row.element > line.element for row in course) and line.element:
        raise UsageError("the last element is the finish: write it first, with a number above all others")
    last = course[-1] if course else None
    wanted: dict[int, tuple[float, float]] = {}
    if not any(row.element == 0 and row.lat is not None for row in course):
        wanted[0] = position(on, 0.0)
    if last is not None and last.lat is None:
        wanted[last.element] = position(on, official / 1000)
    wanted[line.element] = position(on, line.at_ms / 1000)
    if line.element == 0 and last is not None and last.element:
        wanted |= _both_ends(event, folder, key, on, last.element, line.at_ms / 1000, official / 1000)
    rows = {row.element: row for row in course}
    edits: list[Single] = []
    for element, (north, east) in sorted(wanted.items()):
        lat, lon = round(north, 7), round(east, 7)
        cells: dict[str, Any] = {"lat": lat, "lon": lon}
        if element == 0 and 0 not in rows:
            cells |= {"name": "start", "kind": "start"}
        edits.append(one_row(event, CourseRow, {"day": day, "element": element}, cells))
        old = rows.get(element) or CourseRow(day=day, element=element)
        rows[element] = old.model_copy(update=cells)
    edits += _again(event, folder, key, tuple(rows[element] for element in sorted(rows)), official)
    return Batch(_put_words(line.element, line.at_ms, official), tuple(edits))


def _put_words(element: int, at_ms: int, official: int) -> str:
    if element == 0:
        return f"start put {seconds(at_ms)} further on, the finish {seconds(official)} after it"
    return f"mark of element {element} put on the line at {seconds(at_ms)}"


def _both_ends(
    event: Event, folder: Path, key: RunKey, on: PlacedRun, last: int, at_s: float, official_s: float
) -> dict[int, tuple[float, float]]:  # fmt: skip
    """A start moved along the line takes the finish with it: they are the official time apart."""
    path = track_of(folder, key)
    assert path is not None
    track = track_of_day(path, event, key[0])
    return {0: position_in(track, on, at_s), last: position_in(track, on, at_s + official_s)}


def _again(event: Event, folder: Path, key: RunKey, course: Sequence[CourseRow], official: int) -> list[Single]:
    """The splits of the day's tracks on the course as it is to be."""
    path = track_of(folder, key)
    assert path is not None
    placed = place(track_of_day(path, event, key[0]), course, official / 1000)
    edits: list[Single] = [*split_edits(event, key, placed, course, official)]
    for _, of_run in on_line(folder, event, key[0], course, placed, leave=key):
        edits += of_run
    return edits
