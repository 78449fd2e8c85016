"""The fit worked out a second time, driver by driver with whole covariances, where the engine sweeps and sums."""

from __future__ import annotations

from math import exp, lgamma, log, sqrt

import numpy as np
import pytest

from paddock.engine.field import priors
from paddock.engine.field.fit import fit, layout_of, normal, spoilt_density
from paddock.engine.field.scores import Frame

SLOTS = ((1, 1), (1, 2), (1, 3), (2, 2), (2, 3))
DAYS = [0, 0, 0, 1, 1]
H = [exp(-(run - 1) / 1.8) for _, run in SLOTS]
DRIVERS, GROUPS, KINDS, KIND_SIZE = 7, 2, 2, 2
COURSE = GROUPS * len(SLOTS)
SIZE = COURSE + KINDS * KIND_SIZE
HYPER = ("learning", "share", "night", "scatter", "freedom", "spoilt", "loss")


def two_days() -> Frame:
    """Seven drivers of two kinds; group B drove day 1 by the clock, one changed group overnight; holes, a mistake."""
    random = np.random.default_rng(11)
    course = np.array([0.0, -0.5, -0.8, 0.3, -0.2])
    y = random.normal(0.0, 1.0, (DRIVERS, 1)) + course + random.normal(0.0, 0.35, (DRIVERS, len(SLOTS)))
    y[1, 2] += 3.0
    y[2, 4] = y[5, 0] = np.nan
    group = np.zeros((DRIVERS, len(SLOTS)), dtype=int)
    group[4:] = 1
    group[3, 3:] = 1
    marked, told = np.zeros(y.shape, dtype=bool), np.zeros(y.shape, dtype=bool)
    marked[0, 1] = told[0, :3] = told[4, 3:] = True
    where = np.array([[1.0, 2.0, 3.0, 2.0, 3.0], [1.4, 2.6, 3.3, 2.0, 3.0]])
    base = np.linspace(480.0, 484.0, DRIVERS)
    return Frame(
        tuple("abcdefg"), SLOTS, y - np.nanmean(y, axis=1, keepdims=True), group, np.array([0, 1, 0, 1, 1, 0, 0]),
        where, marked, told, base,
    )  # fmt: skip


EXTRA = np.zeros((DRIVERS, len(SLOTS)))
EXTRA[6, 1:3] = 0.2


def prior_of(frame: Frame, step: float, apart: float) -> np.ndarray:
    """Covariance of the course (group by slot) and of each kind's share and later day."""
    made = np.zeros((SIZE, SIZE))
    begins = [min(frame.where[g, s] for g in range(GROUPS) for s in range(5) if DAYS[s] == day) for day in (0, 1)]
    for one in range(COURSE):
        for other in range(COURSE):
            (g, s), (k, t) = divmod(one, 5), divmod(other, 5)
            if DAYS[s] != DAYS[t]:
                continue
            a, b, day = frame.where[g, s], frame.where[k, t], DAYS[s]
            first = max(h for h, d in zip(H, DAYS, strict=True) if d == day)
            made[one, other] = step**2 * (min(a, b) - begins[day]) + (100.0 if day else 0.0)
            made[one, other] += (first - H[s]) * (first - H[t])
            if g == k:
                start = min(frame.where[g, i] for i in range(5) if DAYS[i] == day)
                made[one, other] += apart**2 * (min(a, b) - start) + (0.09 if day else 0.0)
            made[one, other] += 1e-4 * (one == other)
    for kind in range(KINDS):
        made[COURSE + 2 * kind, COURSE + 2 * kind] = 0.2**2
        made[COURSE + 2 * kind + 1, COURSE + 2 * kind + 1] = 0.3**2
    return made


class Again:
    """State and steps of the fit, one driver and one run at a time."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.ok = frame, ~np.isnan(frame.y) & ~frame.marked
        self.learning, self.share, self.night, self.scatter = 0.35**2, 0.1**2, 0.3**2, 0.3**2
        self.freedom, self.spoilt, self.loss = 4.0, 0.08, 1.2
        self.of = np.full(DRIVERS, 0.09)
        self.weight = np.where(self.ok, 1 / 0.09, 0.0)
        self.target = np.where(self.ok, frame.y, 0.0)
        self.bad = np.zeros(frame.y.shape)
        self.moved = np.zeros((GROUPS, 5))
        self.steps = [(s, a, w * v) for s, w in zip(priors.COURSE_STEPS_S, priors.COURSE_WEIGHTS, strict=True)
                      for a, v in zip(priors.GROUP_STEPS_S, priors.GROUP_WEIGHTS, strict=True)]  # fmt: skip
        self.chosen = (3.0, 1.5)

    def driver(self, i: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Shared design, own design, variances of the own unknowns."""
        shared, own = np.zeros((5, SIZE)), np.zeros((5, 6))
        for s in range(5):
            moved = self.moved[self.frame.group[i, s], s]
            shared[s, self.frame.group[i, s] * 5 + s] = 1.0
            shared[s, COURSE + 2 * self.frame.kind[i] + np.arange(2)] = moved, DAYS[s]
            own[s] = 1.0, DAYS[s], H[s] * (1 - DAYS[s]), H[s] * DAYS[s], moved, EXTRA[i, s]
        return shared, own, np.array([400.0, self.night, self.learning, self.learning, self.share, 1.0])

    def told(self) -> tuple[np.ndarray, np.ndarray]:
        """Information and score of the shared unknowns: each driver's whole covariance turned round."""
        info, score = np.zeros((SIZE, SIZE)), np.zeros(SIZE)
        for i in range(DRIVERS):
            shared, own, variance = self.driver(i)
            at = self.weight[i] > 0
            whole = own[at] * variance @ own[at].T + np.diag(1 / self.weight[i, at])
            info += shared[at].T @ np.linalg.solve(whole, shared[at])
            score += shared[at].T @ np.linalg.solve(whole, self.target[i, at])
        return info, score

    def solved(self, step: float, apart: float) -> tuple[float, np.ndarray, np.ndarray]:
        info, score = self.told()
        prior = prior_of(self.frame, step, apart)
        cov = np.linalg.inv(np.linalg.inv(prior) + info)
        evidence = 0.5 * score @ cov @ score - 0.5 * np.linalg.slogdet(prior)[1] + 0.5 * np.linalg.slogdet(cov)[1]
        return float(evidence), cov @ score, cov

    def step(self, number: int) -> None:
        if number in (2, 5, 8):
            self.chosen = max(((s, a) for s, a, _ in self.steps), key=self.height)
        _, mean, cov = self.solved(*self.chosen)
        old, kept, squares, lost = self.scatter, np.zeros(DRIVERS), np.zeros(DRIVERS), 0.0
        mine, unsure = np.zeros((DRIVERS, 6)), np.zeros((DRIVERS, 6))
        target, weight = self.target.copy(), self.weight.copy()
        for i in range(DRIVERS):
            shared, own, variance = self.driver(i)
            left = np.linalg.inv(np.diag(1 / variance) + own.T * weight[i] @ own)
            mine[i] = left @ own.T @ (weight[i] * (target[i] - shared @ mean))
            unsure[i] = np.diag(left)
            for s in np.flatnonzero(self.ok[i]):
                v = self.of[i]
                error = self.frame.y[i, s] - shared[s] @ mean - own[s] @ mine[i]
                doubt = min(own[s] @ left @ own[s], 3 * v) + min(shared[s] @ cov @ shared[s], 0.3 * v)
                square = error**2 + doubt
                share = 0.015 if self.frame.told[i, s] else self.spoilt
                ill = share * spoilt_by(error, v + doubt, self.loss)
                well = (1 - share) * 0.3796 / sqrt(v) * (1 + square / (5 * v)) ** -3
                bad = ill / (ill + well)
                tail = 6 / (5 + square / v)
                good, spoilt = (1 - bad) * tail / v, bad / (v + self.loss**2)
                self.weight[i, s] = good + spoilt
                self.target[i, s] = self.frame.y[i, s] - self.loss * spoilt / (good + spoilt)
                self.bad[i, s] = bad
                kept[i] += (1 - bad) * (1 - min(doubt * tail / v, 0.95))
                squares[i] += (1 - bad) * tail * error**2
                lost += bad * error
        self.freedom = self.harmonic(kept, squares, old)
        self.of = (self.freedom * old + squares) / (self.freedom + kept)
        self.scatter = (DRIVERS + 2) / ((1 / self.of).sum() + 2 / 0.09)
        quiet = self.ok & ~self.frame.told
        self.spoilt = (40 * 0.08 + self.bad[~self.frame.told].sum()) / (40 + quiet.sum())
        self.loss = (10 * 1.2 + lost) / (10 + self.bad.sum())

        def pulled(columns: list[int], variance: float, sd: float, weight: float) -> float:
            free = sum(min(max(1 - value / variance, 0), 1) for value in unsure[:, columns].ravel())
            return float(((mine[:, columns] ** 2).sum() + weight * sd**2) / (free + weight))

        self.learning = pulled([2, 3], self.learning, 0.35, 4)
        self.share, self.night = pulled([4], self.share, 0.1, 10), pulled([1], self.night, 0.3, 6)
        course = mean[:COURSE].reshape(GROUPS, 5)
        self.moved = np.hstack([part - part.mean(1, keepdims=True) for part in (course[:, :3], course[:, 3:])])

    def height(self, pair: tuple[float, float]) -> float:
        return self.solved(*pair)[0] + log(next(w for s, a, w in self.steps if (s, a) == pair))

    def harmonic(self, counts: np.ndarray, squares: np.ndarray, scatter: float) -> float:
        """Scatters are inverse gamma about the field's: what each number of degrees of freedom makes of the squares."""
        heights = []
        for nu, weight in priors.SCATTER_FREEDOMS:
            height = log(weight)
            for n, square in zip(counts, squares, strict=True):
                height += lgamma((nu + round(n, 1)) / 2) - lgamma(nu / 2) + nu / 2 * log(nu * scatter)
                height -= (nu + n) / 2 * log(nu * scatter + square)
            heights.append(height)
        shares = [exp(height - max(heights)) for height in heights]
        return sum(shares) / sum(s / nu for s, (nu, _) in zip(shares, priors.SCATTER_FREEDOMS, strict=True))


def spoilt_by(error: float, variance: float, loss: float) -> float:
    return float(spoilt_density(np.array(error), np.array(variance), loss))


@pytest.mark.parametrize("steps", [0, 1, 3, 12])
def test_two_days_of_two_groups_fitted_step_by_step(steps: int) -> None:
    frame = two_days()
    found = fit(frame, GROUPS, KINDS, EXTRA) if steps == 12 else fit(frame, GROUPS, KINDS, EXTRA, steps)
    again = Again(frame)
    for step in range(steps):
        again.step(step)
    assert [getattr(found.hyper, name) for name in HYPER] == pytest.approx([getattr(again, name) for name in HYPER])
    assert (found.hyper.drivers, found.hyper.runs) == (DRIVERS, 32)
    for ours, theirs in ((found.scatter, again.of), (found.precision, again.weight), (found.spoilt, again.bad)):
        assert ours == pytest.approx(theirs)
    assert found.target == pytest.approx(again.target)
    assert found.moved == pytest.approx(again.moved, abs=1e-6)
    parts = [(again.height((s, a)), *again.solved(s, a)[1:]) for s, a, _ in again.steps]
    top = max(height for height, *_ in parts)
    parts = [(exp(height - top), mean, cov) for height, mean, cov in parts if height - top > log(1e-3)]
    weights = np.array([share for share, *_ in parts]) / sum(share for share, *_ in parts)
    assert found.weights == pytest.approx(weights, rel=1e-4)
    assert found.means == pytest.approx(np.array([mean for _, mean, _ in parts]), abs=1e-5)
    assert found.covs == pytest.approx(np.array([cov for *_, cov in parts]), abs=1e-5)
    mean = sum(w * m for w, m in zip(weights, found.means, strict=True))
    spread = sum(w * np.outer(m - mean, m - mean) for w, m in zip(weights, found.means, strict=True))
    assert found.mean == pytest.approx(mean, abs=1e-4)
    assert found.cov == pytest.approx(sum(w * c for w, c in zip(weights, found.covs, strict=True)) + spread, abs=1e-4)


@pytest.mark.parametrize(("residual", "variance", "loss"), [(0.4, 0.09, 1.2), (-0.5, 0.2, 0.6), (2.0, 0.05, 1.2)])
def test_a_spoilt_run_is_its_error_and_an_exponential_loss(residual: float, variance: float, loss: float) -> None:
    """The exponentially modified normal of scipy; an error far beyond what a double holds stays a number."""
    from scipy.stats import exponnorm

    theirs = exponnorm.pdf(residual, loss / sqrt(variance), scale=sqrt(variance))
    assert spoilt_by(residual, variance, loss) == pytest.approx(theirs, rel=2e-3)
    assert 0.0 <= spoilt_by(-900.0, variance, loss) < 1e-12
    assert 0.0 <= spoilt_by(900.0, variance, loss) < 1e-12


def test_the_share_under_z_is_the_logistic_of_a_cubic() -> None:
    """1.5976 z + 0.07056 z^3 (common practice), a number however far out."""
    for z in (-3.0, -0.4, 0.0, 1.1, 2.5):
        assert float(normal(np.array(z))) == pytest.approx(1 / (1 + exp(-1.5976 * z - 0.07056 * z**3)), rel=1e-12)
    assert normal(np.array([-1e4, 1e4])).tolist() == pytest.approx([0.0, 1.0], abs=1e-200)


def test_a_layout_counts_its_unknowns_and_one_kind_alone_has_none() -> None:
    frame = two_days()
    both, alone = layout_of(frame, GROUPS, KINDS), layout_of(frame, GROUPS, 1)
    assert (both.size, both.per_kind, alone.size, alone.per_kind) == (SIZE, 2, COURSE, 0)
    assert both.h.tolist() == pytest.approx(H)
    assert both.days.tolist() == DAYS
    row = both.design(np.array([1, 1, 1, 0, 0]), 1, np.array([0.1, 0.2, 0.3, 0.4, 0.5]))
    wanted = np.zeros((5, SIZE))
    wanted[[0, 1, 2, 3, 4], [5, 6, 7, 3, 4]] = 1.0
    wanted[:, COURSE + 2] = [0.1, 0.2, 0.3, 0.4, 0.5]
    wanted[:, COURSE + 3] = [0, 0, 0, 1, 1]
    assert row.tolist() == wanted.tolist()
