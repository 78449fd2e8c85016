"""Where on the course my runs of each day lost against the best of each element."""

from __future__ import annotations

from paddock.engine.share.names import Names
from paddock.engine.where.answer import where
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.pages.debrief.parts import Figure, Section, grid
from paddock.pages.where import always, ranges_of, together, varies
from paddock.words import hundredths, plural


def where_went(event: Event, names: Names) -> Section | None:
    """My entries with two runs or more with splits, by day; the figure has each element's range about nought."""
    said: list[str] = []
    figures: list[Figure] = []
    grids = []
    for number in event.settings.mine.numbers:
        for day in range(1, max(1, len(event.settings.days)) + 1):
            try:
                found = where(event, number, day)
            except UsageError:
                continue
            label = f"{names.label(number)}, day {day}"
            lost = [f"{item.name} {hundredths(item.delta_ms)}" for item in found.elements if item.verdict == "lost"]
            what = ", ".join(lost) if lost else "nothing that is more than its range"
            said += [
                f"{label}: run {found.run}, the best of {plural(found.runs, 'run')} with splits, lost {what} against "
                "the best of each element",
                *(f"{label}: {text}" for text in (always(found), varies(found), together(found)) if text),
            ]
            figures.append(ranges_of(found))
            rows = [
                (item.name, item.kind, f"{item.mine_ms / 1000:.2f}", hundredths(item.delta_ms),
                 f"{item.error_ms / 1000:.2f}", "" if item.verdict == "can't tell" else item.verdict)
                for item in found.elements
            ]  # fmt: skip
            grids.append(grid(("element", "kind", "mine", "delta", "±", ""), rows, label, frozenset({2, 3, 4})))
    if not said:
        return None
    return Section(
        "Where the time went", figures=tuple(figures), items=tuple(said), grids=tuple(grids), summary=tuple(said[:1])
    )
