"""Verdicts, steps of the course, plans and chances in sentences: each written here once, for pages, report and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from paddock.engine.field.chances import LEAST_PACED, Rests, TableChance
from paddock.engine.field.course import Slowed, SpoiltRun
from paddock.engine.field.effect import CANT_TELL, Caution, Effect, Power, TestPlan
from paddock.engine.field.evidence import Trade
from paddock.engine.field.verdict import ToTest

if TYPE_CHECKING:
    from paddock.engine.field.season import SeasonChange

_STILL_MS = 5


def seconds(ms: float) -> str:
    """``0.20 s``, without a sign."""
    return f"{abs(ms) / 1000:.2f} s"


def moved(ms: float) -> str:
    """``gained 0.20 s``, ``lost 0.05 s``, ``stood still``."""
    if abs(ms) < _STILL_MS:
        return "stood still"
    return f"{'gained' if ms < 0 else 'lost'} {seconds(ms)}"


def span(low: float, high: float) -> str:
    """``0.05 to 0.37 s faster``, or ``0.15 s slower to 0.25 s faster``."""
    if low < 0 < high:
        return f"{seconds(high)} slower to {seconds(low)} faster"
    near, far = sorted((abs(low), abs(high)))
    return f"{near / 1000:.2f} to {seconds(far)} {'faster' if low < 0 else 'slower'}"


def run_list(slots: Sequence[tuple[int, int]]) -> str:
    """``run 3``, ``runs 2, 3 and 4``, ``runs 2 and 3 of day 1 and run 1 of day 2``."""
    days = sorted({day for day, _ in slots})
    parts = []
    for day in days:
        runs = [str(run) for at, run in sorted(slots) if at == day]
        named = runs[0] if len(runs) == 1 else ", ".join(runs[:-1]) + " and " + runs[-1]
        parts.append(f"run{'s' if len(runs) > 1 else ''} {named}" + (f" of day {day}" if len(days) > 1 else ""))
    return " and ".join(parts)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# a verdict


def effect_words(found: Effect) -> str:
    """The verdict, its evidence and what moves it; or why there is none."""
    if found.why == "together":
        return _together(found)
    if found.why == "nobody else":
        return _only_mine(found)
    if found.why != "judged":
        return _no_runs(found)
    said = guess_words(found.shrunk_ms or 0.0, found.shrunk_interval80_ms or (0.0, 0.0))
    both = f"the field {moved(found.field_change_ms or 0.0)}, you {moved(found.my_change_ms or 0.0)}"
    if found.verdict == CANT_TELL:
        first = f"Can't tell about {found.label}: {both}; {said}."
    else:
        leans = found.verdict.startswith("leans")
        word = f"may have {found.verdict.rsplit(' ', 1)[1]}" if leans else found.verdict
        first = f"{_capital(found.label)} {word}: {both}; {said}."
    return " ".join([first, *(f"{_capital(text)}." for text in caution_words(found))])


def guess_words(guess_ms: float, reach: tuple[float, float]) -> str:
    """``best guess 0.05 s faster (range 0.05 s slower to 0.17 s faster)``."""
    way = "faster" if guess_ms < 0 else "slower"
    worth = f"{seconds(guess_ms)} {way}" if abs(guess_ms) >= _STILL_MS else "nothing"
    return f"best guess {worth} (range {span(*reach)})"


def pooled_words(found: SeasonChange) -> str:
    """One change over the events: its verdict, what it rests on and how far the events differ."""
    pooled, rests = found.pooled, sum(effect.extra_ms is not None for _, effect in found.effects)
    if pooled is None:
        return f"{_capital(found.verdict)}: no figure yet."
    over = f", tried {rests} times" if rests > 1 else ""
    apart = f"; one differs from another by {seconds(pooled.between)}" if rests > 1 else ""
    return (
        f"{_capital(found.verdict)}{over}: {guess_words(pooled.mean, (pooled.low, pooled.high))}, "
        f"chance that it helped {100 * pooled.p_faster:.0f} %{apart}."
    )


def caution_words(found: Effect) -> tuple[str, ...]:
    """What moves the answer, each a clause."""
    return tuple(_caution(name, found) for name in found.cautions)


def _caution(name: Caution, found: Effect) -> str:
    if name == "own learning":
        learnt, reach = found.own_learning_ms or 0.0, found.own_learning_interval80_ms or (0.0, 0.0)
        whose = f"as on {found.learning_days} days without a change" if found.learning_days else "as drivers differ"
        return (
            f"your own learning beyond the field's is taken to have {'gained' if learnt < 0 else 'lost'} "
            f"{seconds(learnt)} of it (range {span(*reach)}), {whose}"
        )
    if name == "silent log":
        were = "was a mistake" if len(found.silent) == 1 else "were mistakes"
        return f"your log doesn't say whether {run_list(found.silent)} {were}"
    if name == "changed too":
        each = "each is" if len(found.changed_too) > 1 else "it is"
        return f"changed too among these runs: {', '.join(found.changed_too)}; {each} weighed as an unknown of its own"
    return {
        "tells little": "this day tells little: the answer is mostly what such changes usually do",
        "scatter": f"your scatter is taken {found.scatter_wider:.1f} times as wide: by your own record the ranges were "
                   "too narrow",
        "few cars": f"only {found.controls} other car{'s' if found.controls > 1 else ''} tell the course",
        "overnight": "it was made overnight, and another day's course may suit your car better or worse",
    }[name]  # fmt: skip


def _no_runs(found: Effect) -> str:
    day, run = found.first or (0, 0)
    since = f"it is logged from run {run} of day {day} on"
    side, wanted = {
        "no first run": ("the log doesn't say from which run it was on", "write its day and run"),
        "no run": ("you have no usable run", since),
        "not driven": ("it has not been driven in a usable run yet", since),
        "none without": ("there is no usable run without it", since),
    }[found.why]
    return f"Can't tell about {found.label}: {side}; {wanted}."


def _only_mine(found: Effect) -> str:
    """Nobody else tells the course: my own change is all there is."""
    mine = moved(found.my_change_ms or 0.0)
    if found.kind == "night":
        return (
            f"Can't separate car from course: {found.label} was made overnight and nobody else has times on both days; "
            f"you {mine}."
        )
    runs = run_list([(item.day, item.run) for item in found.runs_used])
    return (
        f"Can't tell about {found.label}: you {mine}, but nobody else has two usable runs among {runs}, so "
        "the course's part is unknown."
    )


def _together(found: Effect) -> str:
    """Another change on in the same runs."""
    start = f"Can't tell about {found.label} alone: it came together with {' and '.join(found.together_with)}"
    if found.extra_ms is None:
        return f"{start}."
    seen = f" (range {span(*found.interval80_ms)})" if found.interval80_ms else ""
    side = "faster" if found.extra_ms < 0 else "slower"
    return f"{start}; all of it together came out {seconds(found.extra_ms)} {side} than the field{seen}."


# the next test


def plan_words(made: TestPlan) -> str:
    """The plan as one phrase."""
    if not made.quick:
        return "alternate days, a coin toss for the first: one setting for a whole day, the other for the next"
    tested = [item for item in made.runs if item.setting != "free"]
    if len(tested) >= 4:
        order = "-".join(item.setting for item in tested[:4])
        mirrored = " (old-new-new-old begun from what is on the car)" if made.on else ""
        return f"runs {tested[0].run} to {tested[-1].run}: {order}{mirrored}"
    if not tested:
        return "old-new-new-old over four runs of the next day out"
    return (
        f"run {tested[0].run} {tested[0].setting}, run {tested[1].run} {tested[1].setting}; "
        "old-new-new-old as soon as four runs are left"
    )


def power_words(power: Power, quick: bool = True) -> str:
    """How likely the test is to tell, as a clause. ``quick``: turned between two runs, so that eight are a day."""
    hoped, chance = f"{power.hoped_s:.2f} s", f"{100 * power.probably:.0f} %"
    eight = f"; eight runs {100 * power.eight:.0f} %" if quick else ""
    if power.probably < 0.25:
        return f"hardly anything you can do with it finds {hoped} ({chance} to say probably{eight})"
    more = eight if power.eight > power.probably + 0.03 else ""
    return f"it would call {hoped} probably or surer with {chance}{more}, very likely with {100 * power.very:.0f} %"


def next_test_words(label: str, made: TestPlan | None) -> str:
    """The plan for a change; None: a repair, which stays and is not tested."""
    if made is None:
        return f"{label} is a repair: nothing to test."
    return f"Next test of {label}: {plan_words(made)}; {power_words(made.power, made.quick)}."


def to_test_words(found: Sequence[ToTest]) -> tuple[str, ...]:
    """What waits to be tested, the first to be taken first."""
    said = []
    for at, item in enumerate(found):
        how = f"{plan_words(item.plan)}; {power_words(item.plan.power, item.plan.quick)}" if item.plan else ""
        what = f"{item.car}: {item.label}" if item.car else item.label
        start = "Then, another day" if at else "Test next, one thing a day"
        said.append(f"{start}: {what} ({item.verdict}): {how}.")
    return tuple(said)


# did I slow, or did everyone


def slowed_words(found: Slowed) -> str:
    """My step between two runs beside the course's."""
    if found.who == "spoilt":
        before = f"Run {found.run_from} before run {found.run_to} is {_spoilt(found.passed[0])}"
        return f"{before}: there is no clean run to hold it against."
    start = f"From run {found.run_from} to run {found.run_to} you {moved(found.my_change_ms)}"
    tail = "".join(
        f"; run {item.run} {'itself' if item.run == found.run_to else 'between'} is {_spoilt(item)}"
        for item in found.passed
    )
    if found.who is None or found.field_change_ms is None:
        return f"{start}; nobody else has both runs, so why can't be told{tail}."
    return f"{start} and the field {moved(found.field_change_ms)}: {_who(found, found.field_change_ms)}{tail}."


def _spoilt(run: SpoiltRun) -> str:
    return f"{run.cones} cones" if run.why == "cones" else f"marked {'a mistake' if run.why == 'mistake' else 'unsafe'}"


def _who(found: Slowed, field_ms: float) -> str:
    if found.who == "everyone":
        return "you did what everyone did"
    if found.who == "scatter":
        return "the difference is inside the scatter"
    side = "better" if (found.extra_ms or 0.0) < 0 else "worse"
    shown = abs(round(found.my_change_ms / 10) - round(field_ms / 10)) / 100
    return f"that was you, {shown:.2f} s {side} than everyone"


# chances


def assumption_words(found: TableChance) -> tuple[str, ...]:
    """On what a chance rests, a sentence each; or why it can't be said."""
    if found.rests is None:
        return (_NO_CHANCE[found.why or "nobody ran"],)
    return tuple(_rests(found.rests))


_NO_CHANCE = {
    "no class": "no class, or nobody has run in it", "nobody ran": "nobody has run",
    "no score": "no score can come any more: a void day, no index, or no run left",
    "no rival": "no rival has a time yet",
    "few runs": f"fewer than {LEAST_PACED} usable runs of mine: no pace to reckon with",
}  # fmt: skip


def _rests(rests: Rests) -> list[str]:
    left = f"I have {rests.left} of {rests.per_day} runs left"
    said = [
        f"day {rests.day} only; {left}, each rival what the sheet leaves them",
        "the course goes on moving as it has, by a step nobody knows yet, the same for everybody",
    ]
    pace = rests.pace
    if pace is not None:
        said.append(
            f"my run {pace.time_s:.2f} s raw +- {pace.spread_s:.2f} s, {pace.cones:.2f} cones and "
            f"{100 * pace.voids:.0f} % void a run, from {pace.usable} of mine and the field"
        )
        if pace.wider > 1.0:
            said.append(f"my scatter taken {pace.wider:.1f} times as wide: by my own record the ranges were too narrow")
    if rests.trade is not None:
        said.append(trade_words(rests.trade))
    if rests.unseen:
        said.append(f"without a time so far and left out: {', '.join(rests.unseen)}")
    return said


def trade_words(found: Trade) -> str:
    """Whether my own record shows that a safe run hits fewer cones."""
    if not found.enough:
        return "no evidence that a safe run of mine hits fewer cones: too few runs of mine to say"
    if not found.clear:
        why = "bank or push makes no difference that can be shown"
        return f"no evidence in {found.runs} runs of mine that a slower run hits fewer cones: {why}"
    slow, quick = found.cones
    told = f"in {found.runs} runs of mine the slower half hit {slow} cones, the quicker {quick}"
    return f"{told}; a safe run is half a scatter slower, a push half a scatter quicker"
