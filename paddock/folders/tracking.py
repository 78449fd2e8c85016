"""Tracks brought into a folder: read, held against course and official time, saved with the splits they give."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

from paddock.engine.clock import hh_mm, minutes
from paddock.engine.where.placed import PlacedRun, place
from paddock.engine.where.splits import course_of, official_ms
from paddock.errors import FolderError, SaveError, UsageError
from paddock.model.edit import AddRow, Batch, ChangeRow, PutTrack, RemoveRow
from paddock.model.event import Event, Track
from paddock.model.rows import CourseRow, RunRow, SplitRow, TimeRow
from paddock.session.opened import Saved, Session
from paddock.store.disk import inside
from paddock.store.folder import digest_of, keep_copy
from paddock.store.trackread import Progress, read_track
from paddock.words import plural

MOST_ZONE_H = 14
"""No clock on earth is further from UTC (time zone database)."""

RunKey = tuple[int, int, str]
RowEdit = AddRow | ChangeRow | RemoveRow


@dataclass(frozen=True, slots=True)
class Brought:
    """A track as it was taken in. ``file``: its place in the folder; ``written``: splits written, of this run;
    ``again``: runs whose splits were worked out again on the new line; ``replaced``: what stood there before."""

    file: str
    placed: PlacedRun
    official_s: float
    written: int
    again: tuple[RunKey, ...]
    doubts: tuple[str, ...]
    replaced: tuple[str, ...] = ()


def track_name(key: RunKey, suffix: str) -> str:
    """``tracks/d1r3-31.gpx``."""
    day, run, number = key
    kind = suffix.lower().removeprefix(".")
    kind = kind if re.fullmatch(r"[a-z0-9]{1,5}", kind) else "txt"
    return f"tracks/{_stem(day, run, number)}.{kind}"


def _stem(day: int, run: int, number: str) -> str:
    return f"d{day}r{run}-{re.sub(r'[^A-Za-z0-9_-]', '_', number)}"


def track_of(folder: Path, key: RunKey) -> Path | None:
    """The track of a run, None where there is none."""
    try:
        place_ = inside(folder, "tracks")
        found = sorted(path for path in place_.glob(f"{_stem(*key)}.*") if path.is_file())
        return inside(folder, f"tracks/{found[0].name}") if found else None
    except OSError:
        return None


def tracked(folder: Path, event: Event, day: int) -> dict[RunKey, Path]:
    """The tracks of a day by run."""
    keys = dict.fromkeys((row.day, row.run, row.number) for row in event.times if row.day == day)
    found = ((key, track_of(folder, key)) for key in keys)
    return {key: path for key, path in found if path is not None}


def track_of_day(path: Path, event: Event, day: int, told: Progress = lambda _: None) -> Track:
    """The track's fixes that can be of the day, wherever its clock is set to; others are skipped and counted.

    Raises UsageError where none can, or where a file without dates runs for days; and as ``read_track`` does.
    """
    import polars as pl

    track = read_track(path, told)
    first, last = (float(value or 0.0) for value in (track.fixes["t_s"].min(), track.fixes["t_s"].max()))  # type: ignore[arg-type]
    if not track.dated or not event.settings.days or day > len(event.settings.days):
        if last - first > 48 * 3600:
            raise UsageError(f"{track.name} runs for {(last - first) / 86_400:.0f} days: are its times seconds?")
        return track
    date = event.settings.days[day - 1]
    start = datetime.combine(date, time(), UTC) - timedelta(hours=MOST_ZONE_H)
    end = datetime.combine(date, time(), UTC) + timedelta(hours=24 + MOST_ZONE_H)
    held = track.fixes.filter(pl.col("t_s").is_between(start.timestamp(), end.timestamp()))
    if held.is_empty():
        when = datetime.fromtimestamp(first, UTC) if 0 <= first < 4e9 else None
        said = f"of {when:%Y-%m-%d %H:%M} UTC" if when else "of no date that can be"
        raise UsageError(f"{track.name} is {said}, day {day} is {date}: is it of another day, or is the recorder's "
                         "date wrong?")  # fmt: skip
    return replace(track, fixes=held, skipped=track.skipped + track.fixes.height - held.height)


def placed_run(folder: Path, event: Event, key: RunKey, reference: PlacedRun | None = None) -> PlacedRun | None:
    """A run's track as it lies in the folder, held against the course; None where there is none or it can't be used."""
    path, official = track_of(folder, key), official_ms(event, *key)
    if path is None or official is None:
        return None
    try:
        track = track_of_day(path, event, key[0])
        return place(track, course_of(event, key[0]), official / 1000, reference=reference)
    except (UsageError, FolderError):
        return None


def line_run(event: Event, day: int) -> RunKey | None:
    """The run whose path is the day's line: the one whose track gave splits first."""
    return next(((row.day, row.run, row.number) for row in event.of(SplitRow)
                 if row.day == day and row.source == "track"), None)  # fmt: skip


def bring_track(
    session: Session, source: Path, key: RunKey, phone: bool = False, told: Progress = lambda _: None
) -> tuple[Saved, Brought]:  # fmt: skip
    """Put a track in with its splits, in place of the run's old one; one edit for undo.

    Raises UsageError with the reason, and nothing is written, where the track can't be of that run.
    """
    event, folder = session.event, session.path
    day, run, number = key
    official = official_ms(event, *key)
    if official is None:
        raise UsageError(f"run {run} of {number} on day {day} has no time yet: enter it first, the track is cut to it")
    track = track_of_day(source, event, day, told)
    course = course_of(event, day)
    of_line = line_run(event, day)
    reference = placed_run(folder, event, of_line) if of_line not in (None, key) and of_line is not None else None
    placed = place(track, course, official / 1000, phone, reference)
    put, rows = _put(folder, source, key), split_edits(event, key, placed, course, official)
    edits: list[RowEdit | PutTrack] = [*put]
    edits += rows
    again: list[RunKey] = []
    if reference is None:
        more = on_line(folder, event, day, course, placed, leave=key)
        edits += [edit for _, of_run in more for edit in of_run]
        again = [other for other, of_run in more if of_run]
    saved = session.apply(Batch(f"track of run {run} of {number}, day {day}", tuple(edits)))
    written = sum(not isinstance(edit, RemoveRow) for edit in rows)
    doubts = placed.doubts if course else ("course.csv names no element of the day yet: the track is kept, and split "
                                           "once the marks are put on its line",)  # fmt: skip
    name = next(edit.file for edit in put if edit.digest)
    late = _of_another_time(event, key, placed.began_s) if track.dated else ()
    return saved, Brought(
        name, placed, official / 1000, written, tuple(again), (*late, *doubts), _replaced(event, key, put, rows)
    )


_APART_MIN = 5.0
"""A run is logged within some minutes of its start. Common practice, no source."""
_ZONE_MIN = 30.0
"""Clocks of two zones lie apart by whole half hours nearly everywhere (time zone database)."""


def _logged(event: Event, day: int, number: str) -> dict[int, list[float]]:
    """The minutes of the day at which each run was logged."""
    found: dict[int, list[float]] = {}
    rows: tuple[RunRow | TimeRow, ...] = (*event.of(RunRow), *event.times)
    for row in rows:
        clock = minutes(row.at)
        if (row.day, row.number) == (day, number) and clock is not None:
            found.setdefault(row.run, []).append(clock)
    return found


def _of_another_time(event: Event, key: RunKey, began_s: float) -> tuple[str, ...]:
    """What the track's own clock, of whatever zone, speaks against the run."""
    day, run, number = key
    logged = _logged(event, day, number)
    began = began_s % 86_400 / 60
    apart = {other: min(abs(clock - began) for clock in clocks) for other, clocks in logged.items()}
    if run not in apart or apart[run] <= _APART_MIN:
        return ()
    nearest = min(apart, key=lambda other: apart[other])
    of_other = apart[nearest] <= _APART_MIN
    off = min(abs((clock - began + _ZONE_MIN / 2) % _ZONE_MIN - _ZONE_MIN / 2) for clock in logged[run])
    if not of_other and off <= _APART_MIN:
        return ()
    asked = f"is it run {nearest}'s?" if of_other else "is it of another run?"
    begins = f"the track begins {hh_mm(round(began))} by its own clock"
    return (f"{begins}, run {run} was logged {hh_mm(logged[run][0])}: {asked}",)


def _replaced(event: Event, key: RunKey, put: Sequence[PutTrack], rows: Sequence[RowEdit]) -> tuple[str, ...]:
    """What the run had that it has no longer: an earlier track, marks from elsewhere."""
    found = [f"the earlier {edit.file}" for edit in put if edit.was is not None and edit.was != edit.digest]
    there = {row.key: row.source or "hand" for row in event.of(SplitRow) if (row.day, row.run, row.number) == key}
    gone = Counter(there[edit.key] for edit in rows if isinstance(edit, ChangeRow) and edit.key in there)
    return (*found, *(f"{plural(gone[source], 'mark')} by {source}" for source in ("video", "hand") if gone[source]))


def _put(folder: Path, source: Path, key: RunKey) -> list[PutTrack]:
    """The track in its place, one of the same run under another ending taken out; a copy is kept for undo first."""
    name = track_name(key, source.suffix)
    try:
        digest, there, old = digest_of(source), digest_of(inside(folder, name)), track_of(folder, key)
        assert digest is not None
        if there != digest:
            keep_copy(folder, source, digest)
        edits = [PutTrack(name, digest, there)]
        if old is not None and old.name != Path(name).name:
            edits.append(PutTrack(f"tracks/{old.name}", None, digest_of(old)))
    except OSError as error:
        raise SaveError(f"{name} is not saved: {(error.strerror or str(error)).lower()}") from None
    return edits


def on_line(
    folder: Path, event: Event, day: int, course: Sequence[CourseRow], line: PlacedRun, leave: RunKey | None = None
) -> list[tuple[RunKey, list[RowEdit]]]:  # fmt: skip
    """The splits of the day's other tracks worked out again on a line; a track that can't be used is left as it was."""
    found: list[tuple[RunKey, list[RowEdit]]] = []
    for key, path in tracked(folder, event, day).items():
        official = official_ms(event, *key)
        if key == leave or official is None:
            continue
        try:
            placed = place(track_of_day(path, event, day), course, official / 1000, reference=line)
        except (UsageError, FolderError):
            continue
        found.append((key, split_edits(event, key, placed, course, official)))
    return found


def split_edits(
    event: Event, key: RunKey, placed: PlacedRun, course: Sequence[CourseRow], official: int
) -> list[RowEdit]:  # fmt: skip
    """What brings a run's rows in splits.csv to what its track says; others stay where it says nothing."""
    cells = {
        mark.element: {"at_ms": round(mark.at_s * 1000), "error_ms": round(mark.error_s * 1000), "source": "track"}
        for mark in placed.marks
    }
    if cells and course:
        cells[course[-1].element] = {"at_ms": official, "error_ms": 0, "source": "track"}
    return row_edits(event, key, cells, "track")


def row_edits(event: Event, key: RunKey, cells: dict[int, dict[str, object]], source: str) -> list[RowEdit]:
    """Rows of a run set to ``cells`` by element; its other rows of ``source`` go. ``at_ms`` rises or it is left out."""
    day, run, number = key
    there = {row.element: row for row in event.of(SplitRow) if (row.day, row.run, row.number) == key}
    edits: list[RowEdit] = []
    for element, values in sorted(cells.items()):
        row = there.get(element)
        if row is None:
            named = {"day": day, "run": run, "number": number, "element": element}
            edits.append(AddRow(SplitRow.FILE, {**named, **values}))
        elif any(getattr(row, name) != value for name, value in values.items()):
            edits.append(ChangeRow(SplitRow.FILE, row.key, dict(values)))
    gone = [row for element, row in there.items() if element not in cells and row.source == source]
    edits += [RemoveRow(SplitRow.FILE, row.key) for row in gone]
    return edits
