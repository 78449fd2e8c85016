"""Whatever a person wrote: an answer, finite figures, and a next event that can be read."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from paddock.commands.tyres import proposal_data, tyre_data
from paddock.engine.car.setup_sheet import sheet
from paddock.engine.season.carry import carry
from paddock.engine.tyres.buying import orders, questions
from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.proposals import moves_for
from paddock.engine.tyres.putting import square_against_staggered
from paddock.engine.work import due
from paddock.engine.work.due import checklists
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, RunRow, SetupChange, TickRow, TimeRow, TreadRow, TyreRow, WorkRow
from paddock.model.season import Booking
from tests.factories import entrant, event
from tests.factories import settings as event_settings

names = st.sampled_from(["A", "B", "C", "D", "Ä [x]", "1"])
numbers = st.sampled_from(["26", "83", "9"])
days = st.integers(1, 4)
runs = st.integers(1, 6)
texts = (
    st.none() | st.text(max_size=12) | st.sampled_from(["rear_bar", "wheels", "day 1 run 2", "next run", "in 3 runs"])
)
depths = st.none() | st.floats(0, 12) | st.sampled_from([0.0, 1.6, 1e-9, 400.0])
corners = st.sampled_from(["lf", "rf", "lr", "rr"])
statuses = st.sampled_from([None, "dnf", "dns", "rerun", "practice", "dsq"])

rows = st.one_of(
    st.builds(
        TimeRow, day=days, run=runs, number=numbers, time_ms=st.none() | st.integers(0, 10**7), status=statuses,
        at=st.sampled_from([None, "08:00", "23:59:59"]),
    ),
    st.builds(
        TyreRow, tyre=names, size=texts, date_code=texts | st.sampled_from(["239", "5399", "0124"]),
        price=st.none() | st.floats(0, 1000), runs_before=st.none() | st.integers(0, 999),
        directional=st.none() | st.booleans(), floor_mm=depths, delivery_days=st.none() | st.integers(0, 999),
    ),
    st.builds(FittedRow, day=days, run=st.none() | runs, number=numbers, corner=corners, tyre=names, orientation=texts),
    st.builds(TreadRow, day=st.integers(0, 4), tyre=names, inner_mm=depths, middle_mm=depths, outer_mm=depths),
    st.builds(WorkRow, id=names, opened=texts, item=texts, reason=texts, due=texts, done=texts),
    st.builds(
        SetupChange, id=names, day=st.none() | days, run=st.none() | runs, number=st.none() | numbers, setting=texts,
        item=texts, before=texts, after=texts, undoes=st.none() | names,
    ),
    st.builds(RunRow, day=days, run=runs, number=numbers, unsafe=texts),
    st.builds(TickRow, list=st.just("grid"), item=names, day=st.none() | days),
)  # fmt: skip


@st.composite
def events(draw: st.DrawFn) -> Event:
    found: list[Row] = draw(st.lists(rows, max_size=25))
    first = draw(st.none() | st.dates(date(1999, 1, 1), date(2090, 1, 1)))
    span = [first + timedelta(days=at) for at in range(draw(st.integers(0, 3)))] if first else []
    mine = {"numbers": draw(st.lists(numbers, unique=True)), "cars": {"26": "estate", "83": "estate"}}
    held = event([entrant("26")], [], event_settings(days=span, mine=mine, runs_per_day=draw(st.none() | runs)), *found)
    cars = {"estate": Car(setup={"rear_bar": "3-3"}, fasteners={"wheel nut": 120.0}), "other": Car()}
    return replace(held, cars=cars, checklists={"grid": ("A", "B"), "none": ()})


BOOKED = [Booking(name="x", days=(date(2026, 8, 1),)), Booking(), Booking(name="y", days=(date(2099, 8, 1),))]


@given(events())
def test_an_answer_with_finite_figures(held: Event) -> None:
    found = inventory(held, [held])
    moves, _ = moves_for(found)
    buys = orders(held, found, BOOKED)
    json.dumps([tyre_data(state) for state in found.tyres], allow_nan=False)
    json.dumps([proposal_data(item) for item in (*moves, *buys)], allow_nan=False)
    for state in found.tyres:
        life = state.life
        if life.runs is not None:
            assert 0 <= (life.low or 0.0) <= life.runs * (1 + 1e-9) + 1e-9
            assert life.high is None or life.high >= life.runs * (1 - 1e-9) - 1e-9
            assert life.edge in {"inner", "middle", "outer"}
    assert all(item.runs_gained is not None and math.isfinite(item.runs_gained) for item in moves)
    assert all(problem.level == "warning" for problem in questions(held, [held]))
    square_against_staggered(found)


@given(events())
def test_work_lists_sheet_and_what_is_carried(held: Event) -> None:
    ids = iter(range(10**6))
    for number in ("26", "83", "9"):
        lines = due(held, number)
        assert [line.now for line in lines] == sorted((line.now for line in lines), reverse=True)
        sheet(held, number)
    assert all({line.item for line in found.lines} == set(held.checklists[found.name]) for found in checklists(held, 2))
    carried = carry(held, "next", [date(2030, 1, 1)], lambda: f"n{next(ids)}")
    assert all(isinstance(word, str) for word in (*carried.words, *carried.questions))
