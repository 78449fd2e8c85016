"""The surface turns: what the next run's end is reckoned from, acted out; the answers were worked by hand before.

By hand: the air inside at the next end is the newest air, plus what is left of the warmth (20 minutes' time constant over
the rest of a quarter of an hour's wait, the run and the way to the gauge; of that two thirds on water), plus what a first
run of the coming surface warms. To set: (target + outside) x T now / T then - outside, 13.99 psi outside at 412 m.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import pytest

from paddock.engine.pressure.moment import what_if
from paddock.engine.pressure.outside import Asked
from paddock.model.car import Target
from paddock.model.event import Event
from paddock.model.rows import Row, RunRow, TimeRow, WeatherRow
from paddock.pages.pressing import taking
from paddock.pages.pressure import headline, later_words, next_line
from tests.engine.pressure.situations import ME, Four, after, before, car, clock, cold, logged, now, put
from tests.engine.said import cautions, reason
from tests.factories import entrant, event, settings

AIR_C = 13.5
MORNING = cold(30.0, 30.0, 39.2, 39.2, air_c=12.0)
HOT, COOLED = (34.0, 34.0, 44.0, 44.0), (31.9, 31.9, 41.4, 41.4)
"""24.4 K over the air at 13.5, and 10.9 K a quarter of an hour later."""


def rain(word: str, at: str = "09:41") -> WeatherRow:
    return WeatherRow(day=1, at=at, air_c=AIR_C, surface=word)  # type: ignore[arg-type]


def day(*rows: Row, of: Any = None, gauges: list[dict[str, Any]] | None = None) -> Event:
    """A day whose runs are timed where they are logged."""
    found = settings(
        altitude_m=412.0, runs_per_day=9, forecast={"hottest_c": 20.0, "coldest_c": 12.0}, mine={"numbers": [ME]},
        gauges=gauges or [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.2}],
    )  # fmt: skip
    times = [
        TimeRow(day=1, run=row.run, number=ME, time_ms=48_000, at=row.at) for row in rows if isinstance(row, RunRow)
    ]
    return dataclasses.replace(event([entrant(ME)], times, found, *rows), cars={"estate": of or car()})


def ran(number: int, surface: str, psi: Four) -> tuple[Row, ...]:
    """A run every 25 minutes, read two and a half minutes after it."""
    start = 540 + 25 * (number - 1)
    at, read = (f"{minute // 60:02d}:{minute % 60:02d}" for minute in (start, start + 3))
    return logged(number, surface=surface, at=at), after(number, *psi, air_c=AIR_C, at=f"{read}:18")  # type: ignore[arg-type]


@dataclass(frozen=True)
class Turn:
    """``to``: what is to be set, front and rear, psi; the front's end is ``over_k`` over the air."""

    title: str
    rows: tuple[Row, ...]
    to: tuple[float, float]
    over_k: float
    confidence: str
    says: str


DRY_TWO = (MORNING, *ran(1, "dry", (33.4, 33.4, 43.2, 43.2)), *ran(2, "dry", HOT))
DAMP_TWO = (
    cold(28.8, 28.8, 36.6, 36.6, air_c=12.0),
    *ran(1, "damp", (29.7, 29.7, 37.6, 37.6)),
    *ran(2, "damp", (30.0, 30.0, 38.0, 38.0)),
)
WET_TWO = (
    cold(31.75, 31.75, 38.55, 38.55, air_c=12.0),
    *ran(1, "wet", (32.7, 32.7, 39.6, 39.6)),
    *ran(2, "wet", (33.0, 33.0, 40.0, 40.0)),
)
"""Both 6.3 K over the air after run 2."""

DRY_THEN_WET = (
    *DRY_TWO,
    put(2, 35.0, 35.0, 42.3, 42.3, air_c=AIR_C, at="09:29"),
    *ran(3, "wet", (33.0, 33.0, 40.0, 40.0)),
)
"""11.5 K over the air."""

WET_FIRST = (MORNING, *ran(1, "wet", (31.75, 31.75, 41.25, 41.25)), *ran(2, "dry", HOT))
"""Its first run on the wet warmed them 9.8 K."""

COOLED_3 = before(3, *COOLED, air_c=AIR_C, at="09:40:48")

TURNS = (
    Turn("dry, hot, then wet", (*DRY_TWO, rain("wet")), (35.0, 42.3), 11.5, "low", "a wet surface warms them 5 K"),
    Turn("dry, hot, then water stands", (*DRY_TWO, rain("standing")), (36.1, 43.4), 11.5, "low", "water warms them 5 K"),
    Turn("dry, hot, then damp", (*DRY_TWO, rain("damp")), (31.5, 39.7), 14.5, "low", "a damp surface warms them 8 K"),
    Turn("dry, cooled, then wet", (*DRY_TWO, COOLED_3, rain("wet")), (33.0, 39.9), 11.1, "low", "warms them 5 K"),
    Turn("dry, cooled, then damp", (*DRY_TWO, COOLED_3, rain("damp")), (29.5, 37.4), 14.1, "low", "warms them 8 K"),
    Turn("wet read before, dry, then wet", (*WET_FIRST, rain("wet")), (34.0, 41.5), 16.3, "fair", "10/9 K (read after"),
    Turn("wet, then dry", (*WET_TWO, rain("dry")), (31.5, 40.9), 22.5, "low", "a dry surface warms them 20 K"),
    Turn("wet, then drying", (*WET_TWO, rain("drying")), (32.4, 42.0), 16.5, "low", "14 K (halfway from damp to dry)"),
    Turn("damp, then wet", (*DAMP_TWO, rain("wet")), (32.9, 39.9), 6.7, "low", "a wet surface warms them 5 K"),
    Turn("dry, wet, then dry again", (*DRY_THEN_WET, rain("dry", "09:54")), (31.9, 41.6), 25.1, "fair",
         "21/20 K (read after one first run)"),
)  # fmt: skip


@pytest.mark.parametrize("turn", TURNS, ids=[turn.title for turn in TURNS])
def test_a_surface_that_turned_is_set_for_by_what_it_warms(turn: Turn) -> None:
    """One answer on every sheet: `next`, home, the pressures page, the heat page."""
    whole = day(*turn.rows)
    told = now(whole)
    assert told.action in {"set", "plan"}
    assert told.set is not None
    front, rear = told.set.axle("front"), told.set.axle("rear")
    assert (front, rear) == (pytest.approx(turn.to[0], abs=0.2), pytest.approx(turn.to[1], abs=0.2))
    way = told.known.way["lf"]
    assert way.end_c - AIR_C == pytest.approx(turn.over_k, abs=0.7)
    assert way.low_c < way.end_c < way.high_c
    assert told.confidence == turn.confidence
    assert any(turn.says in text for text in later_words(told, "psi"))
    hot = told.known.hot("lf")
    assert told.expected["lf"] == pytest.approx(hot, abs=0.41), "no farther off than what the gauge tells"
    shown = taking(whole, ME, told.known.clock.time)
    assert (shown.kind, dict(shown.psi)) == ("set", told.moves)
    assert [item.set_psi for item in what_if(whole, ME, clock(whole), Asked()).corners] == list(
        told.set.as_dict().values()
    )
    assert all(f"{rear:.1f}" in text for text in (next_line(told), headline(told, "psi")[0]))


def test_rain_after_the_setting_asks_for_the_rest_of_the_way() -> None:
    """Set for a dry run at 9:29, rain at 9:41: the wet setting in the state of that setting; and when it dries, back."""
    dry = (*DRY_TWO, put(2, *HOT, air_c=AIR_C, at="09:29"))
    wet = now(day(*dry, rain("wet")))
    assert (wet.name, wet.action, wet.rule) == ("set", "set", "damp")
    assert wet.moves["lf"] == pytest.approx(35.0, abs=0.2)
    back = now(day(*WET_TWO, put(2, 33.0, 33.0, 40.0, 40.0, air_c=AIR_C, at="09:29"), rain("dry")))
    assert (back.name, back.action) == ("set", "set")
    assert (back.moves["lf"], back.moves["lr"]) == (pytest.approx(31.5, abs=0.2), pytest.approx(41.0, abs=0.2))


FULL = Target(front_psi=46.0, rear_psi=40.0)


@pytest.mark.parametrize(("rows", "wet", "limits"), [
    ((*DRY_TWO, rain("wet")), FULL, {"max_cold_psi": 43.0}),
    ((*DRY_TWO, COOLED_3, rain("wet")), FULL, {"max_cold_psi": 43.0}),
    ((*WET_TWO, rain("dry")), None, {"front_min_psi": 31.0, "rear_min_psi": 30.0}),
])  # fmt: skip
def test_no_turn_leads_over_the_maximum_or_under_the_minimum(
    rows: tuple[Row, ...], wet: Target | None, limits: dict[str, float]
) -> None:
    """The front, parked at 20 C, stays at the maximum, parked at 12 C at the minimum; what was cut short is said."""
    mine = car(**limits)
    told = now(day(*rows, of=mine if wet is None else mine.model_copy(update={"targets": mine.targets | {"wet": wet}})))
    assert told.set is not None
    way, psi, read = told.known.way["lf"], told.set["lf"] or 0.0, (told.now or told.set)["lf"] or 0.0
    assert abs(psi - read) > 0.3, "part of the way"
    limit, at = (31.0, 12.0) if wet is None else (43.0, 20.0)
    assert way.ends_at(psi, at) == pytest.approx(limit, abs=0.01)
    assert "cut short" in reason(told)


def test_a_run_on_the_new_surface_is_expected_as_it_was_driven() -> None:
    """Set 35/42.3 for the wet, driven on it: 33/40, until it is read; then it is held to what it read."""
    told = now(day(*DRY_THEN_WET[:-1]))
    assert (told.name, told.action) == ("ran", "read")
    assert (told.expected["lf"], told.expected["lr"]) == (pytest.approx(33.0, abs=0.4), pytest.approx(40.0, abs=0.4))
    assert now(day(*DRY_THEN_WET)).known.way["lf"].how == "back"


def test_tyres_of_unknown_warmth_are_taken_as_warm_as_the_surface_they_ran_on_makes_them() -> None:
    """No cold reading: 20 K over the air after each dry run, what is left of the first after 25 minutes, little trust."""
    told = now(day(*(row for row in DRY_TWO if row is not MORNING), rain("wet")))
    way = told.known.way["lf"]
    assert (way.known, told.confidence) == (False, "low")
    assert (way.now_c - AIR_C, way.end_c - AIR_C) == (pytest.approx(25.73, abs=0.01), pytest.approx(11.9, abs=0.3))


def test_a_drying_surface_has_its_own_rise_where_it_was_read_and_its_dry_run_is_another() -> None:
    own = now(day(MORNING, *ran(1, "drying", (32.4, 32.4, 42.0, 42.0)), rain("wet"), rain("drying", "09:50")))
    assert own.known.rises["front"].source == "read"
    dried = now(day(MORNING, *ran(1, "drying", (32.4, 32.4, 42.0, 42.0)), rain("dry")))
    assert (dried.known.way["lf"].how, dried.known.rises["front"].source) == ("turned", "usual")


def test_a_hold_that_rests_on_a_guess_is_told_as_one() -> None:
    told = now(day(MORNING, *ran(1, "dry", (33.4, 33.4, 43.2, 43.2)), *ran(2, "dry", HOT), COOLED_3, rain("drying")))
    assert (told.action, told.confidence) == ("hold", "low")
    own = now(day(*WET_FIRST[:3], *ran(2, "dry", (32.4, 32.4, 42.8, 42.8)), rain("wet")))
    assert own.confidence == "fair"


def test_figures_of_a_reading_that_cooled_before_the_surface_turned_say_so() -> None:
    """Read at 9:28: for rain at 9:37 they are set by, for rain at 9:41 read again first."""
    said = {
        at: [text for text in cautions(now(day(*DRY_TWO, rain("wet", at)))) if "cooled" in text]
        for at in ("09:37", "09:41")
    }
    again = "the tyres have cooled, read them again and set by that."
    assert said == {
        "09:37": [],
        "09:41": [f"Read 13 min before the surface turned, and both figures are of then: {again}"],
    }
    assert not any("cooled" in text for text in cautions(now(day(*DRY_TWO, COOLED_3, rain("wet", "09:42")))))


def test_rain_two_runs_ago_that_was_never_set_for_is_still_no_heat_drift() -> None:
    """Dry, wet, wet, nothing set: the wet target by the rule for it; from the day's first run on wet it is heat alone."""
    warm = ((32.0, 32.0, 41.6, 41.6), (31.5, 31.5, 41.0, 41.0))
    never = now(day(MORNING, *ran(1, "dry", HOT), *ran(2, "wet", warm[0]), *ran(3, "wet", warm[1])))
    assert (never.rule, never.known.surface.changing) == ("damp", False)
    always = now(day(MORNING, *ran(1, "wet", HOT), *ran(2, "wet", warm[0]), *ran(3, "wet", warm[1])))
    assert always.rule == "heat-drift"
