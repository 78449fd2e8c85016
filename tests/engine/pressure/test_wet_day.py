"""A day of rain: one surface, one target, figures as the gauge reads, and why a way back waits."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime

import pytest

from paddock.engine.check.sift import sift
from paddock.engine.pressure.moment import what_if
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.plan import SitePlace, cold_sets
from paddock.engine.season.carry import carry
from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, SetupChange, TimeRow, WeatherRow
from paddock.pages.heat import told as heat_told
from paddock.pages.home import home
from paddock.pages.pressing import pressing, taking
from paddock.pages.pressure import later_words, next_line
from tests.engine.pressure.days import Day, air, run, whole
from tests.engine.pressure.situations import HOT, ME, MORNING, after, car, clock, logged, now, put
from tests.engine.pressure.test_rules import told
from tests.engine.said import cautions, reason

AT = datetime(2026, 5, 9, 9, 4)
HIGH = [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": 0.5}]


def rained(*weather: tuple[str, str], at: str = "10:00:48", said: str | None = "standing") -> Event:
    rows: list[Row] = [WeatherRow(day=1, at=when, air_c=12.0, surface=word) for when, word in weather]  # type: ignore[arg-type]
    whole = told(MORNING, *rows, logged(1, surface=said, at=at), after(1, *HOT, at="10:03"), times=())
    time = TimeRow(day=1, run=1, number=ME, time_ms=52_000, at=at)
    return dataclasses.replace(whole, tables={**whole.tables, TimeRow.FILE: (time,)})


@pytest.mark.parametrize("at", ["10:00", "10:01", "10:02"])
def test_weather_of_the_minute_of_a_run_is_newer_than_the_run(at: str) -> None:
    """The run stood in water, the sky cleared after it: nothing is set for water that has gone."""
    surface = now(rained((at, "drying"))).known.surface
    assert (surface.word, surface.from_wet, surface.since_run) == ("drying", True, 1)
    assert now(rained((at, "drying"))).rule != "standing-water"


def test_a_run_after_the_weather_has_its_own_word() -> None:
    assert now(rained(("09:59", "drying"))).known.surface.word == "standing"


def test_the_heat_page_and_home_hold_a_reading_to_one_target_on_standing_water() -> None:
    wet = told(MORNING, logged(1, surface="standing"), after(1, 34.0, 34.0, 40.0, 40.0), gauges=HIGH)
    found = what_if(wet, ME, clock(wet), Asked())
    assert [item.wanted_psi for item in found.corners] == [34.5, 34.5, 41.5, 41.5]
    assert taking(wet, ME, AT, kind="after").targets.known() == {"lf": 34.5, "rf": 34.5, "lr": 41.5, "rr": 41.5}
    rows = {row[0]: row[1:] for row in heat_told(wet, ME, None, 10.0, AT).rows}
    assert rows["LF"] == ("34.0", "34.5", "stays"), "within the noise nothing is set, and no figure says so"
    own = what_if(wet, ME, clock(wet), Asked(front_psi=33.0, rear_psi=40.0))
    assert [item.wanted_psi for item in own.corners] == [33.0, 33.0, 40.0, 40.0], "what is asked for is asked for"


def test_the_way_back_is_said_as_the_gauge_reads() -> None:
    rows = (WeatherRow(day=1, at="08:00", surface="wet"), WeatherRow(day=1, at="09:02", surface="drying"))
    dries = told(MORNING, *rows, logged(1, "-2 -2 -2 0", surface="wet"), after(1, 31.0, 31.0, 41.0, 41.0), gauges=HIGH)
    assert any("(front 34.5, rear 44.5 psi hot)" in text for text in cautions(now(dries)))


def test_cold_pressures_for_the_next_event_are_as_the_gauge_reads() -> None:
    old = told(MORNING, after(1, *HOT), logged(1), gauges=HIGH)
    front = cold_sets(old, ME, SitePlace(412.0, 8.0, 8.0))[0].set_psi or 0.0
    edits = carry(old, "next", [date(2026, 6, 6)], lambda: "x", SitePlace(412.0, 8.0, 8.0)).edits
    notes = [edit.cells for edit in edits if isinstance(edit, AddRow)]
    said = next(str(cells["text"]) for cells in notes if cells.get("topic") == "cold pressures")
    assert said.startswith(f"estate: at 8 °C front {front + 0.5:.1f}, rear")
    low = dataclasses.replace(old, settings=old.settings.model_copy(update={"altitude_m": 0.0}))
    edits = carry(low, "next", [date(2026, 6, 6)], lambda: "x", SitePlace(640.0, 8.0, 8.0)).edits
    notes = [edit.cells for edit in edits if isinstance(edit, AddRow)]
    said = next(str(cells["text"]) for cells in notes if cells.get("topic") == "cold pressures")
    # ISO 2533: 1013.25 hPa at sea level, 938.6 at 640 m: 74.6 hPa, 1.08 psi
    assert said.endswith("; as a gauge reads at 640 m: at 0 m, as cold, it shows 1.1 less")


def test_the_rise_counts_from_what_was_set_cold() -> None:
    morning = told(MORNING, put(1, 29.0, 29.0, 38.0, 38.0, at="07:50", air_c=12.0), logged(1), after(1, *HOT))
    found = pressing(taking(morning, ME, AT, kind="after"), {"lf": 34.0, "lr": 44.0}, frozenset())
    shown = {item.corner: item.gain_psi for item in found}
    assert (shown["lf"], shown["lr"]) == (5.0, 6.0)


def test_an_expected_reading_of_another_surface_says_what_it_rests_on() -> None:
    rain = WeatherRow(day=1, at="09:03", air_c=5.0, surface="wet")
    dry, wet = told(MORNING, logged(1), after(1, *HOT)), told(MORNING, logged(1), after(1, *HOT), rain)
    assert not any("left of their warmth" in text for text in later_words(now(dry), "psi"))
    said = (
        "a run on a wet surface warms them 5 K (usual, this car's own is not known) over what is left of their warmth"
    )
    assert any(said in text for text in later_words(now(wet), "psi"))


def test_a_hold_off_the_target_says_what_stops_the_return() -> None:
    low = told(MORNING, logged(1, "-2 -2 0 0"), after(1, 32.0, 32.0, 41.5, 41.5))
    assert (now(low).action, now(low).rule) == ("hold", "hold")
    assert reason(now(low)) == (
        "front 2 psi under, rear 2.5 psi under the dry target, but not heat alone: the balance is more than 1 from "
        "neutral: no way back yet"
    )
    assert "rear 2.5 psi under the dry target" in next_line(now(low))
    level = told(MORNING, logged(1, "-2 -2 0 0"), after(1, *HOT))
    assert "within the gauge's noise of the target" in reason(now(level))


def test_a_gauge_without_a_name_in_the_settings_is_asked_about_once() -> None:
    lost = told(MORNING, logged(1), after(1, *HOT), gauges=[{"id": "digital"}])
    assert sum("gauge 'dial' is not in event.toml" in text for text in cautions(now(lost))) == 1
    said = [item.message for item in sift("e", lost.settings, lost.tables, {"estate": car()}).problems]
    assert sum("gauge 'dial' is not in event.toml" in text for text in said) == 1
    assert len(lost.of(PressureRow)) == 2


@pytest.mark.parametrize(
    ("weather", "more", "back"),
    [
        ((), (), False),
        ((air("10:30", 14.0, "dry"),), (), True),
        (
            (air("10:30", 14.0, "dry"),),
            (SetupChange(id="d", day=1, run=3, number=ME, kind="test", setting="front_bar"),),
            False,
        ),
    ],
)
def test_what_was_moved_for_the_wet_is_asked_back_once_it_is_dry(
    weather: tuple[Row, ...], more: tuple[Row, ...], back: bool
) -> None:
    """Seen on a wet day: the bar softened for the rain stood softened on the dry, and no page said a word."""
    moved = SetupChange(
        id="c", day=1, run=2, number=ME, kind="test", setting="front_bar", item="front bar", before="2-2", after="1-2"
    )
    rows = (*run(1, "09:00"), air("09:30", 12.0, "wet"), moved, *more, *run(2, "09:40", surface="wet"), *weather)
    of = whole(Day("wet", rows, ()))
    found = home(of, ME, datetime(2026, 5, 9, 10, 40), None, 1)
    assert found.testing[0] == "front bar 2-2 → 1-2" + (", made for the wet: back?" if back else "")
