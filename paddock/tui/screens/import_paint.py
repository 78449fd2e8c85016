"""The import page laid out in lines; what they say comes from ``views.importing``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.pages.document import TextLine
from paddock.pages.gap import freshness
from paddock.render.pieces import line, rule, wrapped
from paddock.tui.reader import table_lines
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.engine.scoring.gap import GapAnswer
    from paddock.folders.importing import ImportPlan
    from paddock.model.rows import CellGrid as Table
    from paddock.store.merge import Conflict
    from paddock.store.nearby import Near


_NARROW = 60
_NEAR = "Newest first, from the event's folder and the one above. Enter takes the one in hand."
_NONE = (
    "No file of results lies in the event's folder or the one above. Save the page or the table there, type a path "
    "with a, take the clipboard with r, or paste the copied table into the line."
)
_NO_ASIDE = (
    "Nothing is put aside. Where other hands change the same thing as you at the same time, or joined copies say "
    "different things, both versions are listed here."
)


def file_columns(width: int) -> list[Col]:
    """Columns of the files."""
    if width < _NARROW:
        return [Col("file", most=max(12, width - 8)), Col("", 5)]
    return [Col("file", most=width - 40), Col("where", 6), Col("changed", 16), Col("", 12)]


def file_cells(item: Near, width: int) -> Cells:
    """One file."""
    if width < _NARROW:
        return (item.name, "last" if item.last else item.where)
    changed = "" if item.changed is None or item.folder else item.changed.strftime("%d %b %Y %H:%M")
    return (item.name, item.where, changed, "used last" if item.last else "")


def start_leaf(any_near: bool, width: int) -> list[TextLine]:
    """Under the files."""
    return wrapped(_NEAR if any_near else _NONE, width, "quiet")


def preview_leaf(plan: ImportPlan, why: str, width: int) -> list[TextLine]:
    """What was understood, before anything is written."""
    from paddock.views.importing import (
        changed_lines,
        count_words,
        difference_line,
        fresh_numbers,
        mapping_words,
        place_words,
    )

    seen = plan.understood
    lines = wrapped(place_words(plan), width, "strong")
    lines += wrapped(f"! {why}", width, "warn") if why else []
    lines += wrapped(count_words(seen, False), width, "strong")
    lines += [line(("Enter", "key", "take"), (" brings it in", "", "take"))] if not why else []
    if seen.differences:
        lines.append(rule("my runs posted otherwise", width))
        lines += [row for item in seen.differences for row in wrapped(difference_line(item), width, "warn", "  ")]
    changed = changed_lines(plan)
    lines += [rule("runs that change", width)] if changed else []
    lines += [row for text in changed for row in wrapped(text, width, indent="  ")]
    lines += [rule("columns (m changes them)", width), *wrapped(mapping_words(plan), width)]
    if plan.columns.left_over:
        lines += wrapped(f"not read, though times are in them: {', '.join(plan.columns.left_over)}", width, "warn")
    if plan.columns.unused:
        lines += wrapped(f"not used: {', '.join(plan.columns.unused)}", width)
    lines += _sample(plan, width)
    for text in (*seen.remarks[:20], fresh_numbers(seen)):
        lines += wrapped(text, width, indent="  ") if text else []
    return [*lines, *_unread(plan, width)]


def _sample(plan: ImportPlan, width: int) -> list[TextLine]:
    from paddock.views.importing import sample

    head, rows, more = sample(plan.understood, 5)
    if width < _NARROW:
        rows, head = tuple((row[0], "  ".join(row[1:])) for row in rows), ()
    lines = [rule("first rows", width), *table_lines(rows, width, head)]
    return [*lines, line((f"and {more} more", "quiet"))] if more > 0 else lines


def _unread(plan: ImportPlan, width: int) -> list[TextLine]:
    from paddock.views.importing import unread_lines

    found = unread_lines(plan.understood)
    lines = [rule("not read", width)] if found else []
    return [*lines, *(row for text in found for row in wrapped(text, width, indent="  "))]


def raw_leaf(table: Table, why: str, width: int) -> list[TextLine]:
    """A table nothing is understood of: its columns, to be named."""
    from paddock.views.importing import raw_rows

    lines = [*wrapped(f"! {why}", width, "warn"), rule("its columns", width)]
    return [*lines, *table_lines(raw_rows(table), width, ("place", "header", "first cells"))]


def done_leaf(plan: ImportPlan, gap: GapAnswer | None, width: int) -> list[TextLine]:
    """What was brought in, and how fresh the tables are now."""
    from paddock.views.importing import count_words, difference_line, fresh_numbers

    seen = plan.understood
    lines = [*wrapped(count_words(seen, True), width, "strong")]
    if gap is not None:
        for found in (gap.class_, gap.index):
            lines += wrapped(f"{found.table}: {freshness(found.seen, None)}", width) if found is not None else []
    for item in seen.differences:
        lines += wrapped(f"! {difference_line(item)}", width, "warn", "  ")
    lines += wrapped(fresh_numbers(seen), width) if fresh_numbers(seen) else []
    lines += _unread(plan, width)
    return [*lines, *wrapped("Enter takes another file, s shows the standings, z takes it all back", width, "quiet")]


def aside_leaf(conflicts: Sequence[Conflict], folder: Path, width: int) -> list[TextLine]:
    """Both versions of everything put aside, and what to do."""
    from paddock.folders.merging import listed
    from paddock.views.importing import asides

    found = asides(conflicts, listed(folder))
    if not found:
        return wrapped(_NO_ASIDE, width)
    lines: list[TextLine] = []
    for item in found:
        lines += [*wrapped(item.what, width, "strong"), *table_lines(item.rows, width, ("where", "mine", "theirs"))]
        lines += wrapped(item.todo, width, "quiet", "  ")
    return lines
