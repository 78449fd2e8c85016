"""The field fitted: course, learning, kinds of car, everybody's scatter, from the runs of one or more days.

y = level (driver, day) + own learning x h(run) + (1 + kind + driver) x course (group, run) + error. The course is a
random walk over runs, shared, with a group's own walk on top; errors have a t's tails, and a share of runs is spoilt.
Levels, learning and a driver's share of the course are swept out driver by driver (C. R. Henderson, Biometrics 31,
1975: mixed-model equations; the inverse by M. A. Woodbury); tails by reweighting (K. L. Lange, R. J. A. Little and
J. M. G. Taylor, JASA 84, 1989); variances by expectation and conditional maximisation under their priors; the walk's
innovations on a grid that is kept whole. What is left is a mixture of normals over course and kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from paddock.engine.field import priors

if TYPE_CHECKING:
    from paddock.engine.field.scores import Bools, Floats, Frame, Ints

_WIDE = 400.0
"""Variance of a level: nothing is believed about it."""
_ANCHOR = 1e-4
_ANOTHER_DAY = 100.0
_STEPS = 12
_RENEWED = frozenset((2, 5, 8))


def times(matrices: Floats, vectors: Floats) -> Floats:
    """Each matrix times its own vector."""
    return np.asarray((matrices @ vectors[..., None])[..., 0])


@dataclass(frozen=True, slots=True)
class Hyper:
    """Variances in s² of 45 s: ``learning``, ``share`` of the course a driver, ``night``, ``scatter`` of a run;
    ``freedom``: how alike scatters are; ``spoilt`` runs' share and mean loss; ``drivers`` and ``runs`` it rests on.
    """

    learning: float
    share: float
    night: float
    scatter: float
    freedom: float
    spoilt: float
    loss: float
    drivers: int
    runs: int


@dataclass(frozen=True, slots=True, eq=False)
class FitLayout:
    """Where a driver's runs stand among the unknowns: ``groups`` x slots of the course, then each kind's own.

    ``days``: place of each slot's day; ``h``: what is still to be learnt at each slot.
    """

    groups: int
    kinds: int
    per_kind: int
    days: Ints
    h: Floats

    @property
    def slots(self) -> int:
        """How many slots there are."""
        return len(self.days)

    @property
    def size(self) -> int:
        """How many unknowns there are."""
        return self.groups * self.slots + self.kinds * self.per_kind

    def by_day(self) -> Floats:
        """Slots by days, 1 where the slot is of the day."""
        return np.equal.outer(self.days, np.arange(self.days.max() + 1)).astype(float)

    def design(self, group: Ints, kind: int, moved: Floats) -> Floats:
        """Slots by unknowns, for a driver of ``group`` (by slot) and ``kind``; ``moved``: the course, centred."""
        slots = self.slots
        made = np.zeros((slots, self.size))
        made[np.arange(slots), group * slots + np.arange(slots)] = 1.0
        if self.per_kind:
            first = self.groups * slots + kind * self.per_kind
            made[:, first] = moved
            made[:, first + 1 : first + self.per_kind] = self.by_day()[:, 1:]
        return made

    def own(self, moved: Floats) -> Floats:
        """Slots by a driver's own unknowns: level, later days apart, learning day by day, share of the course."""
        days = self.by_day()
        return np.column_stack([np.ones(self.slots), days[:, 1:], days * self.h[:, None], moved])

    def own_variance(self, hyper: Hyper) -> Floats:
        """Of those unknowns."""
        days = int(self.days.max()) + 1
        return np.array([_WIDE, *[hyper.night] * (days - 1), *[hyper.learning] * days, hyper.share])


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """The course and the kinds: ``weights`` of the parts, ``means`` and ``covs`` of each; ``frame``: who told it.

    ``moved``: the course by group and slot, centred by day. ``precision`` and ``target``: each run as last weighed.
    ``scatter``: each driver's variance; ``spoilt``: chance of each run to be a spoilt one.
    """

    frame: Frame
    layout: FitLayout
    hyper: Hyper
    weights: Floats
    means: Floats
    covs: Floats
    moved: Floats
    precision: Floats
    target: Floats
    scatter: Floats
    spoilt: Floats

    @property
    def mean(self) -> Floats:
        """Over the parts."""
        return np.asarray(self.weights @ self.means)

    @property
    def cov(self) -> Floats:
        """Over the parts, what they differ in included."""
        away = self.means - self.mean
        return np.asarray(np.einsum("k,kij->ij", self.weights, self.covs) + (away.T * self.weights) @ away)


def still_to_learn(slots: tuple[tuple[int, int], ...]) -> Floats:
    """Falls with the run number of the day; each day is a new course."""
    return np.exp(-(np.array([run for _, run in slots]) - 1.0) / priors.LEARNING_RUNS)


def layout_of(frame: Frame, groups: int, kinds: int) -> FitLayout:
    """``groups`` and ``kinds``: how many there are, mine among them."""
    known = sorted({day for day, _ in frame.slots})
    days = np.array([known.index(day) for day, _ in frame.slots])
    return FitLayout(groups, kinds, len(known) if kinds > 1 else 0, days, still_to_learn(frame.slots))


def _kernels(frame: Frame, layout: FitLayout) -> tuple[Floats, Floats, Floats]:
    """Of the walk everybody shares, of a group's own walk, and what is fixed: all by unknowns, unit innovations."""
    where = frame.where[: layout.groups].ravel()
    days = np.tile(layout.days, layout.groups)
    groups = np.repeat(np.arange(layout.groups), layout.slots)
    same = np.equal.outer(days, days)
    begins = np.array([where[days == day].min() for day in range(int(days.max()) + 1)])[days]
    common = np.where(same, np.minimum.outer(where - begins, where - begins), 0.0)
    mine = np.equal.outer(groups, groups) & same
    starts = np.array([where[(groups == g) & (days == d)].min() for g, d in zip(groups, days, strict=True)])
    apart = np.where(mine, np.minimum.outer(where - starts, where - starts), 0.0)
    fixed = np.zeros((layout.size, layout.size))
    course = layout.groups * layout.slots
    fixed[:course, :course] = np.where(same & (days > 0), _ANOTHER_DAY, 0.0)
    learns = np.tile(layout.h, layout.groups)
    first = np.array([learns[days == day].max() for day in range(int(days.max()) + 1)])[days]
    fixed[:course, :course] += np.where(
        same, priors.FIELD_LEARNING_S**2 * np.outer(first - learns, first - learns), 0.0
    )
    if layout.groups > 1:
        fixed[:course, :course] += np.where(mine & (days > 0), priors.NIGHT_S**2, 0.0)
    at = np.arange(course)
    fixed[at, at] += _ANCHOR
    if layout.per_kind:
        one = [priors.CAR_SHARE**2, *[priors.NIGHT_S**2] * (layout.per_kind - 1)]
        rest = np.arange(course, layout.size)
        fixed[rest, rest] = np.tile(one, layout.kinds)
    whole = np.zeros((2, layout.size, layout.size))
    whole[0, :course, :course], whole[1, :course, :course] = common, apart
    return whole[0], whole[1], fixed


@dataclass(slots=True)
class _Cells:
    """Drivers who meet the same unknowns: ``of`` a driver's cell, ``key`` group by slot and kind."""

    of: Ints
    groups: list[Ints]
    kinds: list[int]

    @classmethod
    def sort(cls, frame: Frame) -> _Cells:
        keys: dict[tuple[object, ...], int] = {}
        of = [keys.setdefault((*row, kind), len(keys)) for row, kind in zip(frame.group.tolist(), frame.kind.tolist(),
                                                                           strict=True)]  # fmt: skip
        return cls(np.array(of, dtype=int), [np.array(key[:-1]) for key in keys], [int(key[-1]) for key in keys])  # type: ignore[call-overload]

    def designs(self, layout: FitLayout, moved: Floats) -> tuple[Floats, Floats]:
        """Cells by slots by unknowns, and cells by slots: how the course moved for each."""
        at = np.arange(layout.slots)
        rows = np.array([moved[group, at] for group in self.groups])
        made = [layout.design(g, k, m) for g, k, m in zip(self.groups, self.kinds, rows, strict=True)]
        return np.array(made), rows


def _centred(course: Floats, layout: FitLayout) -> Floats:
    days = layout.by_day()
    return np.asarray(course - (course @ days / days.sum(0)) @ days.T)


def normal(z: Floats) -> Floats:
    """Share of a standard normal under ``z``, within 2e-4: the logistic of a cubic (common practice)."""
    return np.asarray(1.0 / (1.0 + np.exp(np.minimum(z * (-1.5976 - 0.07056 * z * z), 500.0))))


def spoilt_density(residual: Floats, variance: Floats, loss: float) -> Floats:
    """Of a residual that is a run's error and an exponential loss of mean ``loss``."""
    sd = np.sqrt(variance)
    lift = np.clip(variance / (2 * loss**2) - residual / loss, -500.0, 50.0)
    return np.asarray(np.exp(lift) / loss * normal((residual - variance / loss) / sd))


def _student(square: Floats, variance: Floats) -> Floats:
    """Density of a run's error by its squared residual."""
    front = 0.3796  # of a t with 5 degrees of freedom
    return np.asarray(front / np.sqrt(variance) * (1.0 + square / (priors.NU * variance)) ** (-(priors.NU + 1) / 2))


def shares(frame: Frame, spoilt: float) -> Floats:
    """Prior chance of each run to be spoilt: the field's share, less where the driver's log denies it."""
    return np.where(frame.told, priors.TOLD_SHARE, spoilt)


def _freedom(squares: Floats, counts: Floats, scatter: float) -> float:
    """The mean of ``SCATTER_FREEDOMS`` given how drivers' scatters differ."""
    from math import lgamma, log

    heights, rounded = [], np.round(counts, 1).tolist()
    for nu, weight in priors.SCATTER_FREEDOMS:
        known = {n: lgamma((nu + n) / 2) for n in set(rounded)}
        front = np.array([known[n] for n in rounded]) - lgamma(nu / 2) + nu / 2 * log(nu * scatter)
        heights.append(log(weight) + float((front - (nu + counts) / 2 * np.log(nu * scatter + squares)).sum()))
    share = np.exp(np.array(heights) - max(heights))
    return float(share @ np.array([1 / nu for nu, _ in priors.SCATTER_FREEDOMS]) / share.sum()) ** -1


def _solve(kernels: tuple[Floats, Floats, Floats], steps: Floats, info: Floats, score: Floats) -> tuple[Floats, ...]:
    """For each pair of innovations: ln evidence, mean and covariance of the unknowns."""
    common, apart, fixed = kernels
    prior = steps[:, 0, None, None] ** 2 * common + steps[:, 1, None, None] ** 2 * apart + fixed
    whole = np.eye(len(score)) + prior @ info
    covs = np.linalg.solve(whole, prior)
    covs = (covs + covs.transpose(0, 2, 1)) / 2
    means = covs @ score
    heights = 0.5 * (means @ score) - 0.5 * np.linalg.slogdet(whole)[1]
    return heights, means, covs


def _grid(groups: int) -> tuple[Floats, Floats]:
    """Innovations to choose from and the ln of their prior weight."""
    own = list(zip(priors.GROUP_STEPS_S, priors.GROUP_WEIGHTS, strict=True)) if groups > 1 else [(0.0, 1.0)]
    pairs = [
        (step, apart, weight * share)
        for step, weight in zip(priors.COURSE_STEPS_S, priors.COURSE_WEIGHTS, strict=True)
        for apart, share in own
    ]  # fmt: skip
    found = np.array(pairs)
    return found[:, :2], np.log(found[:, 2])


@dataclass(slots=True)
class _State:
    """What the iteration carries along."""

    hyper: Hyper
    scatter: Floats
    precision: Floats
    target: Floats
    spoilt: Floats
    mean: Floats
    cov: Floats
    moved: Floats


class _Iteration:
    """Everybody's runs swept into equations for the unknowns, over and over."""

    def __init__(self, frame: Frame, layout: FitLayout, extra: Floats | None) -> None:
        self.frame, self.layout = frame, layout
        self.ok: Bools = ~np.isnan(frame.y) & ~frame.marked
        self.y = np.where(self.ok, frame.y, 0.0)
        self.extra = extra
        self.cells = _Cells.sort(frame)
        self.kernels = _kernels(frame, layout)
        self.steps, self.log_prior = _grid(layout.groups)
        scatter = priors.RUN_S**2
        hyper = Hyper(
            priors.LEARNING_S**2, priors.DRIVER_SHARE**2, priors.NIGHT_S**2, scatter, 4.0, priors.SPOILT_SHARE,
            priors.SPOILT_S, len(frame.numbers), int(self.ok.sum()),
        )  # fmt: skip
        first = np.where(self.ok, 1.0 / scatter, 0.0)
        self.at = _State(
            hyper, np.full(len(self.y), scatter), first, self.y, np.zeros_like(self.y), np.zeros(layout.size),
            np.zeros((layout.size, layout.size)), np.zeros((layout.groups, layout.slots)),
        )  # fmt: skip
        self.chosen = self.steps[-1][None]  # a course as free as may be, or a field that all slowed looks spoilt

    def equations(self) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Information and score of the unknowns; drivers' designs and covariances of their own, designs by cell."""
        at, layout, cells = self.at, self.layout, self.cells
        designs, moved = cells.designs(layout, at.moved)
        own = np.array([layout.own(row) for row in moved])[cells.of]
        variance = layout.own_variance(at.hyper)
        if self.extra is not None:
            own = np.concatenate([own, self.extra[:, :, None]], axis=2)
            variance = np.append(variance, 1.0)
        weighted = own * at.precision[:, :, None]
        inner = np.linalg.inv(np.diag(1.0 / variance) + own.transpose(0, 2, 1) @ weighted)
        left = weighted @ inner
        scored = at.precision * at.target
        right = scored - times(left, times(own.transpose(0, 2, 1), scored))
        swept = -left @ weighted.transpose(0, 2, 1)
        slots = np.arange(layout.slots)
        swept[:, slots, slots] += at.precision
        member = np.equal.outer(np.arange(len(designs)), cells.of).astype(float)
        sums = np.tensordot(member, swept, 1)
        info = (designs.transpose(0, 2, 1) @ sums @ designs).sum(0)
        score = times(designs.transpose(0, 2, 1), member @ right).sum(0)
        return np.asarray(info), np.asarray(score), np.asarray(own), np.asarray(inner), designs

    def unknowns(self, info: Floats, score: Floats, renew: bool) -> None:
        """Mean and covariance, at the innovations now believed in."""
        if renew:
            heights, means, covs = _solve(self.kernels, self.steps, info, score)
            best = int(np.argmax(heights + self.log_prior))
            self.chosen = self.steps[best][None]
            self.at.mean, self.at.cov = means[best], covs[best]
        else:
            _, means, covs = _solve(self.kernels, self.chosen, info, score)
            self.at.mean, self.at.cov = means[0], covs[0]

    def weigh(self, own: Floats, inner: Floats, designs: Floats) -> None:
        """Runs weighed anew by their residuals, then scatters and variances."""
        at, ok, cells = self.at, self.ok, self.cells
        course = designs @ at.mean
        unsure = np.maximum((designs @ at.cov * designs).sum(2), 0.0)
        middle = course[cells.of]
        res = np.where(ok, at.target - middle, 0.0)
        mine = times(inner, times(own.transpose(0, 2, 1), at.precision * res))
        error = np.where(ok, self.y - middle - times(own, mine), 0.0)
        variance = at.scatter[:, None]
        fit = np.minimum((own @ inner * own).sum(2), 3 * variance) + np.minimum(unsure[cells.of], 0.3 * variance)
        square = error**2 + fit
        share = shares(self.frame, at.hyper.spoilt)
        bad = share * spoilt_density(error, variance + fit, at.hyper.loss)
        good = (1.0 - share) * _student(square, variance)
        spoilt = np.where(ok, bad / (bad + good + 1e-300), 0.0)
        tails = (priors.NU + 1) / (priors.NU + square / variance)
        well, ill = (1.0 - spoilt) * tails / variance, spoilt / (variance + at.hyper.loss**2)
        at.precision = np.where(ok, well + ill, 0.0)
        at.target = np.where(ok, self.y - at.hyper.loss * ill / np.where(ok, well + ill, 1.0), 0.0)
        at.spoilt = spoilt
        kept = np.where(ok, 1.0 - spoilt, 0.0)
        free = kept * (1.0 - np.minimum(fit * tails / variance, 0.95))
        self._variances(free.sum(1), (kept * tails * error**2).sum(1), mine, inner, np.where(ok, spoilt * error, 0.0))
        at.moved = _centred(
            at.mean[: self.layout.groups * self.layout.slots].reshape(self.layout.groups, -1), self.layout
        )

    def _variances(self, counts: Floats, squares: Floats, mine: Floats, inner: Floats, lost: Floats) -> None:
        """Each variance from its squares over the freedom they have left (quicker than, and arriving where, the
        expectation of the squares does: R. Schall, Biometrika 78, 1991).
        """
        at, old, count = self.at, self.at.hyper, len(counts)
        unsure = np.einsum("nii->ni", inner)
        days = int(self.layout.days.max()) + 1

        def pulled(first: int, last: int, variance: float, sd: float, weight: float) -> float:
            left = np.clip(1.0 - unsure[:, first:last] / variance, 0.0, 1.0).sum()
            return float(((mine[:, first:last] ** 2).sum() + weight * sd**2) / (left + weight))

        freedom = _freedom(squares, counts, old.scatter) if count else old.freedom
        at.scatter = (freedom * old.scatter + squares) / (freedom + counts)
        scatter = (count + 2.0) / ((1.0 / at.scatter).sum() + 2.0 / priors.RUN_S**2)
        spoilt = float(at.spoilt[~self.frame.told].sum())
        runs = float((self.ok & ~self.frame.told).sum())
        at.hyper = Hyper(
            pulled(days, 2 * days, old.learning, priors.LEARNING_S, 4.0),
            pulled(2 * days, 2 * days + 1, old.share, priors.DRIVER_SHARE, 10.0),
            pulled(1, days, old.night, priors.NIGHT_S, 6.0), scatter, freedom,
            (40.0 * priors.SPOILT_SHARE + spoilt) / (40.0 + runs),
            float(10.0 * priors.SPOILT_S + lost.sum()) / (10.0 + float(at.spoilt.sum())), old.drivers, old.runs,
        )  # fmt: skip


def fit(frame: Frame, groups: int, kinds: int, extra: Floats | None = None, steps: int = _STEPS) -> Fitted:
    """Fit ``frame``. ``groups`` and ``kinds``: how many unknowns of each, one nobody drove included.

    ``extra``: drivers by slots, what else a driver may have changed (sd in it); None: nothing known.
    """
    layout = layout_of(frame, groups, kinds)
    made = _Iteration(frame, layout, extra)
    for step in range(steps):
        info, score, own, inner, designs = made.equations()
        made.unknowns(info, score, step in _RENEWED)
        made.weigh(own, inner, designs)
    info, score, *_ = made.equations()
    heights, means, covs = _solve(made.kernels, made.steps, info, score)
    heights = heights + made.log_prior
    weights = np.exp(heights - heights.max())
    kept = weights > 1e-3 * weights.max()
    weights = weights[kept] / weights[kept].sum()
    at = made.at
    return Fitted(
        frame, layout, at.hyper, weights, means[kept], covs[kept], at.moved, at.precision, at.target, at.scatter,
        at.spoilt,
    )  # fmt: skip
