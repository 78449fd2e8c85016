"""What came from outside: entries put aside, values in conflict, what other hands changed, second copies; and what to
do about each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, Literal

from paddock.actions.outside import (
    ValueAt,
    as_before,
    mine_again,
    other_value,
    rows_by_words,
    still_kept,
)
from paddock.engine.merge import row_words
from paddock.folders.merging import ConflictLine, SecondCopy
from paddock.model.columns import spec_of
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import ROWS, Row
from paddock.pages.document import Column, Document, PageTable, TableRow, words
from paddock.session.outside import OutsideChange, cells
from paddock.store.merge import Conflict
from paddock.words import plural

Kind = Literal["aside", "conflict", "changed", "came", "copy"]

NOTHING = (
    "Nothing came from outside since the event was opened, and nothing stands in conflict. What other hands or a merge "
    "bring in is listed here, and can be taken back."
)
_NAMES: dict[Kind, str] = {
    "aside": "put aside", "conflict": "in conflict", "changed": "changed", "came": "came in", "copy": "second copy",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class OutsideItem:
    """One thing from outside. ``now``: what the event says; ``other``: what it said, or the other hand says.

    ``edit``: what puts the other in place, None where a person has to; ``seen``: what is left as it is with it.
    """

    kind: Kind
    where: str
    now: str
    other: str
    told: str
    edit: Batch | None
    seen: tuple[Conflict | OutsideChange | ConflictLine | SecondCopy, ...]

    @property
    def waits(self) -> bool:
        """To be looked at; what only came in is told once."""
        return self.kind != "came"

    @property
    def id(self) -> str:
        """What tells it apart from the others."""
        return "|".join((self.kind, self.where, self.now, self.other))


def outside_items(
    event: Event,
    conflicts: Sequence[Conflict],
    changes: Sequence[OutsideChange],
    listed: Sequence[ConflictLine],
    copies: Sequence[SecondCopy],
    value_at: ValueAt,
) -> tuple[OutsideItem, ...]:
    """The most pressing first. ``listed``: conflicts of joined copies nobody has looked at yet."""
    against = list(_in_conflict(event, listed, value_at))
    changed = [_changed(item) for item in reversed(changes) if item.before is not None]
    twice = {_said_of(item) for item in against} & {_said_of(item) for item in changed}
    against = [_with_change(item, changed) if _said_of(item) in twice else item for item in against]
    return (
        *(_aside(event, item) for item in reversed(conflicts)),
        *against,
        *(item for item in changed if _said_of(item) not in twice),
        *(_copy(item) for item in copies if item.news),
        *_came_in([item for item in changes if item.before is None]),
    )


def _said_of(item: OutsideItem) -> tuple[str, str, str]:
    return item.where, item.now, item.other


def _with_change(item: OutsideItem, changed: Sequence[OutsideItem]) -> OutsideItem:
    """A value in conflict whose merge was seen: one thing, not two."""
    same = next(other for other in changed if _said_of(other) == _said_of(item))
    return replace(item, seen=(*item.seen, *same.seen))


def _aside(event: Event, item: Conflict) -> OutsideItem:
    found = item.differences
    where = " ".join(filter(None, (found[0].row or found[0].file, found[0].column))) if found else item.entry.label
    more = f" and {len(found) - 1} more" if len(found) > 1 else ""
    mine, theirs = (found[0].mine or "blank", found[0].theirs or "blank") if found else ("", "")
    edit = mine_again(event, item)
    rest = "".join(f" {one.column}: mine {one.mine or 'blank'}, theirs {one.theirs or 'blank'}." for one in found[1:])
    told = f"{item.entry.label}: {item.reason}.{rest} Theirs stands in the file; "
    told += "Enter puts yours in." if edit else "is yours right, enter it again on its page."
    return OutsideItem("aside", where + more, theirs, mine, told, edit, (item,))


def _in_conflict(event: Event, listed: Sequence[ConflictLine], value_at: ValueAt) -> Iterator[OutsideItem]:
    rows = rows_by_words(event, listed)
    for line in listed:
        if still_kept(line, rows, value_at):
            file, row, column, kept, other = line
            edit = other_value(line, rows, value_at)
            where = " ".join(filter(None, (row or file, column)))
            told = f"Two copies of {file} differ here; the greater is kept (the slower time), whoever is right. "
            if not column:
                told = f"Two copies of {file} could not be joined: the other content stands in {other}."
            elif edit is None:
                told += f"To take the other, write it into {file}."
            else:
                told += "Enter takes the other."
            yield OutsideItem("conflict", where, kept or "blank", other or "blank", told, edit, (line,))


def _changed(item: OutsideChange) -> OutsideItem:
    edit = as_before([item], f"as before: {_place(item)}")
    if item.after is None:
        told = f"Other hands took it out of {item.file}. Enter puts it back."
        return OutsideItem("changed", _place(item), "taken out", _whole(item.before), told, edit, (item,))
    told = f"Other hands changed it in {item.file}. Enter puts back what it was."
    pairs = list(_differences(item))
    now, was = (_joined(pair[at] for pair in pairs) for at in (2, 1))
    where = " ".join((_place(item), *(name for name, *_ in pairs if name)))
    return OutsideItem("changed", where, now, was, told, edit, (item,))


def _came_in(changes: Sequence[OutsideChange]) -> Iterator[OutsideItem]:
    for file, group in groupby(sorted(changes, key=lambda item: item.file), key=lambda item: item.file):
        found = list(group)
        one, many = ("row", None) if file in ROWS else ("value", None)
        count = plural(len(found), one, many)
        where = f"{count} of {file}"
        places = [_place(item) for item in found[:8]]
        more = f" and {len(found) - 8} more" if len(found) > 8 else ""
        told = f"Other hands added to {file}: {'; '.join(places)}{more}. Enter takes {count} out again."
        yield OutsideItem("came", where, places[0] if len(found) == 1 else "", "", told,
                          as_before(found, f"out again: {where}"), tuple(found))  # fmt: skip


def _copy(item: SecondCopy) -> OutsideItem:
    says = f"{plural(item.news, 'thing')} more"
    what = f"another copy of {item.file}" if item.file else "a folder with this same event"
    told = f"{item.path.name} is {what} and says {says}. m joins it into this event; what comes in is listed here then."
    return OutsideItem("copy", item.path.name, "", says, told, None, (item,))


def _place(item: OutsideChange) -> str:
    """``day 2 run 2 number 58``; a key of a TOML file: ``event.toml grid.interval_s``."""
    if item.file not in ROWS:
        return f"{item.file} {'.'.join(map(str, item.key))}"
    row = item.after if item.after is not None else item.before
    if row.KEY == ("id",):
        said = next((f"{getattr(row, name)}" for name in ("text", "item") if getattr(row, name, None)), row.id)
        return f"{item.file.removesuffix('.csv')} “{said}”"
    return row_words(spec_of(item.file), item.key)


def _differences(item: OutsideChange) -> Iterator[tuple[str, str, str]]:
    """Column, before, now."""
    if not isinstance(item.after, Row):
        yield "", _said(item.before), _said(item.after)
        return
    old, new, spec = cells(item.before), cells(item.after), spec_of(item.file)
    for column in spec.columns:
        was, now = (
            "blank" if one[column.field] is None else column.kind.write(one[column.field]) for one in (old, new)
        )
        if was != now:
            yield column.header, was, now


def _whole(row: Any) -> str:
    if not isinstance(row, Row):
        return _said(row)
    said = [c.kind.write(v) for c in spec_of(row.FILE).columns if (v := getattr(row, c.field)) is not None]
    return ", ".join(said)


def _said(value: object) -> str:
    return "blank" if value is None else f"{value}"


def _joined(texts: Iterable[str]) -> str:
    return ", ".join(texts)


def outside_words(items: Sequence[OutsideItem]) -> str:
    """``1 in conflict, 2 changed``: what waits to be looked at; "" = nothing. What only came in does not wait."""
    count = {kind: sum(item.kind == kind for item in items) for kind in _NAMES}
    parts: dict[Kind, str] = {**_NAMES, "copy": "in a second copy"}
    del parts["came"]
    return ", ".join(f"{count[kind]} {text}" for kind, text in parts.items() if count[kind])


def home_words(items: Sequence[OutsideItem]) -> str:
    """The line on home; "" = nothing waits."""
    waiting = outside_words(items)
    return f"! from outside: {waiting}: ' shows it" if waiting else ""


def waiting_lines(items: Sequence[OutsideItem]) -> tuple[str, ...]:
    """A line each of what waits to be looked at."""
    return tuple(fresh_words([item]) for item in items if item.waits)


def fresh_words(items: Sequence[OutsideItem]) -> str:
    """What just came from outside, for the line under the entry; "" = nothing."""
    if len(items) == 1:
        (item,) = items
        return f"{_NAMES[item.kind]}: {item.where}" + (
            f", {item.other} → {item.now}" if item.now and item.other else ""
        )
    came = _joined(item.where for item in items if item.kind == "came")
    return "; ".join(filter(None, (outside_words(items), f"came in: {came}" if came else "")))


def told_words(items: Sequence[OutsideItem]) -> tuple[str, bool]:
    """What just came, for the line under the entry, and whether it wants to be looked at."""
    return f"from outside: {fresh_words(items)}; ' shows it", any(item.waits for item in items)


def outside_page(items: Sequence[OutsideItem]) -> Document:
    """A row a thing."""
    columns = (
        Column("", drop=2), Column("where", most=40, least=14), Column("here now", most=24, least=6),
        Column("the other", most=24, least=6, drop=1),
    )  # fmt: skip
    rows = tuple(TableRow((_NAMES[item.kind], item.where, item.now, item.other), item.id) for item in items)
    return Document("from outside", (PageTable(columns, rows, empty=NOTHING),))


def item_page(item: OutsideItem) -> Document:
    """One in full."""
    both = f": {item.now} here, {item.other} the other" if item.now and item.other else ""
    leave = "" if item.kind == "copy" else " j leaves it as it is."
    return Document("from outside", (words((f"{item.where}{both}", "strong")), words(f"{item.told}{leave}")))
