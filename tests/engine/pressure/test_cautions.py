"""What is said beside an answer, and when the work on what was seen lets a car go again. By hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.pressure.cautions import cautions, road_figures, warmed_anew, work_done, worked_off
from paddock.engine.pressure.corners import Corners, Reason, because
from paddock.engine.pressure.decide import by_rules
from paddock.engine.pressure.limits import Bound, Likely
from paddock.engine.pressure.timeline import TimedRun
from paddock.model.car import Target
from paddock.model.rows import TimeRow, TyreRow, WeatherRow, WorkRow
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, cold, logged, now
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told

BASE = seen(MORNING, after(1, *HOT), logged(1))


def beside(
    s: Any = BASE, to: Corners | None = None, moment: str = "read", *more: Reason, **changed: Any
) -> list[Reason]:
    found = cautions(replace(s, **changed), to or s.now, more, moment)
    assert found[-1] == because("maker")
    return list(found[:-1])


def test_nothing_is_said_beside_a_plain_answer_and_nothing_twice() -> None:
    assert beside() == []
    one = because("when-it-dries")
    assert beside(BASE, None, "read", one, one) == [one]


def test_what_is_missing_in_the_car_file() -> None:
    assert beside(car=None)[0] == because("no-car-file")
    assert "no-maximum" not in {item.name for item in beside(car=None)}
    assert beside(target=None) == [because("no-target-said", target="dry")]
    floorless = car(front_min_psi=None, placard_front_psi=None)
    assert beside(car=floorless) == [because("no-floor", axles=("front",))]
    assert beside(car=floorless, tyres={"rf": TyreRow(tyre="a", min_cold_psi=28.0)}) == []
    assert beside(car=car(front_min_psi=None)) == []
    bare = car(front_min_psi=None, placard_front_psi=None, rear_min_psi=None, placard_rear_psi=None, max_cold_psi=None)
    assert beside(car=bare) == [because("no-floor", axles=("front", "rear")), because("no-maximum")]
    named = TyreRow(tyre="a", max_cold_psi=44.0)
    blank = car(max_cold_psi=None)
    assert beside(car=blank, tyres={"lf": named, "rf": named, "lr": named}) == [because("no-maximum")]
    assert beside(car=blank, tyres=dict.fromkeys(("lf", "rf", "lr", "rr"), named)) == []


def test_what_is_let_out_hot_is_said_with_what_it_parks_at() -> None:
    """33 at the warmest it likely is, 48 C, parked at 12 C; 13.99 psi outside; only corners that are let out."""
    warm = {**BASE.likely, "lf": Likely(18.0, 48.0)}
    outside = 96_472.48 / 6894.757
    ((name, values),) = [
        (item.name, dict(item.values)) for item in beside(BASE, Corners(33.0, 34.0, 44.0, 45.0), likely=warm)
    ]
    assert (name, values["coldest_c"]) == ("let-out-hot", 12.0)
    ((corner, psi),) = values["parked"]  # type: ignore[misc]
    assert (corner, psi) == ("lf", pytest.approx((33.0 + outside) * 285.15 / 321.15 - outside, abs=0.001))
    high = BASE.gauge.model_copy(update={"offset_psi": 0.4})
    said = next(
        item
        for item in beside(BASE, Corners(33.0, 34.0, 44.0, 44.0), likely=warm, gauge=high)
        if item.name == "let-out-hot"
    )
    ((_, shown),) = dict(said.values)["parked"]  # type: ignore[misc]
    assert shown == pytest.approx(psi + 0.4)
    assert beside(BASE, Corners(33.0, 34.0, 44.0, 44.0), "day-done", likely=warm) == []
    assert beside(BASE, Corners(33.0, 34.0, 44.0, 44.0), likely=warm, rested=True) == []
    assert beside(BASE, Corners(33.0, 34.0, 44.0, 44.0), step=None) == [
        because("worked-out", corners=("lf", "rf", "lr", "rr"))
    ]


def test_over_the_maximum_as_it_reads() -> None:
    """51 psi; only where the tyre's temperature is not known."""
    now_ = Corners(51.1, 51.1, 51.0, 51.1)
    unknown = {**dict.fromkeys(("lf", "lr", "rr"), Likely(18.0, 48.0)), "rf": Likely(30.0, 30.0)}
    assert beside(BASE, now_, now=now_, likely=unknown) == [because("over-as-read", corners=("lf", "rr"))]
    assert beside(BASE, now_, now=now_, likely=unknown, car=car(max_cold_psi=None))[0].name == "no-maximum"


def test_a_return_that_parks_under_a_placard() -> None:
    soft = {**BASE.bound, "lr": Bound(soft_low=43.5), "lf": Bound(soft_low=30.0)}
    to = Corners(33.9, 34.0, 43.4, 44.0)
    said = [item for item in beside(BASE, to, bound=soft) if item.name != "let-out-hot"]
    assert said == [because("parks-under-placard", axles=("rear",))]
    for psi in (43.5, 44.0):
        assert "parks-under-placard" not in {
            item.name for item in beside(BASE, Corners(33.9, 34.0, psi, 44.0), bound=soft)
        }
    low = replace(BASE.now, lr=43.0)
    assert "parks-under-placard" not in {
        item.name for item in beside(BASE, Corners(34.0, 34.0, 43.2, 44.0), bound=soft, now=low)
    }
    assert beside(BASE, to, bound=soft, rested=True) == []


def test_it_dries_and_the_way_back_is_not_made_yet() -> None:
    """Off the dry target by more than 0.6 psi, on a day that was wet, on what is dry or drying now."""

    def dries(to: Corners, word: str = "dry", from_wet: bool = True, moment: str = "read", **more: Any) -> list[Reason]:
        surface = replace(BASE.surface, word=word, from_wet=from_wet)
        return [item for item in beside(BASE, to, moment, surface=surface, **more) if item.name == "dries"]

    off = Corners(34.7, 34.0, 44.6, 44.0)
    assert dries(off) == [because("dries", hot=(("front", 34.0),))]
    assert dries(Corners(34.6, 34.0, 45.0, 43.0)) == [because("dries", hot=(("rear", 44.0),))]
    assert dries(off, "drying") == [because("dries", hot=(("front", 34.0),))]
    assert dries(off, "damp") == dries(off, from_wet=False) == dries(off, target=None) == dries(off, rested=True) == []
    assert dries(off, moment="day-done") == dries(off, moment="event-done") == []
    assert dries(off, target=Target(rear_psi=44.0)) == []
    assert dries(Corners(33.3, 34.0, 44.0, 44.0)) == [because("dries", hot=(("front", 34.0),))]


def test_a_setting_for_a_surface_that_turned_some_time_after_the_reading() -> None:
    """From ten minutes on, and only where something is set."""

    def cooled(minutes: int, to: Corners | None = None) -> list[Reason]:
        rows = (
            MORNING,
            logged(1),
            after(1, *HOT),
            WeatherRow(day=1, at=f"09:{3 + minutes:02d}", air_c=18.0, surface="wet"),
        )
        s = seen(*rows)
        assert s.turned
        return [item for item in beside(s, to or Corners(35.0, 34.0, 44.0, 44.0)) if item.name == "cooled-since"]

    assert cooled(10) == [because("cooled-since", age_min=10.0)]
    assert cooled(9) == []
    assert cooled(12, Corners(*HOT)) == []
    assert [item for item in beside(BASE, Corners(35.0, 34.0, 44.0, 44.0)) if item.name == "cooled-since"] == []


TURNED = seen(MORNING, logged(1), after(1, *HOT), WeatherRow(day=1, at="09:05", air_c=18.0, surface="wet"), order=False)


def test_what_an_end_on_a_surface_that_turned_rests_on() -> None:
    """Half the range of the corner that is least sure: the rear's, of 44 psi."""
    assert warmed_anew(BASE) is None
    found = warmed_anew(TURNED)
    assert found is not None
    values = dict(found.values)
    assert (values["surface"], values["rises"]) == ("wet", (TURNED.rises["front"], TURNED.rises["rear"]))
    outside = 96_472.48 / 6894.757
    halves = [
        (psi + outside) * (way.high_c - way.low_c) / (way.now_c + 273.15) / 2
        for corner, psi in TURNED.now.known().items() for way in [TURNED.way[corner]]
    ]  # fmt: skip
    assert min(halves) < max(halves) - 0.1
    assert values["within_psi"] == pytest.approx(max(halves))


@pytest.mark.parametrize(
    ("front", "rear", "known", "sure"),
    [
        ("read", "car", True, "fair"),
        ("read", "usual", True, "low"),
        ("between", "read", True, "low"),
        ("read", "fit", False, "low"),
    ],
)
def test_an_answer_for_a_surface_that_turned_is_as_sure_as_its_least_sure_axle(
    front: str, rear: str, known: bool, sure: str
) -> None:
    """By the car's own rises and known warmth fair; by any car's, or of tyres of unknown warmth, low."""
    rises = {axle: replace(TURNED.rises[axle], source=source) for axle, source in (("front", front), ("rear", rear))}  # type: ignore[arg-type]
    way = {**TURNED.way, "rr": replace(TURNED.way["rr"], known=known)}
    found = by_rules(replace(TURNED, rises=rises, way=way))
    assert (found.action, found.rule, found.confidence) == ("set", "damp", sure)
    there = {corner: aim for corner in ("lf", "rf", "lr", "rr") if (aim := TURNED.aim(corner)) is not None}
    held = by_rules(replace(TURNED, rises=rises, way=way, now=Corners.of(there)))
    assert (held.action, held.reason.name, held.confidence) == ("hold", "no-rule", "fair")


def test_gauges_and_the_sea_level_are_told() -> None:
    bent = [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": 0.5}]
    s = seen(MORNING, after(1, *HOT), logged(1), gauges=bent)
    assert because("gauge-off", gauge="dial", psi=0.5) in beside(s)
    level = seen(MORNING, after(1, *HOT), logged(1), altitude_m=None)
    assert beside(level) == [because("sea-level")]
    station = WeatherRow(day=1, at="08:00", air_c=12.0, station_hpa=980.0)
    assert beside(seen(MORNING, after(1, *HOT), logged(1), station, altitude_m=None)) == []


def test_readings_that_are_in_doubt_are_told_once_a_gauge() -> None:
    strange = [row.model_copy(update={"gauge": "pencil"}) for row in (MORNING, after(1, *HOT))]
    found = beside(seen(*strange, logged(1)))
    assert [item.name for item in found] == ["doubt"]
    other = beside(seen(strange[0], strange[1].model_copy(update={"gauge": "watch"}), logged(1)))
    assert [item.name for item in other] == ["doubt", "doubt", "different-gauges"]
    kpa = MORNING.model_copy(update={"lf_psi": 234.0})
    assert [item.name for item in beside(seen(kpa, after(1, *HOT), logged(1)))] == ["doubt"]
    yesterday = seen(kpa, cold(30.0, 30.0, 39.0, 39.0, day=2))
    assert [item.name for item in beside(yesterday)] == []


def test_the_road_pressures_of_each_axle() -> None:
    assert road_figures(BASE) == (("front", 33.0), ("rear", 32.0))
    assert road_figures(replace(BASE, car=car(placard_front_psi=None))) == (("rear", 32.0),)
    assert road_figures(replace(BASE, car=None)) == ()
    assert road_figures(replace(BASE, gauge=BASE.gauge.model_copy(update={"offset_psi": 0.5}))) == (
        ("front", 33.5),
        ("rear", 32.5),
    )


# --- work on what was seen ------------------------------------------------------------------------------------------------


def test_when_the_work_on_what_was_seen_was_done() -> None:
    ran = TimedRun(1, 2, ME, time=TimeRow(day=1, run=2, number=ME, at="10:00"))
    rows = (
        WorkRow(id="a", item="vibration front", done="day 1 10:20"),
        WorkRow(id="b", item="vibration again", done=" day 1 10:40 "),
    )
    assert worked_off(told(*rows), ran, "vibration at speed") == "day 1 10:40"
    assert worked_off(told(rows[0], WorkRow(id="b", item="vibration again")), ran, "vibration at speed") is None
    assert worked_off(told(), ran, "vibration") is None
    assert not work_done(
        told(WorkRow(id="a", item="under the left front", done="yes")), ran, "noise under the left front"
    )
    assert work_done(
        told(WorkRow(id="a", item="look under it", note="noise gone", done="yes")), ran, "noise under the left front"
    )
    assert not work_done(
        told(WorkRow(id="a", item="vibration", opened="day 1 09:50", done="day 1 09:55")), ran, "vibration"
    )
    assert not work_done(told(WorkRow(id="a", item="vibration", done="day 1 09:55")), ran, "vibration")


def test_a_tyre_that_fell_is_let_go_once_the_work_on_it_is_done() -> None:
    fell = (MORNING, before(1, *HOT), after(1, 34.0, 34.0, 44.0, 40.5), logged(1))

    def action(*work: WorkRow) -> str:
        return now(told(*fell, *work)).action

    assert action() == "stop"
    assert action(WorkRow(id="w", item="RR: new valve", done="yes")) != "stop"
    assert action(WorkRow(id="w", item="right rear: new valve", done="yes")) != "stop"
    assert action(WorkRow(id="w", item="puncture mended", done="yes")) != "stop"
    assert action(WorkRow(id="w", item="lf: new valve cap", done="yes")) != "stop", "a valve, whichever"
    assert action(WorkRow(id="w", item="wash the car", done="yes")) == "stop"
    assert action(WorkRow(id="w", item="rr valve", done="yes"), WorkRow(id="v", item="rr again")) == "stop"
