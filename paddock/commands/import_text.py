"""What an import understood, for a person."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.commands.table import clean, table
from paddock.engine.results import Difference, Understood
from paddock.importing import Plan
from paddock.words import plural, run_text

__all__ = ["difference_line", "import_text"]

_SHOWN = 8
_LISTED = 20


def import_text(plan: Plan, written: bool) -> str:
    """The whole preview, or the report once it is ``written``."""
    return "\n".join(clean(line) for part in _parts(plan, written) for line in part.split("\n"))


def _parts(plan: Plan, written: bool) -> Iterator[str]:
    seen, columns, name = plan.understood, plan.columns, plan.grid.name[:60]
    how = "as confirmed before" if columns.remembered else "as given" if plan.told.columns else "as proposed"
    place = f"table {plan.place} of {len(plan.grids)}" + (f" ({name})" if name else "")
    yield f"{place}, day {seen.day}, columns {how}:"
    yield "  " + ", ".join(f"{role} = {label}" for role, label in columns.labels.items())
    if columns.left_over:
        yield f"  not read, though there are times in them: {', '.join(columns.left_over)}"
    yield from _sample(seen)
    yield from _unread(seen)
    yield from (f"note: {remark}" for remark in seen.remarks[:_LISTED])
    yield from _entrants(seen)
    yield from map(difference_line, seen.differences)
    verb = "brought in" if written else "to bring in"
    yield f"{verb}: {seen.added} new, {seen.updated} changed, {seen.unchanged} as they were"
    if not written:
        yield "nothing is written yet: --yes writes it"


def _sample(seen: Understood) -> Iterator[str]:
    numbers = list(dict.fromkeys(row.number for row in seen.rows))[:_SHOWN]
    shown = [row for row in seen.rows if row.number in numbers]
    runs = sorted({(row.day, row.run) for row in shown})
    cells = {(row.number, row.day, row.run): run_text(row.time_ms, row.cones or 0, row.status) for row in shown}
    lines = [[number, *(cells.get((number, *run), "") for run in runs)] for number in numbers]
    yield table(["number", *(f"run {run}" for _, run in runs)], lines)
    more = len({row.number for row in seen.rows}) - len(numbers)
    if more > 0:
        yield f"and {more} more"


def _unread(seen: Understood) -> Iterator[str]:
    if not seen.unread:
        return
    yield f"{plural(len(seen.unread), 'place')} could not be read:"
    yield from (f"  line {item.line}: {item.why}" for item in seen.unread[:_LISTED])
    if len(seen.unread) > _LISTED:
        yield f"  and {len(seen.unread) - _LISTED} more (all of them with --json)"


def _entrants(seen: Understood) -> Iterator[str]:
    fresh = [item.number for item in seen.new_entrants if not item.known]
    if fresh:
        yield f"not entered yet, to complete in entrants.csv: {', '.join(fresh[:_LISTED])}"


def difference_line(item: Difference) -> str:
    """A run of mine that was posted otherwise."""
    left = "" if item.minutes_left is None else f"; {item.minutes_left} min left to protest"
    over = "; the time to protest is over" if item.minutes_left == 0 else left
    return f"number {item.number}, run {item.run}: posted {item.posted}, logged {item.logged}{over}"
