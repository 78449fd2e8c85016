"""The air in each tyre followed through whole days; by hand."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.pressure import mass
from paddock.engine.pressure.air import SEA_LEVEL_PA, AirState, carry
from paddock.engine.pressure.corners import because
from paddock.engine.pressure.follow import follow
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.mass import AirTrack, CornerAir
from paddock.engine.pressure.readings import CarLog
from paddock.model.rows import Row
from paddock.model.settings import Gauge
from tests.engine.test_heat_car import of, ran, read, track
from tests.engine.test_readings_order import fitted
from tests.factories import entrant, event, settings

OUT = SEA_LEVEL_PA / 6894.757293168
C20 = AirState(20.0)
FOUR = ("lf", "rf", "lr", "rr")


# --- the air through a day --------------------------------------------------------------------------------------------

COLD = read("cold", "08:00", 30.0, None)
RUN = ran(1, "09:00")


def hot(psi: float, temp_c: float) -> float:
    return carry(psi, C20, AirState(temp_c))


def events(found: AirTrack) -> list[tuple[str, str, float]]:
    return [(item.kind, item.corner, round(item.psi, 3)) for item in found.events]


def test_a_new_tyre_has_no_past() -> None:
    """Fitted before run 2: nothing of its air is known until it is read cold; it is fresh until it is read at all."""
    rows: list[Row] = [COLD, RUN, read("after", "09:02", hot(30, 45)), fitted(1, "lf", "a"), fitted(2, "lf", "b")]
    waiting = track(*rows)
    assert waiting.fresh == ("lf",)
    read_hot = track(*rows, ran(2, "09:30"), read("after", "09:32", (29.0, hot(30, 45), hot(30, 45), hot(30, 45)), 2))
    assert (events(read_hot), read_hot.fresh, read_hot.leaks) == ([], (), ())
    assert read_hot.steps[-1].corners["lf"] == CornerAir(29.0, True)
    unread = track(*rows, ran(2, "09:30"), read("after", "09:32", (None, hot(30, 45), hot(30, 45), hot(30, 45)), 2))
    assert (unread.steps[-1].corners["lf"], unread.fresh) == (CornerAir(), ("lf",))
    cold = track(*rows, ran(2, "09:30"), read("cold", "08:00", (28.0, 30.0, 30.0, 30.0), None, day=2))
    assert (events(cold), cold.leaks) == ([], ())
    assert cold.steps[-1].corners["lf"].sure


def test_the_usual_change_says_which_of_two_is_odd_where_no_other_axle_is_read() -> None:
    """From cold absolute pressures usually rise by 7 %; from a hot base, and cold against cold, they stay."""
    seven = (30 + OUT) * 1.07 - OUT
    found = track(
        read("cold", "08:00", (30.0, 30.0, None, None), None), RUN, read("after", "09:02", (seven, 26.0, None, None))
    )
    assert list(found.steps[-1].odd) == ["rf"]
    base = read("after", "09:02", (33.0, 33.0, None, None))
    still = track(RUN, base, ran(2, "09:30"), read("after", "09:32", (33.0, 28.0, None, None), 2))
    assert list(still.steps[-1].odd) == ["rf"]
    up = track(RUN, base, ran(2, "09:30"), read("after", "09:32", (33.0, 39.0, None, None), 2))
    assert list(up.steps[-1].odd) == ["rf"]
    gained = read("cold", "08:30", (31.2, 30.0, 30.0, 30.0), None)
    warm = read("after", "09:02", (70.0, 70.0, 30.0, 30.0))
    apart = track(COLD, gained, RUN, warm, read("before", "09:20", (None, None, seven, 26.0), 2))
    assert list(apart.steps[-1].odd) == ["rr"], "each axle by its own base"
    both = track(
        read("cold", "08:00", (30.0, 30.0, None, None), None), RUN, read("after", "09:02", (38.0, 28.9, None, None))
    )
    assert sorted(both.steps[-1].odd) == ["lf", "rf"]
    night = track(
        read("cold", "08:00", (30.0, 30.0, None, None), None),
        read("cold", "08:00", (30.0, 25.0, None, None), None, day=2),
    )
    assert list(night.steps[-1].odd) == ["rf"]


def test_the_other_axle_s_change_says_which_of_two_is_odd() -> None:
    still = track(COLD, read("before", "08:50", (30.0, 34.0, 30.0, 30.0)))
    assert list(still.steps[-1].odd) == ["rf"], "the rear stayed"
    up = (30 + OUT) * 1.09 - OUT
    warmed = track(COLD, RUN, read("after", "09:02", (30.0, up, up, up)))
    assert list(warmed.steps[-1].odd) == ["lf"]
    low = (30 + OUT) * 0.92 - OUT
    seven = (30 + OUT) * 1.07 - OUT
    crossed = track(COLD, RUN, read("after", "09:02", (seven, low, low, seven)))
    assert list(crossed.steps[-1].odd) == ["rf", "lr"], "where both axles are out of line the usual change tells"


def test_an_odd_reading_read_alike_twice() -> None:
    rows = [COLD, RUN, read("after", "09:02", (27.0, hot(30, 40), hot(30, 40), hot(30, 40)))]
    odd = hot(30, 40)
    for psi, at, twice in ((27.5, "09:04", True), (27.7, "09:04", False), (26.5, "09:04", True)):
        found = track(*rows, read("after", at, (psi, odd, odd, odd)))
        assert found.steps[-1].odd["lf"].twice == twice
        assert found.steps[-1].odd["lf"].fell
        assert found.steps[-1].corners["lf"].psi == psi
    ran_again = track(*rows, ran(2, "09:30"), read("after", "09:32", (27.0, odd, odd, odd), 2))
    assert not ran_again.steps[-1].odd["lf"].twice
    warm, warmer = hot(30, 45), hot(30, 50)
    again = [ran(2, "09:30"), read("after", "09:32", (31.0, warmer, warmer, warmer), 2)]
    assert track(COLD, RUN, read("after", "09:02", warm), *again).steps[-1].odd["lf"].fell, "less than it read last"
    blank = track(COLD, RUN, read("after", "09:02", (None, warm, warm, warm)), *again)
    assert not blank.steps[-1].odd["lf"].fell, "no less than where it began, and not read since"
    unread = track(COLD, read("before", "08:50", (None, 30.0, 30.0, 30.0)), *rows[1:])
    assert unread.steps[-1].odd["lf"].fell
    over = track(COLD, RUN, read("after", "09:02", (hot(30, 40) + 5, odd, odd, odd)))
    assert (over.steps[-1].odd["lf"].fell, over.falls, over.leaks, events(over)) == (False, (), (), [])
    assert over.steps[-1].odd["lf"].psi == pytest.approx(5.0)
    assert track(*rows, read("set", "09:04", 30.0, 2)).steps[-1].odd == {}
    quiet = follow(track(*rows).log, falls=False)
    assert quiet.steps[-1].odd == {}


def test_air_that_came_unlogged_starts_the_comparison_anew_once() -> None:
    """1.2 psi gained cold on the left; from there it is 0.4, then 0.8 down against its mate: a leak by the second."""
    gained = read("cold", "08:30", (31.2, 30.0, 30.0, 30.0), None)
    at45, more = hot(30, 45), hot(31.2, 45)
    first = read("after", "09:02", (more - 0.4, at45, at45, at45))
    second = read("after", "09:04", (more - 0.8, at45, at45, at45))
    assert track(COLD, gained, RUN, first).leaks == ()
    found = track(COLD, gained, RUN, first, second)
    assert [(item.corner, round(item.psi, 2)) for item in found.leaks] == [("lf", 0.8)]
    assert events(found) == [("gain", "lf", 1.2), ("leak", "lf", 0.8)]


def test_a_setting_some_minutes_on_is_at_the_temperature_the_car_cooled_to() -> None:
    log = track(COLD, RUN, read("after", "09:02", hot(30, 45)), read("set", "09:12", 31.0, 2)).log
    asked = []

    def cools(corner: str, temp_c: float, reading: Any, minutes: float) -> float | None:
        asked.append((corner, round(temp_c, 6), reading.moment, minutes))
        return None if corner == "rr" else temp_c - minutes

    step = follow(log, cools).steps[-1]
    assert asked == [(corner, 45.0, "after", 10.0) for corner in FOUR]
    assert (step.corners["lf"].gas_c, step.corners["lf"].sure, step.corners["lf"].temp_from) == (
        pytest.approx(35),
        False,
        "inferred",
    )
    assert step.corners["lf"].mass == pytest.approx((31 + OUT) / 308.15)
    assert step.corners["rr"] == CornerAir(31.0, True)
    found = [(item.kind, item.corner, item.psi) for item in follow(log, cools).events]
    cooler = hot(30, 35)
    assert found[:3] == [("bleed", corner, pytest.approx(cooler - 31)) for corner in ("lf", "rf", "lr")]
    assert found[3] == ("bleed", "rr", pytest.approx(hot(30, 45) - 31))
    other = track(COLD, RUN, read("after", "09:02", hot(30, 45)), ran(2, "09:20"), read("set", "09:25", 31.0, 3)).log
    asked.clear()
    assert follow(other, cools).steps[-1].corners["lf"].gas_c is None
    assert asked == [], "a run between"


def test_a_setting_adds_or_bleeds_by_what_the_air_would_read() -> None:
    """The same stand: against the air at its temperature; nothing where it is left; nothing after a run."""
    at = hot(30, 45)
    left = track(COLD, RUN, read("after", "09:02", at), read("set", "09:04", (at, at + 1, None, at), 2))
    assert events(left) == [("add", "rf", 1.0)]
    assert left.events[0].why == because("logged")
    first = track(read("set", "08:00", 31.0, 1))
    assert (events(first), first.steps[0].corners["lf"].gas_c) == ([], None)
    stood = track(read("set", "08:00", 31.0, 1, wait_min=200.0)).steps[0].corners["lf"]
    assert (stood.gas_c, stood.temp_from, stood.sure) == (20.0, "air", True)
    evening = track(COLD, read("set", "08:10", 29.0, 1, wait_min=200.0, air_c=25.0)).steps[-1].corners["lf"]
    assert (evening.gas_c, evening.temp_from) == (20.0, "inferred"), "as it stood there cold"
    measured = (
        track(COLD, RUN, read("after", "09:02", at), read("set", "09:04", 31.0, 2, tyre_c=52.0)).steps[-1].corners["lf"]
    )
    assert (measured.gas_c, measured.temp_c, measured.temp_from, measured.sure) == (
        pytest.approx(45),
        52.0,
        "measured",
        True,
    )
    morning = track(COLD, read("set", "08:40", 29.0, 1))
    assert events(morning) == [("bleed", corner, 1.0) for corner in FOUR]


def test_a_measured_temperature_far_off_puts_air_lost_sight_of_right() -> None:
    """Air that was never read cold: more than 8 K between the tyre as measured and its air, and it is taken anew."""
    first = read("after", "09:02", 33.0, tyre_c=50.0)
    start = (33 + OUT) / 323.15
    for tyre, corrected in ((57.9, False), (58.1, True), (41.9, True), (42.1, False)):
        found = track(RUN, first, read("before", "09:04", 33.0, 2, tyre_c=tyre)).steps[-1].corners["lf"]
        assert found.mass == pytest.approx((33 + OUT) / (tyre + 273.15) if corrected else start)
        assert found.gas_c == pytest.approx(tyre if corrected else 50.0)
        assert not found.sure
    sure = track(COLD, RUN, read("after", "09:02", hot(30, 45), tyre_c=60.0)).steps[-1].corners["lf"]
    assert (sure.gas_c, sure.temp_c, sure.mass) == (pytest.approx(45), 60.0, pytest.approx((30 + OUT) / 293.15))


def test_air_never_sure_that_reads_what_it_cannot_is_only_lost_sight_of() -> None:
    """Known by a measured temperature alone: too little or too much is no event."""
    first = read("after", "09:02", 33.0, tyre_c=50.0)
    for psi in (24.0, 60.0):
        found = track(RUN, first, ran(2, "09:30"), read("after", "09:32", psi, 2))
        assert events(found) == []
        assert found.steps[-1].corners["lf"] == CornerAir(psi, True)


def test_without_air_logged_a_tyre_is_between_forty_below_and_a_hundred_and_thirty() -> None:
    for temp_c, kind in ((-39.9, None), (-40.1, "loss"), (129.9, None), (130.1, "gain")):
        found = track(COLD, RUN, read("after", "09:02", hot(30, temp_c), air_c=None))
        assert {item.kind for item in found.events} == ({kind} if kind else set())
        assert found.steps[-1].corners["lf"].gas_c == (None if kind else pytest.approx(temp_c))
    air = (30 + OUT) / 293.15
    for off, known in ((0.01, True), (-0.01, False)):
        lowest = 20.0 - 3.0 - 0.6 / air + off
        found = track(COLD, RUN, read("after", "09:02", hot(30, lowest)))
        assert (found.events == ()) == known


def test_before_a_day_s_first_run_a_tyre_without_a_past_is_as_warm_as_the_air() -> None:
    found = track(read("before", "08:50", 30.0)).steps[-1].corners["lf"]
    assert (found.gas_c, found.temp_from, found.sure) == (20.0, "air", False)
    assert found.mass == pytest.approx((30 + OUT) / 293.15)
    measured = track(read("before", "08:50", 30.0, tyre_c=40.0)).steps[-1].corners["lf"]
    assert (measured.gas_c, measured.temp_from) == (40.0, "measured")
    blind = track(read("before", "08:50", 30.0, air_c=None)).steps[-1].corners["lf"]
    assert blind == CornerAir(30.0, True)
    after = track(RUN, read("after", "09:02", 33.0)).steps[-1].corners["lf"]
    assert after == CornerAir(33.0, True)


def test_fahrenheit_typed_is_found_near_the_air_inside_alone() -> None:
    """104 is 40 C: asked about at 25 K off or more, where the other scale is within 8 K of the air inside."""

    def asked(inside: float, tyre: float) -> bool:
        found = track(COLD, RUN, read("after", "09:02", hot(30, inside), tyre_c=tyre, air_c=45.0))
        return any(item.field == "tyre_c" for item in found.doubts)

    assert asked(40.0, 104.0)
    assert asked(47.9, 104.0)
    assert not asked(48.1, 104.0)
    assert not asked(80.0, 104.0)
    assert not asked(85.0, 109.0)


def test_corners_not_read_by_their_mate_the_other_axle_or_the_ratio() -> None:
    at = hot(30, 45)
    ratio = track(
        RUN, read("after", "09:02", 33.0), ran(2, "09:30"), read("after", "09:32", (None, 35.0, 34.0, 34.0), 2)
    ).steps[-1]
    assert ratio.corners["lf"].psi == pytest.approx((33 + OUT) * (35 + OUT) / (33 + OUT) - OUT)
    assert not ratio.corners["lf"].read
    kept = track(RUN, read("after", "09:02", 33.0), read("set", "09:04", (None, 31.0, 31.0, 31.0), 2)).steps[-1]
    assert kept.corners["lf"].psi == 33.0, "beside it: as it was"
    later = track(RUN, read("after", "09:02", 33.0), read("set", "09:06", (None, 31.0, 31.0, 31.0), 2)).steps[-1]
    assert later.corners["lf"].psi is None
    near = track(COLD, RUN, read("after", "09:02", (None, at, hot(30, 60), hot(30, 60)))).steps[-1]
    assert near.corners["lf"].gas_c == pytest.approx(45)
    far = track(COLD, RUN, read("after", "09:02", (None, None, at, hot(30, 47)))).steps[-1]
    assert (far.corners["lf"].gas_c, far.corners["rf"].gas_c) == (pytest.approx(46), pytest.approx(46))
    nothing = track(COLD, RUN, read("after", "09:02", (None, None, None, at))).steps[-1]
    assert nothing.corners["lf"].gas_c == pytest.approx(45)


def test_a_leaking_corner_has_its_mates_temperature() -> None:
    at = hot(30, 45)
    found = track(COLD, RUN, read("after", "09:02", (at - 1, at, at, at)))
    corner = found.steps[-1].corners["lf"]
    assert [item.corner for item in found.leaks] == ["lf"]
    assert (corner.gas_c, corner.sure) == (pytest.approx(45), False)
    assert corner.mass == pytest.approx((at - 1 + OUT) / 318.15)
    assert found.leaks[0].why == because("lost-against-mate", corner="lf", psi=found.leaks[0].psi)


def test_two_leaks_are_two_events_and_two_claims_however_often_they_are_read() -> None:
    at = hot(30, 45)
    low = (at - 1, at, at, at - 1)
    twice = track(COLD, RUN, read("after", "09:02", low), read("after", "09:03", low))
    assert [(item.kind, item.corner) for item in twice.events] == [("leak", "lf"), ("leak", "rr")]
    assert [item.corner for item in twice.leaks] == ["lf", "rr"]
    morning = read("cold", "08:30", (29.0, 30.0, 30.0, 30.0), None)
    first = track(COLD, morning)
    assert [item.corner for item in first.leaks] == ["lf"]
    later = track(COLD, morning, RUN, read("after", "09:02", (at - 2.2, at, at, at - 1)))
    assert [(item.corner, round(item.psi, 1)) for item in later.leaks] == [("lf", 2.2), ("rr", 1.0)]
    assert [(item.kind, item.corner) for item in later.events] == [("leak", "lf"), ("leak", "rr")]


def test_a_fall_of_a_misread_corner_or_of_its_mate_is_no_fall() -> None:
    at = hot(30, 40)
    rows = [COLD, RUN, read("after", "09:02", (at + 5, at, at, at))]
    found = track(*rows, ran(2, "09:30"), read("after", "09:32", at, 2))
    assert found.falls == ()
    fell = track(
        COLD, RUN, read("after", "09:02", at), ran(2, "09:30"), read("after", "09:32", (at, at, at, at - 1.5), 2)
    )
    assert [(item.corner, round(item.psi, 3)) for item in fell.falls] == [("rr", 1.5)]
    sunny = [ran(2, "09:30"), read("after", "09:32", (at, at, at, at - 1.5), 2, sun="left")]
    assert track(COLD, RUN, read("after", "09:02", at), *sunny).falls == (), "the sun on its mate is allowed 1 psi"
    more = [ran(2, "09:30"), read("after", "09:32", (at, at, at, at - 1.7), 2, sun="left")]
    assert [item.corner for item in track(COLD, RUN, read("after", "09:02", at), *more).falls] == ["rr"]
    put = track(COLD, RUN, read("after", "09:02", at), read("set", "09:04", (at, at, at, at - 1.5), 2))
    assert put.falls == ()


def test_marked_cold_and_hot_on_two_corners_at_least() -> None:
    at = hot(30, 45)
    for psi, asked in (
        ((at, at, None, None), True),
        ((at, None, None, None), False),
        ((30.5, 30.5, 30.5, 30.5), False),
    ):
        found = track(COLD, RUN, read("cold", "10:30", psi, None))
        assert any("marked cold, but reads" in item.text for item in found.doubts) == asked
    (doubt,) = [item for item in track(COLD, RUN, read("cold", "10:30", at, None)).doubts if "reads" in item.text]
    assert doubt.text.startswith(f"marked cold, but reads {at - 30:.1f} psi or more over what its air gives")


def test_history_and_the_newest_step() -> None:
    found = track(COLD, RUN, read("after", "09:02", hot(30, 45)))
    assert [(reading.moment, air.psi) for reading, air in found.history("rr")] == [
        ("cold", 30.0),
        ("after", hot(30, 45)),
    ]
    assert found.latest is found.steps[-1]
    assert (found.steps[-1].temps.lf, found.steps[-1].psi.rr) == (pytest.approx(45), hot(30, 45))
    empty = follow(CarLog((), (), (), found.log.around))
    assert (empty.latest, empty.steps, empty.fresh) == (None, (), ())


@pytest.mark.parametrize(("lost", "claimed"), [(0.59, False), (0.61, True)])
def test_a_loss_against_the_mate_by_the_worse_gauge_of_both(lost: float, claimed: bool) -> None:
    """0.6 psi for a gauge that repeats to 0.3; 0.5 for a hot tyre read with a finer one on both sides."""
    at = hot(30, 45)
    row = read("after", "09:02", (at - lost, at, at, at))
    assert bool(track(COLD, RUN, row).leaks) == claimed
    fine = {"gauges": [Gauge(id="f", repeat_psi=0.1)]}
    both = [
        item.model_copy(update={"gauge": "f"}) for item in (COLD, read("after", "09:02", (at - lost + 0.1, at, at, at)))
    ]
    found = heat_of(event([entrant("26")], [], settings(altitude_m=0.0, **fine), both[0], RUN, both[1]), "26").track
    assert bool(found.leaks) == claimed


def test_an_axle_out_of_line_by_the_lesser_of_three_psi_and_a_twentieth() -> None:
    """30 psi: a twentieth of 44.7 is 2.2 psi; at 60 psi it would be 3.7, so 3 are taken."""

    def odd(psi: float, off: float, **more: Any) -> list[str]:
        found = heat_of(
            of(
                read("cold", "08:00", psi, None), read("cold", "08:00", (psi, psi - off, psi, psi), None, day=2, **more)
            ),
            "26",
        ).track
        return list(found.steps[-1].odd)

    assert (odd(30.0, 2.2), odd(30.0, 2.4)) == ([], ["rf"])
    assert (odd(60.0, 2.9), odd(60.0, 3.1)) == ([], ["rf"])
    assert (odd(30.0, 3.2, sun="left"), odd(30.0, 3.5, sun="left")) == ([], ["rf"])
    assert mass.ODD_PSI == 3.0
