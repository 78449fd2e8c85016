"""Changes to the car as a page, and its settings as they stand: each with what became of it, and one in full."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.engine.car.setup_sheet import ChangeState, SetupSheet, SheetLine, changes_of, pressure_axle, states_of
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.model.units import pressure_label
from paddock.pages.document import Column, Document, PageTable, TableRow, paragraphs, words


def change_states(event: Event) -> Mapping[str, tuple[SetupChange, ChangeState]]:
    """By id, newest first: the change, and what became of it."""
    rows = event.of(SetupChange)
    states = states_of(rows)
    newest = sorted(rows, key=lambda row: (row.day or 0, row.run or 0, row.at or ""), reverse=True)
    return {row.id: (row, states[row.id]) for row in newest}


def changes_page(event: Event) -> Document:
    """A row a change."""
    columns = (
        Column("run"), Column("no", figures=True, drop=3), Column("what", most=30), Column("from", most=10, drop=2),
        Column("to", most=10), Column("kind", drop=1), Column("state"),
    )  # fmt: skip
    rows = tuple(
        TableRow((f"d{row.day or '?'} r{row.run or '?'}", row.number or "", row.item or "", row.before or "",
                  row.after or "", row.kind or "", state), id_)
        for id_, (row, state) in change_states(event).items()
    )  # fmt: skip
    return Document("changes", (PageTable(columns, rows, empty="no change is logged yet: a logs one"),))


def change_in_full(row: SetupChange) -> Document:
    """From, to, why and what was expected."""
    told = [words((f"{row.item}: {row.before or '?'} → {row.after or '?'}", "strong"))]
    told += [words(f"{label}: {text}") for label, text in (("why", row.reason), ("expected", row.expect)) if text]
    return Document("change", tuple(told))


NOTHING = (
    "Nothing is known to be set on this car. a writes it: pick setup in the list and type like front_bar = 2-2. Or log "
    "changes with c: what they found is taken for how the car came."
)


def is_pressure(line: SheetLine) -> bool:
    """Whether the line is a pressure of the tyres."""
    return pressure_axle(line.key) is not None


def line_name(key: str, unit: str = "") -> str:
    """``rear bar``; a pressure with its unit, ``rear pressure, psi``."""
    name = key.replace("_", " ")
    return f"{name}, {pressure_label(unit)}" if unit and pressure_axle(key) else name


def state_of(line: SheetLine) -> str:
    """A word or two, like ``to put back`` or ``not as fastest``; blank: as it came."""
    if line.to_revert:
        return "to put back"
    if line.differs:
        return "not as fastest"
    if line.change is not None:
        return "on test" if line.change.decision is None and line.change.kind == "test" else "changed"
    return "put back" if line.undone else ""


def sheet_table(sheet: SetupSheet, unit: str = "psi") -> PageTable:
    """A row a setting, pressures in ``unit``; what is changed or not as on the latest fastest run stands out.

    ``d1 r4``: day 1, run 4.
    """
    last = len(sheet.fastest) - 1
    heads = [f"d{run.day} r{run.run}" for run in sheet.fastest]
    columns = (
        Column("setting", most=24), Column("now", most=14), Column("as it came", drop=2, most=14),
        *(Column(head, drop=0 if at == last else 3 + last - at, most=14) for at, head in enumerate(heads)),
        Column("", drop=1),
    )  # fmt: skip
    return PageTable(columns, tuple(_row(line, unit) for line in sheet.lines), empty=NOTHING)


def _row(line: SheetLine, unit: str) -> TableRow:
    fast = (value or "-" for value in line.at_fastest)
    cells = (line_name(line.key, unit), line.now or "-", line.start or "-", *fast, state_of(line))
    return TableRow(cells, line.key, mine=line.change is not None or line.differs)


def line_head(line: SheetLine, unit: str = "psi") -> str:
    """``rear bar: 3-4, on test``."""
    state = state_of(line)
    return f"{line_name(line.key, unit)}: {line.now or '-'}" + (f", {state}" if state else "")


def line_page(event: Event, number: str, line: SheetLine) -> Document:
    """A line in hand: the changes behind it, the latest first."""
    rows, states = changes_of(event, number), states_of(event.of(SetupChange))
    rows = tuple(row for row in rows if (row.setting or row.item or row.id) == line.key)
    told = [_change(row, states[row.id]) for row in reversed(rows)] or ["as it rolled off the trailer"]
    head = line_head(line, event.settings.pressure_unit or "psi")
    return Document("sheet", (words((head, "strong")), *paragraphs(told)))


def _change(row: SetupChange, state: ChangeState) -> str:
    when = f"day {row.day if row.day is not None else '?'} run {row.run if row.run is not None else '?'}"
    why = [row.kind or "", row.reason or "", f"expected {row.expect}" if row.expect else ""]
    said = ", ".join(part for part in (*why, state) if part)
    return f"{when}: {row.before or '?'} to {row.after or '?'}, {said}"
