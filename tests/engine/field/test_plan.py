"""The next test laid out, and the same change over a season."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from paddock.engine.field.plan import is_quick, open_test, plan, usual_tests, ways_to_test, worth_of
from paddock.engine.field.season import Estimate, given_between, pool, season_changes
from paddock.engine.field.verdict import judge
from paddock.model.event import Event
from paddock.model.rows import NoteRow, SetupChange
from paddock.pages.effect import season_page, season_seen
from paddock.pages.next_test import plan_page
from paddock.pages.verdict_words import next_test_words, power_words
from paddock.render.lines import text
from tests.engine.field.made import change, of

ME = ["46.000", "46.000", "45.000", "45.000"]
SPRINGS = {"setting": "rear_spring", "item": "rear springs", "before": "60", "after": "70"}


def _event(*rows: SetupChange, runs_per_day: int = 8, **more: object) -> Event:
    return of(ME, {"40": ME, "41": ME}, *rows, runs_per_day=runs_per_day, **more)  # type: ignore[arg-type]


def _settings(found: object) -> list[str]:
    assert found is not None
    return [item.setting for item in found.runs]  # type: ignore[attr-defined]


def test_four_runs_left_go_out_and_back_from_what_is_on_the_car() -> None:
    found = plan(_event(change()), "26")
    assert _settings(found) == ["new", "old", "old", "new"]
    assert found is not None
    assert [(item.day, item.run) for item in found.runs] == [(1, 5), (1, 6), (1, 7), (1, 8)]
    taken = plan(_event(change(), change("b", 4, undoes="c1")), "26", change_id="c1")
    assert _settings(taken) == ["old", "new", "new", "old"]


@pytest.mark.parametrize(
    ("left", "settings"),
    [(0, []), (1, ["free"]), (2, ["old", "new"]), (3, ["old", "new", "free"]),
     (5, ["new", "old", "old", "new", "free"]), (8, ["new", "old", "old", "new"] * 2)],
)  # fmt: skip
def test_runs_left_decide_the_layout(left: int, settings: list[str]) -> None:
    assert _settings(plan(_event(change()), "26", runs_left=left)) == settings


@pytest.mark.parametrize("left", [4, 8, 12])
def test_a_steady_drift_cancels_in_the_layout(left: int) -> None:
    settings = _settings(plan(_event(change()), "26", runs_left=left))
    old = [index for index, setting in enumerate(settings) if setting == "old"]
    new = [index for index, setting in enumerate(settings) if setting == "new"]
    assert sum(old) / len(old) == sum(new) / len(new)


def test_a_slow_change_takes_whole_days_by_a_tossed_coin() -> None:
    event = _event(change(**SPRINGS), runs_per_day=6)
    starts = set()
    for seed in range(12):
        found = plan(event, "26", seed=seed)
        assert found == plan(event, "26", seed=seed)
        assert found is not None
        assert not found.quick
        assert _settings(found)[:2] == ["new", "new"], "today stays as it is"
        assert len(set(_settings(found)[2:])) == 1
        starts.add(_settings(found)[2])
    assert starts == {"old", "new"}


@pytest.mark.parametrize(
    ("key", "quick"),
    [("rear_pressure", True), ("rear_bar", True), ("front damper clicks", True), ("rear_spring", False),
     ("bar bushes", False), ("camber", False), ("tyre pressure", True), ("seat", False)],
)  # fmt: skip
def test_what_is_quick(key: str, quick: bool) -> None:
    assert is_quick(change(setting=key, item=None)) is quick


def test_the_latest_open_test_is_meant() -> None:
    rows = [change(), change("c2", 4), change("done", 4, decision="keep"), change("mend", 4, kind="repair")]
    found = open_test(_event(*rows), "26")
    assert found is not None
    assert found.id == "c2"
    assert plan(_event(), "26") is None
    assert plan(_event(change()), "26", change_id="zz") is None


def _next(event: Event) -> str:
    found = judge(event, "c1")
    return next_test_words(found.label, found.plan)


def test_next_test_is_in_the_effect_and_repairs_have_none() -> None:
    assert "old-new-new-old" in _next(_event(change()))
    assert "alternate days" in _next(_event(change(**SPRINGS)))
    assert _next(_event(change(kind="repair"))) == "rear bar 2 to 3 is a repair: nothing to test."


FIELD = {
    "40": ["50.000", "50.000", "49.900", "49.900"],
    "41": ["50.000", "50.000", "49.800", "49.800"],
    "42": ["50.000", "50.000", "49.300", "49.300"],
}


def _season(count: int = 3) -> list[Event]:
    return [of(["46.000", "46.000", f"45.{5 + i}00", f"45.{5 + i}00"], FIELD, change()) for i in range(count)]


def test_a_season_pools_one_key() -> None:
    events = _season()
    found = season_changes(events)
    assert [item.setting for item in found] == ["rear_bar"]
    assert [name for name, _ in found[0].effects] == ["Test event"] * 3
    assert found[0].pooled is not None
    assert found[0].pooled.mean < 0
    single = [effect.shrunk_interval80_ms or (0, 0) for _, effect in found[0].effects]
    assert found[0].pooled.high - found[0].pooled.low < min(high - low for low, high in single)


def test_a_season_says_its_guess_and_what_each_day_showed() -> None:
    page = " ".join(text(season_page(season_seen(_season(), ["26"]))).split())
    assert re.search(r"helped, tried 3 times: best guess 0\.\d\d s faster \(range [^)]+\), chance that it", page)
    assert "by that day alone" in page
    assert "such changes usually go 0.2" in page, "why the guess may lie nearer nought than every day"
    alone = " ".join(text(season_page(season_seen(_season(1), ["26"]))).split())
    assert "helped: best guess" in alone
    assert "tried" not in alone


def test_the_evening_before_says_what_a_test_could_tell_and_what_was_left_to_test() -> None:
    notes = [NoteRow(id="n", topic="undecided from last time", text="toe is open"),
             NoteRow(id="o", topic="plan from last time", text="test: toe"), NoteRow(id="p", topic="tyres", text="new")]  # fmt: skip
    event = replace(_event(runs_per_day=4), tables={"notes.csv": tuple(notes)})
    found = dict(usual_tests(event, "26"))
    assert {kind: way.name for kind, way in found.items()} == {
        "pressure": "mirrored", "quick": "mirrored", "slow": "days", "tyres": "days",
    }  # fmt: skip
    assert found["pressure"].power.hoped_s == pytest.approx(0.1)
    assert found["tyres"].power.probably > found["slow"].power.probably, "tyres go farther than a toe"
    eight = dict(usual_tests(event, "26", 8))
    assert eight["quick"].power.finds_s < found["quick"].power.finds_s
    page = text(plan_page(event, None, None, "26"), 100)
    assert page.index("test: toe") < page.index("toe is open")
    assert "new" not in page.split("left to test")[1]


def _turned(event: Event) -> Event:
    rows = tuple(row.model_copy(update={"before": "3", "after": "2"}) for row in event.of(SetupChange))
    return replace(event, tables={**event.tables, "changes.csv": rows})


def test_the_other_way_round_counts_with_its_sign_turned() -> None:
    first, second = _season(2)
    same, turned = season_changes([first, second])[0], season_changes([first, _turned(second)])[0]
    assert (same.turned, turned.turned) == ((), (1,))
    assert same.pooled is not None
    assert turned.pooled is not None
    assert turned.pooled.mean > same.pooled.mean
    assert same.pooled.mean < 0


def test_a_season_without_figures_claims_nothing() -> None:
    found = season_changes([of(ME, {}, change())])
    assert (found[0].pooled, found[0].verdict, found[0].time_ms) == (None, "can't tell", None)


def test_changes_without_a_key_stand_alone_and_returns_belong_to_theirs() -> None:
    rows = [change("a", 2, setting=None), change("b", 3, setting=None), change("back", 4, undoes="b")]
    assert [item.setting for item in season_changes([_event(*rows)])] == ["a", "b"]


def test_one_event_pooled_is_no_surer_than_alone() -> None:
    """Error as large as the prior: half the effect, and at least 1/sqrt 2 of the error."""
    found = pool([Estimate(-0.4, 0.2)], 0.2)
    assert -0.2 <= found.mean < -0.1
    assert 0.2 / math.sqrt(2) < found.sd < 0.2


def test_events_that_agree_pool_closer_than_events_that_do_not() -> None:
    agree = pool([Estimate(-0.3, 0.1), Estimate(-0.3, 0.1), Estimate(-0.3, 0.1)], 0.2)
    differ = pool([Estimate(-0.9, 0.1), Estimate(0.3, 0.1), Estimate(-0.3, 0.1)], 0.2)
    assert agree.between < differ.between
    assert agree.p_faster > differ.p_faster


def test_nothing_to_pool() -> None:
    with pytest.raises(ValueError, match="nothing to pool"):
        pool([], 0.2)


def test_two_cars_with_one_key_are_two_changes() -> None:
    """The estate's bar tells nothing of the runabout's; two of one event are told apart by their run."""
    mine = {"numbers": ["26", "40"], "cars": {"26": "estate", "40": "runabout"}}
    rows = [change("a", 2), change("b", 3, before="3", after="4"), change("c", 3, number="40")]
    event = of(ME, {"40": ME}, *rows, mine=mine)
    found = season_changes([event])
    assert [(item.car, item.setting, len(item.effects)) for item in found] == [
        ("estate", "rear_bar", 2), ("runabout", "rear_bar", 1)
    ]  # fmt: skip
    assert found[0].runs == (2, 3)
    shown = text(season_page(season_seen([event, event], ["26"])), 100)
    name = event.settings.name or event.name
    assert "estate: rear bar 2 to 3" in shown
    assert "runabout: rear bar 2 to 3" in shown
    assert f"{name}, run 2" in shown
    assert f"{name}, run 3" in shown


@pytest.mark.parametrize(
    ("expect", "hoped"), [("0.4 s", 0.4), ("finds 0,15 s a run", 0.15), ("more grip", 0.2), (None, 0.2)]
)
def test_a_test_says_beforehand_how_likely_it_is_to_tell(expect: str | None, hoped: float) -> None:
    found = plan(_event(change(expect=expect)), "26")
    assert found is not None
    power = found.power
    assert power.hoped_s == pytest.approx(hoped)
    assert 0.0 < power.very < power.probably < 1.0
    assert power.probably < power.eight


def test_four_runs_hardly_find_a_tenth_and_the_words_say_so() -> None:
    found = plan(_event(change(setting="rear_pressure", before="30", after="32")), "26")
    assert found is not None
    assert found.power.probably < 0.2
    assert power_words(found.power).startswith("hardly anything you can do with it finds 0.10 s")
    sure = plan(_event(change(setting="tyres", expect="1 s")), "26")
    assert sure is not None
    assert power_words(sure.power).startswith("it would call 1.00 s probably or surer with ")


SCHOOLS = [Estimate(float(y), float(s)) for y, s in zip(
    (28, 8, -3, 7, -1, 1, 18, 12), (15, 10, 16, 11, 9, 11, 10, 18), strict=True
)]  # fmt: skip


def test_eight_schools_pooled() -> None:
    """7.7 with se 4.1 when the schools are all alike. D. B. Rubin, Journal of Educational Statistics 6, 1981."""
    mean, sd = given_between(SCHOOLS, 0.0, math.inf)
    assert (round(mean, 1), round(sd, 1)) == (7.7, 4.1)


def test_eight_schools_partly_pooled() -> None:
    """Posterior middles 10, 8, 6, 7, 5, 6, 10, 8. A. Gelman and others, Bayesian Data Analysis, table of ch. 5,
    from memory; theirs has a flat prior on the spread, so a broad one here and a loose tolerance."""
    found = pool(SCHOOLS, 1000.0, between_scale=10.0)
    assert found.each == pytest.approx((10, 8, 6, 7, 5, 6, 10, 8), abs=1.5)
    assert 4.1 < found.sd < 5.5


def test_the_loss_of_acting_now_and_what_a_test_saves() -> None:
    """A guess of nothing with sd 1 loses 0.399 on average, phi(0); a perfect test would save all of it, none nothing.
    Unit normal loss L(1) = 0.0833 (H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, 1961, table of the
    unit normal loss integral; from memory, and held against scipy's quadrature).
    """
    from scipy import integrate, stats

    half = 1.2815515655
    assert worth_of(0.0, (-half, half), 1e-9).wrong_ms == pytest.approx(0.3989, abs=1e-4)
    found = worth_of(-1.0, (-1.0 - half, -1.0 + half), 1.0)
    loss, _ = integrate.quad(lambda x: (x - 1.0) * stats.norm.pdf(x), 1.0, 12.0)
    assert (round(found.wrong_ms, 4), found.wrong_ms) == (0.0833, pytest.approx(loss))
    assert 0.0 < found.saves_ms < found.wrong_ms
    assert worth_of(-1.0, (-1.0 - half, -1.0 + half), 1e-6).saves_ms == pytest.approx(loss, rel=1e-6)
    assert worth_of(-1.0, (-1.0 - half, -1.0 + half), math.inf).saves_ms == 0.0


def test_ways_to_spend_the_runs_left_best_first_and_other_days_last() -> None:
    event = _event(change(), runs_per_day=8)
    row = event.of(SetupChange)[0]
    found = ways_to_test(event, "26", row)
    assert [way.name for way in found[-2:]] == ["another day", "eight runs"]
    assert {way.name for way in found[:-2]} == {"mirrored", "alternating", "halves"}
    errors = [way.power.error_s for way in found[:-2]]
    assert errors == sorted(errors)
    by_name = {way.name: way for way in found}
    assert by_name["mirrored"].settings == ("new", "old", "old", "new")
    assert (by_name["mirrored"].turns, by_name["alternating"].turns, by_name["halves"].turns) == (2, 4, 1)
    assert by_name["eight runs"].power.finds_s < by_name["another day"].power.finds_s
    assert [way.name for way in ways_to_test(event, "26", row, 1)] == ["another day", "eight runs"]
    slow = _event(change(**SPRINGS))
    assert [way.name for way in ways_to_test(slow, "26", slow.of(SetupChange)[0])] == ["days"]


def test_half_of_the_days_find_what_is_said_to_be_found_on_half_of_them() -> None:
    """The closed form against its own meaning: an effect of ``finds_s`` is called with one in two."""
    event = _event(change(expect="0.2 s"))
    half = ways_to_test(event, "26", event.of(SetupChange)[0])[0].power.finds_s
    asked = _event(change(expect=f"{half:.4f} s"))
    power = ways_to_test(asked, "26", asked.of(SetupChange)[0])[0].power
    assert power.probably == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize(("number", "mine", "count"), [(None, ["26"], 1), ("26", [], 1), (None, [], 0)])
def test_a_season_judges_rows_of_a_number_or_of_my_own(number: str | None, mine: list[str], count: int) -> None:
    found = season_changes([of(ME, {}, change(number=number), mine={"numbers": mine})])
    assert len(found) == count


def test_a_change_that_takes_a_day_is_not_promised_anything_of_eight_runs() -> None:
    quick, slow = _next(_event(change())), _next(_event(change(**SPRINGS)))
    assert "eight runs" in quick
    assert "eight runs" not in slow
    assert "to say probably)" in slow


def test_a_test_is_as_likely_to_tell_as_simulated_days_say() -> None:
    """Shares of 150 of the study's days, a bar turned old-new-new-old over four runs and over eight, effect fixed (ours):
    called "probably" or surer, and "very likely".
    """
    seen = {("another day", 0.3): (0.05, 0.0), ("another day", 0.5): (0.19, 0.0), ("another day", 0.9): (0.37, 0.0),
            ("eight runs", 0.3): (0.37, 0.01), ("eight runs", 0.5): (0.69, 0.11), ("eight runs", 0.9): (0.92, 0.31)}  # fmt: skip
    for (name, hoped), (probably, very) in seen.items():
        bar = change(run=5, expect=f"{hoped} s")
        power = next(way.power for way in ways_to_test(_event(bar), "26", bar, 0) if way.name == name)
        assert (power.probably, power.very) == (pytest.approx(probably, abs=0.1), pytest.approx(very, abs=0.1))
