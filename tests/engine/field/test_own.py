"""My runs against the field, by plain sums: their covariance entry by entry, the posterior by weighing draws of the prior."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from paddock.engine.field.fit import Fitted, fit
from paddock.engine.field.own import Mixture, OwnRuns, judge_runs, quick_estimate, whitened
from tests.engine.field.test_fit_again import COURSE, DAYS, EXTRA, GROUPS, KINDS, H, two_days


@cache
def field() -> Fitted:
    return fit(two_days(), GROUPS, KINDS, EXTRA)


def shared_car() -> OwnRuns:
    """I drove group B's day 1 and group A's day 2, told most of it; a mate drove three of the same runs."""
    return OwnRuns(
        np.array([0, 0, 0, 0, 0, 1, 1, 1]), np.array([0, 1, 2, 3, 4, 0, 2, 4]), np.array([1, 1, 1, 0, 0, 0, 0, 0]), 1,
        np.array([0.4, 0.1, -0.9, 0.5, -0.3, 1.2, -0.1, 0.9]),
        np.array([True, True, False, True, True, False, True, False]),
        np.array([[0, 0, 0], [0, 1, 0], [1, 1, 0], [0, 0, 0], [1, 0, 0], [0, 0, 0], [1, 1, 1], [1, 0, 1]], dtype=float),
        np.array([0.4, 0.3, 0.1]), np.array([-0.25, -0.25, 0.5, -0.5, 0.5, 0, 0, 0]), ((-0.3, 0.2), None), (1.0, 1.5),
    )  # fmt: skip


def told_by(fitted: Fitted, own: OwnRuns) -> np.ndarray:
    """What the course and my kind's share of it are in each run: runs by unknowns."""
    rows = np.zeros((len(own.y), fitted.layout.size))
    for i, (slot, group) in enumerate(zip(own.slot, own.group, strict=True)):
        rows[i, group * 5 + slot] = 1.0
        rows[i, COURSE + 2 * own.kind] = fitted.moved[group, slot]
        rows[i, COURSE + 2 * own.kind + 1] = DAYS[slot]
    return rows


def of_course(fitted: Fitted, own: OwnRuns, part: int) -> np.ndarray:
    """Covariance of my runs but for levels, learning, changes and scatter, in one part of the field."""
    rows, made = told_by(fitted, own), np.zeros((len(own.y),) * 2)
    for i, j in np.ndindex(made.shape):
        made[i, j] = rows[i] @ fitted.covs[part] @ rows[j]
        if own.driver[i] == own.driver[j]:
            a, b = (fitted.moved[own.group[k], own.slot[k]] for k in (i, j))
            made[i, j] += fitted.hyper.share * a * b
            made[i, j] += fitted.hyper.night * (DAYS[own.slot[i]] == DAYS[own.slot[j]] == 1)
    return made


@pytest.mark.parametrize("learning", [True, False])
@pytest.mark.parametrize("changes", [1, 3])
def test_the_covariance_of_my_runs_entry_by_entry(learning: bool, changes: int) -> None:
    fitted, whole = field(), shared_car()
    own = replace(whole, changes=whole.changes[:, :changes], sds=whole.sds[:changes])
    made = sum(w * of_course(fitted, own, k) for k, w in enumerate(fitted.weights))
    for i, j in np.ndindex(made.shape):
        if own.driver[i] == own.driver[j]:
            made[i, j] += 400.0 + (fitted.hyper.learning * H[own.slot[i]] * H[own.slot[j]] if learning else 0.0)
        made[i, j] += sum(own.sds[k] ** 2 * own.changes[i, k] * own.changes[j, k] for k in range(1, changes))
        made[i, j] += fitted.hyper.scatter * 5 / 3 * (i == j)
    inverse, gap = whitened(fitted, own, learning) if not learning else whitened(fitted, own)
    assert inverse @ made == pytest.approx(np.eye(8), abs=1e-6)
    assert gap == pytest.approx(own.y - told_by(fitted, own) @ fitted.mean)
    x = own.changes[:, 0]
    told = x @ np.linalg.solve(made, x)
    found = quick_estimate(fitted, own, x, learning) if not learning else quick_estimate(fitted, own, x)
    assert found == pytest.approx((x @ np.linalg.solve(made, gap) / told, 1 / told))


def test_what_hardly_moves_in_my_runs_is_no_estimate() -> None:
    """A column of the same in all my runs is my level, sd 20: told 1 / 400 and nothing."""
    fitted = field()
    own = replace(shared_car(), driver=np.zeros(8, dtype=int))
    assert quick_estimate(fitted, own, np.ones(8)) is None
    x = own.changes[:, 0]
    told = 1.0 / (quick_estimate(fitted, own, x) or (0, 0))[1]
    for under, there in ((0.99, False), (1.01, True)):
        assert (quick_estimate(fitted, own, x * np.sqrt(under * 0.01 / told)) is not None) == there


def weighed(fitted: Fitted, own: OwnRuns, prior: tuple[tuple[float, float], ...], draws: int) -> dict[str, np.ndarray]:
    """Everything that is no normal drawn from its prior, each draw weighed by how likely it makes my runs."""
    random = np.random.default_rng(5)
    hyper, count = fitted.hyper, len(own.y)

    def chi(freedom: float, *shape: int) -> np.ndarray:
        return random.chisquare(freedom, (draws, *shape)) / freedom

    part = random.choice(len(fitted.weights), draws, p=fitted.weights)
    covs = np.array([of_course(fitted, own, k) for k in range(len(fitted.weights))])[part]
    gap = own.y - (told_by(fitted, own) @ fitted.means.T).T[part]
    scatter = hyper.scatter / chi(max(hyper.runs - 2 * hyper.drivers, 0) + 4.0, 1) / chi(hyper.freedom, 2)
    scatter = (scatter * np.square(own.scatter))[:, own.driver]
    tails = np.where(own.told, chi(12.0, count), chi(5.0, count))
    lost = random.random((draws, count)) < np.where(own.told, 0.015, hyper.spoilt)
    noise = scatter * np.where(own.told, 0.9, 1.0) / tails + lost * hyper.loss**2
    gap = gap - lost * hyper.loss
    pairs = [(0, 0), (0, 1), (1, 0), (1, 1)]
    learn = np.array([[H[s] * ((d, DAYS[s]) == pair) for pair in pairs] for d, s in
                      zip(own.driver, own.slot, strict=True)])  # fmt: skip
    field_spread = 1.5 * hyper.learning / chi(4.0 + 0.5 * hyper.drivers, 1)
    usual = np.array([-0.3, -0.3, 0.0, 0.0])
    spread = np.where([True, True, False, False], 0.2**2, field_spread) / chi(2.0, 4)
    gap = gap - learn @ usual
    same = np.equal.outer(own.driver, own.driver)
    whole = covs + 400.0 * same + (learn * spread[:, None]) @ learn.T + noise[:, :, None] * np.eye(count)
    whole += (own.changes[:, 1:] * own.sds[1:] ** 2) @ own.changes[:, 1:].T
    x, heights, mean, variance, learnt = own.changes[:, 0], [], [], [], []
    for share, sd in prior:
        inverse = np.linalg.inv(whole + sd**2 * np.outer(x, x))
        solved = (inverse @ gap[:, :, None])[:, :, 0]
        heights.append(np.log(share) + 0.5 * np.linalg.slogdet(inverse)[1] - 0.5 * (solved * gap).sum(1))
        mean.append(sd**2 * solved @ x)
        variance.append(sd**2 - sd**4 * (inverse @ x) @ x)
        ways = own.contrast @ learn
        learnt.append(ways @ usual + (solved @ learn * spread) @ ways)
    weights = np.exp(np.array(heights) - np.max(heights))
    return {"weights": weights / weights.sum(), "mean": np.array(mean), "variance": np.array(variance),
            "learnt": np.array(learnt)}  # fmt: skip


def test_a_car_two_share_over_two_days_by_weighing_draws_of_the_prior() -> None:
    """Effect with the prior (a tenth of such changes do next to nothing) and without one, and what I learnt."""
    fitted, own = field(), shared_car()
    found = judge_runs(fitted, own)
    rest = (1 - 0.1 * 0.1**2) / 0.9
    for ours, prior in (
        (found.effect, ((0.1, 0.04), (0.9, 0.4 * rest**0.5))), (found.plain, ((1.0, 6.0),))
    ):  # fmt: skip
        seen = weighed(fitted, own, prior, 20_000)
        mean = float((seen["weights"] * seen["mean"]).sum())
        second = float((seen["weights"] * (seen["variance"] + seen["mean"] ** 2)).sum())
        assert ours.mean == pytest.approx(mean, abs=0.02)
        assert ours.sd == pytest.approx((second - mean**2) ** 0.5, rel=0.06)
        if prior[0][0] < 1.0:
            assert found.learnt.mean == pytest.approx(float((seen["weights"] * seen["learnt"]).sum()), abs=0.02)
    seeded = [value for part in (found.effect, found.plain, found.learnt) for value in (part.mean, part.sd)]
    assert seeded == pytest.approx([-0.37723, 0.26982, -0.61710, 0.32755, 0.08984, 0.07819], abs=5e-5), "as ever"
    assert found.field == pytest.approx(float(own.contrast @ told_by(fitted, own) @ fitted.mean))


def test_a_mate_whose_runs_all_fell_out_moves_nothing() -> None:
    whole = shared_car()
    mine = replace(whole, **{
        name: getattr(whole, name)[:5] for name in ("slot", "group", "y", "told", "changes", "contrast", "driver")
    })  # fmt: skip
    alone = judge_runs(field(), replace(mine, learning=mine.learning[:1], scatter=(1.0,))).effect
    beside = judge_runs(field(), mine).effect
    assert (beside.mean, beside.sd) == pytest.approx((alone.mean, alone.sd), abs=0.03)


def test_a_mixture_of_two_normals_by_scipy() -> None:
    from scipy.stats import norm

    found = Mixture(np.array([-1.0, 2.0]), np.array([0.5, 1.0]), np.array([0.3, 0.7]))
    assert found.mean == pytest.approx(0.3 * -1 + 0.7 * 2)
    assert found.sd == pytest.approx((0.3 * (0.25 + 2.1**2) + 0.7 * (1.0 + 0.9**2)) ** 0.5)
    for share in (0.1, 0.25, 0.5, 0.9):
        (x,) = found.quantiles(share)
        assert 0.3 * norm.cdf(x, -1, 0.5) + 0.7 * norm.cdf(x, 2, 1) == pytest.approx(share, abs=4e-4)
        assert found.under(x) == pytest.approx(share, abs=1e-5)
    assert found.range80() == found.quantiles(0.1, 0.9)
