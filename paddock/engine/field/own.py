"""My own runs, held against the fitted field: what the change did, what I learnt, what is still open.

A mode is no posterior: with four runs of mine the scatter, the tails, what I spoilt and what I learnt are integrated
over. Many short chains side by side (A. E. Gelfand and A. F. M. Smith, JASA 85, 1990) draw them in turn; given them
all else is normal and is drawn whole (G. Matheron's conditioning, as in Y. Hoffman and E. Ribak, ApJ 380, 1991). The
answer is the mixture of the normals met on the way (D. Blackwell, 1947: no draw of the answer itself is needed).
Seeded: the same runs give the same figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from paddock.engine.field import priors
from paddock.engine.field.fit import Fitted, normal, spoilt_density, times

if TYPE_CHECKING:
    from paddock.engine.field.scores import Bools, Floats, Ints


# what is believed about one number: a mixture of normals, and what is read off it


_REACH, _HALVINGS = 7.0, 12


@dataclass(frozen=True, slots=True, eq=False)
class Mixture:
    """``means`` and ``sds`` of its parts, and their ``weights``, which sum to 1."""

    means: Floats
    sds: Floats
    weights: Floats

    @property
    def mean(self) -> float:
        """The best guess."""
        return float(self.weights @ self.means)

    @property
    def sd(self) -> float:
        """Of the whole."""
        return float(np.sqrt(self.weights @ (self.sds**2 + (self.means - self.mean) ** 2)))

    def under(self, x: float) -> float:
        """Share of it below ``x``."""
        return float(self.weights @ normal((x - self.means) / self.sds))

    def quantiles(self, *shares: float) -> tuple[float, ...]:
        """Values under which the shares lie."""
        wanted = np.array(shares)
        low = np.full(len(shares), self.mean - _REACH * self.sd)
        high = np.full(len(shares), self.mean + _REACH * self.sd)
        below, above = np.zeros(len(shares)), np.ones(len(shares))
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            under = normal((middle[:, None] - self.means) / self.sds) @ self.weights
            less = under < wanted
            low, below = np.where(less, middle, low), np.where(less, under, below)
            high, above = np.where(less, high, middle), np.where(less, above, under)
        part = (wanted - below) / np.maximum(above - below, 1e-12)
        return tuple((low + part * (high - low)).tolist())

    def range80(self) -> tuple[float, float]:
        """The range that holds it four times in five."""
        low, high = self.quantiles(0.1, 0.9)
        return low, high


_CHAINS, _SETTLE, _KEPT = 128, 6, 7
_FLAT_S = 6.0
"""Sd of "nothing is believed" about a change, in 45 s."""
_WIDE = 400.0
_SEED = 20260509


@dataclass(frozen=True, slots=True, eq=False)
class OwnRuns:
    """Runs of my car, whoever drove: one entry a run. ``driver`` counts from 0, ``slot`` into the frame's slots.

    ``told``: the log says it was no mistake; ``contrast``: its weight in "with less without". ``changes``: runs by
    changes, 1 with it, the judged one first; ``sds``: how far each change usually goes. ``learning``: mean and sd of
    what each driver usually learns more than the field (run 1 against the last of many), None: nothing known.
    ``scatter``: how many times wider than the field's each driver's is taken; empty: as wide.
    """

    driver: Ints
    slot: Ints
    group: Ints
    kind: int
    y: Floats
    told: Bools
    changes: Floats
    sds: Floats
    contrast: Floats
    learning: tuple[tuple[float, float] | None, ...] = ()
    scatter: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """Seconds in 45 s. ``effect`` with the prior, ``plain`` without; ``learnt``: how much my own learning moved the
    runs with the change against those without; ``field``: what the course gave between them, as the others tell it.
    Negative: faster.
    """

    effect: Mixture
    plain: Mixture
    learnt: Mixture
    field: float


@dataclass(slots=True)
class _Known:
    """What no chain changes: by part of the field, mean and covariance of the course at my runs."""

    means: Floats
    covs: Floats
    same_driver: Floats
    h: Floats


def _known(fitted: Fitted, own: OwnRuns) -> _Known:
    layout, hyper = fitted.layout, fitted.hyper
    group = np.zeros((len(own.y), layout.slots), dtype=int) + own.group[:, None]
    design = np.array([
        layout.design(row, own.kind, fitted.moved[row[0]])[at] for row, at in zip(group, own.slot, strict=True)
    ])  # fmt: skip
    days, moved = layout.days[own.slot], fitted.moved[own.group, own.slot]
    same = np.equal.outer(own.driver, own.driver).astype(float)
    today = same * np.equal.outer(days, days)
    share = same * hyper.share * np.outer(moved, moved)
    covs = design @ fitted.covs @ design.T + share + hyper.night * today * np.minimum.outer(days, days).clip(0, 1)
    return _Known(fitted.means @ design.T, covs, same, layout.h[own.slot])


class _Chains:
    """All chains at once; the first half believes in the prior, the second half in nothing."""

    def __init__(self, fitted: Fitted, own: OwnRuns, known: _Known) -> None:
        self.own, self.known, self.hyper = own, known, fitted.hyper
        self.random = np.random.default_rng(_SEED)
        self.chains = 2 * _CHAINS
        self.drivers = max(int(own.driver.max()) + 1, len(own.scatter))  # a mate may have no run here
        count, chains, hyper = len(own.y), self.chains, fitted.hyper
        edges = np.cumsum(fitted.weights)
        part = np.searchsorted(edges, (np.arange(_CHAINS) + 0.5) / _CHAINS).clip(0, len(edges) - 1)
        self.part = np.tile(self.random.permutation(part), 2)
        self.member = np.equal.outer(own.driver, np.arange(self.drivers)).astype(float)
        days = fitted.layout.days[own.slot]
        self.pairs = sorted({(int(d), int(day)) for d, day in zip(own.driver, days, strict=True)})
        self.learn = np.array([[h if pair == (d, day) else 0.0 for pair in self.pairs] for h, d, day in
                               zip(known.h, own.driver, days, strict=True)])  # fmt: skip
        self.usual = np.array([self._usual(d)[0] for d, _ in self.pairs])
        field = priors.OWN_LEARNING_WIDER * hyper.learning * self._around(4.0 + 0.5 * hyper.drivers)
        self.spread = np.array(
            [np.where(self._usual(d)[1] > 0, self._usual(d)[1] ** 2, field) for d, _ in self.pairs]
        ).T
        field_scatter = hyper.scatter * self._around(max(hyper.runs - 2.0 * hyper.drivers, 0.0) + 4.0)
        self.usual_scatter = np.outer(field_scatter, np.square(own.scatter or np.ones(self.drivers)))
        self.scatter = self.usual_scatter.copy()
        self.tails = np.ones((chains, count))
        self.prior_bad = np.where(own.told, priors.TOLD_SHARE, hyper.spoilt)
        self.bad = self.random.random((chains, count)) < self.prior_bad
        self.nu = np.where(own.told, priors.TOLD_NU, priors.NU)
        self.wider = np.where(own.told, priors.TOLD_WIDER, 1.0)
        self.narrow = np.ones((chains, len(self.pairs)))
        parts = np.array(priors.parts_of(float(own.sds[0])))
        self.part_sds = np.tile(parts[:, 1], (chains, 1))
        self.part_sds[_CHAINS:] = _FLAT_S
        self.part_heights = np.log(parts[:, 0])
        self.sds = np.tile(own.sds, (chains, 1))
        rest = own.changes[:, 1:]
        self.moving = (rest * own.sds[1:] ** 2) @ rest.T
        self.half = np.linalg.cholesky(known.covs + 1e-9 * np.eye(count))[self.part]
        self.base = (known.covs + _WIDE * known.same_driver)[self.part]
        self.gap = own.y - known.means[self.part] - self.learn @ self.usual

    def _usual(self, driver: int) -> tuple[float, float]:
        found = self.own.learning[driver] if driver < len(self.own.learning) else None
        return found if found is not None else (0.0, 0.0)

    def _around(self, freedom: float) -> Floats:
        drawn = freedom / self.random.chisquare(freedom, _CHAINS)
        return np.tile(drawn, 2)

    def sweep(self) -> tuple[Floats, ...]:
        """One round: mean, variance and weight of the judged change by part of its prior, mean and variance of what was
        learnt, given the rest.
        """
        random, own = self.random, self.own
        chains, count = self.gap.shape
        of_run = self.scatter @ self.member.T * self.wider
        noise = of_run / self.tails + self.bad * self.hyper.loss**2
        learns = self.spread / self.narrow
        whole = self.base + (self.learn * learns[:, None]) @ self.learn.T + self.moving
        noisy = whole.copy()
        noisy[:, np.arange(count), np.arange(count)] += noise
        inverse = np.linalg.inv(noisy)
        left = self.gap - self.bad * self.hyper.loss
        x = own.changes[:, 0]
        away = inverse @ x
        effect = self._effect((away @ x)[:, None], (away * left).sum(1)[:, None])
        self.sds[:, 0] = self._part(effect[2])
        square = self.sds[:, 0] ** 2
        inverse -= (square / (1.0 + square * (away @ x)))[:, None, None] * away[:, :, None] * away[:, None]
        whole += square[:, None, None] * np.outer(x, x)
        solved = times(inverse, left)
        normals = (*effect, *self._learnt(inverse, solved, learns))
        learnt0 = random.standard_normal(learns.shape) * np.sqrt(learns)
        moved0 = random.standard_normal(self.sds.shape) * self.sds
        level0 = 20.0 * random.standard_normal((chains, self.drivers))
        course0 = times(self.half, random.standard_normal((chains, count)))
        drawn = course0 + level0 @ self.member.T + learnt0 @ self.learn.T + moved0 @ own.changes.T
        error0 = random.standard_normal((chains, count)) * np.sqrt(noise)
        weight = times(inverse, left - drawn - error0)
        value = drawn + times(whole, weight)
        learnt = learnt0 + learns * (weight @ self.learn)
        self._renew(self.gap - value, learnt)
        return normals

    def _effect(self, told: Floats, score: Floats) -> tuple[Floats, ...]:
        """Chains by parts of the prior: the judged change's mean and variance in each, and what each weighs."""
        wide = self.part_sds**2
        left = 1.0 + wide * told
        heights = self.part_heights - 0.5 * np.log(left) + 0.5 * wide * score**2 / left
        weights = np.exp(heights - heights.max(1, keepdims=True))
        return wide * score / left, wide / left, weights / weights.sum(1, keepdims=True)

    def _part(self, weights: Floats) -> Floats:
        """The sd of the part drawn for each chain."""
        at = (self.random.random((len(weights), 1)) > np.cumsum(weights, axis=1)[:, :-1]).sum(1)
        return np.asarray(self.part_sds[np.arange(len(at)), at])

    def _learnt(self, inverse: Floats, solved: Floats, learns: Floats) -> tuple[Floats, Floats]:
        """Exact given scatter, tails, spoilt runs, the spread of learning and the part the change is of."""
        contrast = self.own.contrast
        ways = contrast @ self.learn
        pull = (learns * ways) @ self.learn.T
        learnt = ways @ self.usual + (pull * solved).sum(1)
        learnt_variance = learns @ ways**2 - ((pull[:, None] @ inverse)[:, 0] * pull).sum(1)
        return learnt, learnt_variance

    def _renew(self, error: Floats, learnt: Floats) -> None:
        random, hyper = self.random, self.hyper
        of_run = self.scatter @ self.member.T * self.wider
        noise = of_run / self.tails
        bad = self.prior_bad * spoilt_density(error, noise, hyper.loss)
        good = (1.0 - self.prior_bad) * np.exp(-0.5 * error**2 / noise) / np.sqrt(2 * np.pi * noise)
        self.bad = random.random(error.shape) * (bad + good + 1e-300) < bad
        shift = noise / hyper.loss + np.sqrt(noise) * random.standard_normal(error.shape)
        rest = np.where(self.bad, shift, error) ** 2
        self.tails = random.gamma((self.nu + 1) / 2, 1.0, error.shape) / ((self.nu + rest / of_run) / 2)
        freedom = hyper.freedom + self.member.sum(0)
        squares = hyper.freedom * self.usual_scatter + (self.tails * rest / self.wider) @ self.member
        self.scatter = squares / random.chisquare(freedom, self.scatter.shape)
        alike = priors.OWN_LEARNING_FREEDOM
        self.narrow = random.gamma((alike + 1) / 2, 1.0, learnt.shape) / ((alike + learnt**2 / self.spread) / 2)


def judge_runs(fitted: Fitted, own: OwnRuns) -> Judged:
    """The judged change's posterior. Runs on both sides are wanted, else what comes out is the prior."""
    known = _known(fitted, own)
    chains = _Chains(fitted, own, known)
    for _ in range(_SETTLE):
        chains.sweep()
    rounds = [chains.sweep() for _ in range(_KEPT)]
    found = [np.stack(parts) for parts in zip(*rounds, strict=True)]

    def mixture(first: int, last: int, mean: Floats, variance: Floats, weights: Floats | None = None) -> Mixture:
        mean, sd = mean[:, first:last].ravel(), np.sqrt(np.maximum(variance[:, first:last].ravel(), 1e-10))
        whole = np.ones(len(mean)) if weights is None else weights[:, first:last].ravel()
        return Mixture(mean, sd, whole / whole.sum())

    return Judged(
        mixture(0, _CHAINS, *found[:3]), mixture(_CHAINS, 2 * _CHAINS, *found[:3]), mixture(0, _CHAINS, *found[3:]),
        float(fitted.weights @ known.means @ own.contrast),
    )  # fmt: skip


def whitened(fitted: Fitted, own: OwnRuns, learning: bool = True) -> tuple[Floats, Floats]:
    """Inverse covariance of my runs, and those runs less the course, errors taken as normal: for sums over many days,
    where a posterior each would take too long. ``learning``: my own may differ from the field's.
    """
    known = _known(fitted, own)
    whole = np.tensordot(fitted.weights, known.covs, 1) + _WIDE * known.same_driver
    if learning:
        whole += fitted.hyper.learning * known.same_driver * np.outer(known.h, known.h)
    if len(own.sds) > 1:
        whole += (own.changes[:, 1:] * own.sds[1:] ** 2) @ own.changes[:, 1:].T
    at = np.arange(len(own.y))
    whole[at, at] += fitted.hyper.scatter * priors.NU / (priors.NU - 2.0)
    return np.asarray(np.linalg.inv(whole), dtype=float), own.y - fitted.weights @ known.means


def quick_estimate(fitted: Fitted, own: OwnRuns, column: Floats, learning: bool = True) -> tuple[float, float] | None:
    """Mean and variance of what multiplies ``column`` in my runs, nothing believed about it. None where the runs can't
    tell.
    """
    inverse, gap = whitened(fitted, own, learning)
    solved = inverse @ column
    told = float(column @ solved)
    return (float(gap @ solved) / told, 1.0 / told) if told > 1e-2 else None
