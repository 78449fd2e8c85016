"""Ten whole days as they are typed, each with the moments a careful engineer expects, written before they were asked."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any

from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import FittedRow, PressureRow, Row, RunRow, TimeRow, TyreRow, WeatherRow, WorkRow
from tests.engine.pressure.situations import car
from tests.factories import entrant, event, settings

ME, MATE = "26", "83"


def gauge(moment: str, at: str, *psi: float | None, run: int | None = None, day: int = 1, **more: Any) -> PressureRow:
    """A row of the gauge."""
    four = dict(zip(("lf_psi", "rf_psi", "lr_psi", "rr_psi"), psi, strict=True))
    return PressureRow(
        **({"day": day, "run": run, "number": ME, "moment": moment, "at": at, "gauge": "dial"} | four | more)
    )


def run(number: int, at: str, day: int = 1, who: str = ME, seconds: float = 47.0, **more: Any) -> list[Row]:
    """A timed run and my log of it; ``status`` re-runs have no log."""
    status, surface = more.pop("status", None), more.pop("surface", "dry")
    time = TimeRow(
        day=day,
        run=number,
        number=who,
        time_ms=round(seconds * 1000),
        at=at,
        status=status,
        try_=more.pop("try_", None),
    )
    felt = {"entry": 0, "mid": 0, "exit": 0} | more
    return [
        time,
        *([] if status else [RunRow(day=day, run=number, number=who, at=at, surface=surface, mistake=False, **felt)]),
    ]


def air(at: str, c: float, surface: str | None = None, day: int = 1) -> WeatherRow:
    """A row of the weather."""
    return WeatherRow(day=day, at=at, air_c=c, surface=surface)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Day:
    """``story``: clock and moment, in order; a name with a ``*`` gives something to set, with a ``-`` gives nothing."""

    title: str
    rows: tuple[Row, ...]
    story: tuple[tuple[str, str], ...]
    car: Car = field(default_factory=car)
    numbers: tuple[str, ...] = (ME,)
    days: int = 1
    per_day: int = 3


def whole(told: Day) -> Event:
    """The event of a day, all of it."""
    by_file = [row for row in told.rows if not isinstance(row, TimeRow)]
    times = [row for row in told.rows if isinstance(row, TimeRow)]
    base = settings()
    found = settings(
        altitude_m=412.0, runs_per_day=told.per_day, forecast={"hottest_c": 26.0, "coldest_c": 10.0},
        gauges=[{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3}], mine={"numbers": list(told.numbers)},
        days=list(base.days[: told.days]),
    )  # fmt: skip
    made = event([entrant(number) for number in told.numbers], times, found, *by_file)
    return dataclasses.replace(made, cars={"estate": told.car})


COLD = gauge("cold", "07:45", 30.0, 30.0, 39.0, 39.0, air_c=12.0)
SET = gauge("set", "07:50", 30.8, 30.8, 40.2, 40.2, air_c=12.0)
MORNING = (("07:30", "before*"), ("07:45", "cold-read*"), ("07:50", "set-"))

DAYS: tuple[Day, ...] = (
    Day(
        "lunch",
        (
            COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 36.0, 36.0, 45.5, 45.5, run=1, air_c=16.0),
            gauge("set", "09:03", 32.2, 32.2, 42.2, 42.2, run=1, air_c=16.0), *run(2, "09:40"),
            gauge("after", "09:42", 33.8, 33.8, 43.8, 43.8, run=2, air_c=18.0),
            gauge("before", "13:00", 28.8, 28.8, 38.6, 38.6, run=3, air_c=22.0), *run(3, "13:30"),
            gauge("after", "13:32", 33.4, 33.4, 43.4, 43.4, run=3, air_c=23.0),
        ),
        (
            *MORNING, ("09:00", "ran-"), ("09:02", "read*"), ("09:03", "set-"), ("09:40", "ran-"), ("09:42", "read-"),
            ("10:20", "read-"), ("10:40", "stale-"), ("13:00", "cold-read"), ("13:30", "event-done-"), ("13:32", "event-done-"),
        ),
    ),
    Day(
        "shared car",
        (
            COLD, SET, *run(1, "09:00", mid=-2), gauge("after", "09:02", 35.6, 35.6, 45.2, 45.2, run=1, air_c=16.0),
            *run(1, "09:20", who=MATE), gauge("after", "09:22", 36.2, 36.2, 45.9, 45.9, run=1, number=MATE, air_c=17.0),
            gauge("set", "09:23", 34.0, 34.0, 44.0, 44.0, run=1, number=MATE, air_c=17.0), *run(2, "09:50"),
            gauge("after", "09:52", 34.3, 34.3, 44.2, 44.2, run=2, air_c=18.0), *run(2, "10:10", who=MATE),
            gauge("after", "10:12", 34.6, 34.6, 44.5, 44.5, run=2, number=MATE, air_c=18.0),
        ),
        (
            *MORNING, ("09:00", "ran-"), ("09:02", "read-"), ("09:20", "ran-"), ("09:22", "read*"), ("09:23", "set-"),
            ("09:50", "ran-"), ("09:52", "read-"), ("10:10", "event-done-"),
        ),
        numbers=(ME, MATE), per_day=2,
    ),
    Day(
        "rain",
        (
            COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 33.2, 33.2, 43.1, 43.1, run=1, air_c=14.0),
            air("09:20", 12.0, "damp"), *run(2, "09:40", surface="damp"),
            gauge("after", "09:42", 33.0, 33.0, 43.0, 43.0, run=2, air_c=12.0),
            gauge("set", "09:43", 30.0, 30.0, 38.0, 38.0, run=2, air_c=12.0), air("10:10", 11.0, "standing"),
            *run(3, "10:20", surface="standing"), gauge("after", "10:22", 30.2, 30.2, 38.2, 38.2, run=3, air_c=11.0),
        ),
        (
            *MORNING, ("09:02", "read-"), ("09:20", "read*"), ("09:42", "read*"), ("09:43", "set-"), ("10:20", "ran-"),
            ("10:22", "read*"),
        ),
        per_day=5,
    ),
    Day(
        "a re-run",
        (
            COLD, SET, *run(1, "09:00", status="rerun", try_="1"),
            gauge("after", "09:02", 33.3, 33.3, 43.3, 43.3, run=1, air_c=16.0),
            gauge("after", "09:26", 35.6, 35.6, 45.4, 45.4, run=1, air_c=16.5), *run(1, "09:28"), *run(2, "10:00"),
            gauge("after", "10:02", 36.0, 36.0, 46.0, 46.0, run=2, air_c=17.0),
        ),
        (
            *MORNING, ("09:00", "ran-"), ("09:02", "read-"), ("09:26", "gauge-first*"), ("09:28", "read*"), ("10:00", "ran-"),
            ("10:02", "read*"),
        ),
    ),
    Day(
        "the gauge before the typing",
        (
            COLD, SET, gauge("after", "09:02", 35.6, 35.6, 45.4, 45.4, run=1, air_c=16.0), *run(1, "09:04", mid=-2),
            gauge("set", "09:05", 34.0, 34.0, 44.0, 44.0, run=1, air_c=16.0),
            gauge("after", "09:33", 34.2, 34.2, 44.1, 44.1, run=2, air_c=17.0), *run(2, "09:36"),
            gauge("after", "10:03", 34.4, 34.4, 44.4, 44.4, run=3, air_c=18.0), *run(3, "10:06"),
        ),
        (
            *MORNING, ("09:02", "gauge-first*"), ("09:04", "read-"), ("09:05", "set-"), ("09:33", "gauge-first-"),
            ("09:36", "read-"), ("10:03", "event-done-"), ("10:06", "event-done-"),
        ),
    ),
    Day(
        "a tyre change",
        (
            COLD, SET, TyreRow(tyre="a"), TyreRow(tyre="b"),
            FittedRow(day=1, run=1, number=ME, corner="rr", tyre="a"), *run(1, "09:00"),
            gauge("after", "09:02", 33.3, 33.3, 43.5, 40.4, run=1, air_c=16.0),
            gauge("after", "09:03", 33.3, 33.3, 43.5, 40.4, run=1, air_c=16.0),
            WorkRow(id="w", opened="day 1 09:10", item="right rear tyre: nail, plugged", done="day 1 09:40"),
            gauge("set", "09:45", None, None, None, 40.8, run=1, air_c=17.0), *run(2, "10:10"),
            gauge("after", "10:12", 33.6, 33.6, 43.6, 43.4, run=2, air_c=18.0),
        ),
        (
            *MORNING, ("09:00", "ran-"), ("09:02", "odd-corner-"), ("09:03", "odd-corner-"), ("09:40", "read*"), ("09:45", "set-"),
            ("10:10", "ran-"), ("10:12", "read-"),
        ),
    ),
    Day(
        "no limits",
        (
            COLD, gauge("set", "07:50", 30.8, 30.8, 40.2, 40.2, air_c=12.0), *run(1, "09:00"),
            gauge("after", "09:02", 37.0, 37.0, 46.0, 46.0, run=1, air_c=18.0), *run(2, "09:40"),
        ),
        (*MORNING, ("09:00", "ran-"), ("09:02", "read*"), ("09:40", "ran-")),
        car=car(front_min_psi=None, rear_min_psi=None, placard_front_psi=None, placard_rear_psi=None, wheel_max_psi=None,
                max_cold_psi=None),
    ),
    Day(
        "blankets",
        (
            gauge("cold", "08:40", 35.5, 35.5, 46.0, 46.0, air_c=12.0, tyre_c=55.0), *run(1, "09:00"),
            gauge("after", "09:02", 34.3, 34.3, 44.4, 44.4, run=1, air_c=14.0, tyre_c=45.0),
        ),
        (("08:30", "before*"), ("08:40", "cold-read*"), ("09:00", "ran-"), ("09:02", "read-")),
    ),
    Day(
        "two days",
        (
            COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 36.0, 36.0, 45.5, 45.5, run=1, air_c=16.0),
            gauge("cold", "07:40", 30.0, 30.0, 39.4, 39.4, day=2, air_c=9.0), *run(1, "09:00", day=2),
            gauge("after", "09:02", 34.2, 34.2, 44.2, 44.2, run=1, day=2, air_c=12.0),
        ),
        (
            *MORNING, ("09:00", "day-done*"), ("09:02", "day-done*"), ("18:00", "day-done*"), ("2 07:00", "before*"),
            ("2 07:40", "cold-read"), ("2 09:00", "event-done-"), ("2 09:02", "event-done-"), ("2 18:00", "event-done-"),
        ),
        days=2, per_day=1,
    ),
    Day(
        "hot readings alone",
        (
            *run(1, "09:00"), gauge("after", "09:02", 37.0, 37.0, 46.0, 46.0, run=1), *run(2, "09:40"),
            gauge("after", "09:42", 36.0, 36.0, 45.0, 45.0, run=2),
        ),
        (("08:00", "before*"), ("09:00", "ran-"), ("09:02", "read*"), ("09:40", "ran-"), ("09:42", "read*"), ("10:30", "stale-")),
    ),
)  # fmt: skip
