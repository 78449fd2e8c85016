"""The leaves of the verdict page laid out in lines; what they say comes from ``views.effects``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock.tui.paint import TextLine, line, rule, wrapped
from paddock.tui.reader import table_lines
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.engine.field.effect import Effect
    from paddock.model.event import Event
    from paddock.views.effects import Pooled

__all__ = ["course_leaf", "figures_leaf", "plan_leaf", "season_leaf", "short", "verdict_cells", "verdict_columns"]

_NONE = (
    "No change to judge yet. Log one with c and a: what, from, to, and what you expect. It is judged as soon as you "
    "have a run without it and a run with it."
)


def verdict_columns(width: int) -> list[Col]:
    """Columns of the list."""
    if width < 56:
        return [Col("change", most=max(12, width - 22)), Col("verdict", most=18)]
    more = [Col("chance", right=True), Col("decided", most=8)]
    return [Col("no", right=True, stays=True), Col("change", most=max(18, width - 35)), Col("verdict", most=18), *more]


def verdict_cells(item: Effect, width: int) -> Cells:
    """One change of the list."""
    if width < 56:
        return (item.label, item.verdict)
    chance = "-" if item.p_helped is None else f"{100 * item.p_helped:.0f} %"
    return (item.number, item.label, item.verdict, chance, item.decision or "open")


def short(found: Effect | None, width: int) -> list[TextLine]:
    """The verdict in hand: its sentence, its figures in short, the next test, the decision."""
    from paddock.views.effects import closing_lines, short_lines

    if found is None:
        return wrapped(_NONE, width)
    lines = [rule("verdict", width), *wrapped(found.sentence, width, "strong")]
    for text in short_lines(found):
        lines += wrapped(text, width, indent="  ")
    for text in closing_lines(found):
        lines += wrapped(text, width, "quiet", "  ")
    return [*lines, line(("Enter", "key", "leaf_of(1)"), (" every figure", "", "leaf_of(1)"))]


def figures_leaf(event: Event, found: Effect | None, width: int) -> list[TextLine]:
    """Every figure, what it rests on, and what the course gave meanwhile."""
    from paddock.views.effects import closing_lines, course_around, course_rows, evidence_lines, figure_rows

    if found is None:
        return wrapped(_NONE, width)
    lines = wrapped(found.sentence, width, "strong")
    rows, course = figure_rows(found), course_around(event, found)
    lines += [rule("seconds, negative is faster", width), *table_lines(rows, width)] if rows else []
    lines.append(rule("rests on", width))
    for text in evidence_lines(event, found):
        lines += wrapped(text, width, indent="  ")
    if course is not None:
        where = f" in group {course.group}" if course.group else ""
        lines.append(rule(f"the course, day {course.day}{where}", width))
        lines += table_lines(course_rows(course), width, ("run", "change", "range", "cars"), frozenset((1,)))
    lines.append(rule("next", width))
    for text in closing_lines(found):
        lines += wrapped(text, width, indent="  ")
    return lines


def course_leaf(event: Event, number: str, day: int, width: int, height: int) -> list[TextLine]:
    """Did I slow, or did everyone: my sentences, then each group's runs, then a small plot."""
    from paddock.views.effects import course_rows, courses, slowed

    found = courses(event, day, number)
    if not found:
        return wrapped(f"No times of two runs by the same drivers on day {day} yet: they come with import or s.", width)
    mine = slowed(event, number, day) if number else ()
    lines = [rule(f"did I slow, or did everyone? day {day}", width)]
    for at, text in enumerate(mine):
        lines += wrapped(text, width, "" if at else "strong", "  ")
    for item in found:
        lines.append(rule(f"group {item.group}" if item.group else "everybody", width))
        lines += table_lines(course_rows(item), width, ("run", "change", "range", "cars"), frozenset((1,)))
    plot = {
        f"group {item.group}" if item.group else "everybody":
        [(float(point.run), point.change_ms / 1000) for point in item.points]
        for item in found
    }  # fmt: skip
    return [*lines, *_plot(plot, width, height), *wrapped(_COURSE, width, "quiet")]


_COURSE = "The course and everybody's learning together: nothing here can part the two."


def _plot(points: dict[str, list[tuple[float, float]]], width: int, height: int) -> list[TextLine]:
    from paddock.render.drawn import lines_plot

    picture = lines_plot(points, "", "", (min(width, 80), max(7, min(12, height - 12))))
    return [rule("seconds against run 1, by run", width), *(line(text) for text in picture.splitlines())]


def plan_leaf(event: Event, found: Effect | None, runs_left: int | None, width: int) -> list[TextLine]:
    """The runs left laid out for the next test of the change in hand."""
    from paddock.views.effects import planned, waiting

    if found is None:
        return wrapped(_NONE, width)
    sentence, runs = planned(event, found, runs_left)
    lines = [*wrapped(sentence, width, "strong"), *table_lines([(item.run, item.setting) for item in runs], width)]
    if not runs:
        lines.append(line("no run is left to lay out here; type how many you will have, like 4"))
    why = "Mirrored orders let course and learning cancel. Type how many runs you have left to lay them out anew."
    others = [row for text in waiting(event) for row in wrapped(text, width, "", "  ")]
    others = [rule("tests nobody has decided, of every car", width), *others] if others else []
    return [*lines, *wrapped(why, width, "quiet"), *others]


def season_leaf(season: tuple[int, tuple[Pooled, ...]] | str | None, width: int) -> list[TextLine]:
    """All changes of the events beside this one, the same ones taken together."""
    if season is None:
        return [line("reading the events beside this one …")]
    if isinstance(season, str):
        return wrapped(season, width, "warn")
    count, found = season
    many = f"{count} events in the folder above this one" if count > 1 else _ALONE
    lines = wrapped(many, width, "quiet") if found else wrapped(f"{many}; no change in any", width)
    for item in found:
        lines.append(rule(item.label, width))
        lines += wrapped(f"{item.verdict}: {item.figures or 'no figure yet'}", width, "strong")
        lines += table_lines(item.each, width) if len(item.each) > 1 or count > 1 else []
    return lines


_ALONE = "only this event: put event folders beside each other and the same change is judged over all of them"
