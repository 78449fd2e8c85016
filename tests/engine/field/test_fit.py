"""The model of the field against the world outside: a mixed model fitted by another library, brute force, and laws."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import patch

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from paddock.engine.field import priors
from paddock.engine.field.fit import Fitted, fit, normal
from paddock.engine.field.own import Mixture, OwnRuns, judge_runs
from paddock.engine.field.scores import Frame

RUNS = 5


def frame(y: np.ndarray, kind: np.ndarray | None = None, group: np.ndarray | None = None) -> Frame:
    drivers, runs = y.shape
    kind = np.zeros(drivers, dtype=int) if kind is None else kind
    group = np.zeros(drivers, dtype=int) if group is None else group
    nothing = np.zeros((drivers, runs), dtype=bool)
    return Frame(
        tuple(map(str, range(drivers))), tuple((1, run + 1) for run in range(runs)), y, np.tile(group[:, None], (1, runs)),
        kind, np.tile(np.arange(1.0, runs + 1), (group.max() + 1, 1)), nothing, nothing, np.zeros(drivers),
    )  # fmt: skip


def drawn(drivers: int, seed: int, runs: int = RUNS) -> np.ndarray:
    random = np.random.default_rng(seed)
    h = np.exp(-np.arange(runs) / priors.LEARNING_RUNS)
    course = np.cumsum(random.normal(0.0, 0.4, runs))
    slopes = random.normal(0.0, 0.5, (drivers, 1))
    return random.normal(0.0, 1.5, (drivers, 1)) + slopes * h + course + random.normal(0.0, 0.3, (drivers, runs))


def test_with_normal_errors_it_is_the_mixed_model_of_statsmodels() -> None:
    """Level and learning at random, runs as fixed effects, normal errors of one variance: MixedLM by REML.

    The tails, the spoilt runs and the drivers' own scatters are taken out; what is left must agree.
    """
    y = drawn(80, 1)
    rows = pd.DataFrame({
        "y": y.ravel(), "run": np.tile(np.arange(RUNS), 80), "driver": np.repeat(np.arange(80), RUNS),
        "h": np.tile(np.exp(-np.arange(RUNS) / priors.LEARNING_RUNS), 80),
    })  # fmt: skip
    theirs = sm.MixedLM.from_formula("y ~ C(run)", rows, re_formula="1 + h", groups="driver").fit(method="lbfgs")
    plain = {
        "NU": 1e6, "SPOILT_SHARE": 1e-9, "SCATTER_FREEDOMS": ((1e6, 1.0),), "DRIVER_SHARE": 1e-6,
        "COURSE_STEPS_S": (30.0,), "COURSE_WEIGHTS": (1.0,),
    }  # fmt: skip
    with patch.multiple(priors, **plain), patch("paddock.engine.field.fit._student", _gauss):
        ours = fit(frame(y - y.mean(1, keepdims=True)), 1, 1, steps=60)
    course = ours.mean[:RUNS] - ours.mean[0]
    assert course[1:] == pytest.approx(theirs.fe_params.to_numpy()[1:], abs=0.02)
    assert ours.hyper.scatter == pytest.approx(theirs.scale, rel=0.08)
    assert ours.hyper.learning == pytest.approx(float(theirs.cov_re.iloc[1, 1]), rel=0.25)
    sds = [np.sqrt(ours.cov[i, i] + ours.cov[0, 0] - 2 * ours.cov[0, i]) for i in range(1, RUNS)]
    assert sds == pytest.approx(list(theirs.bse_fe.to_numpy()[1:]), rel=0.1)


def _gauss(square: np.ndarray, variance: np.ndarray) -> np.ndarray:
    return np.exp(-0.5 * square / variance) / np.sqrt(2 * np.pi * variance)


def _own(fitted: Fitted, y: list[float], x: list[int], prior: float = 0.2) -> OwnRuns:
    with_ = np.array(x, dtype=float)
    return OwnRuns(
        np.zeros(len(y), dtype=int), np.arange(len(y)), np.zeros(len(y), dtype=int), 0, np.array(y),
        np.ones(len(y), dtype=bool), with_[:, None], np.array([prior]),
        with_ / with_.sum() - (1 - with_) / (1 - with_).sum(),
    )  # fmt: skip


def test_my_runs_integrated_by_brute_force() -> None:
    """Two runs of mine on a known course, scatter and learning known: the posterior on a grid of effects.

    The tails, spoilt runs and learning are integrated on grids too; the chains must agree with the sum.
    """
    made = fit(frame(drawn(30, 2, 2)), 1, 1)
    known = replace(made, hyper=replace(made.hyper, freedom=1e7, drivers=10**7, runs=10**8, scatter=0.09, share=1e-9,
                                        learning=0.04 / priors.OWN_LEARNING_WIDER),
                    covs=made.covs * 1e-9, scatter=np.full(30, 0.09))  # fmt: skip
    y = [0.0, -0.9]
    with patch.multiple(priors, OWN_LEARNING_FREEDOM=1e7):
        found = judge_runs(known, _own(known, y, [0, 1])).effect
    step = y[1] - y[0] - float(known.weights @ (known.means[:, 1] - known.means[:, 0]))
    random = np.random.default_rng(3)
    draws = 400_000
    h = known.layout.h
    noise = 0.0
    for sign in (-1.0, 1.0):
        tail = np.sqrt(0.09 * priors.TOLD_WIDER) * random.standard_t(priors.TOLD_NU, draws)
        lost = (random.random(draws) < priors.TOLD_SHARE) * random.normal(known.hyper.loss, known.hyper.loss, draws)
        noise = noise + sign * (tail + lost)
    noise = noise + 0.2 * random.standard_normal(draws) * (h[1] - h[0])
    effects = np.linspace(-1.2, 1.2, 121)
    density, edges = np.histogram(noise, bins=400, range=(-6, 6), density=True)
    likely = np.interp(step - effects, (edges[1:] + edges[:-1]) / 2, density)
    likely *= sum(share / sd * np.exp(-0.5 * (effects / sd) ** 2) for share, sd in priors.parts_of(0.2))
    likely /= likely.sum()
    mean = float(likely @ effects)
    assert found.mean == pytest.approx(mean, abs=0.012)
    assert found.sd == pytest.approx(float(np.sqrt(likely @ (effects - mean) ** 2)), rel=0.05)
    assert found.under(0.0) == pytest.approx(
        float(likely[effects < 0].sum() + likely[effects == 0].sum() / 2), abs=0.02
    )


def test_everyones_times_at_one_run_moved_alike_change_nothing_but_the_course() -> None:
    y = drawn(40, 4)
    moved = y + np.array([0.0, 0.0, 0.0, 0.7, 0.0])
    one, other = (fit(frame(item[1:]), 1, 1) for item in (y, moved))
    first = judge_runs(one, _own(one, list(y[0]), [0, 0, 1, 1, 0]))
    second = judge_runs(other, _own(other, list(moved[0]), [0, 0, 1, 1, 0]))
    assert second.effect.mean == pytest.approx(first.effect.mean, abs=0.03)
    assert other.mean[3] - one.mean[3] == pytest.approx(0.7, abs=0.05)


def test_a_mirrored_day_has_the_mirrored_answer() -> None:
    """Faster where it was slower, but for the one-sided part of the model."""
    y = drawn(40, 5)
    with patch.multiple(priors, SPOILT_SHARE=1e-6, TOLD_SHARE=1e-6):
        one, other = (fit(frame(item[1:]), 1, 1) for item in (y, -y))
        first = judge_runs(one, _own(one, list(y[0]), [0, 0, 1, 1, 0])).effect
        second = judge_runs(other, _own(other, list(-y[0]), [0, 0, 1, 1, 0])).effect
    assert second.mean == pytest.approx(-first.mean, abs=0.02)
    assert second.under(0.0) == pytest.approx(1.0 - first.under(0.0), abs=0.03)


def test_no_run_of_mine_on_one_side_leaves_the_prior() -> None:
    made = fit(frame(drawn(20, 6)), 1, 1)
    found = judge_runs(made, replace(_own(made, [0.0, 0.1, 0.2], [0, 1, 1]), changes=np.ones((3, 1)))).effect
    assert (found.mean, found.sd) == (pytest.approx(0.0, abs=0.005), pytest.approx(0.2, rel=0.02))


def test_more_cars_tell_the_course_better_and_a_missing_run_costs_little() -> None:
    y = drawn(30, 7)
    holes = y.copy()
    holes[3, 2] = holes[8, 4] = np.nan
    few, many, holed = (fit(frame(item), 1, 1).cov for item in (y[:5], y, holes))
    step = np.array([0, -1.0, 0, 1.0, 0])
    assert step @ many @ step < 0.5 * (step @ few @ step)
    assert step @ holed @ step < 1.25 * (step @ many @ step)


def test_a_kind_of_car_nobody_else_has_widens_the_range() -> None:
    y = drawn(20, 8) + np.array([0.0, 0.0, -3.0, -3.0, -3.0])
    alike = fit(frame(y), 1, 1)
    apart = fit(frame(y), 1, 2)
    base = _own(alike, [0.0, 0.0, -3.0, -3.0, -3.0], [0, 0, 1, 1, 1])
    known = judge_runs(alike, base).plain
    alone = judge_runs(apart, replace(base, kind=1)).plain
    assert alone.sd > known.sd * 1.1


def test_tails_of_the_mixture() -> None:
    found = Mixture(np.array([0.0]), np.array([1.0]), np.array([1.0]))
    assert found.quantiles(0.1, 0.5, 0.9) == pytest.approx((-1.2816, 0.0, 1.2816), abs=0.01)
    assert normal(np.array([-1.0, 0.0, 1.96])) == pytest.approx([0.15866, 0.5, 0.97500], abs=3e-4)


def test_the_same_runs_give_the_same_figures() -> None:
    y = drawn(12, 9)
    made = fit(frame(y), 1, 1)
    one, other = (judge_runs(made, _own(made, [0.0, 0.2, -0.3, 0.1, 0.0], [0, 0, 1, 1, 1])).effect for _ in range(2))
    assert (one.mean, one.sd) == (other.mean, other.sd)
