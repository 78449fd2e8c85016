"""Judged changes in words: the figures behind a verdict, what they rest on, the course, the next test, the season."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.field.course import Evolution, course_evolution, slowed_runs
from paddock.engine.field.course import courses as courses_of
from paddock.engine.field.effect import Effect
from paddock.engine.field.habits import habits_of
from paddock.engine.field.plan import plan, power_words
from paddock.engine.field.runs import groups_of
from paddock.engine.field.season import SeasonChange, season_changes
from paddock.engine.field.todo import to_test
from paddock.engine.field.verdict import judge_all
from paddock.model.event import Event
from paddock.model.rows import ChangeRow
from paddock.words import difference, hundredths, plural, seconds

__all__ = [
    "ONE_EVENT", "PlanLine", "Pooled", "closing_lines", "course_around", "course_rows", "courses", "evidence_lines",
    "figure_rows", "judged", "planned", "pooled", "short_lines", "slowed", "waiting",
]  # fmt: skip

ONE_EVENT = "One event cannot settle hundredths."


def judged(event: Event, season: Sequence[Event] = ()) -> tuple[Effect, ...]:
    """Every change of mine judged, newest first; rows without a number and without [mine] are passed over.

    ``season``: other events of mine, for my usual learning and how far my changes usually go.
    """
    rows = [row for row in event.of(ChangeRow) if row.number or event.settings.mine.numbers]
    rows.sort(key=lambda row: (row.day or 0, row.run or 0, row.at or ""), reverse=True)
    return judge_all(event, rows, habits_of(season, event.settings.mine.numbers))


# one verdict


def _ms(value: float | None) -> str:
    return "-" if value is None else difference(round(value))


def _span(value: tuple[float, float] | None) -> str:
    return "-" if value is None else f"{_ms(value[0])} to {_ms(value[1])}"


def _plain(value: float | None) -> str:
    return "-" if value is None else seconds(round(value))


def _chance(effect: Effect) -> str:
    return "-" if effect.p_helped is None else f"{100 * effect.p_helped:.0f} %"


def _place(effect: Effect) -> str:
    if effect.rank is None:
        return "-"
    return f"{effect.rank} of {1 + sum(item.change_ms is not None for item in effect.controls_used)}"


def _learning(effect: Effect) -> str:
    rests = f"{plural(effect.learning_days, 'day')} without a change" if effect.learning_days else "as drivers differ"
    return f"{_ms(effect.own_learning_ms)} ({_span(effect.own_learning_interval80_ms)}), {rests}"


def _prior(effect: Effect) -> str:
    return _plain(effect.prior_sd_ms) + (f" ({effect.prior_source})" if effect.prior_source else "")


def _share(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.0f} %"


def figure_rows(effect: Effect) -> tuple[tuple[str, str], ...]:
    """Every figure behind the verdict, seconds, negative is faster; empty where there is none."""
    if effect.my_change_ms is None:
        return ()
    return (
        ("the field changed", _ms(effect.field_change_ms)),
        ("I changed", _ms(effect.my_change_ms)),
        ("my own learning beyond the field's", _learning(effect)),
        ("the change by this day alone", _ms(effect.extra_ms)),
        ("its error", _plain(effect.se_ms)),
        ("its range, 4 times in 5", _span(effect.interval80_ms)),
        ("a usual run's scatter", _plain(effect.scatter_ms)),
        ("how far such changes usually go", _prior(effect)),
        ("how much this day told", _share(effect.told_share)),
        ("best guess after that", _ms(effect.shrunk_ms)),
        ("its range, 4 times in 5", _span(effect.shrunk_interval80_ms)),
        ("chance that it helped", _chance(effect)),
        ("my place among the cars that tell the course", _place(effect)),
    )


def short_lines(effect: Effect) -> tuple[str, ...]:
    """The figures in two lines, for the list; empty where there is none."""
    if effect.my_change_ms is None:
        return ()
    return (
        f"the field {_ms(effect.field_change_ms)}, I {_ms(effect.my_change_ms)}, extra {_ms(effect.extra_ms)} "
        f"(range {_span(effect.interval80_ms)})",
        f"chance that it helped {_chance(effect)}, place {_place(effect)}, {plural(effect.controls, 'control')}",
    )


def _runs(effect: Effect, new: bool, decimals: int) -> str:
    days = {item.day for item in effect.runs_used}
    named = [
        f"run {item.run}" + (f" of day {item.day}" if len(days) > 1 else "") + f" {seconds(item.raw_ms, decimals)}"
        for item in effect.runs_used if item.new is new
    ]  # fmt: skip
    return ", ".join(named) or "none"


def evidence_lines(event: Event, effect: Effect) -> tuple[str, ...]:
    """Runs with and without, what was left out and why, who stands for the course."""
    decimals = event.settings.rules.decimals
    lines = [f"without: {_runs(effect, False, decimals)}", f"with: {_runs(effect, True, decimals)}"]
    if effect.mistakes_left_out:
        named = ", ".join(f"run {run} of day {day}" for day, run in effect.mistakes_left_out)
        lines.append(f"marked as mistakes, left out: {named}")
    lines.append(f"who tells the course: {', '.join(item.number for item in effect.controls_used) or 'nobody'}")
    why: dict[str, list[str]] = defaultdict(list)
    for item in effect.left_out:
        why[item.why].append(item.number)
    lines += [f"left out ({reason}): {', '.join(numbers)}" for reason, numbers in why.items()]
    lines += [
        f"co-driver {item.number} in the same car: {_ms(item.change_ms)}, {_ms(item.extra_ms)} against the field"
        for item in effect.co_drivers
    ]
    return tuple(lines)


def closing_lines(effect: Effect) -> tuple[str, ...]:
    """What keeping it is worth, the next test, and the decision, which is the driver's."""
    decision = f"decision: {effect.decision or 'open'} (yours; the verdict doesn't make it)"
    return tuple(line for line in (_worth(effect), effect.next_test, decision, ONE_EVENT) if line)


def _worth(effect: Effect) -> str:
    if effect.shrunk_ms is None or effect.shrunk_interval80_ms is None:
        return ""
    way = "gains" if effect.shrunk_ms < 0 else "costs"
    low, high = effect.shrunk_interval80_ms
    return (
        f"Keeping it {way} {seconds(abs(round(effect.shrunk_ms)))} a run by the best guess, give or take "
        f"{seconds(round((high - low) / 2))} four times in five; going back does the opposite."
    )


# the course


def course_around(event: Event, effect: Effect) -> Evolution | None:
    """What the course gave my group on the day of a verdict, without my car; None where nothing was compared."""
    if not effect.runs_used:
        return None
    day = effect.runs_used[-1].day
    group = groups_of(event, day).get(effect.number)
    found = course_evolution(event, day, group, frozenset(event.numbers_of_car(effect.number)))
    return found if found.pairs else None


def courses(event: Event, day: int, number: str = "") -> tuple[Evolution, ...]:
    """What each run number gave, group by group; everybody together where there are no groups. Empty: no times.

    ``number``: mine, whose car is left out, as the sentences about it leave it out.
    """
    own = frozenset(event.numbers_of_car(number)) if number else frozenset[str]()
    return tuple(item for item in courses_of(event, day, own) if item.pairs)


def course_rows(found: Evolution) -> tuple[tuple[str, str, str, str], ...]:
    """Run to run: the change, its range, how many drivers tell it."""
    return tuple(
        (f"{pair.run_from} to {pair.run_to}", hundredths(pair.change_ms),
         f"{hundredths(pair.low_ms)} to {hundredths(pair.high_ms)}", str(pair.drivers))
        for pair in found.pairs
    )  # fmt: skip


def slowed(event: Event, number: str, day: int) -> tuple[str, ...]:
    """Did I slow, or did everyone? A sentence for each run of mine after the first, newest first."""
    mine = sorted({row.run for row in event.times if row.number == number and row.day == day}, reverse=True)
    found = slowed_runs(event, number, day, tuple((None, run) for run in mine))
    return tuple(item.sentence for item in found if item is not None)


# the next test


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One run to come and what to drive it with."""

    run: str
    setting: str


def planned(event: Event, effect: Effect, runs_left: int | None = None) -> tuple[str, tuple[PlanLine, ...]]:
    """The plan for a change as a sentence and run by run. ``runs_left`` None: as the event says."""
    change = next((row for row in event.of(ChangeRow) if row.id == effect.change_id), None)
    if change is None or change.kind == "repair":
        return effect.next_test, ()
    made = plan(event, effect.number, runs_left, change_id=change.id)
    if made is None:
        return effect.next_test, ()
    words = {"old": change.before or "as it was", "new": change.after or "as changed", "free": "as you like"}
    days = {item.day for item in made.runs}
    lines = tuple(
        PlanLine(
            f"run {item.run}" + (f" of day {item.day}" if len(days) > 1 else ""),
            f"{item.setting}: {words[item.setting]}" if item.setting != "free" else words["free"],
        )
        for item in made.runs
    )
    return f"Next test of {effect.label}: {made.sentence}; {power_words(made.power)}.", lines


def waiting(event: Event, found: Sequence[Effect] = ()) -> tuple[str, ...]:
    """What to test next: every undecided test of my cars, the verdicts that lean first, each with its plan.

    ``found``: verdicts at hand.
    """
    return tuple(item.sentence for item in to_test(event, judged=found))


# the season


@dataclass(frozen=True, slots=True)
class Pooled:
    """One change over the events beside this one. ``each``: event, its verdict and figures."""

    label: str
    verdict: str
    figures: str
    each: tuple[tuple[str, str], ...]


def pooled(events: Sequence[Event]) -> tuple[Pooled, ...]:
    """Every change of the season, the same ones pooled over their events."""
    return tuple(_pooled(item) for item in season_changes(events))


def _at_run(name: str, run: int | None) -> str:
    return name if run is None else f"{name}, run {run}"


def _pooled(item: SeasonChange) -> Pooled:
    figures = ""
    if item.pooled is not None:
        found = item.pooled
        figures = (
            f"extra {_ms(found.mean)} (range {_span((found.low, found.high))}), chance that it helped "
            f"{100 * found.p_faster:.0f} %"
        ) + (f", one differs from another by {_plain(found.between)}" if len(item.effects) > 1 else "")
    ways = [", the other way round" if at in item.turned else "" for at in range(len(item.effects))]
    names = [name for name, _ in item.effects]
    each = tuple(
        (_at_run(name, run) if names.count(name) > 1 else name, f"{effect.verdict}, extra {_ms(effect.extra_ms)}{way}")
        for way, run, (name, effect) in zip(ways, item.runs, item.effects, strict=True)
    )
    return Pooled(f"{item.car}: {item.label}" if item.car else item.label, item.verdict, figures, each)
