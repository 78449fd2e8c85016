"""A small event whose first day has a course with places, and runs recorded by a receiver."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.receivers import KINDS, PLANE, RECEIVERS, Course, Receiver, Run
from tests.small import FILES, small_event

COURSE = Course()
TEN = RECEIVERS[2]
NUMBER = "7"


def course_csv(places: bool = True, day: int = 1) -> str:
    """course.csv of the made-up course."""
    lines = ["day,element,name,kind,lat,lon"]
    for (element, x, y), kind in zip(COURSE.points(), KINDS, strict=True):
        lat, lon = PLANE.degrees(x, y)
        place = f"{lat:.7f},{lon:.7f}" if places else ","
        lines.append(f"{day},{element},{kind} {element},{kind},{place}")
    return "\n".join(lines) + "\n"


def runs(count: int, seed: int = 5) -> list[Run]:
    """So many runs of one driver."""
    rng = np.random.default_rng(seed)
    return [COURSE.run(rng) for _ in range(count)]


def times_csv(driven: list[Run]) -> str:
    """times.csv with these as the first runs of day 1 of my number."""
    kept = [
        line
        for line in FILES["times.csv"].splitlines()
        if not line.startswith(tuple(f"1,{at},{NUMBER}," for at in range(1, 9)))
    ]
    mine = [f"1,{at},{NUMBER},{run.passes_s[-1]:.3f},0,0,,{8 + at:02d}:10:00," for at, run in enumerate(driven, 1)]
    return "\n".join([*kept, *mine]) + "\n"


def event(folder: Path, driven: list[Run], places: bool = True) -> Path:
    """The small event with the course and the runs' times."""
    return small_event(folder, {"course.csv": course_csv(places), "times.csv": times_csv(driven)})


def recorded(run: Run, receiver: Receiver = TEN, seed: int = 1):  # type: ignore[no-untyped-def]
    """What a receiver wrote of a run."""
    return run.recorded(receiver, np.random.default_rng(seed))
