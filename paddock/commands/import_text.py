"""What an import understood, for a person."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.commands.table import table
from paddock.folders.importing import Plan
from paddock.render.clean import clean
from paddock.views.importing import (
    changed_lines,
    count_words,
    difference_line,
    fresh_numbers,
    mapping_words,
    place_words,
    sample,
    unread_lines,
)

_LISTED = 20


def import_text(plan: Plan, written: bool) -> str:
    """The whole preview, or the report once it is ``written``."""
    return "\n".join(clean(line) for part in _parts(plan, written) for line in part.split("\n"))


def _parts(plan: Plan, written: bool) -> Iterator[str]:
    seen, columns = plan.understood, plan.columns
    yield f"{place_words(plan)}:"
    yield f"  {mapping_words(plan)}"
    if columns.left_over:
        yield f"  not read, though there are times in them: {', '.join(columns.left_over)}"
    if columns.unused:
        yield f"  not used: {', '.join(columns.unused)}"
    head, rows, more = sample(seen)
    yield table(head, rows)
    if more > 0:
        yield f"and {more} more"
    yield from unread_lines(seen, " (all of them with --json)")
    yield from (f"note: {remark}" for remark in seen.remarks[:_LISTED])
    yield from filter(None, [fresh_numbers(seen)])
    yield from map(difference_line, seen.differences)
    yield count_words(seen, written)
    yield from (f"  {line}" for line in changed_lines(plan))
    if not written:
        yield "nothing is written yet: --yes writes it"
    elif seen.added or seen.updated:
        yield "to take all of it back open the event (paddock and its folder): undo, z if you have not changed the key"
