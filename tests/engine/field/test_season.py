"""My seasons: habits and pooled changes worked out a second time from the days' estimates."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import fmean, variance
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from paddock.engine.field.case import NO_HABITS, Contrast, Habits, case_of, field_without, own_runs
from paddock.engine.field.own import quick_estimate
from paddock.engine.field.priors import parts_of
from paddock.engine.field.scores import raw_times
from paddock.engine.field.season import Estimate, Pooled, habits_of, judged, own_values, pool, season_changes
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from tests.engine.field.made import change, mistake, of

SCHOOLS = [Estimate(-0.3, 0.15), Estimate(0.1, 0.3), Estimate(-0.45, 0.1)]


def pooled(estimates: list[Estimate], prior: tuple[tuple[float, float], ...], scale: float) -> Pooled:
    """On a grid of the spread between events and of the prior's parts: normal sums and a bisection."""
    parts = []
    for at in range(160):
        between = 5 * scale * (at + 0.5) / 160
        for share, usual in prior:
            weights = [1 / (item.error**2 + between**2) for item in estimates]
            total = sum(weights) + (0 if math.isinf(usual) else usual**-2)
            mean = sum(w * item.effect for w, item in zip(weights, estimates, strict=True)) / total
            cov = np.full((len(estimates),) * 2, 0.0 if math.isinf(usual) else usual**2)
            cov += np.diag([item.error**2 + between**2 for item in estimates])
            y = np.array([item.effect for item in estimates])
            if math.isinf(usual):  # nothing believed of the common effect: its integral over everything
                flat = np.diag(1 / np.diag(cov))
                likely = 0.5 * np.linalg.slogdet(flat)[1] - 0.5 * math.log(total)
                likely -= 0.5 * (y - mean) @ flat @ (y - mean)
            else:
                likely = -0.5 * np.linalg.slogdet(cov)[1] - 0.5 * y @ np.linalg.solve(cov, y)
            height = math.log(share) - 0.5 * (between / scale) ** 2 + likely
            parts.append((height, mean, total**-0.5, between))
    top = max(part[0] for part in parts)
    weights = np.exp(np.array([part[0] - top for part in parts]))
    weights = weights / weights.sum()
    means, sds, betweens = (np.array([part[k] for part in parts]) for k in (1, 2, 3))
    mean = float(weights @ means)

    def under(share: float) -> float:
        low, high = -5.0, 5.0
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if weights @ norm.cdf((middle - means) / sds) < share else (low, middle)
        return low

    each = []
    for item in estimates:
        own = betweens**2 / (betweens**2 + item.error**2)
        each.append(float(weights @ (own * item.effect + (1 - own) * means)))
    return Pooled(
        mean, float(weights @ (sds**2 + (means - mean) ** 2)) ** 0.5, under(0.1), under(0.9),
        float(weights @ norm.cdf(-means / sds)), float(weights @ betweens), tuple(each),
    )  # fmt: skip


def alike(found: Pooled | None, wanted: Pooled, by: float = 1.0) -> None:
    assert found is not None
    times = ("mean", "sd", "low", "high", "between")
    assert [getattr(found, name) for name in times] == pytest.approx(
        [by * getattr(wanted, name) for name in times], rel=1e-8
    )
    assert found.p_faster == pytest.approx(wanted.p_faster, rel=1e-6)
    assert found.each == pytest.approx([by * value for value in wanted.each], rel=1e-8)


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize("prior_sd", [0.2, math.inf])
def test_events_pooled_on_a_grid(count: int, prior_sd: float) -> None:
    estimates = SCHOOLS[:count]
    if math.isinf(prior_sd):
        alike(pool(estimates, prior_sd, 0.4), pooled(estimates, ((1.0, math.inf),), 0.4))
        return
    alike(pool(estimates, prior_sd), pooled(estimates, parts_of(0.2), 0.1))
    alike(pool(estimates, prior_sd, 0.3), pooled(estimates, parts_of(0.2), 0.3))


def day(seed: int, *rows: SetupChange, run_count: int = 5, gain: float = 0.0, **more: Any) -> Event:
    """Six others and me, who learn half a second more than they do and gain ``gain`` from run 3 on."""
    rng = random.Random(seed)

    def drive(pace: float, learns: float, helped: float) -> list[str]:
        return [f"{pace + learns * math.exp(-at / 1.8) + (helped if at > 1 else 0) - 0.2 * at + rng.gauss(0, 0.2):.3f}"
                for at in range(run_count)]  # fmt: skip

    others = {str(100 + i): drive(rng.gauss(45.0, 1.0), rng.gauss(0.0, 0.2), 0.0) for i in range(6)}
    return of(drive(46.0, 0.5, gain), others, *rows, runs_per_day=run_count, **more)


def learnt_on(event: Event, day_: int = 1) -> tuple[float, float]:
    times = raw_times(event)
    field = field_without(event, "26", times, (day_,))
    runs = tuple(sorted(slot for slot in times["26"] if slot[0] == day_))
    assert field is not None
    case = case_of(event, SetupChange(id="-", number="26"))
    assert case is not None
    own = own_runs(replace(case, of=Contrast("day", (), runs, (False,) * len(runs))), field, NO_HABITS)
    found = quick_estimate(field.fitted, own, field.fitted.layout.h[own.slot], learning=False)
    assert found is not None
    return found


def went_on(event: Event, row: SetupChange, usual: float) -> tuple[float, float]:
    case = case_of(event, row)
    assert case is not None
    field = field_without(event, "26", raw_times(event), (1,))
    assert field is not None
    own = own_runs(case, field, NO_HABITS)
    found = quick_estimate(field.fitted, own, own.changes[:, 0])
    assert found is not None
    return found[0] / usual, found[1] / usual**2


def test_what_i_usually_learn_beyond_the_field_and_how_far_my_changes_go() -> None:
    """Four quiet days, one of them with a change from its first run on; four days of a bar, one of tyres."""
    bar = [change("c", 3, before=str(at), after=str(at + 1)) for at in range(4)]
    quiet = [day(1), day(2), day(3), day(4, change("whole", 1, setting="camber", item="camber"))]
    busy = [day(10 + at, row, gain=-0.6) for at, row in enumerate(bar)]
    tyres = [day(20, change("t", 3, setting="tyres", item="tyres"))]
    passed = [day(30, change("u", 3, undoes="zz")), day(31, change("m", 3, kind="repair"))]
    found = habits_of([*quiet, *busy, *tyres, *passed], ["26"])
    seen = [learnt_on(event) for event in quiet]
    values, errors = [value for value, _ in seen], [error for _, error in seen]
    between = max((0.35 / 2) ** 2, variance(values) - fmean(errors))
    weights = [1 / (error + between) for error in errors]
    total = sum(weights) + 1 / 0.35**2
    mean = sum(w * v for w, v in zip(weights, values, strict=True)) / total
    assert found.learning["26"] == pytest.approx((mean, math.sqrt(1 / total + between), 4))
    assert set(found.priors) == {"other"}, "one day of tyres is no habit"
    went = [went_on(event, row, 0.2) for event, row in zip(busy, bar, strict=True)]
    factors = [math.exp(0.1 * step) for step in range(-13, 14)]
    heights = [norm.logpdf(math.log(factor), scale=0.5) + sum(norm.logpdf(v, scale=math.sqrt(factor**2 + e)) for v, e in went)
               for factor in factors]  # fmt: skip
    shares = np.exp(np.array(heights) - max(heights))
    assert found.priors["other"] == pytest.approx(math.exp(float(shares @ np.log(factors) / shares.sum())))
    usual = found.prior(bar[0])
    assert (usual.sd_s, usual.source) == (pytest.approx(0.2 * found.priors["other"]), "own seasons")
    assert found.prior(change(setting="tyres")).source == "default"


def test_days_that_differ_are_no_firm_habit() -> None:
    """Spread beyond their errors: by moments, where it is more than half the field's."""
    events = [day(1), day(2)]
    slow = tuple(
        row.model_copy(update={"time_ms": (row.time_ms or 0) + 4000}) if (row.number, row.run) == ("26", 1) else row
        for row in events[1].times
    )
    apart = [events[0], replace(events[1], tables={**events[1].tables, "times.csv": slow})]
    found = habits_of(apart, ["26"])
    seen = [learnt_on(event) for event in apart]
    values, errors = [value for value, _ in seen], [error for _, error in seen]
    between = variance(values) - fmean(errors)
    assert between > (0.35 / 2) ** 2
    weights = [1 / (error + between) for error in errors]
    total = sum(weights) + 1 / 0.35**2
    mean = sum(w * v for w, v in zip(weights, values, strict=True)) / total
    assert found.learning["26"] == pytest.approx((mean, math.sqrt(1 / total + between), 2))


def test_too_little_is_no_habit() -> None:
    """One quiet day, two changes; a change whose first run nobody wrote down leaves no day quiet."""
    rows = [change("a", 3), change("b", 3)]
    assert habits_of([day(1), *(day(10 + at, row) for at, row in enumerate(rows))], ["26"]) == NO_HABITS
    assert habits_of([day(1), day(2, change("x", None))], ["26"]) == NO_HABITS
    assert habits_of([day(1), day(2, run_count=1)], ["26"]) == NO_HABITS, "one run shows no learning"
    assert set(habits_of([day(1), day(2)], ["26"]).learning) == {"26"}
    assert habits_of([day(1), day(2)], ["77"]) == NO_HABITS
    assert habits_of([of(["46", "46", "45", "45"], {}, change(str(at), 3)) for at in range(3)], ["26"]) == NO_HABITS, (
        "alone"
    )
    assert habits_of([], ["26"]) == NO_HABITS


def test_own_values_stand_beside_their_defaults() -> None:
    passed = [change("u", 1, undoes="zz"), change("m", 1, kind="repair")]
    events = [day(1), day(2, *passed, run_count=4), *(day(10 + at, change("c", 3)) for at in range(3))]
    events += [day(20, change("p", 3, setting="rear_pressure", before="30", after="32"))]
    found = {item.name: item for item in own_values(events, ["26"])}
    hypers = []
    for event in events:
        field = field_without(event, "26", raw_times(event), (1,))
        assert field is not None
        hypers.append(field.fitted.hyper)
    runs = [item.runs for item in hypers]
    for name, key, default in (("run_s", "scatter", 0.3), ("learning_s", "learning", 0.35)):
        own = math.sqrt(np.average([getattr(item, key) for item in hypers], weights=runs))
        assert (found[name].default, found[name].own, found[name].rests) == (default, pytest.approx(own), 6)
        assert found[name].of == "days"
    for name, key, default in (("spoilt", "spoilt", 0.08), ("loss_s", "loss", 1.2)):
        own = float(np.average([getattr(item, key) for item in hypers], weights=runs))
        assert (found[name].default, found[name].own) == (default, pytest.approx(own))
    habits = habits_of(events, ["26"])
    assert (found["learnt 26"].default, found["learnt 26"].own, found["learnt 26"].rests) == (
        0.0, habits.learning["26"][0], 2,
    )  # fmt: skip
    assert (found["other"].default, found["other"].own, found["other"].rests) == (
        0.2, pytest.approx(0.2 * habits.priors["other"]), 3,
    )  # fmt: skip
    assert (found["pressure"].default, found["pressure"].own, found["pressure"].rests) == (0.1, None, 1)
    assert (found["tyres"].default, found["tyres"].own, found["tyres"].rests) == (0.5, None, 0)
    assert (found["cone_runs"].default, found["void_runs"].default) == (3.7, 4.4)
    assert found["cone_runs"].rests == found["void_runs"].rests == 42
    nothing = {item.name: item for item in own_values([], ["26"])}
    assert all(item.own is None and item.rests == 0 for item in nothing.values())
    assert "learnt 26" not in nothing


def test_one_change_over_a_season_pooled_with_its_sign() -> None:
    """The same bar three times, once the other way round, at each day's own pace; habits as asked."""
    rows = [change("a", 3), change("b", 3, before="3", after="2"), change("c", 3, before="2,0", after="2,5")]
    events = [day(40 + at, row, gain=-0.4) for at, row in enumerate(rows)]
    habits = Habits(priors={"other": 1.5})
    (found,) = season_changes(events, habits)
    assert (found.setting, found.label, found.turned, found.runs) == ("rear_bar", "rear bar 2 to 3", (1,), (3, 3, 3))
    estimates, times = [], []
    for (_, effect), way in zip(found.effects, (1, -1, 1), strict=True):
        assert effect.extra_ms is not None
        assert effect.interval80_ms is not None
        assert effect.time_ms is not None
        low, high = effect.interval80_ms
        share = 45 / effect.time_ms
        estimates.append(Estimate(way * effect.extra_ms * share, (high - low) / 2 / norm.ppf(0.9) * share))
        times.append(effect.time_ms)
    assert found.time_ms == pytest.approx(fmean(times))
    by = fmean(times) / 45
    wanted = pooled(estimates, parts_of(0.3), 0.15)
    alike(found.pooled, wanted, by)
    assert found.usual_ms == pytest.approx(0.3 * by)
    assert estimates[0].variance == pytest.approx(estimates[0].error ** 2)


@pytest.mark.parametrize(
    ("before", "after", "turned"),
    [
        ("3", "2", True),
        ("2", "3", False),
        ("5", "4,5", True),
        ("0", "9", False),
        ("hard", "soft", False),
        ("2", "2", False),
    ],
)
def test_which_way_round_a_change_went(before: str, after: str, turned: bool) -> None:
    rows = [change("a", 3), change("b", 3, before=before, after=after)]
    found = season_changes([of(["46", "46", "45", "45"], {}, row) for row in rows], NO_HABITS)
    assert found[0].turned == ((1,) if turned else ())
    words = [change("a", 3, before="soft", after="hard"), change("b", 3, before="hard", after="soft")]
    assert season_changes([of(["46", "46"], {}, row) for row in words], NO_HABITS)[0].turned == (1,)
    down = [
        change("a", 3, before="3", after="2"),
        change("b", 3, before="5", after="4,5"),
        change("c", 3, before="4", after="5"),
    ]
    assert season_changes([of(["46", "46"], {}, row) for row in down], NO_HABITS)[0].turned == (2,)
    still = [change("a", 3, before="2", after="2.0"), change("b", 3, before="1", after="2")]
    assert season_changes([of(["46", "46"], {}, row) for row in still], NO_HABITS)[0].turned == ()
    same = [change("a", 3, before="soft", after="soft"), change("b", 3, before="soft", after="soft")]
    assert season_changes([of(["46", "46"], {}, row) for row in same], NO_HABITS)[0].turned == ()


def test_without_habits_asked_for_my_learning_as_the_events_show_it_is_used() -> None:
    events = [day(1), day(2), day(41, change("a", 3), gain=-0.4)]
    learning = habits_of(events, ["26"]).learning
    assert learning
    found = season_changes(events)[0].effects
    assert found == season_changes(events, Habits(learning))[0].effects
    assert found != season_changes(events, NO_HABITS)[0].effects
    alone = season_changes(events[2:])[0].effects
    assert alone == season_changes(events[2:], NO_HABITS)[0].effects


def test_changes_of_an_event_judged_newest_first() -> None:
    rows = [
        change("a", 2),
        change("c", 4, at="10:00"),
        change("d", 4, at="11:00"),
        change("e", 1, day=2),
        change("n", None, day=None),
    ]
    found = judged(of(["46.0", "46.0", "45.9", "45.9"], {}, *rows, mistake(1)))
    assert [effect.change_id for effect in found] == ["e", "d", "c", "a", "n"]
    nobody = change("z", 2, number=None)
    assert [effect.change_id for effect in judged(of(["46.0", "46.0"], {}, nobody, mine={"numbers": []}))] == []
