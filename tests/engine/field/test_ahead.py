"""Runs to come as drawn: what each driver's record is worth, and how far a lucky pace is drawn to its class."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from paddock.engine.field.ahead import FaultWeights, RunRates, draw_ahead, fault_weights, rates_of
from paddock.engine.field.fit import Fitted, fit
from paddock.engine.field.scores import Frame
from paddock.model.rows import TimeRow
from tests.engine.field.test_fit_again import COURSE, DAYS, GROUPS, KINDS, H, two_days
from tests.factories import entrant, event, runs, settings

BASE = 480.0


def frame(paces: list[float], runs: int = 3, more: int = 2, noise: float = 0.2) -> Frame:
    """Drivers of ``paces`` (s in 45 beyond the base) who drove ``runs`` runs on a still course; ``more`` are to come."""
    random = np.random.default_rng(4)
    y = np.full((len(paces), runs + more), np.nan)
    y[:, :runs] = np.array(paces)[:, None] + random.normal(0.0, noise, (len(paces), runs))
    base = np.nanmean(y, axis=1)
    nothing = np.zeros(y.shape, dtype=bool)
    slots = tuple((1, run + 1) for run in range(runs + more))
    names = tuple(map(str, range(len(paces))))
    none = np.zeros(len(paces), dtype=int)
    return Frame(
        names, slots, y - base[:, None], np.tile(none[:, None], (1, len(slots))), none,
        np.arange(1.0, len(slots) + 1)[None], nothing, nothing, base + BASE,
    )  # fmt: skip


def fitted(paces: list[float], runs: int = 3, more: int = 2, noise: float = 0.2) -> Fitted:
    return fit(frame(paces, runs, more, noise), 1, 1)


def test_cones_and_void_runs_follow_the_record_and_the_field_where_there_is_none() -> None:
    """Posterior means by hand: (hit + 3.7 x .5) / (tries + 3.7); a number without a record has the field's."""
    made = fitted([0.0, 1.0, 2.0, 3.0])
    rates = RunRates({"0": (20, 40, 5), "1": (20, 0, 0), "2": (20, 0, 0)}, cones=0.5, voids=0.1)
    drawn = draw_ahead(made, ["0", "1", "2", "3"], 3, rates, draws=20_000)
    cones, voids = drawn.cones.mean((1, 2)), drawn.void.mean((1, 2))
    assert list(cones) == pytest.approx([(40 + 1.85) / 23.7, 1.85 / 23.7, 1.85 / 23.7, 0.5], rel=0.05)
    assert list(voids) == pytest.approx([(5 + 0.44) / 24.4, 0.44 / 24.4, 0.44 / 24.4, 0.1], rel=0.15)
    assert list(cones) == pytest.approx([rates.cone_rate(n) for n in "0123"], rel=0.05)
    assert list(voids) == pytest.approx([rates.void_rate(n) for n in "0123"], rel=0.15)


def test_cones_scatter_as_a_gamma_poisson_and_nobody_has_another_s() -> None:
    """Negative binomial: variance mean + mean^2 / shape. Two runs of one driver hang together, two drivers don't."""
    made = fitted([0.0, 1.0])
    rates = RunRates({}, cones=1.0, voids=0.1)
    drawn = draw_ahead(made, ["0", "1"], 3, rates, draws=20_000)
    mine, other = drawn.cones[0].astype(float), drawn.cones[1].astype(float)
    assert mine.var() == pytest.approx(1.0 + 1.0 / 3.7, rel=0.05)
    assert mine.max() >= 5
    assert np.corrcoef(mine[0], mine[1])[0, 1] == pytest.approx((1 / 3.7) / (1 + 1 / 3.7), abs=0.03)
    assert np.corrcoef(mine[0], other[0])[0, 1] == pytest.approx(0.0, abs=0.03)
    assert np.corrcoef(drawn.raw_ms[0, 0], drawn.raw_ms[1, 1])[0, 1] < 0.9


@pytest.mark.parametrize("paces", [[-0.6, 0.0, 0.5], [-6.0, 0.0, 5.0], [-0.6, -0.1, 0.0, 0.2, 0.5]])
def test_a_pace_is_drawn_to_its_class_by_what_the_class_differs_by(paces: list[float]) -> None:
    """Empirical Bayes by hand: between = (2 x 1.5^2 + sum((level - middle)^2 - error)) / (2 + drivers - 1), then the
    level's part between / (between + error) of the way from the middle. Asked of a run so late that no learning is left.
    """
    made = fitted(paces, runs=2, more=8, noise=1.0)
    names = list(made.frame.numbers)
    rates = RunRates({}, cones=0.0, voids=0.0001)
    alone, together = (
        draw_ahead(made, names, 9, rates, alike, draws=20_000).pace * 45.0
        for alike in ({}, dict.fromkeys(names, "ASH"))
    )
    spread = np.cov(alone)
    shared = spread[~np.eye(len(names), dtype=bool)].mean()
    seen, error = alone.mean(1), np.diag(spread) - shared
    middle = seen.mean()
    between = (2 * 1.5**2 + max(0.0, float(((seen - middle) ** 2 - error).sum()))) / (2 + len(names) - 1)
    drawn = together.mean(1) - together.mean(1).mean()
    wanted = (seen - middle) * between / (between + error)
    assert list(drawn) == pytest.approx(list(wanted), abs=0.03)


def test_the_same_question_has_the_same_answer_and_more_draws_about_the_same() -> None:
    made = fitted([0.0, 0.5, 1.0])
    rates = RunRates({}, cones=0.3, voids=0.05)
    one, other = (draw_ahead(made, ["0", "1"], 3, rates) for _ in range(2))
    assert np.array_equal(one.raw_ms, other.raw_ms)
    many = draw_ahead(made, ["0", "1"], 3, rates, draws=20_000)
    assert np.median(one.raw_ms, axis=2) == pytest.approx(np.median(many.raw_ms, axis=2), rel=2e-3)
    assert list(one.scatter) == pytest.approx(list(many.scatter), rel=0.1)


def test_a_fit_knows_on_how_many_runs_it_rests() -> None:
    made = frame([0.0, 1.0, 2.0])
    marked = made.marked.copy()
    marked[0, 0] = True
    found = fit(replace(made, marked=marked), 1, 1).hyper
    assert (found.drivers, found.runs) == (3, 8)


def test_a_run_is_spoilt_as_often_and_as_far_as_in_the_field() -> None:
    """Beyond the pace a run's errors are even; what is left on average is the share of spoilt runs times what they lose."""
    made = fitted([0.0, 1.0, 2.0])
    drawn = draw_ahead(made, ["0"], 3, RunRates({}, cones=0.0, voids=0.0001), draws=20_000)
    over = 45.0 * (np.log(drawn.raw_ms[0, 0]) - drawn.pace[0])
    assert over.mean() == pytest.approx(made.hyper.spoilt * made.hyper.loss, abs=0.02)
    assert np.median(over) == pytest.approx(0.0, abs=0.06)


def test_a_pace_over_two_days_by_whole_covariances() -> None:
    """Mean and spread of the next run: the course's part from the field, the driver's own from the runs left.

    Groups, kinds and days differ: seven drivers, the second and fourth of a class of three.
    """
    made = fit(two_days(), GROUPS, KINDS)
    names = list(made.frame.numbers)
    rates = RunRates({}, cones=0.0, voids=0.0001)
    alike = {"b": "ASH", "d": "ASH", "e": "ASH", "a": "OAK", "c": "OAK"}
    drawn = draw_ahead(made, names, 4, rates, alike, draws=8000)
    wanted, spread, level, error = [], [], [], []
    for i in range(len(names)):
        shared, own, variance = designed(made, i)
        weight = made.precision[i]
        left = np.linalg.inv(np.diag(1 / variance) + own.T * weight @ own)
        level.append((left @ own.T @ (weight * (made.target[i] - shared @ made.mean)))[0] + made.frame.base[i])
        error.append(left[0, 0])
    for i, name in enumerate(names):
        shared, own, variance = designed(made, i)
        usual, weight = 0.0, made.precision[i]
        if alike.get(name) == "ASH":
            mates = [names.index(other) for other in ("b", "d", "e")]
            middle = sum(level[m] for m in mates) / 3
            usual = middle - made.frame.base[i]
            beyond = sum((level[m] - middle) ** 2 - error[m] for m in mates)
            variance[0] = (2 * 1.5**2 + max(0.0, beyond)) / (2 + 3 - 1)
        left = np.linalg.inv(np.diag(1 / variance) + own.T * weight @ own)
        gain = own[4] @ left @ own.T * weight
        of_course = shared[4] - gain @ shared
        wanted.append(of_course @ made.mean + gain @ (made.target[i] - usual) + usual + made.frame.base[i])
        spread.append((of_course @ made.cov @ of_course + own[4] @ left @ own[4]) ** 0.5)
    assert 45 * drawn.pace.mean(1) == pytest.approx(np.array(wanted), abs=0.015)
    assert 45 * drawn.pace.std(1) == pytest.approx(np.array(spread), rel=0.04)
    runs = (made.precision > 0).sum(1)
    freedom = made.hyper.freedom + np.maximum(runs - 2, 0)
    assert (45 * drawn.scatter) ** 2 == pytest.approx(made.scatter * freedom / (freedom - 2), rel=0.08)
    few = draw_ahead(made, names, 3, RunRates({"c": (9, 6, 2)}, cones=0.5, voids=0.1), alike, draws=200)
    seeded = [float(value) for row in (few.raw_ms[1] / 1000, few.cones[2], few.void[2]) for value in row.mean(1)]
    assert seeded == pytest.approx([43.59447, 43.24739, 0.625, 0.69, 0.19, 0.225], abs=1e-4), "as ever"


def designed(made: Fitted, i: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A driver's runs by the shared unknowns, by the driver's own, and the variances of these."""
    frame, hyper = made.frame, made.hyper
    shared, own = np.zeros((5, made.layout.size)), np.zeros((5, 5))
    for s in range(5):
        moved = made.moved[frame.group[i, s], s]
        shared[s, frame.group[i, s] * 5 + s] = 1.0
        shared[s, COURSE + 2 * frame.kind[i] + np.arange(2)] = moved, DAYS[s]
        own[s] = 1.0, DAYS[s], H[s] * (1 - DAYS[s]), H[s] * DAYS[s], moved
    return shared, own, np.array([400.0, hyper.night, hyper.learning, hyper.learning, hyper.share])


def test_the_record_of_faults_by_hand() -> None:
    """Every run started counts: a run without a time and a word, one not started, one driven again do not."""
    times = [
        *runs("26", 1, "46.0+2", "dnf", "46.0+1/1", "46.1 rerun", "46.2"), *runs("40", 1, "45.0+3", "45.1 practice", "dns"),
        TimeRow(day=1, run=9, number="40"),
    ]  # fmt: skip
    made = event([entrant("26"), entrant("40")], times, settings())
    found = rates_of(made)
    assert dict(found.counts) == {"26": (4, 3, 2), "40": (1, 3, 0)}
    assert (found.cones, found.voids) == pytest.approx(((6 + 0.3) / (5 + 1), (2 + 0.1) / (5 + 2)))
    assert (found.cone_runs, found.void_runs) == (3.7, 4.4)
    assert (found.cone_rate("26"), found.cone_rate("9")) == pytest.approx(((3 + 3.7 * 1.05) / 7.7, 1.05))
    assert (found.void_rate("26"), found.void_rate("9")) == pytest.approx(((2 + 4.4 * 0.3) / 8.4, 0.3))
    own = rates_of(made, FaultWeights(2.0, 9.0, 1, 3))
    assert (own.cone_runs, own.void_runs) == (2.0, 9.0)


def test_own_weights_of_faults_on_a_grid_by_scipy() -> None:
    """ln weight has a normal prior of sd 0.5 about the default; negative binomials and beta-binomials of three events."""
    from scipy.stats import betabinom, nbinom

    events = []
    for at in range(3):
        texts = {"1": ["46.0+3", "46.0+2", "dnf", "46.0"], "2": ["46.0"] * (3 + at), "3": ["46.0+1", "46.0", "dnf", "dnf"],
                 "4": ["46.0+1"] * 2}  # fmt: skip
        times = [row for number, written in texts.items() for row in runs(number, 1, *written)]
        events.append(event([entrant(number) for number in texts], times, settings()))
    alone = event([entrant("1")], runs("1", 1, "46.0+4"), settings())
    found = fault_weights([*events, alone])
    assert (found.drivers, found.events) == (12, 3), "one driver alone differs from nobody"

    def geometric(default: float, voids: bool) -> float:
        steps = [0.1 * at for at in range(-15, 16)]
        heights = []
        for step in steps:
            height, weight = -0.5 * (step / 0.5) ** 2, default * math.exp(step)
            for made in events:
                rates = rates_of(made)
                for tries, cones, lost in rates.counts.values():
                    if voids:
                        height += betabinom.logpmf(lost, tries, weight * rates.voids, weight * (1 - rates.voids))
                    else:
                        height += nbinom.logpmf(cones, weight * rates.cones, weight / (weight + tries))
            heights.append(height)
        shares = [math.exp(height - max(heights)) for height in heights]
        return default * math.exp(sum(w * x for w, x in zip(shares, steps, strict=True)) / sum(shares))

    assert (found.cone_runs, found.void_runs) == pytest.approx((geometric(3.7, False), geometric(4.4, True)))
