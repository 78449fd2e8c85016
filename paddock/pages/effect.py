"""Judged changes in words: the verdict, every figure behind it, the course, the next test, the season."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from paddock.engine.car.setup_sheet import states_of
from paddock.engine.field.course import Evolution, course_evolution, courses, slowed_runs
from paddock.engine.field.effect import Effect
from paddock.engine.field.plan import Worth, ways_to_test, worth_of
from paddock.engine.field.response import LEAST_RUNS, LEAST_SPREAD_PSI, PressureCurve, pressure_curves
from paddock.engine.field.scores import SCALE, groups_of
from paddock.engine.field.season import OwnValue, SeasonChange, own_values, season_changes
from paddock.engine.where.answer import kind_deltas
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.pages.document import (
    Block,
    Column,
    Document,
    Heading,
    PageTable,
    Plot,
    Series,
    TableRow,
    Words,
    paragraphs,
    words,
)
from paddock.pages.verdict_words import effect_words, next_test_words, pooled_words, slowed_words
from paddock.pages.verdict_words import seconds as verdict_seconds
from paddock.pages.where import kind_words
from paddock.words import difference, hundredths, plural, seconds

ONE_EVENT = "One event cannot settle hundredths."
_NONE = (
    "No change to judge yet. Log one with c and a: what, from, to, and what you expect. It is judged as soon as you "
    "have a run without it and a run with it."
)
_TOGETHER = "The course and everybody's learning together: nothing here can part the two."


# one verdict


def verdict_page(event: Event, found: Effect | None) -> Document:
    """The verdict in hand in short: its sentence, its figures, what keeping it is worth, the decision."""
    if found is None:
        return Document("verdict", (words(_NONE),))
    return Document(
        "verdict",
        (Heading("verdict"), words((effect_words(found), "strong"), hang=2), *paragraphs(_short(found)),
         *paragraphs(closing_words(event, found), "quiet"), words(("Enter", "key", "leaf_of(1)"),
                                                             (" every figure", "", "leaf_of(1)"))),
    )  # fmt: skip


def figures_page(event: Event, found: Effect | None) -> Document:
    """Every figure, what it rests on, what the course gave meanwhile, and what may come next."""
    if found is None:
        return Document("figures", (words(_NONE),))
    blocks: list[Block] = [words((effect_words(found), "strong"))]
    if found.my_change_ms is not None:
        blocks += [Heading("seconds, negative is faster"), _plain_table(_figures(found))]
    blocks += [Heading("rests on"), *paragraphs(tuple(_evidence(event, found)))]
    acted = kind_words(kind_deltas(event, found))
    if acted:
        blocks += [Heading("where it acted, beyond the field"), *paragraphs(acted)]
    course = _course_around(event, found)
    if course is not None:
        where = f" in group {course.group}" if course.group else ""
        blocks += [Heading(f"the course and everybody's learning, day {course.day}{where}"), _course_table(course)]
    worth = worth_now(event, found)
    if worth is not None:
        blocks += [Heading("keep, go back, test again"), _worth_table(worth), words((_WORTH, "quiet"))]
    blocks += [Heading("next"), *paragraphs(closing_words(event, found)[worth is not None :])]
    return Document("figures", tuple(blocks))


def _plain_table(rows: Sequence[tuple[str, str]]) -> PageTable:
    return PageTable((Column("", most=46), Column("", under=True)), tuple(TableRow(row) for row in rows))


def _ms(value: float | None) -> str:
    return "-" if value is None else difference(round(value))


def _span(value: tuple[float, float] | None) -> str:
    return "-" if value is None else f"{_ms(value[0])} to {_ms(value[1])}"


def _plain(value: float | None) -> str:
    return "-" if value is None else seconds(round(value))


def _share(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.0f} %"


def _place(found: Effect) -> str:
    if found.rank is None:
        return "-"
    return f"{found.rank} of {1 + sum(item.change_ms is not None for item in found.controls_used)}"


def _figures(found: Effect) -> tuple[tuple[str, str], ...]:
    learnt = f"{plural(found.learning_days, 'day')} without a change" if found.learning_days else "as drivers differ"
    prior = _plain(found.prior_sd_ms) + (f" ({found.prior_source})" if found.prior_source else "")
    return (
        ("the field changed", _ms(found.field_change_ms)),
        ("I changed", _ms(found.my_change_ms)),
        ("my learning beyond the field's",
         f"{_ms(found.own_learning_ms)} ({_span(found.own_learning_interval80_ms)}), {learnt}"),
        ("the change by this day alone", _ms(found.extra_ms)),
        ("its error", _plain(found.se_ms)),
        ("its range, 4 times in 5", _span(found.interval80_ms)),
        ("a usual run's scatter", _plain(found.scatter_ms)),
        ("how far such changes usually go", prior),
        ("how much this day told", _share(found.told_share)),
        ("best guess after that", _ms(found.shrunk_ms)),
        ("its range, 4 times in 5", _span(found.shrunk_interval80_ms)),
        ("chance that it helped", _share(found.p_helped)),
        ("my place among the cars", _place(found)),
    )  # fmt: skip


def _short(found: Effect) -> tuple[str, ...]:
    if found.my_change_ms is None:
        return ()
    if found.field_change_ms is None:
        beside = f"the field -, I {_ms(found.my_change_ms)}"
    else:
        between = round(found.my_change_ms) - round(found.field_change_ms)
        beside = f"the field {_ms(found.field_change_ms)}, I {_ms(found.my_change_ms)}: between them {_ms(between)}"
    return (
        beside,
        f"each run weighed, learning out: {_ms(found.extra_ms)} (range {_span(found.interval80_ms)})",
        f"chance that it helped {_share(found.p_helped)}, place {_place(found)}, {plural(found.controls, 'control')}",
    )


def _runs(found: Effect, new: bool, decimals: int) -> str:
    days = {item.day for item in found.runs_used}
    named = [
        f"run {item.run}" + (f" of day {item.day}" if len(days) > 1 else "") + f" {seconds(item.raw_ms, decimals)}"
        for item in found.runs_used if item.new is new
    ]  # fmt: skip
    return ", ".join(named) or "none"


def _evidence(event: Event, found: Effect) -> Iterator[str]:
    """Runs with and without, what was left out and why, who stands for the course."""
    decimals = event.settings.rules.decimals
    yield f"without: {_runs(found, False, decimals)}"
    yield f"with: {_runs(found, True, decimals)}"
    if found.mistakes_left_out:
        named = ", ".join(f"run {run} of day {day}" for day, run in found.mistakes_left_out)
        yield f"marked as mistakes, left out: {named}"
    yield f"who tells the course: {', '.join(item.number for item in found.controls_used) or 'nobody'}"
    why: dict[str, list[str]] = defaultdict(list)
    for item in found.left_out:
        why[item.why].append(item.number)
    yield from (f"left out ({reason}): {', '.join(numbers)}" for reason, numbers in why.items())
    for mate in found.co_drivers:
        yield f"co-driver {mate.number} in the same car: {_ms(mate.change_ms)}, {_ms(mate.extra_ms)} against the field"


def logged_change(event: Event, found: Effect) -> SetupChange | None:
    """The logged row that can still be tested; None for a repair."""
    row = next((row for row in event.of(SetupChange) if row.id == found.change_id), None)
    return None if row is None or row.kind == "repair" else row


def worth_now(event: Event, found: Effect) -> Worth | None:
    """What keeping it is worth, and what another test would save; None where nothing is believed about it."""
    change = logged_change(event, found)
    if change is None or found.shrunk_ms is None or found.shrunk_interval80_ms is None or found.time_ms is None:
        return None
    best = ways_to_test(event, found.number, change)[0].power.error_s
    return worth_of(found.shrunk_ms, found.shrunk_interval80_ms, best * found.time_ms / SCALE)


_WORTH = (
    "Seconds a run, negative gains, four times in five within the range. The last two lines are averages over what may "
    "be true: being wrong costs nothing where the best guess is right. The decision is yours."
)


def _worth_table(worth: Worth) -> PageTable:
    rows = (
        ("keep it, against going back", f"{_ms(worth.keep_ms)} ({_span(worth.keep80_ms)})"),
        ("act on it now: lost by being wrong", f"+{seconds(round(worth.wrong_ms))} on average"),
        ("test again first: saved of that", f"{seconds(round(worth.saves_ms))} on average"),
    )
    return _plain_table(rows)


def closing_words(event: Event, found: Effect) -> tuple[str, ...]:
    """What keeping it is worth, the next test, and the decision, which is the driver's."""
    worth = worth_now(event, found)
    said = ""
    if worth is not None:
        way = "gains" if worth.keep_ms < 0 else "costs"
        said = (
            f"Keeping it {way} {seconds(abs(round(worth.keep_ms)))} a run by the best guess, give or take "
            f"{seconds(round((worth.keep80_ms[1] - worth.keep80_ms[0]) / 2))} four times in five; going back does the "
            f"opposite. Being wrong costs {seconds(round(worth.wrong_ms))} on average, of which another test would "
            f"save {seconds(round(worth.saves_ms))}."
        )
    state = states_of(event.of(SetupChange)).get(found.change_id, "open")
    decision = f"decision: {state} (yours; the verdict doesn't make it)"
    return tuple(text for text in (said, next_test_words(found.label, found.plan), decision, ONE_EVENT) if text)


# the course


def _course_around(event: Event, found: Effect) -> Evolution | None:
    """What the course gave my group on the day of a verdict, without my car; None where nothing was compared."""
    if not found.runs_used:
        return None
    day = found.runs_used[-1].day
    group = groups_of(event, day).get(found.number)
    course = course_evolution(event, day, group, frozenset(event.numbers_of_car(found.number)))
    return course if course.pairs else None


def _course_table(found: Evolution) -> PageTable:
    columns = (Column("run"), Column("change", figures=True), Column("range"), Column("drivers", figures=True, drop=1))
    rows = tuple(
        TableRow((f"{pair.run_from} to {pair.run_to}", hundredths(pair.change_ms),
             f"{hundredths(pair.low_ms)} to {hundredths(pair.high_ms)}", str(pair.drivers)))
        for pair in found.pairs
    )  # fmt: skip
    return PageTable(columns, rows)


def course_page(event: Event, number: str, day: int) -> Document:
    """Did I slow, or did everyone: my sentences, then each group's runs, then a plot. ``number`` blank: nobody's."""
    own = frozenset(event.numbers_of_car(number)) if number else frozenset[str]()
    found = [item for item in courses(event, day, own) if item.pairs]
    if not found:
        said = f"No times of two runs by the same drivers on day {day} yet: they come with import or s."
        return Document("course", (words(said),))
    runs = sorted({row.run for row in event.times if row.number == number and row.day == day}, reverse=True)
    mine = slowed_runs(event, number, day, tuple((None, run) for run in runs)) if number else ()
    said_of_me = [slowed_words(item) for item in mine if item is not None]
    blocks: list[Block] = [Heading(f"did I slow, or did everyone? day {day}")]
    blocks += [words((text, "" if at else "strong"), hang=2) for at, text in enumerate(said_of_me)]
    for item in found:
        blocks += [Heading(_group(item)), _course_table(item)]
    lines = tuple(
        Series(_group(item), tuple((float(p.run), p.change_ms / 1000) for p in item.points)) for item in found
    )
    alt = "; ".join(f"{_group(item)}: " + ", ".join(f"run {p.run} {hundredths(p.change_ms)}" for p in item.points)
                    for item in found)  # fmt: skip
    blocks += [Plot(lines, "run", "seconds against run 1", alt), words((_TOGETHER, "quiet"))]
    return Document("course", tuple(blocks))


def _group(found: Evolution) -> str:
    return f"group {found.group}" if found.group else "everybody"


# the season


@dataclass(frozen=True, slots=True)
class SeasonSeen:
    """The events of a season taken together: ``events`` of them, and what they show."""

    events: int
    changes: tuple[SeasonChange, ...]
    curves: tuple[tuple[str, PressureCurve], ...]
    values: tuple[OwnValue, ...]


def season_seen(events: Sequence[Event], numbers: Sequence[str]) -> SeasonSeen:
    """Everything my own seasons say; the event in question last."""
    curves = [
        (events[-1].car_name_of(number) or number, curve)
        for number in numbers if events for curve in pressure_curves(events, number).values()
    ]  # fmt: skip
    return SeasonSeen(len(events), season_changes(events), tuple(dict.fromkeys(curves)), own_values(events, numbers))


def season_page(seen: SeasonSeen) -> Document:
    """The same changes over the events pooled, time against pressure, and what is believed beside what was found."""
    many = f"{seen.events} events in the folder above this one" if seen.events > 1 else _ALONE
    blocks: list[Block] = [words((many if seen.changes else f"{many}; no change in any", "quiet"))]
    for item in seen.changes:
        blocks += pooled_blocks(item, seen.events)
    blocks += [Heading("time against hot pressure"), *_curves(seen.curves), Heading("what is believed, what was found")]
    return Document("season", (*blocks, _values(seen.values), words((_BELIEVED, "quiet"), hang=2)))


_ALONE = "only this event: put event folders beside each other and the same change is judged over all of them"
_BELIEVED = (
    "At 45 s a run. Found: drawn to the default as far as the season is short. Each day estimates scatter, learning "
    "and spoilt runs anew; my learning, the size of my changes and the weights of faults are taken from here."
)


def pooled_blocks(item: SeasonChange, events: int) -> list[Block]:
    """One change over the events: the verdict on all, then each."""
    label = f"{item.car}: {item.label}" if item.car else item.label
    blocks: list[Block] = [Heading(label), words((pooled_words(item), "strong"), hang=2)]
    if len(item.effects) > 1 or events > 1:
        names = [name for name, _ in item.effects]
        rows = tuple(
            TableRow((name if names.count(name) == 1 or run is None else f"{name}, run {run}",
                      f"{effect.verdict}{', the other way round' if at in item.turned else ''}",
                      _ms(effect.extra_ms), _span(effect.interval80_ms)))
            for at, (run, (name, effect)) in enumerate(zip(item.runs, item.effects, strict=True))
        )  # fmt: skip
        columns = (
            Column("event", most=30),
            Column("its verdict", under=True),
            Column("by that day alone", figures=True),
            Column("range, 4 times in 5", figures=True, drop=1),
        )
        blocks.append(PageTable(columns, rows))
    if item.pooled is not None and sum(effect.extra_ms is not None for _, effect in item.effects) > 1:
        blocks.append(words((_NEARER.format(usual=verdict_seconds(item.usual_ms or 0.0)), "quiet"), hang=2))
    return blocks


_NEARER = (
    "A day alone is rough; together they are weighed by their doubt, beside that such changes usually go {usual}: so "
    "the best guess may lie nearer nought than every day."
)


def _curves(curves: Sequence[tuple[str, PressureCurve]]) -> list[Words]:
    if not curves:
        return [words(f"nothing yet: from {LEAST_RUNS} dry runs on, read after each, an axle moved by "
                      f"{LEAST_SPREAD_PSI:g} psi within a day", hang=2)]  # fmt: skip
    return [words(f"{car}, {curve_words(curve)}", hang=2) for car, curve in curves]


def curve_words(curve: PressureCurve) -> str:
    """``rear, 18 runs from 25.0 to 35.0 psi: best 30.1 psi (29.0 to 31.2, 4 times in 5)``."""
    start = f"{curve.axle}, {plural(curve.runs, 'run')} from {curve.low_psi:.1f} to {curve.high_psi:.1f} psi"
    if curve.best_psi is not None and curve.best80_psi is not None:
        low, high = curve.best80_psi
        return f"{start}: best {curve.best_psi:.1f} psi ({low:.1f} to {high:.1f}, 4 times in 5)"
    steep, error = curve.steepness(curve.middle_psi)
    side = {1: "more pressure is quicker", -1: "less pressure is quicker", 0: "neither way is clearly quicker"}
    return f"{start}: not bracketed yet; {side[curve.way(curve.middle_psi)]} ({steep:+.2f} s a psi, error {error:.2f})"


_VALUES = {
    "run_s": ("a usual run's scatter", "{:.2f} s"), "learning_s": ("drivers differ in learning", "{:.2f} s"),
    "spoilt": ("runs spoilt unsaid", "{:.0%}"), "loss_s": ("a spoilt run loses", "{:.1f} s"),
    "cone_runs": ("own cones weigh against", "{:.1f} runs"), "void_runs": ("own void runs against", "{:.1f} runs"),
    "pressure": ("2 psi usually go", "{:.2f} s"), "tyres": ("tyres usually go", "{:.2f} s"),
    "other": ("other changes go", "{:.2f} s"),
}  # fmt: skip


def _values(values: Sequence[OwnValue]) -> PageTable:
    columns = (Column(""), Column("default", figures=True), Column("found", figures=True), Column("from", drop=1))
    rows = []
    for item in values:
        kind, _, number = item.name.partition(" ")
        label, form = _VALUES.get(kind, (f"{number} learns more than the field", "{:+.2f} s"))
        own = "too few" if item.own is None else form.format(item.own)
        rows.append(TableRow((label, form.format(item.default), own, f"{item.rests} {item.of}")))
    return PageTable(columns, tuple(rows))
