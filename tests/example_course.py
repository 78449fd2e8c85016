"""The example's course, the marks of four runs typed off a video, and one made-up track, all from a seed.

``python -m tests.example_course FOLDER`` writes course.csv, splits.csv and tracks/ again. The place is open water: it is
nobody's yard. What each run gains and loses is written here, so that the story and the figures agree.
"""

from __future__ import annotations

import shutil
import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from paddock.engine.where.line import Plane
from paddock.engine.where.splits import official_ms
from paddock.folders.tracking import bring_track
from paddock.session.loading import load
from paddock.session.opened import Session
from tests.receivers import Course, Receiver, Run
from tests.track_files import gpx

SEED, DAY = 20261011, 2
PLANE = Plane(47.2, -24.6)
TURNS = ((75, 0.0), (17, 0.06), (17, -0.06), (17, 0.06), (17, -0.06), (50, 0.0), (85, 0.032), (60, 0.0), (16, -0.06),
         (16, 0.06), (16, -0.06), (16, 0.06), (45, 0.0), (32, -0.095), (70, 0.0), (60, -0.04), (55, 0.0), (14, 0.11),
         (14, -0.11), (95, 0.0))  # fmt: skip
MARKS_M = (0.0, 75.0, 143.0, 278.0, 402.0, 479.0, 609.0, 692.0, 0.0)
ELEMENTS = (("start", "start"), ("crane rail", "straight"), ("first slalom", "slalom"), ("long left", "sweeper"),
            ("second slalom", "slalom"), ("far turn", "turnaround"), ("quay side", "sweeper"), ("last box", "box"),
            ("finish", "finish"))  # fmt: skip
RUNS: dict[tuple[str, int], tuple[float, ...]] = {
    ("58", 1): (0.02, 0.12, 0.34, 0.10, 0.12, 0.16, 0.05, 0.02),
    ("58", 2): (0.05, 0.04, 0.03, 0.06, 0.02, 0.05, 0.13, 0.01),
    ("58", 3): (0.0, 0.0, 0.05, 0.0, 0.06, 0.0, 0.25, 0.03),
    ("158", 3): (0.10, 0.12, 0.05, 0.20, 0.30, 0.05, 0.02, 0.05),
    ("158", 4): (0.05, 0.16, 0.08, 0.12, 0.22, 0.02, 0.06, 0.03),
}
"""Seconds each run loses by element beside its pace: the bar of run 1 pushes in the middle, the last box costs run 3."""
TRACKED = ("58", 3)
RECEIVER = Receiver("5 Hz", 5, drift_m=0.8)


def main(folder: Path) -> None:
    """Write the course, the marks and the track."""
    for name in ("course.csv", "splits.csv"):
        (folder / name).unlink(missing_ok=True)
    shutil.rmtree(folder / "tracks", ignore_errors=True)
    event = load(folder)
    rng = np.random.default_rng(SEED)
    course = Course(TURNS, MARKS_M, 40.0)
    base = np.diff(course.run(rng, spread=0.0).passes_s)
    splits = ["day,run,number,element,at_s,error_s,source"]
    for (number, run), lost in RUNS.items():
        official = (official_ms(event, DAY, run, number) or 0) / 1000
        parts = base * (official - sum(lost)) / base.sum() + np.array(lost)
        at = np.concatenate(([0.0], np.cumsum(parts)))
        if (number, run) == TRACKED:
            text, places = track(course, at, rng)
            continue
        begun = float(rng.uniform(4, 20))  # where the player stood
        marks = np.round((begun + at + rng.normal(0, 0.02, len(at))) * 50) / 50
        scaled = (marks - marks[0]) * official / (marks[-1] - marks[0])
        splits += [f"{DAY},{run},{number},{at},{scaled[at]:.3f},,video" for at in range(1, len(scaled) - 1)]
    rows = [f"{DAY},{at},{name},{kind},{place[0]:.7f},{place[1]:.7f}"
            for at, ((name, kind), place) in enumerate(zip(ELEMENTS, places, strict=True))]  # fmt: skip
    (folder / "course.csv").write_text("\n".join(["day,element,name,kind,lat,lon", *rows]) + "\n")
    (folder / "splits.csv").write_text("\n".join(splits) + "\n")
    recorded = folder.parent / f".{folder.name}-made.gpx"
    recorded.write_text(text)
    session = Session.open(folder)
    try:
        bring_track(session, recorded, (DAY, TRACKED[1], TRACKED[0]))
    finally:
        session.close()
        recorded.unlink()
        shutil.rmtree(folder / ".paddock", ignore_errors=True)


def track(course: Course, at: np.ndarray, rng: np.random.Generator) -> tuple[str, list[tuple[float, float]]]:  # type: ignore[type-arg]
    """The GPX of a run that passes the marks at ``at``, and where the marks are on its line."""
    driven = course.run(rng, spread=0.0)
    known = np.array([*driven.passes_s, driven.t[-1]])
    wanted = np.array([*at, at[-1] + driven.t[-1] - driven.passes_s[-1]])
    t = np.interp(driven.t, known, wanted)
    run = Run(t, driven.x, driven.y, driven.speed * np.gradient(driven.t, t), tuple(at.tolist()))
    found = run.recorded(RECEIVER, rng)
    places = [PLANE.degrees(float(np.interp(when, found["t_s"], found["x_m"])), float(np.interp(when, found["t_s"], found["y_m"])))
              for when in at]  # fmt: skip
    return gpx(found, datetime(2026, 10, 11, 12, 37, tzinfo=UTC).timestamp(), PLANE, 7), places


if __name__ == "__main__":
    main(Path(sys.argv[1]))
