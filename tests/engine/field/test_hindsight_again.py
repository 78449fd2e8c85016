"""What was said run by run, asked a second time of an event cut by hand; records counted by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from paddock.engine.field.chances import expected
from paddock.engine.field.course import course_evolution
from paddock.engine.field.hindsight import (
    CLASS,
    COLD,
    HOT,
    INDEX,
    NEXT_RUN,
    STEP,
    TREAD,
    AskedForecast,
    ForecastRecord,
    as_it_was,
    cold_record,
    hindsight,
    own_record,
    own_scatter,
    readings_replayed,
    record_of,
    replayed,
    tread_replayed,
)
from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.wear import Z80
from paddock.model.event import Event
from paddock.model.rows import FittedRow, RunRow, TimeRow, TreadRow
from paddock.session.loading import load
from tests.engine.field.made import change, drawn, in_group
from tests.factories import entrant, event, runs, settings
from tests.small import small_event


def up_to(made: Event, run: int, day: int = 1) -> Event:
    tables = {name: tuple(row for row in made.tables.get(name, ()) if (row.day or 0, row.run or 0) <= (day, run))  # type: ignore[attr-defined]
              for name in ("times.csv", "runs.csv", "pressures.csv", "changes.csv")}  # fmt: skip
    return replace(made, tables={**made.tables, **tables})


def score_of(made: Event, number: str, day: int) -> int:
    """The best times of the days up to this one, added."""
    days = {row.day: 0 for row in made.times if row.day <= day}
    return sum(min(row.time_ms or 0 for row in made.times if (row.number, row.day) == (number, at)) for at in days)


@pytest.mark.parametrize("per_day", [4, None])
def test_each_run_s_answers_asked_a_second_time(per_day: int | None) -> None:
    """Six rivals in two groups over two days, no cone and no miss. Where nobody says how many runs there are, as many are
    left to me as I drove, though others drove one more.
    """
    plain, later = drawn(3, controls=6, run_count=4), drawn(4, controls=6, run_count=3)
    times = [*plain.times, *(row.model_copy(update={"day": 2}) for row in later.times)]
    if per_day is None:
        times += [TimeRow(day=1, run=5, number=str(100 + at), time_ms=44_500 + 300 * at) for at in range(6)]
    rows = tuple(in_group(row.number, "AB"[at % 2], day) for at, row in enumerate(plain.entrants) for day in (1, 2))
    made = replace(
        plain, tables={**plain.tables, "grid.csv": rows, "times.csv": tuple(times)},
        settings=plain.settings.model_copy(update={"runs_per_day": per_day}),
    )  # fmt: skip
    found = list(replayed(made, "26"))
    wanted = []
    for day, run in ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2)):
        course = course_evolution(made, day, "A", frozenset({"26"}))
        assert course.time_ms is not None
        seen = expected(up_to(made, run, day), "26", None if per_day else {1: 4, 2: 3}[day] - run, 600)
        came = next(row.time_ms for row in made.times if (row.number, row.day, row.run) == ("26", day, run + 1))
        if seen.next_ms is not None:
            low, middle, high = seen.next_ms
            wanted.append(AskedForecast(NEXT_RUN, middle, low, high, float(came or 0)))
        if seen.course_s is not None:
            mean, sd = (value * course.time_ms / 45 for value in seen.course_s)
            pair = course.pairs[run - 1]
            reach = math.sqrt((1.2815515655 * sd) ** 2 + ((pair.high_ms - pair.low_ms) / 2) ** 2)
            wanted.append(AskedForecast(STEP, mean, mean - reach, mean + reach, pair.change_ms))
        led = all(score_of(made, "26", day) <= score_of(made, str(100 + at), day) for at in range(6))
        over = day == 1 or per_day is None
        for kind, table in ((CLASS, seen.chances.class_), (INDEX, seen.chances.index)):
            if table.p_lead is not None and over:
                wanted.append(AskedForecast(kind, p=table.p_lead, happened=led))
    assert [item.kind for item in found] == [item.kind for item in wanted]
    assert {NEXT_RUN, STEP, CLASS, INDEX} == {item.kind for item in found}
    for one, other in zip(found, wanted, strict=True):
        assert (one.said, one.low, one.high, one.came) == pytest.approx((other.said, other.low, other.high, other.came))
        assert (one.p, one.happened) == (other.p, other.happened)


def test_a_next_run_that_says_nothing_about_pace_is_no_answer() -> None:
    people = [entrant("26"), entrant("40"), entrant("41")]
    others = [*runs("40", 1, "46.4", "46.2", "46.3", "46.1"), *runs("41", 1, "45.4", "45.2", "45.5", "45.1")]

    def kinds(*mine: str) -> list[float]:
        made = event(people, [*runs("26", 1, *mine), *others], settings(runs_per_day=4))
        return [item.came for item in replayed(made, "26") if item.kind == NEXT_RUN]

    assert kinds("46.0", "46.1", "46.2+1", "46.3") == [46_100, 46_200, 46_300]
    assert kinds("46.0", "46.1", "46.2/1", "46.3") == [46_100, 46_300]
    assert kinds("46.0", "46.1", "46.2 dnf", "46.3") == [46_100, 46_300]


def test_a_day_is_over_when_its_runs_are_driven_or_another_follows() -> None:
    people = [entrant("26"), entrant("40")]
    first = [*runs("26", 1, "46.0", "45.9", "46.2"), *runs("40", 1, "46.4", "46.2", "46.3")]
    second = [*runs("26", 2, "46.0", "45.9"), *runs("40", 2, "46.4", "46.2")]

    def told(times: list[TimeRow], per_day: int | None) -> list[tuple[str, bool]]:
        made = event(people, times, settings(runs_per_day=per_day))
        return [(item.kind, item.happened) for item in replayed(made, "26") if item.kind == CLASS]

    assert told(first, 4) == []
    assert told(first, 3) == told(first, None) == told(first, 2) == [(CLASS, True)]
    assert len(told([*first, *second], 4)) == 1, "day 1 is over, day 2 is not"
    assert len(told([*first, *second], 2)) == 2


def test_i_led_only_with_a_score_of_my_own() -> None:
    """The last run of mine is void and runs are summed: no score came, though the chance was told."""
    people = [entrant("26"), entrant("40")]
    times = [*runs("26", 1, "46.0", "45.9", "dnf", "46.0"), *runs("40", 1, "46.4", "46.2", "46.3", "46.5")]
    found = [
        item
        for item in replayed(event(people, times, settings({"count": "sum"}, runs_per_day=4)), "26")
        if item.kind == CLASS
    ]
    assert found
    assert not any(item.happened for item in found)


def test_an_event_as_it_was_by_run_and_by_clock() -> None:
    clocks = ("09:00", "10:00", "11:00")
    mine = [row.model_copy(update={"at": at}) for row, at in zip(runs("26", 1, "46", "46", "46"), clocks, strict=True)]
    other = [
        row.model_copy(update={"at": at})
        for row, at in zip(runs("40", 1, "46", "46", "46"), ("08:00", "08:30", "10:30"), strict=True)
    ]
    rows = [RunRow(day=1, run=run, number="26", mistake=False) for run in (1, 2, 3)]
    one_day = settings(days=[date(2026, 5, 9)])

    def seen(times: list[TimeRow]) -> list[tuple[str, int]]:
        found = as_it_was(
            event([entrant("26"), entrant("40")], times, one_day, *rows, change("c", 3), change("d", 2)), "26", 1, 2
        )
        return [(row.number, row.run) for row in found.times]

    assert seen([*mine, *other]) == [("26", 1), ("26", 2), ("40", 1), ("40", 2)]
    by_run = [("26", 1), ("26", 2), ("40", 1), ("40", 2)]
    late = [row.model_copy(update={"at": "12:00"}) if row.run == 1 else row for row in other]
    assert seen([*mine, *late]) == [("26", 1), ("26", 2), ("40", 2)]
    twice = [row.model_copy(update={"at": "10:00"}) if row.run == 3 else row for row in mine]
    assert seen([*twice, *late]) == by_run, "two of my runs at one time: by their numbers"
    none = [row.model_copy(update={"at": None}) for row in mine]
    assert seen([*none, *late]) == by_run
    logged = [change("c", 3), change("d", 2), change("n", 5, day=None)]
    tables = as_it_was(event([entrant("26")], none, one_day, *rows, *logged), "26", 1, 2).tables
    assert [row.run for row in tables["runs.csv"]] == [1, 2]  # type: ignore[attr-defined]
    assert [row.id for row in tables["changes.csv"]] == ["d", "n"]  # type: ignore[attr-defined]


def test_readings_foretold_with_clocks_and_without(tmp_path: Path) -> None:
    """Kind, said, its range and what came, for every reading after a run of the two cars; as ever."""
    made = load(small_event(tmp_path / "e"))

    def told(of: Event, number: str) -> list[tuple[str, tuple[float, ...]]]:
        return [(item.kind, (item.said, item.low, item.high, item.came)) for item in readings_replayed(of, number)]

    def alike(found: list[tuple[str, tuple[float, ...]]], *wanted: tuple[str, tuple[float, ...]]) -> None:
        assert [kind for kind, _ in found] == [kind for kind, _ in wanted]
        for (_, one), (_, other) in zip(found, wanted, strict=True):
            assert one == pytest.approx(other, abs=1e-3)

    eve = ((COLD, (29.914, 29.457, 30.371, 30.5)), (COLD, (32.977, 32.489, 33.466, 33.0)))
    next_day = ((COLD, (34.113, 32.884, 35.343, 33.5)), (COLD, (42.402, 40.962, 43.842, 40.75)))
    alike(told(made, "7"), *eve, (HOT, (32.985, 32.532, 33.467, 33.5)), *next_day)
    alike(
        told(made, "24"), (COLD, (28.455, 27.349, 29.561, 28.0)), (COLD, (29.543, 28.409, 30.677, 29.0)),
        (COLD, (27.439, 26.887, 27.991, 27.5)), (COLD, (28.425, 27.859, 28.991, 28.5)), (HOT, (29.240, 28.760, 29.689, 29.5)),
    )  # fmt: skip
    blind = replace(
        made, tables={**made.tables, "times.csv": tuple(row.model_copy(update={"at": None}) for row in made.times)}
    )
    alike(
        told(blind, "7"), *eve, (HOT, (33.082, 32.629, 33.563, 33.5)), *next_day, (HOT, (41.650, 41.170, 42.163, 41.25))
    )  # fmt: skip
    first = list(readings_replayed(made, "24", first=True))
    assert [item.said for item in first] == pytest.approx([28.455, 29.543, 27.439, 28.425], abs=1e-3)
    assert cold_record([made], "24") == record_of(COLD, first)
    whole = {item.kind: item for item in hindsight([made])}
    asked = [item for number in ("7", "24") for item in readings_replayed(made, number)]
    assert whole[COLD] == record_of(COLD, [item for item in asked if item.kind == COLD])
    assert whole[HOT] == record_of(HOT, [item for item in asked if item.kind == HOT])


def test_tread_foretold_edge_by_edge() -> None:
    """Range: two readings of the gauge, the runs' scatter, and the surface's share of the rate on both days."""
    fitted = [FittedRow(day=1, run=1, number="26", corner=c, tyre=f"t{c}") for c in ("lf", "rf", "lr", "rr")]
    depth = {1: (7.5, 7.6, 7.4), 2: (7.2, 7.4, 6.9), 3: (6.9, 7.1, 6.6), 4: (6.6, 6.9, 6.1)}
    tread = [TreadRow(day=day, tyre="tlf", inner_mm=a, middle_mm=b, outer_mm=c) for day, (a, b, c) in depth.items()]
    times = [row for day in (1, 2, 3, 4) for row in runs("26", day, *["46.000"] * (2 + day))]
    days = [date(2026, 5, 9 + at) for at in range(4)]
    made = event(
        [entrant("26")], times, settings(days=days, mine={"numbers": ["26"], "cars": {"26": "estate"}}), *fitted, *tread
    )
    found = list(tread_replayed(made))
    assert [item.kind for item in found] == [TREAD] * 6, "the first two depths give the rate"
    wanted = []
    for day in (3, 4):
        before = tuple(row for row in tread if row.day < day)
        tables = {**made.tables, "tread.csv": before, "times.csv": tuple(row for row in times if row.day <= day)}
        (tyre,) = [item for item in inventory(replace(made, tables=tables), ()).tyres if item.tyre == "tlf"]
        for at, edge in enumerate(("inner", "middle", "outer")):
            rate, said = tyre.wear[edge], tyre.life.depth_mm[edge]
            count = tyre.runs_since_reading or 0
            square = 2 * rate.scatter.gauge_mm**2 + (count * rate.sd) ** 2
            square += (count * rate.share * rate.mm) ** 2 + (count * rate.scatter.surface * rate.mm) ** 2
            reach = Z80 * math.sqrt(square)
            wanted.append((said, said - reach, said + reach, depth[day][at]))
    assert [(item.said, item.low, item.high, item.came) for item in found] == [pytest.approx(row) for row in wanted]
    assert hindsight([made])[-1] == record_of(TREAD, found)


def test_records_count_every_event_and_tell_how_far_they_are() -> None:
    events = [drawn(seed, controls=5, run_count=3) for seed in (3, 4)]
    steps: list[tuple[int, int]] = []
    found = {item.kind: item for item in hindsight(events, lambda done, of: steps.append((done, of)))}
    assert steps == [(1, 2), (2, 2)]
    asked = [item for made in events for item in replayed(made, "26")]
    for kind in (NEXT_RUN, STEP, CLASS, INDEX):
        assert found[kind] == record_of(kind, [item for item in asked if item.kind == kind])
    own = own_record(events, "26")
    assert own == tuple(found[kind] for kind in (NEXT_RUN, CLASS, INDEX))
    last = own_record(events, "26", most=2)
    assert last == own_record(events[1:], "26"), "the newest two moments are those of the second event"
    assert own_record(events, "99")[0].n == 0


def test_a_record_of_figures_by_hand() -> None:
    """Off by 5, 15 ... 195 with a half range of 100 above and 50 below."""
    above = [AskedForecast(NEXT_RUN, 0.0, -50.0, 100.0, 10.0 * i + 5) for i in range(20)]
    found = record_of(NEXT_RUN, above)
    assert (found.n, found.inside80, found.median_error, found.widen) == (20, 0.5, 100.0, 1.55)
    assert (found.brier, found.brier_base, found.reliability, found.resolution) == (None,) * 4
    below = [replace(item, came=-item.came) for item in above]
    assert record_of(NEXT_RUN, below).widen == pytest.approx(3.1)
    assert record_of(NEXT_RUN, below).inside80 == 0.25
    edge = [AskedForecast(NEXT_RUN, 0.0, -50.0, 100.0, came) for came in (-50.0, 100.0, 100.1)]
    assert record_of(NEXT_RUN, edge).inside80 == pytest.approx(2 / 3)
    assert record_of(NEXT_RUN, above[:19]).widen is None
    no_width = [AskedForecast(NEXT_RUN, 0.0, 0.0, 0.0, 1.0)] * 20
    assert record_of(NEXT_RUN, no_width).widen == pytest.approx(1e6)
    narrow = ForecastRecord(NEXT_RUN, 30, 1.0, 0.699, widen=1.3)
    assert (narrow.wider, replace(narrow, inside80=0.7).wider, replace(narrow, widen=0.8).wider) == (1.3, 1.0, 1.0)


def test_a_record_of_chances_by_hand() -> None:
    """Fifths: .1 and .15 together (one of four came), .2 alone (none), .8 and 1 together (two of three)."""
    said = [
        (0.1, False),
        (0.15, False),
        (0.15, True),
        (0.1, False),
        (0.2, False),
        (0.8, True),
        (1.0, True),
        (0.9, False),
    ]
    found = record_of(CLASS, [AskedForecast(CLASS, p=p, happened=happened) for p, happened in said])
    assert (found.n, found.median_error, found.inside80, found.widen) == (8, None, None, None)
    assert found.brier == pytest.approx(sum((p - happened) ** 2 for p, happened in said) / 8)
    assert found.brier_base == pytest.approx(3 / 8 * 5 / 8)
    assert found.reliability == pytest.approx((4 * (0.125 - 0.25) ** 2 + 0.2**2 + 3 * (0.9 - 2 / 3) ** 2) / 8)
    assert found.resolution == pytest.approx((4 * (0.25 - 3 / 8) ** 2 + (3 / 8) ** 2 + 3 * (2 / 3 - 3 / 8) ** 2) / 8)
    assert record_of(CLASS, []) == ForecastRecord(CLASS, 0)


def test_only_who_scatters_more_than_told_is_widened() -> None:
    assert own_scatter([drawn(3, controls=6, run_count=4)], ["26", "40"]) == {}
    assert own_scatter([], []) == {}
