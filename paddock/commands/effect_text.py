"""A judged change in words: the sentence first, then every figure behind it."""

from __future__ import annotations

from paddock.commands.table import table
from paddock.engine.field.course import Evolution
from paddock.engine.field.effect import Effect
from paddock.model.event import Event
from paddock.views.effects import closing_lines, course_around, course_rows, evidence_lines, figure_rows

__all__ = ["effect_text"]


def effect_text(event: Event, effect: Effect) -> str:
    """Several lines, the verdict on the first."""
    rows, course = figure_rows(effect), course_around(event, effect)
    blocks = [
        effect.sentence,
        table(("seconds, negative is faster", ""), rows) if rows else "",
        "\n".join(evidence_lines(event, effect)),
        _course(course) if course is not None else "",
        "\n".join(closing_lines(effect)),
    ]
    return "\n\n".join(block for block in blocks if block)


def _course(found: Evolution) -> str:
    where = f" in group {found.group}" if found.group else ""
    head = f"course and everybody's learning, day {found.day}{where}"
    return head + "\n" + table(("run", "change", "range", "drivers"), course_rows(found), right=(1, 3))
