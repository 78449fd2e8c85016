"""Tyres made and corrected: a set added, a value for one tyre or its whole set, a reading of tread mended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from paddock.actions.runs import one_row
from paddock.actions.tyres import depth_words
from paddock.engine.tyres.wear import EDGES
from paddock.entry.tyres import label_of_value, tyre_value_text
from paddock.model.edit import AddRow, Batch, ChangeRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, TreadRow, TyreRow
from paddock.model.tyre_values import OF_ONE


def row_of(event: Event, tyre: str) -> TyreRow | None:
    """Its line in ``tyres.csv``; None: it is only fitted or measured."""
    return next((row for row in event.of(TyreRow) if row.tyre == tyre), None)


def known_tyres(event: Event) -> tuple[str, ...]:
    """Every tyre a file names."""
    rows: list[TyreRow | FittedRow | TreadRow] = [*event.of(TyreRow), *event.of(FittedRow), *event.of(TreadRow)]
    return tuple(dict.fromkeys(row.tyre for row in rows))


def set_of(event: Event, tyre: str) -> tuple[str, ...]:
    """The tyres of its set, itself among them; alone where it has none."""
    row = row_of(event, tyre)
    if row is None or not row.set:
        return (tyre,)
    return tuple(item.tyre for item in event.of(TyreRow) if item.set == row.set)


def who_gets(event: Event, tyre: str, field: str, alone: bool) -> tuple[str, ...]:
    """Whose value is typed: the whole set's, unless it is of one tyre by its nature or ``alone`` is asked."""
    return (tyre,) if alone or field in OF_ONE or field in ("tyre", "set") else set_of(event, tyre)


def set_tyre_value(event: Event, tyres: Sequence[str], field: str, value: Any) -> Batch:
    """The value of each of ``tyres``; None takes it out. A tyre without a line gets one."""
    said = "taken out" if value is None else tyre_value_text(field, value)
    known = {row.tyre for row in event.of(TyreRow)}
    edits = (
        ChangeRow(TyreRow.FILE, (name,), {field: value}) if name in known
        else AddRow(TyreRow.FILE, {"tyre": name, field: value})
        for name in tyres
    )  # fmt: skip
    return Batch(f"{' '.join(tyres)}: {label_of_value(field)} {said}", tuple(edits))


def rename_tyre(event: Event, old: str, new: str) -> Batch:
    """Another name in every file that has it."""
    edits: list[AddRow | ChangeRow] = []
    if row_of(event, old) is None:
        edits.append(AddRow(TyreRow.FILE, {"tyre": new}))
    else:
        edits.append(ChangeRow(TyreRow.FILE, (old,), {"tyre": new}))
    rows: list[FittedRow | TreadRow] = [*event.of(FittedRow), *event.of(TreadRow)]
    edits += [ChangeRow(row.FILE, row.key, {"tyre": new}) for row in rows if row.tyre == old]
    return Batch(f"{old} is called {new}", tuple(edits))


def drop_tyre(event: Event, tyre: str) -> Batch:
    """Its line taken out. ValueError's sentence where something hangs on it."""
    rows: list[FittedRow | TreadRow] = [*event.of(FittedRow), *event.of(TreadRow)]
    if any(row.tyre == tyre for row in rows):
        raise ValueError(f"{tyre} was fitted or measured here: it stays; give it another name if the name is wrong")
    return Batch(f"{tyre} taken out", (RemoveRow(TyreRow.FILE, (tyre,)),))


def mend_reading(day: int, tyre: str, depths: Mapping[str, float] | None, unit: str) -> Batch:
    """The reading of a day as it should be; None takes it out."""
    key = (day, tyre)
    if depths is None:
        return Batch(f"tread of {tyre}, day {day}, taken out", (RemoveRow(TreadRow.FILE, key),))
    cells = {f"{edge}_mm": depths.get(edge) for edge in EDGES}
    said = depth_words((depths.get(edge) for edge in EDGES), unit)
    return Batch(f"tread of {tyre}, day {day}: {said}", (ChangeRow(TreadRow.FILE, key, cells),))


def add_tyres(
    event: Event, names: Sequence[str], cells: Mapping[str, Any], on: tuple[str, int, int] | None = None
) -> Batch:
    """New tyres, each with the same values. ``on``: number, day and run from which four are on lf rf lr rr."""
    given = {field: value for field, value in cells.items() if value is not None}
    rows: list[AddRow | ChangeRow] = [AddRow(TyreRow.FILE, {"tyre": name, **given}) for name in names]
    said = f"{len(names)} tyre{'' if len(names) == 1 else 's'}: {' '.join(names)}"
    if on is None:
        return Batch(said, tuple(rows))
    number, day, run = on
    rows += [
        one_row(event, FittedRow, {"day": day, "run": run, "number": number, "corner": corner},
                {"tyre": name, "orientation": None})
        for corner, name in zip(CORNERS, names, strict=True)
    ]  # fmt: skip
    return Batch(f"{said}, on from run {run}", tuple(rows))
