"""The air in each tyre step by step: where a temperature comes from, what is a bleed, a leak, a loss. By hand."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.pressure import mass
from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.corners import because
from paddock.engine.pressure.follow import follow
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.mass import AirTrack, CornerAir, Step, will_read
from paddock.model.rows import PressureRow
from tests.engine.test_heat_car import of, ran, read, track

C20 = AirState(20.0)


def hot(psi: float, temp_c: float) -> float:
    return carry(psi, C20, AirState(temp_c))


def latest(*rows: Any) -> Step:
    step = track(*rows).latest
    assert step is not None
    return step


def events(found: AirTrack) -> list[tuple[str, str, float]]:
    return [(item.kind, item.corner, round(item.psi, 6)) for item in found.events]


COLD = read("cold", "08:00", 30.0, None)
RUN = ran(1, "09:00")


def after(psi: float | tuple[float | None, ...], at: str = "09:02", **more: Any) -> PressureRow:
    return read("after", at, psi, **more)


def test_where_a_temperature_comes_from() -> None:
    assert latest(COLD).corners["lf"] == CornerAir(
        30.0, True, 20.0, "air", 20.0, pytest.approx((30 + 14.695949) / 293.15), True
    )
    told = latest(COLD, RUN, after(hot(30, 45)))
    assert (told.corners["lf"].temp_c, told.corners["lf"].temp_from, told.corners["lf"].sure) == (
        pytest.approx(45),
        "inferred",
        True,
    )
    both = latest(COLD, RUN, after(hot(30, 45), tyre_c=50.0)).corners["lf"]
    assert (both.temp_c, both.temp_from, both.gas_c) == (50.0, "measured", pytest.approx(45))
    alone = latest(RUN, after(33.0, tyre_c=50.0)).corners["lf"]
    assert (alone.temp_c, alone.temp_from, alone.gas_c, alone.mass, alone.sure) == (
        50.0,
        "measured",
        50.0,
        alone.mass,
        False,
    )
    assert alone.mass == pytest.approx((33 + 14.695949) / 323.15)
    nothing = latest(RUN, after(33.0)).corners["lf"]
    assert nothing == CornerAir(33.0, True)
    assert latest(read("cold", "08:00", 30.0, None, air_c=None)).corners["lf"] == CornerAir(30.0, True)
    by_tyre = latest(read("cold", "08:00", 30.0, None, air_c=None, tyre_c=18.0)).corners["lf"]
    assert (by_tyre.temp_c, by_tyre.gas_c, by_tyre.sure) == (18.0, 18.0, True)


def test_a_setting_beside_a_reading_has_its_temperature() -> None:
    at = hot(30, 45)
    for clock, known in (("09:05", True), ("09:06", False)):
        step = latest(COLD, RUN, after(at), read("set", clock, 31.0, 2))
        assert (step.corners["lf"].gas_c is not None) is known
    step = latest(COLD, RUN, after(at), read("set", "09:05", 31.0, 2))
    assert step.corners["lf"].gas_c == pytest.approx(45)
    assert step.corners["lf"].sure
    waits = latest(COLD, RUN, after(at, wait_min=1.0), read("set", None, 31.0, 2, wait_min=4.0))
    assert waits.corners["lf"].gas_c == pytest.approx(45)
    late = latest(COLD, RUN, after(at, wait_min=1.0), read("set", None, 31.0, 2, wait_min=4.1))
    assert late.corners["lf"].gas_c is None
    assert latest(COLD, RUN, after(at), read("set", None, 31.0, 2, wait_min=3.0)).corners["lf"].gas_c == pytest.approx(
        45
    )
    assert latest(COLD, RUN, after(at), read("set", None, 31.0, 2, wait_min=3.1)).corners["lf"].gas_c is None


def test_a_cold_car_stays_at_its_temperature_until_it_runs() -> None:
    parked = latest(COLD, read("set", "08:40", 29.0, 1))
    assert (parked.corners["lf"].gas_c, parked.corners["lf"].sure) == (20.0, True)
    assert latest(COLD, RUN, read("set", "09:03", 29.0, 2)).corners["lf"].gas_c is None
    evening = read("cold", "14:00", 30.0, None, wait_min=240.0)
    assert latest(COLD, RUN, evening, read("set", "14:02", 29.0, 2)).corners["lf"].gas_c == 20.0
    assert latest(COLD, RUN, evening, read("set", "14:30", 29.0, 2)).corners["lf"].gas_c is None
    next_day = latest(COLD, read("set", "08:00", 29.0, 1, day=2))
    assert next_day.corners["lf"].gas_c is None
    measured = latest(COLD, RUN, read("set", "09:20", 29.0, 2, tyre_c=40.0)).corners["lf"]
    assert (measured.gas_c, measured.temp_from) == (40.0, "measured")


def test_what_was_bled_and_added() -> None:
    at = hot(30, 45)
    found = track(COLD, RUN, after(at), read("set", "09:04", (at, at - 1, at + 0.5, at), 2))
    assert events(found) == [("bleed", "rf", 1.0), ("add", "lr", 0.5)]
    assert [item.why.name for item in found.events] == ["logged", "logged"]
    assert events(track(COLD, RUN, after(at), ran(2, "09:30"), read("set", "09:33", 31.0, 3))) == []
    blind = track(RUN, after(34.0), read("set", "09:30", 33.0, 2))
    assert events(blind) == [("bleed", corner, 1.0) for corner in ("lf", "rf", "lr", "rr")]


def test_air_gone_unlogged() -> None:
    found = track(COLD, RUN, after((27.0, hot(30, 40), hot(30, 40), hot(30, 40))))
    odd = found.steps[-1].odd
    assert list(odd) == ["lf"]
    assert odd["lf"].fell
    assert found.steps[-1].corners["lf"].mass == found.steps[0].corners["lf"].mass, (
        "an odd reading says nothing of the air"
    )
    low = track(COLD, RUN, after(28.0, tyre_c=None))
    assert [(kind, corner) for kind, corner, _ in events(low)] == [
        ("loss", corner) for corner in ("lf", "rf", "lr", "rr")
    ]
    mass = (30 + 14.695949) / 293.15
    bound = 20 - 3 - 0.6 / mass
    temp = (28 + 14.695949) / mass - 273.15
    assert low.events[0].psi == pytest.approx((bound - temp) * mass)
    assert low.events[0].why == because("reads-too-little", corner="lf")
    high = track(COLD, RUN, after(hot(30, 131)))
    assert [(kind, corner) for kind, corner, _ in events(high)] == [
        ("gain", corner) for corner in ("lf", "rf", "lr", "rr")
    ]
    assert high.events[0].psi == pytest.approx(mass)
    assert high.events[0].why == because("reads-too-much", corner="lf")
    assert events(track(COLD, RUN, after(hot(30, 129.9)))) == []


def test_cold_against_cold() -> None:
    def next_morning(*psi: float) -> AirTrack:
        return track(COLD, read("cold", "08:00", psi, None, day=2))

    assert events(next_morning(30.59, 30.0, 30.0, 30.0)) == []
    assert ("gain", "lf", 0.61) in events(next_morning(30.61, 30.0, 30.0, 30.0))
    assert events(next_morning(29.41, 30.0, 30.0, 30.0)) == []
    leak = next_morning(29.0, 30.0, 30.0, 30.0)
    assert [(item.kind, item.corner) for item in leak.leaks] == [("leak", "lf")]
    assert leak.leaks[0].psi == pytest.approx(1.0)
    two = next_morning(29.0, 28.9, 30.0, 30.0)
    assert sorted(item.corner for item in two.leaks) == ["lf", "rf"]
    alike = next_morning(29.0, 29.0, 29.0, 29.0)
    assert [item.kind for item in alike.events] == ["loss"] * 4
    assert alike.events[0].why == because("all-fell-alike")
    little = next_morning(29.3, 29.3, 29.3, 29.3)
    assert events(little) == [("loss", corner, 0.7) for corner in ("lf", "rf", "lr", "rr")]


def test_a_leak_is_the_corners_own_fall_and_not_its_mates_rise() -> None:
    """Cold, 30 psi of absolute 44.7 everywhere; noise 0.6."""

    def next_morning(*psi: float | None) -> AirTrack:
        return track(COLD, read("cold", "08:00", psi, None, day=2))

    risen = next_morning(30.61, 30.0, 30.0, 30.0)
    assert events(risen) == [("gain", "lf", 0.61)]
    assert risen.leaks == ()
    assert next_morning(30.61, 30.0, None, None).leaks == ()
    assert next_morning(30.4, 29.75, 30.0, 30.0).leaks == ()
    mostly_its_own = next_morning(30.3, 29.65, 30.0, 30.0)
    assert [item.corner for item in mostly_its_own.leaks] == ["rf"]
    all_shifted = next_morning(30.5, 29.8, 30.5, 30.5)
    assert [item.corner for item in all_shifted.leaks] == ["rf"], "what all others have in common hides no leak"
    slow = track(
        COLD, *(read("cold", "08:00", (30.0 - 0.25 * day, 30, 30, 30), None, day=1 + day) for day in (1, 2, 3))
    )
    assert [(item.corner, round(item.psi, 2)) for item in slow.leaks] == [("lf", 0.75)]


def test_own_falls() -> None:
    """By hand: against the median of the three others; as it is with fewer."""
    found = mass.own_falls({"lf": 0.5, "rf": -0.2, "lr": 0.4, "rr": 0.5})
    assert found == pytest.approx({"lf": -0.1, "rf": 0.7, "lr": 0.1, "rr": -0.1})
    assert mass.own_falls({"lf": 0.5, "rf": -0.2, "lr": 0.4}) == {"lf": -0.5, "rf": 0.2, "lr": -0.4}
    assert mass.own_falls({"lf": 0.61, "rf": 0.0}) == {"lf": -0.61, "rf": 0.0}


def test_three_that_fell_alike_are_no_leak() -> None:
    assert mass.from_two_cold({"lf": -1.0, "rf": -1.0, "lr": -1.0}, 0.6) == set()
    assert mass.from_two_cold({"lf": -1.0, "rf": -1.0}, 0.6) == {"lf", "rf"}
    assert mass.from_two_cold({"lf": -1.0, "rf": -1.0, "lr": -1.7}, 0.6) == {"lf", "rf", "lr"}
    assert mass.from_two_cold({"lf": -1.0, "rf": -1.0, "lr": -1.5}, 0.6) == set()
    assert mass.from_two_cold({"lf": -0.6, "rf": -0.7}, 0.6) == {"rf"}


def test_hot_after_all() -> None:
    row = read("cold", "10:30", hot(30, 45), None)
    found = track(COLD, RUN, row)
    assert ["marked cold, but reads" in item.text for item in found.doubts if item.field == "moment"] == [True]
    assert found.latest is not None
    assert found.latest.corners["lf"].temp_c == pytest.approx(45)
    near = track(COLD, RUN, read("cold", "10:30", 30.59, None))
    assert near.doubts == ()
    some = track(COLD, RUN, read("cold", "10:30", (hot(30, 45), 30.0, hot(30, 45), 30.0), None))
    assert some.doubts == ()
    before_a_run = track(COLD, read("cold", "10:30", hot(30, 45), None))
    assert before_a_run.doubts == ()
    without_air = track(COLD, RUN, read("cold", "10:30", hot(30, 45), None, air_c=None))
    assert without_air.doubts == ()


def test_a_tyre_typed_in_fahrenheit_is_found_by_its_air() -> None:
    """104 F is 40 C; the air inside says 40 C."""
    found = track(COLD, RUN, after(hot(30, 40), tyre_c=84.0))
    assert found.doubts == ()
    found = track(COLD, RUN, after(hot(30, 40), tyre_c=104.0, air_c=45.0))
    assert [item.text for item in found.doubts] == ["tyre 104 C: is that 40 C, typed in F? Left out"]
    assert found.latest is not None
    assert (found.latest.corners["lf"].temp_from, found.latest.corners["lf"].temp_c) == ("inferred", pytest.approx(40))


# --- corners that were not read ---------------------------------------------------------------------------------


def test_a_corner_not_read_is_worked_out_at_its_mates_temperature() -> None:
    step = latest(COLD, RUN, after((None, hot(30, 45), hot(30, 50), hot(30, 50))))
    assert step.corners["lf"] == CornerAir(
        pytest.approx(hot(30, 45)),
        False,
        pytest.approx(45),
        "inferred",
        pytest.approx(45),
        step.corners["lf"].mass,
        True,
    )
    other_axle = latest(COLD, RUN, after((None, None, hot(30, 50), hot(30, 52))))
    assert other_axle.corners["lf"].gas_c == pytest.approx(51)
    assert other_axle.psi.lf == pytest.approx(hot(30, 51))
    by_ratio = latest(RUN, after(33.0), read("before", "09:30", (None, 32.0, 32.0, 32.0), 2))
    assert by_ratio.psi.lf == pytest.approx(32.0)
    never = latest(RUN, after((None, 33.0, 33.0, 33.0)))
    assert never.psi.lf is None
    kept = latest(COLD, RUN, after(hot(30, 45)), read("set", "09:04", (None, 30.0, 30.0, 30.0), 2))
    assert kept.psi.lf == pytest.approx(hot(30, 45))


def test_will_read() -> None:
    found = track(COLD)
    assert will_read(found, 35.0).lf == pytest.approx(hot(30, 35))
    assert will_read(found, 20.0, 90_000.0).lf == pytest.approx(carry(30, C20, AirState(20.0, 90_000.0)))
    assert will_read(track(), 20.0).lf is None
    assert will_read(track(RUN, after(33.0)), 20.0).lf is None


# --- comparisons ------------------------------------------------------------------------------------------------


def pair(then: PressureRow, now: PressureRow) -> tuple[Any, Any]:
    one, two = heat_of(of(RUN, then, ran(2, "09:30"), now), "26").track.steps
    return one.reading, two.reading


@pytest.mark.parametrize(
    ("then", "now", "allowed"),
    [(None, None, 0), (None, "right", 1), (None, "left", 0), ("left", None, 1), ("left", "right", 2), ("left", "left", 0), ("right", "right", 0)],
)  # fmt: skip
def test_sun_is_allowed_for_on_the_left_front(then: str | None, now: str | None, allowed: int) -> None:
    """1 psi where the mate gained the sun, 1 psi where the corner lost it."""
    one, two = pair(after(33.0, sun=then), after(33.0, at="09:32", run=2, sun=now))
    assert mass._sun_psi("lf", one, two) == allowed


def test_a_loss_against_the_mate() -> None:
    one, two = pair(after(33.0), after((32.3, 33.0, 33.0, 33.0), at="09:32", run=2))
    base = dict.fromkeys(("lf", "rf", "lr", "rr"), (33.0, one))
    assert dict(mass.against_mate(base, two)) == {"lf": pytest.approx(0.7)}
    one, two = pair(after(33.0), after((32.4, 33.0, 33.0, 33.0), at="09:32", run=2))
    assert dict(mass.against_mate(dict.fromkeys(("lf", "rf", "lr", "rr"), (33.0, one)), two)) == {}
    _, two = pair(after(33.0), after((32.0, 33.0, 33.0, 33.0), at="09:32", run=2, sun="right"))
    assert dict(mass.against_mate(base, two)) == {}
    assert dict(mass.against_mate({"lf": (33.0, one)}, two)) == {}


def test_falls_against_the_mate_or_the_other_axle() -> None:
    def fell(then: Any, now: Any) -> dict[str, float]:
        found = heat_of(of(RUN, after(then), ran(2, "09:30"), after(now, at="09:32", run=2)), "26").track
        return {item.corner: pytest.approx(item.psi, abs=1e-3) for item in found.falls}

    assert fell(33.0, (32.0, 33.0, 33.0, 33.0)) == {"lf": 1.0}
    assert fell(33.0, (32.5, 33.0, 33.0, 33.0)) == {}
    assert fell(33.0, 32.0) == {}
    assert fell(33.0, (33.0, 34.0, 33.0, 33.0)) == {}
    assert fell((33.0, None, 33.0, 33.0), (32.0, None, 33.0, 33.0)) == {"lf": 1.0}
    assert fell((33.0, None, 33.0, 33.0), (32.0, None, 32.0, 33.0)) == {"lr": 1.0}
    assert fell((33.0, None, 33.0, 33.0), (32.0, 33.0, 33.0, 33.0)) == {"lf": 1.0}, "a mate read only now is no measure"
    assert fell(33.0, (32.0, None, 33.0, 33.0)) == {"lf": 1.0}
    quiet = heat_of(
        of(RUN, after(33.0), ran(2, "09:30"), after((32.0, 33.0, 33.0, 33.0), at="09:32", run=2)), "26"
    ).track
    assert follow(quiet.log, falls=False).falls == ()


def test_a_leak_against_the_mate_is_one_event_however_often_it_is_read() -> None:
    low = (33.0, 34.2, 34.2, 34.2)
    assert events(track(COLD, RUN, after(low))) == [("leak", "lf", 1.2)]
    assert events(track(COLD, RUN, after(low), after(low, at="09:04"))) == [("leak", "lf", 1.2)]


def test_air_added_to_one_corner_and_not_logged_is_no_leak_of_its_mate_from_then_on() -> None:
    found = track(COLD, read("cold", "08:30", (31.2, 30.0, 30.0, 30.0), None), RUN, after((35.4, 34.1, 34.1, 34.1)))
    assert (events(found), found.leaks) == ([("gain", "lf", 1.2)], ())
