"""The rules that rest on what a run showed, every one on every pattern of marks, middles and balance.

Each rule is said again here in the plainest way: whether it answers, which axle goes which
way and how far, and how many signs agree.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

import pytest

from paddock.engine.field.response import QuickerWay
from paddock.engine.pressure.answer import Proposal, Tested
from paddock.engine.pressure.corners import AXLES, Reason, because
from paddock.engine.pressure.returns import fading
from paddock.engine.pressure.rules import (
    first_run,
    front_past,
    front_right,
    front_short,
    only_on_power,
    opposed,
    rear_past,
    rear_short,
    unread_signs,
)
from paddock.engine.pressure.signs import AxleSigns, Learned, all_signs
from paddock.engine.pressure.situation import Situation
from paddock.model.rows import WeatherRow
from tests.engine.pressure.situations import HOT, ME, MORNING, after, car, cold, logged, now, put, rubber
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told

BASE = seen(MORNING, after(1, *HOT), logged(1))
MARKS: tuple[tuple[str | None, str | None], ...] = (
    (None, None), ("past", None), ("past", "cool"), ("on", "even"), ("short", "hot"), ("short", "cool"),
)  # fmt: skip
FELT = ((0, 0, 0), (-2, 0, 0), (0, -2, 0), (-2, -3, 0), (0, 0, -2), (2, 0, 0), (0, 2, 2), (0, 0, 2), (-2, 0, 2), (-1, 1, 0),
        (-1, 0, 2), (1, -2, 0), (0, -1, 2), (-1, -1, -1), (0, -2, 1))  # fmt: skip
"""Entry, mid and exit."""


@dataclass(frozen=True)
class Shown:
    front: tuple[str | None, str | None]
    rear: tuple[str | None, str | None]
    felt: tuple[int, int, int]

    @property
    def tight(self) -> int:
        return sum(value <= -2 for value in self.felt)

    @property
    def loose(self) -> int:
        return sum(value >= 2 for value in self.felt)

    def situation(self, mistake: bool = False, **more: object) -> Situation:
        axles = {"front": AxleSigns(*self.front), "rear": AxleSigns(*self.rear)}
        balance = dict(zip(("entry", "mid", "exit"), self.felt, strict=True))
        return replace(BASE, axles=axles, balance=balance, signs=all_signs(axles, balance),
                       log=logged(1, mistake=mistake), **more)  # type: ignore[arg-type]  # fmt: skip


def every() -> Iterator[Shown]:
    for front, rear, felt in itertools.product(MARKS, MARKS, FELT):
        yield Shown(front, rear, felt)


Answer = str | tuple[str, dict[str, float], int]
"""The name of why a rule is passed over; or of its reason, what it sets, and the signs that agree."""


def answer(found: Tested) -> Answer:
    if isinstance(found, Reason):
        return found.name
    assert found.kind == ("new" if found.wanted else "none")
    return found.reason.name, {corner: round(psi, 6) for corner, psi in found.wanted.items()}, len(found.signs)


def moved(axle: str, by: float, signs: int) -> Answer:
    """Both tyres of an axle, from 34 and 44 psi."""
    return "directed", dict.fromkeys(AXLES[axle], (34.0 if axle == "front" else 44.0) + by), signs


def past(shown: Shown, axle: str) -> Answer:
    """Rolled past its mark with the complaint of its end: up 1; the front up 2 where three signs agree."""
    (mark, middle), clear, other = (
        (shown.front, shown.tight, shown.loose) if axle == "front" else (shown.rear, shown.loose, shown.tight)
    )
    if mark != "past" or not clear or other:
        return f"no-{axle}-past"
    signs = 1 + (middle == "cool") + clear
    return moved(axle, 2.0 if axle == "front" and signs >= 3 else 1.0, signs)


def short(shown: Shown, axle: str) -> Answer:
    """Short of the mark, hot in the middle, with the complaint of its end: down 1."""
    tyres, clear, other = (
        (shown.front, shown.tight, shown.loose) if axle == "front" else (shown.rear, shown.loose, shown.tight)
    )
    return moved(axle, -1.0, 2 + clear) if tyres == ("short", "hot") and clear and not other else f"no-{axle}-short"


def right(shown: Shown) -> Answer:
    """The front on its mark, pushing in the middle: up at the rear only where it is known to be over its best."""
    if shown.front[0] != "on" or shown.felt[1] > -2:
        return "no-front-right"
    if shown.loose:
        return "oversteers-too"
    if shown.rear != ("short", "hot"):
        return "front-right-rear-unknown", {}, 0
    return "front-right", dict.fromkeys(AXLES["rear"], 45.0), 3 + (shown.tight - 1)


def opposite(shown: Shown) -> Answer:
    low, high = min(shown.felt), max(shown.felt)
    if low > -1 or high < 1:
        return "not-opposite"
    return "opposite-faint" if max(-low, high) < 2 else ("opposite-phases", {}, 0)


def power(shown: Shown) -> Answer:
    entry, mid, exit_ = shown.felt
    return ("exit-alone", {}, 0) if abs(exit_) >= 2 and max(abs(entry), abs(mid)) < 2 else "not-the-exit-alone"


RULES: dict[str, tuple[Callable[[Situation], Tested], Callable[[Shown], Answer]]] = {
    "front past": (front_past, lambda shown: past(shown, "front")),
    "rear past": (rear_past, lambda shown: past(shown, "rear")),
    "front short": (front_short, lambda shown: short(shown, "front")),
    "rear short": (rear_short, lambda shown: short(shown, "rear")),
    "opposite": (opposed, opposite),
    "exit": (only_on_power, power),
}


@pytest.mark.parametrize("name", RULES)
def test_a_rule_on_every_pattern(name: str) -> None:
    rule, plain = RULES[name]
    answers = [(shown, answer(rule(shown.situation())), plain(shown)) for shown in every()]
    assert [item for item in answers if item[1] != item[2]] == []
    assert any(not isinstance(said, str) for _, _, said in answers)


def test_the_front_on_its_mark_leaves_the_answer_to_the_rear() -> None:
    """Its signs: the front's own mark, the push, and of the rear what agrees with letting it down."""
    for shown in every():
        found, plain = answer(front_right(shown.situation())), right(shown)
        if isinstance(plain, str) or plain[0] != "front-right":
            assert found == plain, shown
        else:
            assert (found[0], found[1]) == (plain[0], plain[1]), shown
    plain_push = Shown(("on", "even"), ("short", "hot"), (0, -2, 0)).situation()
    found = front_right(plain_push)
    assert isinstance(found, Proposal)
    assert [(sign.kind, sign.axle, sign.value) for sign in found.signs] == [
        ("mark", "front", "on"), ("mark", "rear", "short"), ("middle", "rear", "hot"), ("mid", None, "-2"),
    ]  # fmt: skip
    assert found.reason == because("front-right", up=True, psi=1.0, shown=None)


@pytest.mark.parametrize(("slope", "front", "rear"), [(0.5, 1.0, -1.0), (-0.5, -1.0, 1.0)])
def test_the_cars_own_slope_gives_the_direction(slope: float, front: float, rear: float) -> None:
    """More pressure towards oversteer: up against a push, down against oversteer; the other way about if it falls."""
    learned = {axle: Learned(axle, slope, slope - 0.2, slope + 0.2, 8, 3.0) for axle in AXLES}
    push = Shown(("past", None), (None, None), (-2, 0, 0)).situation(learned=learned)
    loose = Shown((None, None), ("short", "hot"), (0, 0, 2)).situation(learned=learned)
    on = Shown(("on", None), (None, None), (0, -2, 0)).situation(learned=learned)
    assert wanted(front_past(push)) == {"lf": 34.0 + front, "rf": 34.0 + front}
    assert wanted(rear_short(loose)) == {"lr": 44.0 + rear, "rr": 44.0 + rear}
    assert wanted(front_right(on)) == {"lr": 44.0 + front, "rr": 44.0 + front}
    assert dict(reason_of(front_past(push)).values)["shown"] is learned["front"]


def wanted(found: Tested) -> dict[str, float]:
    assert isinstance(found, Proposal)
    return dict(found.wanted)


def reason_of(found: Tested) -> Reason:
    assert isinstance(found, Proposal)
    return found.reason


def test_a_mistake_proves_nothing_and_nothing_felt_says_so() -> None:
    assert (
        answer(opposed(Shown((None, None), (None, None), (-2, 0, 2)).situation(mistake=True)))
        == "mistake-proves-nothing"
    )
    assert (
        answer(only_on_power(Shown((None, None), (None, None), (0, 0, 2)).situation(mistake=True)))
        == "mistake-proves-nothing"
    )
    silent = replace(BASE, balance={}, log=None)
    assert (answer(opposed(silent)), answer(only_on_power(silent))) == ("no-balance", "no-balance")
    assert answer(only_on_power(replace(BASE, balance={"exit": 2}, log=None))) == ("exit-alone", {}, 0)
    assert answer(opposed(replace(BASE, balance={"entry": -2, "exit": 1}, log=None))) == ("opposite-phases", {}, 0)


@pytest.mark.parametrize(("felt", "side"), [(-2, "understeer"), (2, "oversteer"), (3, "oversteer")])
def test_which_side_the_exit_shows(felt: int, side: str) -> None:
    found = only_on_power(Shown((None, None), (None, None), (0, 1, felt)).situation())
    assert reason_of(found) == because("exit-alone", side=side)
    both = opposed(Shown((None, None), (None, None), (-1, 0, felt)).situation()) if felt > 0 else None
    assert both is None or reason_of(both) == because("opposite-phases", understeer=("entry",), oversteer=("exit",))


def test_an_axle_that_was_set_or_not_read_is_not_moved() -> None:
    push = Shown(("past", None), (None, None), (-2, 0, 0))
    half_read = push.situation(now=replace(BASE.now, lf=None))
    assert wanted(front_past(half_read)) == {"rf": 35.0}
    assert front_past(push.situation(now=replace(BASE.now, lf=None, rf=None))) == because("axle-not-read", axle="front")
    for psi, since in ((34.5, False), (34.6, True)):
        rows = (MORNING, after(1, *HOT), logged(1, "-2 0 0 0"), *rubber(1, "front", "past"))
        found = front_past(seen(*rows, put(2, psi, psi, 44.0, 44.0, at="09:05")))
        assert (found == because("set-since", axle="front")) is since


def test_whose_run_it_is_and_whether_it_is_typed() -> None:
    assert unread_signs(BASE) is None
    assert unread_signs(replace(BASE, last=None)) == because("no-run")
    last = BASE.last
    assert last is not None
    assert unread_signs(replace(BASE, last=replace(last, number="5"))) == because("not-my-run", number="5")
    for untyped in (replace(last, implied="after"), replace(last, log=None, time=None)):
        assert unread_signs(replace(BASE, last=untyped)) == because("waits-for-the-line", run=1)
    for typed in (replace(last, log=None), replace(last, time=None)):
        assert unread_signs(replace(BASE, last=typed)) is None


# --- the first run -------------------------------------------------------------------------------------------------------

DAY_2 = (MORNING, after(1, *HOT), logged(1, "0 2 0 0"), *rubber(1, "rear", "short", 6))


def morning(air_c: float, surface: str, **more: object) -> Tested:
    """The second morning, the rear over its best on the first day."""
    rows = (*DAY_2, WeatherRow(day=2, at="07:30", air_c=air_c, surface=surface),  # type: ignore[arg-type]
            cold(29.2, 29.2, 40.2, 40.2, air_c=air_c, day=2))  # fmt: skip
    return first_run(replace(seen(*rows), **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("air_c", "surface", "step"), [(6.0, "dry", 1.0), (11.9, "dry", 1.0), (20.0, "damp", 1.0), (6.0, "wet", 2.0), (6.0, "damp", 2.0)]
)  # fmt: skip
def test_a_cold_or_damp_first_run_has_the_rear_a_step_under_the_plan(air_c: float, surface: str, step: float) -> None:
    """One step where it is cold or damp, the most allowed where it is both; the front keeps its plan."""
    found = morning(air_c, surface)
    assert isinstance(found, Proposal)
    rows = (*DAY_2, WeatherRow(day=2, at="07:30", air_c=air_c, surface=surface),  # type: ignore[arg-type]
            cold(29.2, 29.2, 40.2, 40.2, air_c=air_c, day=2))  # fmt: skip
    plan = seen(*rows).plan
    front, rear = plan.front.cold_psi, plan.rear.cold_psi
    assert front is not None
    assert rear is not None
    assert dict(found.wanted) == pytest.approx({"lf": front, "rf": front, "lr": rear - step, "rr": rear - step})
    assert found.step_psi == pytest.approx(-step)
    values = dict(found.reason.values)
    assert (values["cold"], values["damp"], values["shown"]) == (air_c < 12.0, surface != "dry", None)
    assert values["psi"] == pytest.approx(step)
    assert found.cautions[0].name == "rear-up-after"


def test_what_a_first_run_is_held_to_is_what_is_advised() -> None:
    rows = (
        *DAY_2,
        WeatherRow(day=2, at="07:30", air_c=6.0, surface="dry"),
        cold(29.2, 29.2, 40.2, 40.2, air_c=6.0, day=2),
    )
    found = now(told(*rows))
    assert (found.action, found.rule, found.aim_is) == ("plan", "first-run", "cold plan")
    assert found.set is not None
    assert found.aim == found.set
    assert (found.known.plan.rear.cold_psi or 0.0) - (found.aim["lr"] or 0.0) == pytest.approx(1.0)


def test_a_first_run_that_stays_with_its_plan() -> None:
    assert first_run(BASE) == because("not-a-first-run")
    assert morning(12.0, "dry") == because("neither-cold-nor-damp")
    assert morning(6.0, "dry", axles={"front": AxleSigns(), "rear": AxleSigns("short", "even")}) == because(
        "rear-not-over"
    )
    loose = Learned("rear", 0.5, 0.2, 0.8, 8, 3.0)
    plain = {"front": AxleSigns(), "rear": AxleSigns()}
    assert isinstance(morning(6.0, "dry", axles=plain, learned={"rear": loose}), Proposal)
    assert morning(6.0, "dry", axles=plain, learned={"rear": replace(loose, slope=-0.5)}) == because("rear-not-over")
    few = morning(6.0, "dry", signs=())
    assert isinstance(few, Reason)
    assert few.name == "held"


def test_a_rear_that_stands_on_its_minimum_is_not_let_under_the_plan() -> None:
    """The plan of 40 psi or so; the minimum a quarter of a pound under it leaves less than the gauge tells."""
    base = morning(6.0, "dry")
    assert isinstance(base, Proposal)
    rear = base.wanted["lr"] + 1.0
    for least, room in ((rear - 0.25, False), (rear - 0.75, True)):
        rows = (
            *DAY_2,
            WeatherRow(day=2, at="07:30", air_c=6.0, surface="dry"),
            cold(29.2, 29.2, 40.2, 40.2, air_c=6.0, day=2),
        )
        found = first_run(seen(*rows, of=car(rear_min_psi=least)))
        if room:
            assert wanted(found)["lr"] == pytest.approx(least)
        else:
            assert found == because("limits-leave-nothing")


# --- grip that fades ------------------------------------------------------------------------------------------------------


def fades(*times: str, tread_c: float = 80.0, psi: tuple[float, ...] = HOT, **more: object) -> Answer:
    rows = [logged(run, **(more if run == 2 else {})) for run in range(1, len(times) + 1)]  # type: ignore[arg-type]
    s = seen(MORNING, after(len(times), *psi), *rows, *rubber(len(times), "rear", None, level=tread_c), times=times)
    found = fading(s)
    return found.name if isinstance(found, Reason) else (found.reason.name, dict(found.wanted), 0)


def test_two_slower_runs_in_a_row_on_a_hot_tread_are_fading() -> None:
    """Half a percent on the best of 46.000 is 46.230."""
    assert fades("46", "46.1", "46.23") == ("fading", {}, 0)
    assert fades("46", "46.1", "46.229") == "not-fading"
    assert fades("46", "46.3", "46.3") == "not-fading"
    assert fades("46.3", "46.3", "46.6") == "not-fading"
    assert fades("46", "46.5") == "not-fading"
    assert fades("45", "46", "46.1", "46.2") == ("fading", {}, 0)
    assert fades("46", "46.1", "46.23", tread_c=79.9) == "tread-not-hot"
    assert fades("46", "46.1", "46.23", mistake=True) == "not-fading"
    assert fades("46", "46.1/1", "46.23") == "not-fading"
    assert fades("46", "46.1 rerun", "46.23") != "tread-not-hot"
    warm = fades("46", "46.1", "46.23", psi=(36.0, 36.0, 44.0, 44.0))
    assert isinstance(warm, tuple)
    assert (warm[0], sorted(warm[1])) == ("fading-return", ["lf", "rf"])


def test_on_the_page_the_first_rule_that_answers_is_shown() -> None:
    found = now(told(MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past", -5)))
    assert (found.rule, found.confidence) == ("front-past", "fair")
    assert [item.name for item in found.passed_over][-2:] == ["opposite-phases", "exit-alone"]


# --- by my own times --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("up", [True, False])
def test_my_own_times_go_before_the_mark_and_the_learned_slope(monkeypatch: pytest.MonkeyPatch, up: bool) -> None:
    """Which axle, from which hot pressure and of which events is asked; their way is taken, one step of it."""
    asked: list[tuple[int, str, str, float | None]] = []
    says = QuickerWay(*(up if field.name == "up" else 1 for field in fields(QuickerWay)))  # type: ignore[arg-type]

    def quicker(events: tuple[object, ...], number: str, axle: str, psi: float | None) -> QuickerWay:
        asked.append((len(events), number, axle, psi))
        return says

    monkeypatch.setattr("paddock.engine.field.response.quicker_way", quicker)
    learned = {axle: Learned(axle, 0.5, 0.2, 0.8, 8, 3.0) for axle in AXLES}
    push = Shown(("past", "cool"), (None, None), (-2, -2, 0)).situation(learned=learned, past=(BASE.event,))
    step = 2.0 if up else -1.0
    assert wanted(front_past(push)) == {"lf": 34.0 + step, "rf": 34.0 + step}
    assert asked == [(2, ME, "front", 34.0)]
    assert reason_of(front_past(push)) == because(
        "directed", seen="front-past", axle="front", up=up, psi=abs(step), shown=says
    )
    loose = Shown((None, None), ("past", None), (0, 0, 2)).situation()
    step = 1.0 if up else -1.0
    assert wanted(rear_past(loose)) == {"lr": 44.0 + step, "rr": 44.0 + step}
    assert asked[-1] == (1, ME, "rear", 44.0)
    plain = {"front": AxleSigns(), "rear": AxleSigns()}
    first = morning(6.0, "dry", axles=plain)
    assert asked[-1] == (1, ME, "rear", 44.0), "from the target"
    assert first == because("rear-not-over") if up else isinstance(first, Proposal)
    over = reason_of(morning(6.0, "dry"))
    assert dict(over.values)["shown"] == (None if up else says)
    morning(6.0, "dry", target=None)
    assert asked[-1] == (1, ME, "rear", None)
