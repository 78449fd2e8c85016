"""One run found in a track and held against the course: when it passed each mark, and what speaks against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from paddock.engine.stats.quantiles import normal_quantile
from paddock.engine.where.line import MOST_LATITUDE, NEAR_M, DrivenLine, Plane, line_of, travelled
from paddock.engine.where.passes import gate_times
from paddock.errors import UsageError
from paddock.model.event import FASTEST_MPS, Track
from paddock.model.rows import CourseRow

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SAID_S = 0.3
"""A length that differs by more from the official time is said."""
MOST_OFF_S, MOST_OFF_SHARE = 3.0, 0.06
"""A length that differs by more is of another run."""
START_M = 15.0
_MARGIN_S = 3.0
_GAP_S, _MOST_GAPS = 2.5, 0.2
"""Fixes further apart than this are a gap; more of a run in gaps than this share tells nothing of the rest (a choice of
this program, no source)."""
_BASE_M = 0.1
"""What a receiver errs along the line at a mark beside its shift; with the scatter across the line it keeps the 80 %
range honest over simulated receivers: docs/studies/where.md."""
_LINE_M = 0.35
"""How far two runs of one driver lie apart across the line (robust sd): no error of the receiver. Common practice, no
source."""
PHONE_MARK_S = 0.075
"""A mark of a phone is no better: two of them make the least range of an element."""
HALF80 = normal_quantile(0.9)
"""Half-width of the middle 80 % of a normal distribution, in standard deviations."""


@dataclass(frozen=True, slots=True)
class Mark:
    """``at_s`` from the start; ``error_s``: half-width of its 80 % range."""

    element: int
    at_s: float
    error_s: float


@dataclass(frozen=True, slots=True)
class PlacedRun:
    """``path``: ``t_s`` from the start, ``x_m``, ``y_m`` of the run with some seconds around it; ``length_s``: from
    start to finish as the track has it, None where it can't be told; ``marks``: of the elements between the two;
    ``doubts``: sentences; ``began_s``: the start by the track's own clock."""

    plane: Plane
    path: pl.DataFrame
    line: DrivenLine
    fixes: int
    hz: float
    has_speed: bool
    phone: bool
    skipped: int
    length_s: float | None
    by_speed: bool
    marks: tuple[Mark, ...]
    doubts: tuple[str, ...] = ()
    began_s: float = 0.0


def place(
    track: Track, course: Sequence[CourseRow], official_s: float, phone: bool = False,
    reference: PlacedRun | None = None,
) -> PlacedRun:  # fmt: skip
    """The run of ``official_s`` seconds found in the track. ``course``: the day's elements in order.

    ``reference``: the run whose path is the day's line; None: this one is. A track with a gap has marks outside of it,
    where the line is another's. Raises UsageError with the reason where the track is of another place, course,
    direction or run, where it jumps or its gaps leave too little, or where nothing moves.
    """
    points = [(row.element, row.lat, row.lon) for row in course if row.lat is not None and row.lon is not None]
    plane = reference.plane if reference else _plane(track, points)
    fixes, dropped = _clean(track, plane)
    places = {element: plane.xy(lat, lon) for element, lat, lon in points}
    first, last = (course[0].element, course[-1].element) if course else (0, 0)
    start, finish = places.get(first) if first == 0 else None, places.get(last) if len(course) > 1 else None
    began, by_speed = _found(fixes, start, finish, official_s, track.name)
    path = _around(fixes, began, began + official_s)
    gaps = _gaps(path, began, official_s, track.name, reference is not None)
    hz = _rate(path)
    has_speed = path["speed_mps"].count() > path.height / 2
    phone = phone or (hz < 1.5 and not has_speed)
    marks_xy = [(element, *places[element]) for element in sorted(places)]
    line = reference.line if reference else _line(path, began, official_s, marks_xy)
    skipped = track.skipped + dropped
    if not line.gates:
        from_start = path.with_columns(t_s=path["t_s"] - began)
        return PlacedRun(plane, from_start, line, path.height, hz, has_speed, phone, skipped, None, by_speed, (),
                         began_s=began)  # fmt: skip
    return _marked(path, line, plane, (began, official_s, by_speed), (hz, has_speed, phone, skipped), first, last,
                   track.name, gaps)  # fmt: skip


def _around(fixes: pl.DataFrame, began: float, ended: float) -> pl.DataFrame:
    """The run with some seconds before and after it, as far as nothing jumps there."""
    import numpy as np

    path = fixes.filter((fixes["t_s"] >= began - _MARGIN_S) & (fixes["t_s"] <= ended + _MARGIN_S))
    t, x, y = (path[name].to_numpy() for name in ("t_s", "x_m", "y_m"))
    jumps = np.hypot(np.diff(x), np.diff(y)) > FASTEST_MPS * np.diff(t)
    before, after = np.flatnonzero(jumps & (t[1:] <= began)), np.flatnonzero(jumps & (t[:-1] >= ended))
    first, last = before[-1] + 1 if before.size else 0, after[0] + 1 if after.size else path.height
    return path[first:last]


def _plane(track: Track, points: Sequence[tuple[int, float, float]]) -> Plane:
    lat, lon = points[0][1:] if points else track.fixes.row(0, named=False)[1:3]
    if abs(lat) > MOST_LATITUDE:
        raise UsageError(f"{track.name} lies within {90 - MOST_LATITUDE:g} degree of a pole: no course can be laid out "
                         "there by latitude and longitude")  # fmt: skip
    return Plane(lat, lon)


def _clean(track: Track, plane: Plane) -> tuple[pl.DataFrame, int]:
    """Fixes in the order of time, in metres; doubles and single fixes that jump away and back left out and counted."""
    import numpy as np

    fixes = track.fixes.sort("t_s", maintain_order=True).unique("t_s", keep="first", maintain_order=True)
    if float(fixes["lat"].abs().max() or 0.0) > MOST_LATITUDE:  # type: ignore[arg-type]
        raise UsageError(f"{track.name} comes within a degree of a pole: no course is there")
    found = plane.placed(fixes)
    for _ in range(3):
        t, x, y = (found[name].to_numpy() for name in ("t_s", "x_m", "y_m"))
        pace = np.hypot(np.diff(x), np.diff(y)) / np.maximum(np.diff(t), 1e-9)
        fast = np.concatenate(([False], pace > FASTEST_MPS, [False]))
        away = fast[:-1] & fast[1:]
        if not away.any():
            break
        found = found.filter(~away)
    if found.height < 5:
        raise UsageError(f"{track.name} has only {found.height} fixes that can be used: too few for a run")
    return found, track.fixes.height - found.height


MarkPlace = tuple[float, float] | None


def _found(
    fixes: pl.DataFrame, start: MarkPlace, finish: MarkPlace, official_s: float, name: str
) -> tuple[float, bool]:
    """When the run began, and whether only speed tells."""
    import numpy as np

    t, x, y = (fixes[column].to_numpy() for column in ("t_s", "x_m", "y_m"))
    if t[-1] - t[0] < official_s:
        raise UsageError(f"{name} lasts {t[-1] - t[0]:.1f} s, the run {official_s:.3f} s: it is not all there")
    if travelled(x, y)[-1] < 50.0 or float(np.hypot(np.ptp(x), np.ptp(y))) < 15.0:
        raise UsageError(f"{name} stands still: nothing in it moves as far as a course")
    if start is None and finish is None:
        return _by_speed(fixes, official_s, name), True
    ends = [point for point in (start, finish) if point is not None]
    near = [float(np.hypot(x - px, y - py).min()) for px, py in ends]
    if max(near) > 4 * NEAR_M:
        far = max(near)
        said = f"{far / 1000:.1f} km" if far > 2000 else f"{far:.0f} m"
        raise UsageError(f"{name} is of another course: it comes no nearer than {said} to this one's start or finish")
    if start is None or finish is None:
        assert start is not None or finish is not None
        return _by_one_end(t, x, y, start, finish, official_s, name), False
    began = _between(t, x, y, start, finish, official_s)
    if began is not None:
        return began, False
    if _between(t, x, y, finish, start, official_s) is not None:
        raise UsageError(f"{name} runs the course the other way round, from finish to start: another course, or the "
                         "points of start and finish are swapped in course.csv")  # fmt: skip
    _no_jump(t, x, y, np.ones(len(t) - 1, dtype=bool), t[0], name)
    lengths = _lengths(t, x, y, start, finish)
    nearest = min(lengths, key=lambda length: abs(length - official_s), default=None)
    if nearest is None:
        raise UsageError(f"{name} never goes from this course's start to its finish: it is of another course")
    raise UsageError(f"{name} takes {nearest:.1f} s from start to finish, the official time is {official_s:.3f}: "
                     "it is of another run")  # fmt: skip


def _lows(t: Floats, x: Floats, y: Floats, point: tuple[float, float]) -> list[tuple[float, float]]:
    """(when, how near in metres) the path passes a point within reach."""
    import numpy as np

    dx, dy = np.diff(x), np.diff(y)
    part = ((point[0] - x[:-1]) * dx + (point[1] - y[:-1]) * dy) / np.maximum(dx**2 + dy**2, 1e-9)
    part = np.clip(part, 0.0, 1.0)
    apart = np.hypot(x[:-1] + part * dx - point[0], y[:-1] + part * dy - point[1])
    padded = np.concatenate(([np.inf], apart, [np.inf]))
    lowest = (apart <= padded[:-2]) & (apart < padded[2:]) & (apart < NEAR_M)
    return [(float(t[at] + part[at] * (t[at + 1] - t[at])), float(apart[at])) for at in np.flatnonzero(lowest)]


def _most_off(official_s: float) -> float:
    return max(MOST_OFF_S, MOST_OFF_SHARE * official_s)


def _between(
    t: Floats, x: Floats, y: Floats, start: tuple[float, float], finish: tuple[float, float], official_s: float
) -> float | None:
    """When a run of about the official time from start to finish began; the best where several fit.

    A car that waits near the start is nearest to it at some moment of its wait: that it is near it the official time
    before the finish is enough.
    """
    import numpy as np

    best: tuple[float, float] | None = None
    starts = _lows(t, x, y, start)
    for ended, off_m in _lows(t, x, y, finish):
        at = ended - official_s
        here = float(np.hypot(np.interp(at, t, x) - start[0], np.interp(at, t, y) - start[1]))
        waits = [(at, here)] if here < START_M and t[0] <= at else []
        for began, apart in (*starts, *waits):
            off_s = abs(ended - began - official_s)
            if off_s <= _most_off(official_s):
                cost = off_s + (off_m + apart) / 10
                if best is None or cost < best[0]:
                    best = (cost, ended - official_s)
    return None if best is None else best[1]


def _lengths(t: Floats, x: Floats, y: Floats, start: tuple[float, float], finish: tuple[float, float]) -> list[float]:
    starts = [when for when, _ in _lows(t, x, y, start)]
    return [ended - began for ended, _ in _lows(t, x, y, finish) for began in starts if ended > began]


def _by_one_end(
    t: Floats, x: Floats, y: Floats, start: MarkPlace, finish: MarkPlace, official_s: float, name: str
) -> float:  # fmt: skip
    point = start or finish
    assert point is not None
    lows = _lows(t, x, y, point)
    began = [when - (0.0 if start else official_s) for when, _ in lows]
    whole = [when for when in began if t[0] <= when and when + official_s <= t[-1] + 0.5]
    if not whole:
        raise UsageError(f"{name} holds no run of {official_s:.3f} s {'from the start' if start else 'to the finish'}")
    # of several the one that covers most ground in the official time: the run, not the way back
    import numpy as np

    far = travelled(x, y)
    return max(whole, key=lambda when: float(np.interp(when + official_s, t, far) - np.interp(when, t, far)))


def _by_speed(fixes: pl.DataFrame, official_s: float, name: str) -> float:
    """The launch: where the car leaves a standstill for the stretch of the official length that covers most ground."""
    import numpy as np

    t, x, y = (fixes[column].to_numpy() for column in ("t_s", "x_m", "y_m"))
    grid = np.arange(t[0], t[-1], 0.2)
    gx, gy = np.interp(grid, t, x), np.interp(grid, t, y)
    reach = 3
    pace = np.hypot(gx[reach:] - gx[:-reach], gy[reach:] - gy[:-reach]) / (0.2 * reach)
    moving = pace > 2.0
    launches = np.flatnonzero(moving[1:] & ~moving[:-1]) + 1
    if moving[0]:
        launches = np.concatenate(([0], launches))
    far = travelled(gx, gy)
    held = [at for at in launches if grid[at] + official_s <= t[-1] + 0.5]
    if not held:
        raise UsageError(f"{name} holds no run of {official_s:.3f} s after a launch: is it of another run?")
    span = round(official_s / 0.2)
    best = max((int(at) for at in held), key=lambda at: float(far[min(at + span, len(far) - 1)] - far[at]))
    return float(grid[best])


def _rate(path: pl.DataFrame) -> float:
    import numpy as np

    step = float(np.median(np.diff(path["t_s"].to_numpy())))
    return 1 / step if step > 0 else 0.0


def _gaps(
    path: pl.DataFrame, began: float, official_s: float, name: str, lined: bool
) -> tuple[tuple[float, float], ...]:
    """From when to when fixes are missing while the run lasts. ``lined``: the day's line is another run's.

    Raises UsageError where fixes jump, or where nothing can be told in spite of the gaps.
    """
    import numpy as np

    if path.height < 5:
        raise UsageError(f"{name} has only {path.height} fixes in the run: too few to tell anything")
    t, x, y = (path[column].to_numpy() for column in ("t_s", "x_m", "y_m"))
    steps = np.diff(t)
    inside = (t[1:] > began) & (t[:-1] < began + official_s)
    most = max(_GAP_S, 3.5 * float(np.median(steps)))
    gaps = tuple((float(t[at]), float(t[at + 1])) for at in np.flatnonzero(inside & (steps > most)))
    if gaps:
        ends = any(start <= began or end >= began + official_s for start, end in gaps)
        little = sum(end - start for start, end in gaps) > _MOST_GAPS * official_s
        marks = "type the run's marks off a video"
        why = (
            f"it holds the start or the finish, so no splits can be had; {marks}" if ends
            else f"too little is left for splits; {marks}" if little
            else "" if lined
            else f"it can't be the day's line; bring in a whole track first, or {marks}"
        )  # fmt: skip
        if why:
            raise UsageError(f"{name} has {_gap_words(gaps[0], began)}: {why}")
    _no_jump(t, x, y, inside, began, name)
    return gaps


def _gap_words(gap: tuple[float, float], began: float) -> str:
    return f"a gap of {gap[1] - gap[0]:.1f} s, {max(0.0, gap[0] - began):.1f} s into the run"


def _no_jump(t: Floats, x: Floats, y: Floats, inside: NDArray[np.bool_], began: float, name: str) -> None:
    """Raises UsageError where a step ``inside`` is faster than any car."""
    import numpy as np

    steps = np.diff(t)
    pace = np.hypot(np.diff(x), np.diff(y)) / np.maximum(steps, 1e-9)
    if (pace[inside] > FASTEST_MPS).any():
        at = int(np.flatnonzero(inside & (pace > FASTEST_MPS))[0])
        jump = float(np.hypot(x[at + 1] - x[at], y[at + 1] - y[at]))
        raise UsageError(f"{name} jumps {jump:.0f} m in {steps[at]:.2f} s, {max(0.0, t[at] - began):.1f} s into the "
                         "run: no splits can be had from it")  # fmt: skip


def _line(
    path: pl.DataFrame, began: float, official_s: float, points: Sequence[tuple[int, float, float]]
) -> DrivenLine:
    inside = path.filter((path["t_s"] >= began - 1.0) & (path["t_s"] <= began + official_s + 1.5))
    return line_of(inside["x_m"].to_numpy(), inside["y_m"].to_numpy(), points)


def _marked(
    path: pl.DataFrame, line: DrivenLine, plane: Plane, when: tuple[float, float, bool],
    told: tuple[float, bool, bool, int], first: int, last: int, name: str, gaps: tuple[tuple[float, float], ...],
) -> PlacedRun:  # fmt: skip
    import polars as pl

    began, official_s, by_speed = when
    times, fits = gate_times(path.with_columns(run=pl.lit(0, pl.Int64)), line)
    if fits.on_line[0] < 0.8:
        raise UsageError(f"{name} is of another course: only {100 * fits.on_line[0]:.0f} % of it lies along this "
                         "day's line")  # fmt: skip
    if fits.forward[0] < 0.6:
        raise UsageError(f"{name} runs the course the other way round")
    hz, has_speed, phone, skipped = told
    across = float(fits.across_m[0])
    own_m2 = _BASE_M**2 + max(0.0, across**2 - _LINE_M**2)
    passed: dict[int, tuple[float, float]] = {}
    for _, element, t, speed, shift_m in times.rows():
        if any(start - 1 / hz < t < end + 1 / hz for start, end in gaps):
            continue
        passed[element] = (t, ((shift_m**2 + own_m2) ** 0.5) / max(speed, 0.5))
    begun, ended = passed.pop(first, None) if first == 0 else None, passed.pop(last, None)
    length = ended[0] - begun[0] if begun and ended else None
    anchors = [(begun[0], begun[1])] if begun else []
    anchors += [(ended[0] - official_s, ended[1])] if ended else []
    if anchors:  # the clock of the track is set by both ends, each as far as it can be trusted
        weights = [1 / sd**2 for _, sd in anchors]
        began = sum(w * t for w, (t, _) in zip(weights, anchors, strict=True)) / sum(weights)
    marks = tuple(
        Mark(element, t - began, max(HALF80 * sd, PHONE_MARK_S if phone else 0.0))
        for element, (t, sd) in sorted(passed.items())
        if 0 < t - began < official_s
    )
    doubts = []
    if length is not None and abs(length - official_s) > SAID_S:
        doubts.append(
            f"from start to finish the track takes {length:.2f} s, the official time is {official_s:.3f}: "
            "is it the right run, and are the points of start and finish right? A car rolls over the start so slowly "
            "that a metre there is some tenths"
        )
    doubts += [f"{_gap_words(gap, began)}: what was passed in it has no mark; type it off a video" for gap in gaps]
    wanted = [gate.element for gate in line.gates if gate.element not in (0, last)]
    missed = [element for element in wanted if element not in {mark.element for mark in marks}]
    if missed:
        doubts.append(f"no pass was found at element {', '.join(map(str, missed))}")
    if not anchors:
        doubts.append("start and finish have no place in course.csv: the launch stands for the start")
    return PlacedRun(
        plane, path.with_columns(t_s=path["t_s"] - began), line, path.height, hz, has_speed, phone, skipped, length,
        by_speed, marks, tuple(doubts), began,
    )  # fmt: skip


def position(placed: PlacedRun, at_s: float) -> tuple[float, float]:
    """(lat, lon) where the run was ``at_s`` seconds after the start: where a mark is put on its line."""
    import numpy as np

    t, x, y = (placed.path[name].to_numpy() for name in ("t_s", "x_m", "y_m"))
    return placed.plane.degrees(float(np.interp(at_s, t, x)), float(np.interp(at_s, t, y)))


def position_in(track: Track, placed: PlacedRun, at_s: float) -> tuple[float, float]:
    """As ``position``, anywhere in the run's whole track. Raises UsageError where the track doesn't reach."""
    import numpy as np

    fixes, _ = _clean(track, placed.plane)
    t, x, y = (fixes[name].to_numpy() for name in ("t_s", "x_m", "y_m"))
    when = placed.began_s + at_s
    if not t[0] <= when <= t[-1]:
        raise UsageError(f"{track.name} ends {t[-1] - placed.began_s:.1f} s after its launch: the finish would be at "
                         f"{at_s:.1f} s")  # fmt: skip
    return placed.plane.degrees(float(np.interp(when, t, x)), float(np.interp(when, t, y)))


def sketch(placed: PlacedRun, official_s: float) -> tuple[tuple[float, float], ...]:
    """The line driven from start to finish as points in metres, a few hundred of them."""
    import numpy as np

    t, x, y = (placed.path[name].to_numpy() for name in ("t_s", "x_m", "y_m"))
    at: Any = np.linspace(0.0, official_s, 300)
    return tuple(zip(np.interp(at, t, x).tolist(), np.interp(at, t, y).tolist(), strict=True))
