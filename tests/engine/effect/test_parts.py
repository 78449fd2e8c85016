"""Differences, the usual learning, a season and the course, rule by rule. By hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from paddock.engine.course import course_evolution, did_i_slow
from paddock.engine.effect import judge
from paddock.engine.effect.difference import change_of, far_outside
from paddock.engine.effect.learning import usual_learning
from paddock.engine.effect.pool import Estimate, _number, _way, pool, season_changes
from paddock.engine.effect.prior import prior_sd, shrink
from paddock.engine.effect.states import Block, Contrast
from paddock.engine.paces import raw_times
from paddock.engine.stats.fits import interval
from paddock.engine.stats.twoway import huber_fit
from paddock.model.event import Event
from tests.engine.effect.made import change, in_group, of

ME = ["46.000", "46.000", "45.000", "45.000"]
SLOTS = tuple((1, run) for run in range(1, 9))


# --- differences --------------------------------------------------------------------------------------------------------


def test_a_change_over_the_blocks_that_are_there() -> None:
    two = Contrast("day", (Block(((1, 1),), ((1, 2),)), Block(((2, 1),), ((2, 2), (2, 3)))))
    times = {(1, 1): 100, (1, 2): 110, (2, 1): 100, (2, 2): 90, (2, 3): 90}
    shares = (0.5 / (0.5 + 2 / 3), (2 / 3) / (0.5 + 2 / 3))
    assert change_of(times, two) == pytest.approx(shares[0] * math.log(1.1) + shares[1] * math.log(0.9))
    assert change_of({(1, 1): 100, (1, 2): 110, (2, 1): 100}, two) == pytest.approx(math.log(1.1))
    assert change_of({(1, 1): 100, (2, 2): 90}, two) is None


def test_far_outside_needs_five_and_a_spread() -> None:
    """Modified z-score 0.6745 |x - median| / MAD over 3.5: with median 3 and MAD 1 from 8.19 on (Iglewicz, Hoaglin)."""
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0, "e": 8.2}) == ("e",)
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0, "e": 8.1}) == ()
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "e": 90.0}) == ()
    assert far_outside({"a": 1.0, "b": 1.0, "c": 1.0, "d": 1.0, "e": 90.0}) == ()


def test_the_usual_learning_by_hand() -> None:
    """Two quiet days: I gain 1 % and 3 % on a field of three that stands still; the mean is taken off."""
    steady = {"40": ["50", "50"], "41": ["50", "50.1"], "42": ["50.1", "50"]}
    events = [(made, raw_times(made)) for made in (of(["50", mine], steady) for mine in ("49.5", "48.5"))]
    one = Contrast("day", (Block(((1, 1),), ((1, 2),)),))
    found = usual_learning(events, "31", one)
    assert found is not None
    assert (found.days, found.extra) == (2, pytest.approx((math.log(0.99) + math.log(0.97)) / 2))
    scatter = math.log(50.1 / 50)
    variance = scatter**2 * (1 + 1 / 3)
    assert found.variance == pytest.approx(2 * variance / 4)
    assert found.df == pytest.approx(4)
    assert usual_learning(events[:1], "31", one) is None
    assert usual_learning(events, "31", replace(one, kind="night")) is None
    busy = of(["50", "49.5"], steady, change("a", 2))
    assert usual_learning([events[0], (busy, raw_times(busy))], "31", one) is None
    early = of(["50", "49.5"], steady, change("a", 1))
    assert usual_learning([events[0], (early, raw_times(early))], "31", one) is not None


# --- a season -----------------------------------------------------------------------------------------------------------


def test_which_way_round_a_change_went() -> None:
    first = change()
    assert _way(change(before="3", after="2"), first) == -1
    assert _way(change(before="4", after="5"), first) == 1
    assert _way(change(before="5", after="4"), first) == -1
    assert _way(change(before="soft", after="hard"), first) == 1
    assert _way(change(before="hard", after="soft"), change(before="soft", after="hard")) == -1
    assert _way(change(before="2", after="2"), change(before="2", after="2")) == 1
    assert (_number("2,5"), _number("x"), _number(None)) == (2.5, None, None)


def test_pooling_one_and_none() -> None:
    one = pool([Estimate(-1.0, 0.5)], 10.0, 1e-9)
    assert one.mean == pytest.approx(-1.0 * 100 / (100 + 0.25), rel=1e-3)
    assert one.sd == pytest.approx(1 / math.sqrt(1 / 100 + 1 / 0.25), rel=1e-3)
    with pytest.raises(ValueError, match="nothing to pool"):
        pool([], 1.0)


def test_a_season_leaves_out_what_takes_back() -> None:
    event = of(ME, {"40": ME, "41": ME}, change(), change("b", 4, undoes="c1"))
    (found,) = season_changes([event])
    assert [name for name, _ in found.effects] == ["Test event"]
    assert season_changes([of(ME, {}, change(number=None), mine={"numbers": []})]) == ()


# --- the course ---------------------------------------------------------------------------------------------------------


def test_what_the_course_gave() -> None:
    times = {name: ["50", "49.5", "49"] for name in ("40", "41", "42")}
    found = course_evolution(of(["50", "49.5"], times), 1)
    assert found.time_ms is not None
    assert [(item.run, item.drivers) for item in found.points] == [(1, 4), (2, 4), (3, 3)]
    assert found.points[0].change_ms == 0.0
    assert found.points[2].change_ms == pytest.approx(math.log(0.98) * found.time_ms, rel=1e-4)
    assert [(item.run_from, item.run_to, item.drivers) for item in found.pairs] == [(1, 2, 4), (2, 3, 3)]
    assert found.pairs[1].change_ms == pytest.approx(math.log(49 / 49.5) * found.time_ms, rel=1e-4)
    lone = course_evolution(of(["50", "49"], {"40": ["50"]}), 1)
    assert (lone.points[1].drivers, lone.points[1].low_ms) == (1, None)
    assert course_evolution(of(["50"], {"40": ["50"]}), 1).points == ()
    grouped = of(["50", "49"], times, in_group("31", "A"), in_group("40", "A"), in_group("41", "B"))
    assert course_evolution(grouped, 1, "A").points[0].drivers == 3


def test_did_i_slow() -> None:
    times = {"40": ["50", "51", "50"], "41": ["50", "51.1", "50"], "42": ["50", "50.9", "50"]}
    event = of(["50", "", "53"], times)
    found = did_i_slow(event, "31", 1, 3)
    assert found is not None
    assert (found.run_from, found.run_to, found.drivers) == (1, 3, 3)
    assert found.my_change_ms == pytest.approx(math.log(53 / 50) * math.sqrt(50_000 * 53_000))
    assert did_i_slow(event, "31", 1, 1) is None
    assert did_i_slow(event, "31", 1, 2) is None
    assert did_i_slow(event, "31", 1, 3, 2) is None
    mine = did_i_slow(of(["50", "53"], {name: row[:2] for name, row in times.items()}), "31", 1, 2)
    assert mine is not None
    assert mine.sentence.endswith("that was you, 2.00 s worse than everyone.")
    same = did_i_slow(of(["50", "51"], {name: row[:2] for name, row in times.items()}), "31", 1, 2)
    assert same is not None
    assert same.sentence.endswith("you did what everyone did.")
    one = did_i_slow(of(["50", "51"], {"40": ["50", "51"]}), "31", 1, 2)
    assert one is not None
    assert (one.drivers, one.interval80_ms) == (1, None)
    alone = did_i_slow(of(["50", "51"], {}), "31", 1, 2)
    assert alone is not None
    assert (alone.field_change_ms, alone.drivers) == (None, 0)


def test_a_fit_without_scatter_is_exact() -> None:
    rows = [[1.0, 2.0, 3.0], [2.0, 3.0, 4.0], [None, 5.0, 6.0], [None, None, None]]
    fit = huber_fit(rows)
    assert fit.effects == pytest.approx((-1.0, 0.0, 1.0))
    assert fit.levels == pytest.approx((2.0, 3.0, 5.0, 0.0))
    assert (fit.clip, fit.scale) == (pytest.approx(0, abs=1e-12), pytest.approx(0, abs=1e-12))
    assert fit.level_of([None, None, 9.0]) == pytest.approx(8.0)
    with pytest.raises(ValueError, match="no run"):
        fit.level_of([None, None, None])
    with pytest.raises(ValueError, match="no run"):
        huber_fit([[None, None]])


def test_cautions_of_a_verdict() -> None:
    field = {"40": ["50", "50", "49.9", "49.9"], "41": ["50", "50", "49.8", "49.8"], "42": ["50", "50", "49.6", "49.6"]}
    few = judge(of(ME, field, change()), "c1")
    assert few.cautions == ("only 3 comparable cars: the scatter itself is a guess",)
    four: Event = of(ME, {**field, "43": ["50", "50", "49.7", "49.7"]}, change())
    assert judge(four, "c1").cautions == ()


def test_a_run_no_car_shares_is_left_out_where_two_can_not_be_had() -> None:
    effect = judge(of(ME, {"40": ["50", "", "49.9", ""], "41": ["50", "", "", "49.8"]}, change()), "c1")
    assert [item.run for item in effect.runs_used] == [1, 3, 4]
    assert "run 2 left out: fewer than two comparable cars have a time there" in effect.cautions


@pytest.mark.parametrize(("error", "sd"), [(0.0, 1.0), (1.0, 0.0), (-1.0, 1.0), (1.0, -1.0)])
def test_nothing_is_shrunk_without_an_error_and_a_prior(error: float, sd: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        shrink(1.0, error, 5, sd)


def test_shrinking_by_hand() -> None:
    """3 with an error of 4 under a prior of 3: 3 x 9 / 25 = 1.08, spread 3 x 4 / 5 = 2.4; t(0.9, 5) = 1.4759 (tables)."""
    found = shrink(3.0, 4.0, 5, 3.0)
    assert (found.mean, found.low, found.high) == pytest.approx(
        (1.08, 1.08 - 1.4759 * 2.4, 1.08 + 1.4759 * 2.4), abs=1e-3
    )
    assert shrink(-3.0, 4.0, 5, 3.0).p_faster == pytest.approx(1 - found.p_faster)
    assert prior_sd(45_000.0) == pytest.approx(200.0)
    assert interval(1.0, 2.0, 5) == pytest.approx((1 - 2.9518, 1 + 2.9518), abs=1e-3)


def test_each_controls_own_change_in_the_two_way_fit() -> None:
    field = {"40": "49.9", "41": "49.8", "42": "49.6"}
    effect = judge(
        of(["46"] * 3 + ["45"] * 3, {name: ["50"] * 3 + [text] * 3 for name, text in field.items()}, change(run=4)),
        "c1",
    )
    assert effect.method == "two-way"
    assert effect.time_ms is not None
    found = {item.number: item.change_ms / effect.time_ms for item in effect.controls_used}
    assert list(found) == ["42", "41", "40"]
    assert found == {name: pytest.approx(math.log(float(text) / 50), abs=5e-4) for name, text in field.items()}
    assert effect.rank == 1


def test_the_usual_learning_is_taken_off_with_its_error() -> None:
    """Error and learning add as variances; the freedom is Satterthwaite's of the two (Biometrics Bulletin 2, 1946)."""
    steady = {"40": ["50", "50"], "41": ["50", "50.1"], "42": ["50.1", "50"]}
    quiet = [of(["50", "49.5"], steady), of(["50", "48.5"], steady)]
    event = of(["50", "48"], {"40": ["50", "50"], "41": ["50", "50.3"], "42": ["50.2", "50"]}, change(run=2))
    plain, less = judge(event, "c1"), judge(event, "c1", quiet)
    learned = usual_learning(
        [(item, raw_times(item)) for item in quiet], "31", Contrast("day", (Block(((1, 1),), ((1, 2),)),))
    )
    assert learned is not None
    time = plain.time_ms or 0.0
    assert (less.learning_days, less.learning_ms) == (2, pytest.approx(learned.extra * time))
    assert less.extra_ms == pytest.approx((plain.extra_ms or 0) - learned.extra * time)
    own = ((plain.se_ms or 0) / time) ** 2
    assert less.se_ms == pytest.approx(math.sqrt(own + learned.variance) * time)
    assert less.df == pytest.approx((own + learned.variance) ** 2 / (own**2 / 2 + learned.variance**2 / learned.df))


def test_pooling_against_the_whole_posterior_on_a_grid() -> None:
    """N(mean; 0, 2) x half-normal(spread; 1) x normal of each event, summed over 400 x 200 points; P(mean < 0) too."""
    seen, prior, scale = [Estimate(-3.0, 0.5), Estimate(1.0, 0.8), Estimate(-1.5, 0.4)], 2.0, 1.0
    total = mean = between = under = 0.0
    for i in range(400):
        mu = -6.0 + 12.0 * (i + 0.5) / 400
        for j in range(200):
            tau = 5.0 * (j + 0.5) / 200
            log = -0.5 * (mu / prior) ** 2 - 0.5 * (tau / scale) ** 2
            for item in seen:
                variance = item.error**2 + tau**2
                log -= 0.5 * math.log(variance) + 0.5 * (item.effect - mu) ** 2 / variance
            weight = math.exp(log)
            total, mean, between = total + weight, mean + weight * mu, between + weight * tau
            under += weight * (mu < 0)
    found = pool(seen, prior, scale)
    assert (found.mean, found.between, found.p_faster) == pytest.approx(
        (mean / total, between / total, under / total), abs=2e-3
    )
