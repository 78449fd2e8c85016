"""Chances worked out a second time from the same draws, driver by driver and draw by draw; and scores by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean, median
from typing import Any

import numpy as np
import pytest

from paddock.engine.field.ahead import draw_ahead, fault_weights, rates_of
from paddock.engine.field.chances import TableChance, chances, expected
from paddock.engine.field.evidence import trade_of
from paddock.engine.field.fit import fit
from paddock.engine.field.from_event import placed
from paddock.engine.field.scores import Score, ScoreTable, raw_times, score_field
from paddock.engine.scoring.tables import days_run
from paddock.model.event import Event
from tests.engine.field.made import in_group
from tests.factories import entrant, event, runs, settings


def day_two(rules: dict[str, Any] | None = None, more: int = 0, **config: Any) -> Event:
    """Day 2 of two under way in two groups: I have driven 3 of 5, group B one more; one has left, one is out; 46 has
    not begun the day, 43 not at all.
    """
    people = [
        entrant("26", drive="rear"), entrant("40", drive="rear"), entrant("42", drive="front", control=False), entrant("43"), entrant("46"),
        entrant("41", "OAK", drive="rear"), entrant("44", "OAK", drive="front", status="withdrawn"),
        entrant("45", "OAK", status="dsq"), *(entrant(str(100 + at)) for at in range(more)),
    ]  # fmt: skip
    times = [
        *runs("26", 1, "46.2", "46.0+1", "45.8"), *runs("40", 1, "45.9+1", "46.1", "45.7"),
        *runs("42", 1, "46.4", "46.0", "45.9"), *runs("41", 1, "44.0", "43.6", "43.9"),
        *runs("46", 1, "46.1", "46.3", "46.2"), *runs("44", 1, "43.9", "44.2", "43.5+1"), *runs("45", 1, "40.0", "40.1"),
        *runs("26", 2, "45.9", "45.2+1", "45.3"), *runs("40", 2, "45.6", "45.4", "45.5", "45.2"),
        *runs("42", 2, "45.8", "dnf", "45.6"), *runs("41", 2, "43.6", "43.1+2", "43.2", "43.0"),
        *runs("44", 2, "43.5", "43.3"), *runs("45", 2, "40.0", "39.8"),
    ]  # fmt: skip
    for at in range(more):
        pace = 45.6 + at / 8
        times += runs(str(100 + at), 1, f"{pace:.3f}", f"{pace - 0.2:.3f}")
        times += runs(str(100 + at), 2, f"{pace:.3f}", f"{pace - 0.4:.3f}", *([f"{pace - 0.3:.3f}"] * (at % 3)))
    grid = [in_group(number, "B", day) for number in ("40", "41") for day in (1, 2)]
    grid += [in_group(number, "A", day) for number in ("26", "42", "44", "46") for day in (1, 2)]
    return event(people, times, settings(rules, **({"runs_per_day": 5} | config)), *grid)


def careful(count: int = 8) -> Event:
    """An event in which my slower runs hit a cone and my quicker ones three each."""
    texts = [text for at in range(count) for text in (f"47.{at:03d}+1", f"46.{at:03d}+3")]
    rival = [text for at in range(count) for text in (f"47.{at:03d}+1", f"46.{at:03d} dnf")]
    times = [*runs("26", 1, *texts), *runs("40", 1, *rival)]
    return event([entrant("26"), entrant("40")], times, settings())


class Again:
    """The field drawn as the engine draws it; what is made of the draws is worked out here."""

    def __init__(
        self, of: Event, number: str, left: int | None, season: Sequence[Event], kept: int, ahead: int, draws: int
    ) -> None:
        self.event, self.number, self.field = of, number, score_field(of, number, left)
        found = placed(of, raw_times(of), days_run(of), number, everybody=True, ahead=ahead)
        frame = found.frame
        self.fitted = fit(frame, len(found.groups), len(found.kinds))
        self.level = {n: math.exp(float(base) / 45) for n, base in zip(frame.numbers, frame.base, strict=True)}
        self.usable = {n: int(np.isfinite(row).sum()) for n, row in zip(frame.numbers, frame.y, strict=True)}
        self.done = {n: max((row.run for row in of.times if row.number == n and row.day == self.field.day), default=0)
                     for n in self.level}  # fmt: skip
        near = {number}
        for table in (self.field.class_table, self.field.index_table):
            near |= set(self.best(table, kept)) & set(self.level) if table and number in table.scores else set()
        self.near = sorted(near)
        open_from = min(self.done[n] for n in self.near) + 1
        first = frame.slots.index((self.field.day, open_from))
        self.runs = [run for _, run in frame.slots[first:]]
        self.rates = rates_of(of, fault_weights(season))
        alike = {item.number: item.class_ for item in of.entrants}
        self.drawn = draw_ahead(self.fitted, self.near, first, self.rates, alike, draws)
        self.trade = trade_of([of, *season], number)

    def best(self, table: ScoreTable, kept: int) -> list[str]:
        def may(n: str) -> float:
            score = table.scores[n]
            known = math.inf if score.banked is None else score.base + score.banked
            if score.left == 0 or n not in self.level:
                return known
            good = score.factor * self.level[n] * 0.985
            return known + score.left * good if score.summed else min(known, score.base + good)

        return sorted((n for n in table.scores if n != self.number), key=lambda n: (may(n), n))[:kept]

    def mine(self, n: str, score: Score) -> list[int]:
        """Which of the runs drawn are this driver's to come."""
        return [at for at, run in enumerate(self.runs) if self.done[n] < run <= self.done[n] + score.left]

    def ends(self, n: str, score: Score, shift: float = 0.0, wider: float = 1.0, cones: float = 1.0,
             next_only: bool = False) -> list[float]:  # fmt: skip
        """Final scores by draw."""
        draws = self.drawn.raw_ms.shape[2]
        at = self.near.index(n) if n in self.near else -1
        mine = self.mine(n, score) if at >= 0 else []
        changed = mine[:1] if next_only else mine
        hits = {run: self.drawn.cones[at, run].astype(float) for run in mine}
        random = np.random.default_rng(1)
        if cones != 1.0 and changed:
            of = np.array([hits[run] if cones < 1.0 else [hits[run][i - 1] for i in range(draws)] for run in changed])
            block = random.binomial(of.astype(int), cones if cones < 1.0 else min(1.0, cones - 1.0))
            kept = 0.0 if cones < 1.0 else 1.0
            hits |= {run: kept * hits[run] + row for run, row in zip(changed, block, strict=True)}
        totals = []
        for run in mine:
            raw = self.drawn.raw_ms[at, run]
            if run in changed:
                middle = median(raw.tolist())
                raw = middle * (raw / middle) ** wider * math.exp(shift)
            scored = score.factor * raw + score.cone_ms * hits[run]
            totals.append([math.inf if void else ms for void, ms in zip(self.drawn.void[at, run], scored, strict=True)])
        known = math.inf if score.banked is None else score.base + score.banked
        if not totals:
            return [known] * draws
        if score.summed:
            return [known + sum(row) for row in zip(*totals, strict=True)]
        return [min(known, score.base + min(row)) for row in zip(*totals, strict=True)]

    def check(self, found: TableChance, table: ScoreTable, kept: int, wide: float = 1.0) -> None:
        """Everything that is said of a table."""
        me, n = table.scores[self.number], self.number
        rivals = {other: self.ends(other, table.scores[other]) for other in self.best(table, kept)}

        nearest = [min(row) for row in zip(*rivals.values(), strict=True)]

        def lead(**how: Any) -> list[bool]:
            how["wider"] = wide * how.get("wider", 1.0)
            return [own < math.inf and own <= end for own, end in zip(self.ends(n, me, **how), nearest, strict=True)]

        at = self.near.index(n)
        scatter, led = float(self.drawn.scatter[at]), lead()
        assert found.p_lead == pytest.approx(fmean(led))
        assert found.runs_left == me.left
        if self.trade.clear and me.left:
            banked = lead(shift=scatter / 2, cones=self.trade.slower, next_only=True)
            pushed = lead(shift=-scatter / 2, cones=1 / self.trade.slower, next_only=True)
            assert (found.p_lead_if_banked, found.p_lead_if_pushed) == pytest.approx((fmean(banked), fmean(pushed)))
        else:
            assert found.p_lead_if_banked == found.p_lead_if_pushed == found.p_lead
        assert found.evidence == self.trade.clear
        mine = self.ends(n, me, wider=wide)
        behind = {
            other: fmean(end < own for end, own in zip(ends, mine, strict=True) if math.isfinite(own))
            for other, ends in rivals.items()
        }
        order = sorted((other for other in behind if behind[other] > 0.001), key=lambda other: (-behind[other], other))
        assert [item.number for item in found.rivals] == order[:5]
        assert [item.p_ahead for item in found.rivals] == pytest.approx([behind[other] for other in order[:5]])
        pace = fmean(self.drawn.pace[at].tolist())
        self.check_rests(found, table, me, wide, pace, scatter)
        if not me.left:
            assert (found.sensitivity, found.p_range) == ((), (found.p_lead,) * 2)
            return
        tenth = 100 / math.exp(pace)
        wanted = {"quicker": lead(shift=-tenth), "slower": lead(shift=tenth), "wider": lead(wider=1.5),
                  "cones": lead(cones=2.0)}  # fmt: skip
        assert {item.what: item.p_lead for item in found.sensitivity} == pytest.approx(
            {what: fmean(share) for what, share in wanted.items()}
        )
        by_pace = sorted(range(len(led)), key=lambda draw: self.drawn.pace[at][draw])
        fifth = len(led) // 5
        ends = sorted(fmean(led[draw] for draw in part) for part in (by_pace[:fifth], by_pace[-fifth:]))
        assert found.p_range == pytest.approx(tuple(ends))

    def check_rests(
        self, found: TableChance, table: ScoreTable, me: Score, wide: float, pace: float, scatter: float
    ) -> None:
        rests, time = found.rests, math.exp(pace) / 1000
        assert rests is not None
        assert (rests.day, rests.left, rests.per_day) == (self.field.day, me.left, self.field.per_day)
        assert rests.unseen == tuple(n for n in table.entered if n not in self.usable)
        if not me.left:
            assert (rests.pace, rests.trade) == (None, None)
            return
        assert rests.trade == self.trade
        assert rests.pace is not None
        assert (rests.pace.usable, rests.pace.wider) == (self.usable[self.number], wide)
        assert (rests.pace.time_s, rests.pace.spread_s) == pytest.approx((time, scatter * time * wide))
        assert (rests.pace.cones, rests.pace.voids) == pytest.approx(
            (self.rates.cone_rate(self.number), self.rates.void_rate(self.number))
        )


CASES = [
    ({}, "26", 3, 1.5), ({"count": {"best_of_first": 4}, "days": "separate"}, "26", None, 1.2),
    ({}, "26", 0, None), ({}, "41", 1, None), ({}, "44", None, None), ({"count": "sum"}, "40", None, None),
    ({"days": "best", "index_on": "raw"}, "26", 1, None),
]  # fmt: skip


@pytest.mark.parametrize(("rules", "number", "left", "wide"), CASES)
def test_chances_draw_by_draw(rules: dict[str, Any], number: str, left: int | None, wide: float | None) -> None:
    """``wide``: with a season beside it, and all the draws."""
    of, season = day_two(rules), [] if wide is None else [careful()]
    ahead = 1 if left is None else left + {"26": 3, "41": 4}[number] - 4
    again = Again(of, number, left, season, 30, max(0, ahead), 300 if wide is None else 2000)
    found = expected(of, number, left, 300).chances if wide is None else chances(of, number, left, season, wide)
    wide = wide or 1.0
    tables = ((found.class_, again.field.class_table), (found.index, again.field.index_table))
    seen = 0
    for said, table in tables:
        if table is not None and number in table.scores:
            again.check(said, table, 30, wide)
            seen += 1
    assert seen == 2
    assert found.number == number
    assert found.class_name == ("OAK" if number in {"41", "44"} else "PINE")


def test_of_many_rivals_the_thirty_who_may_end_best_are_reckoned_with() -> None:
    of = day_two({"days": "best"}, more=36)
    again = Again(of, "26", None, [], 30, 1, 200)
    assert len(again.near) < len(again.level)
    found = expected(of, "26", draws=200).chances
    for said, table in ((found.class_, again.field.class_table), (found.index, again.field.index_table)):
        assert table is not None
        again.check(said, table, 30)


def test_a_day_on_which_every_run_so_far_is_void() -> None:
    times = [*runs("26", 1, "46.0", "46.2", "46.1"), *runs("40", 1, "45.9", "46.4", "46.0")]
    times += [*runs("26", 2, "dnf"), *runs("40", 2, "dnf", "dnf")]
    of = event([entrant("26"), entrant("40")], times, settings(runs_per_day=4))
    again = Again(of, "26", None, [], 30, 4, 200)
    assert again.runs == [2, 3, 4]
    found = expected(of, "26", draws=200).chances
    assert again.field.class_table is not None
    again.check(found.class_, again.field.class_table, 30)


def test_no_more_than_twelve_runs_are_looked_ahead() -> None:
    of = day_two()
    again = Again(of, "26", 20, [], 30, 12, 200)
    assert again.runs == list(range(1, 17))
    found = expected(of, "26", 20, 200).chances
    assert again.field.index_table is not None
    again.check(found.index, again.field.index_table, 30)


def test_my_next_run_and_the_course_s_step_to_it() -> None:
    of = day_two()
    again = Again(of, "26", None, [], 30, 1, 400)
    found = expected(of, "26", None, 400)
    raw = again.drawn.raw_ms[again.near.index("26"), again.runs.index(4)]
    assert found.next_ms == pytest.approx(tuple(np.percentile(raw, (10, 50, 90))))
    slots = again.fitted.frame.slots
    mean, cov = again.fitted.mean, again.fitted.cov
    now, later = slots.index((2, 3)), slots.index((2, 4))  # group A is the first
    step = (mean[later] - mean[now], math.sqrt(cov[now, now] + cov[later, later] - 2 * cov[now, later]))
    assert found.course_s == pytest.approx(step)
    b = len(slots)
    theirs = expected(of, "41", 1, 400).course_s
    assert theirs is not None
    now, later = b + slots.index((2, 4)), b + slots.index((2, 5))
    other = Again(of, "41", 1, [], 30, 1, 400).fitted
    assert theirs[0] == pytest.approx(other.mean[later] - other.mean[now])
    assert expected(of, "26", 0, 200).next_ms is None
    assert expected(of, "46", None, 200).course_s is None, "no run of today to step from"
    assert expected(of, "40", 0, 200).course_s is None, "no run after it is drawn"


def test_luck_is_what_pace_does_not_explain() -> None:
    """Two days counted: twice the difference of the paces, each with its factor."""
    of = day_two()
    again = Again(of, "26", None, [], 30, 1, 2000)
    found = chances(of, "26")

    def pace(n: str) -> float:
        return math.exp(float(again.drawn.pace[again.near.index(n)].mean()))

    class_, index = found.class_.luck, found.index.luck
    assert class_ is not None
    assert (class_.number, class_.gap_ms) == ("40", 45_800 + 45_300 - 45_700 - 45_200)
    assert class_.pace_ms == pytest.approx(2 * (pace("26") - pace("40")))
    assert index is not None
    mine, theirs = (45.8 + 45.3) * 812, (45.7 + 45.2) * 812
    assert (index.number, index.gap_ms) == ("40", pytest.approx(mine - theirs, abs=2))
    assert index.pace_ms == pytest.approx(2 * 0.812 * (pace("26") - pace("40")))
    assert chances(day_two({"count": "sum"}), "40").class_.luck is None, "a sum has no best run to be lucky in"
    ahead = chances(of, "40").class_.luck
    assert ahead is not None
    assert (ahead.number, ahead.gap_ms) == ("26", -200)
    once = event([entrant("26"), entrant("40")], [*runs("26", 1, "46.0", "46.1"), *runs("40", 1, "45.9")], settings())
    assert chances(once, "26").class_.luck is None, "one run shows no pace"


def score_of(of: Event, number: str, index: bool, left: int | None = None) -> Score | None:
    field = score_field(of, number, left)
    table = field.index_table if index else field.class_table
    assert table is not None
    return table.scores.get(number)


def test_scores_by_hand() -> None:
    of = day_two()
    assert score_of(of, "26", False) == Score(45_800.0, 45_300, 2, 1.0, 2000.0)
    found = score_of(of, "26", True)
    assert found is not None
    assert (found.base, found.banked, found.left) == (math.floor(45_800 * 0.812), math.floor(45_300 * 0.812), 2)
    assert (found.factor, found.cone_ms) == pytest.approx((0.812, 1624.0))
    assert score_of(of, "44", False) is not None
    assert score_of(of, "44", False).left == 0  # type: ignore[union-attr]
    assert score_of(of, "45", False) is None
    late = score_of(day_two({"days": "best"}), "46", False)
    assert late == Score(0, 46_100, 5, 1.0, 2000.0)
    assert score_of(of, "43", False) is None, "without a score on day 1 none of two days"
    assert score_of(of, "26", False, 4).left == 4  # type: ignore[union-attr]
    field = score_field(of, "26", None)
    assert (field.day, field.per_day) == (2, 5)
    assert score_field(of, "26", 4).per_day == 7
    assert field.class_table is not None
    assert field.class_table.days == 2
    assert field.class_table.entered == ("26", "40", "42", "43", "46")
    best = score_of(day_two({"days": "best"}), "26", False)
    assert best == Score(0, 45_300, 2, 1.0, 2000.0)
    waits = score_of(day_two({"days": "best"}), "43", False)
    assert waits == Score(0, None, 5, 1.0, 2000.0)
    assert waits.known is None
    apart = score_field(day_two({"days": "separate"}), "26", None).class_table
    assert apart is not None
    assert apart.days == 1
    assert apart.scores["26"] == Score(0, 45_300, 2, 1.0, 2000.0)
    summed = score_of(day_two({"count": "sum"}), "40", False)
    assert summed == Score(45_900 + 2000 + 46_100 + 45_700, 45_600 + 45_400 + 45_500 + 45_200, 1, 1.0, 2000.0, True)
    assert score_of(day_two({"count": "sum"}), "42", False) is None, "a void run of a sum"
    first = score_of(day_two({"count": {"best_of_first": 4}}), "26", False)
    assert first is not None
    assert first.left == 1
    raw = score_of(day_two({"index_on": "raw"}), "26", True)
    assert raw is not None
    assert raw.cone_ms == 2000.0
    unset = score_field(day_two(runs_per_day=None), "26", None)
    assert unset.per_day == 4, "as many as anybody has driven"
    nobody = score_field(event([entrant("26")], [], settings(runs_per_day=None)), "26", None)
    assert (nobody.day, nobody.per_day, nobody.class_table, nobody.index_table) == (1, 0, None, None)
    over = score_of(day_two(runs_per_day=2), "26", False)
    assert over is not None
    assert over.left == 0, "driven more than the day has"
    strange = score_field(
        event([entrant("26"), entrant("50", "ELM")], [*runs("26", 1, "46.0"), *runs("50", 1, "45.0")], settings()),
        "26",
        None,
    )
    assert strange.index_table is not None
    assert set(strange.index_table.scores) == {"26"}, "no index for its class"
    bare = score_field(event([entrant("26", None)], runs("26", 1, "46.0"), settings()), "26", None)
    assert bare.class_table is None
