"""Runs to come as drawn: what each driver's record is worth, and how far a lucky pace is drawn to its class."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from paddock.engine.field.ahead import RunRates, draw_ahead
from paddock.engine.field.fit import Fitted, fit
from paddock.engine.field.scores import Frame

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
