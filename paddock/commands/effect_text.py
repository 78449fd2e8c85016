"""A judged change in words: the sentence first, then every figure behind it."""

from __future__ import annotations

from collections import defaultdict

from paddock.commands.table import table
from paddock.engine.course import Evolution, course_evolution
from paddock.engine.effect import Effect
from paddock.engine.effect.controls import groups_of
from paddock.model.event import Event
from paddock.words import difference, plural, seconds

__all__ = ["effect_text"]

_METHODS = {
    "difference": "my mean change less the controls' middle one",
    "two-way": "drivers by runs fitted at once, spoilt runs weighing little",
    "none": "nothing to compare",
}


def effect_text(event: Event, effect: Effect) -> str:
    """Several lines, the verdict on the first."""
    blocks = [
        "\n".join([effect.sentence, *(f"- {text}" for text in effect.cautions)]),
        _figures(effect),
        _evidence(event, effect),
        _course(event, effect),
        "\n".join(_closing(effect)),
    ]
    return "\n\n".join(block for block in blocks if block)


def _ms(value: float | None) -> str:
    return "-" if value is None else difference(round(value))


def _span(value: tuple[float, float] | None) -> str:
    return "-" if value is None else f"{_ms(value[0])} to {_ms(value[1])}"


def _figures(effect: Effect) -> str:
    if effect.my_change_ms is None:
        return ""
    rows = [
        ("the field changed", _ms(effect.field_change_ms)),
        ("I changed", _ms(effect.my_change_ms)),
        ("usual learning taken off", _learning(effect)),
        ("extra", _ms(effect.extra_ms)),
        ("scatter of the controls", _plain(effect.scatter_ms)),
        ("error of the extra", _plain(effect.se_ms) + (f" ({effect.df:.0f} degrees of freedom)" if effect.df else "")),
        ("range, 4 times in 5", _span(effect.interval80_ms)),
        ("what changes usually do (sd)", _plain(effect.prior_sd_ms)),
        ("best guess after that", _ms(effect.shrunk_ms)),
        ("its range, 4 times in 5", _span(effect.shrunk_interval80_ms)),
        ("chance that it helped", "-" if effect.p_helped is None else f"{100 * effect.p_helped:.0f} %"),
        ("my place among all changes", "-" if effect.rank is None else f"{effect.rank} of {effect.controls + 1}"),
    ]
    return table(("seconds, negative is faster", ""), rows)


def _plain(value: float | None) -> str:
    return "-" if value is None else seconds(round(value))


def _learning(effect: Effect) -> str:
    if not effect.learning_days:
        return "none: fewer than two days without a change"
    return f"{_ms(effect.learning_ms)} from {plural(effect.learning_days, 'day')} without a change"


def _runs(effect: Effect, new: bool, decimals: int) -> str:
    days = {item.day for item in effect.runs_used}
    named = [
        f"run {item.run}" + (f" of day {item.day}" if len(days) > 1 else "") + f" {seconds(item.raw_ms, decimals)}"
        for item in effect.runs_used if item.new is new
    ]  # fmt: skip
    return ", ".join(named) or "none"


def _evidence(event: Event, effect: Effect) -> str:
    decimals = event.settings.rules.decimals
    lines = [f"without: {_runs(effect, False, decimals)}", f"with: {_runs(effect, True, decimals)}"]
    if effect.mistakes_left_out:
        named = ", ".join(f"run {run} of day {day}" for day, run in effect.mistakes_left_out)
        lines.append(f"marked as mistakes, left out: {named}")
    lines.append(f"method: {_METHODS[effect.method]}")
    lines.append(f"controls: {', '.join(item.number for item in effect.controls_used) or 'none'}")
    why: dict[str, list[str]] = defaultdict(list)
    for item in effect.left_out:
        why[item.why].append(item.number)
    lines += [f"no control ({reason}): {', '.join(numbers)}" for reason, numbers in why.items()]
    lines += [
        f"co-driver {item.number} in the same car: {_ms(item.change_ms)}, {_ms(item.extra_ms)} against the field"
        for item in effect.co_drivers
    ]
    return "\n".join(lines)


def _course(event: Event, effect: Effect) -> str:
    """What the course gave on the day, by the field of my group."""
    if not effect.runs_used:
        return ""
    day = effect.runs_used[-1].day
    group = groups_of(event, day).get(effect.number)
    found = course_evolution(event, day, group, frozenset(event.numbers_of_car(effect.number)))
    return _course_table(found) if found.pairs else ""


def _course_table(found: Evolution) -> str:
    rows = [
        (f"{pair.run_from} to {pair.run_to}", _ms(pair.change_ms),
         "-" if pair.low_ms is None or pair.high_ms is None else _span((pair.low_ms, pair.high_ms)),
         str(pair.drivers))
        for pair in found.pairs
    ]  # fmt: skip
    where = f" in group {found.group}" if found.group else ""
    head = f"course and everybody's learning, day {found.day}{where}"
    return head + "\n" + table(("run", "change", "range", "drivers"), rows, right=(1, 3))


def _closing(effect: Effect) -> list[str]:
    lines = [effect.next_test]
    lines.append(f"decision: {effect.decision or 'open'} (yours; the verdict doesn't make it)")
    lines.append("One event cannot settle hundredths.")
    return [line for line in lines if line]
