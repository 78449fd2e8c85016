"""What the pages of the car share: figures, what is wrong or missing, the usual cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paddock.engine.car.balance import load_transfer
from paddock.engine.car.bars import CAUTIONS, pairs_table
from paddock.engine.car.car_now import CarNow
from paddock.engine.car.gears import gear_table
from paddock.entry.car import value_text
from paddock.errors import Finding, Problem
from paddock.model.car import FREE, Car, measures
from paddock.model.units import Measured
from paddock.pages.document import Block, Column, Document, PageTable, Piece, TableRow, Words, words


def figure(value: float | None, places: int = 0, sign: bool = False) -> str:
    """A number with so many places; a dash where there is none."""
    if value is None:
        return "-"
    shown = round(value, places) + 0.0
    return f"{shown:{'+' if sign and shown else ''}.{places}f}"


def share(value: float | None) -> str:
    """``61.3 %``; a dash where it can't be told."""
    return "-" if value is None else f"{value * 100:.1f} %"


def finding_words(findings: Iterable[Finding]) -> tuple[Words, ...]:
    """What is wrong with or missing from a car file: ``!`` can't be, ``?`` missing or doubtful."""
    return tuple(words(("! " if item.level == "fault" else "? ", "warn"), _sentence(item), hang=2) for item in findings)


def _sentence(finding: Finding) -> str:
    return f"{finding.key}: {finding.message}" if finding.key else finding.message


def caution_words(cautions: Sequence[str]) -> tuple[Words, ...]:
    """The usual cautions, once."""
    return tuple(words(f"! {text}", hang=2) for text in cautions)


def at_the_end(problems: Sequence[Problem], cautions: Sequence[str]) -> tuple[Block, ...]:
    """What a command's page ends with: what is wrong with its place in the file, then the cautions."""
    wrong = (words(""), *(words(f"{problem}", hang=2) for problem in problems)) if problems else ()
    return (*wrong, *((words(""), *caution_words(cautions)) if cautions else ()))


# every value of the car: what it is, what is wrong with it, where to measure it, what happens without it


@dataclass(frozen=True, slots=True)
class ValueLine:
    """One value. ``text`` blank: not in the file. ``table``: a free table itself, which takes ``name = value``."""

    path: tuple[str, ...]
    text: str
    measure: Measured
    findings: tuple[Finding, ...] = ()
    table: bool = False
    first: bool = False
    """Missing, and nothing is said of pressures without it."""

    @property
    def key(self) -> str:
        """The dotted key."""
        return ".".join(self.path)

    @property
    def mark(self) -> str:
        """``!`` can't be, ``?`` missing or doubtful, blank: fine or not needed."""
        if any(item.level == "fault" for item in self.findings):
            return "!"
        return "?" if self.findings or self.first else ""


def value_lines(now: CarNow) -> tuple[ValueLine, ...]:
    """Every value in the order of need, with what is wrong with it; the rest is told at ``name``."""
    said = _by_value(_all_findings(now))
    lines: list[ValueLine] = []
    for row in measures():
        if row.key in FREE:
            lines += _free_lines(now.filed, row, said)
        else:
            path = tuple(row.key.split("."))
            text = value_text(_at(now.filed, path))
            stands_in = _FIRST.get(row.key, ())
            first = bool(stands_in) and not any(value_text(_at(now.filed, key.split("."))) for key in stands_in)
            lines.append(ValueLine(path, text, row, tuple(said.get(row.key, ())), first=first))
    return tuple(sorted(lines, key=lambda line: _need_of(line.key)[0]))


_FIRST: Mapping[str, tuple[str, ...]] = {
    "targets.dry.front_psi": ("targets.dry.front_psi",),
    "targets.dry.rear_psi": ("targets.dry.rear_psi",),
    "limits.front_min_psi": ("limits.front_min_psi", "limits.placard_front_psi"),
    "limits.rear_min_psi": ("limits.rear_min_psi", "limits.placard_rear_psi"),
    "limits.max_cold_psi": ("limits.max_cold_psi", "limits.wheel_max_psi"),
}
"""What is needed first, and what stands in for it."""

_NEED: tuple[tuple[str, str, str], ...] = (
    ("targets.dry", "what to set after a run, and cold", "go('pressures')"),
    ("limits", "how low and how high any of it may go", "go('pressures')"),
    ("drive", "which end the advice is for", "go('advice')"),
    ("fasteners", "torques on the work list", "go('work')"),
    ("targets", "what to set when it is not dry", "go('pressures')"),
    ("front.bar", "what another pair of holes does", "go('bar')"),
    ("rear.bar", "what another pair of holes does", "go('bar')"),
    ("gearbox", "speeds, shift points, the light", "go('gears')"),
    ("engine", "speeds, shift points, the light", "go('gears')"),
    ("setup", "the set-up sheet", "go('sheet')"),
    ("", "how the load moves over, front and rear", "go('bar')"),
    ("advice", "when the advice speaks up", "go('advice')"),
)
"""Keys, or beginnings of keys, in the order of need; what each is for, and the page that answers it."""


def _need_of(key: str) -> tuple[int, str, str]:
    """Its place in the order of need, what it is for, and where that is answered."""
    if key == "name":
        return -1, "", ""
    fits = [(at, row) for at, row in enumerate(_NEED) if not row[0] or key == row[0] or key.startswith(f"{row[0]}.")]
    at, row = max(fits, key=lambda item: len(item[1][0]))
    return at, row[1], row[2]


def _all_findings(now: CarNow) -> tuple[Finding, ...]:
    """Everything bar, balance and gears have to say."""
    if now.car is None:
        return now.findings
    tables = [pairs_table(now.car, axle) for axle in ("front", "rear")]
    bars = [table.findings for table in tables if table]
    return now.and_found(*bars, load_transfer(now.car).findings, gear_table(now.car).findings)


def _by_value(findings: Sequence[Finding]) -> dict[str, list[Finding]]:
    """By the value to mend; what is of a whole table is told only where none of its values is named."""
    keys = [row.key for row in measures()]
    said: dict[str, list[Finding]] = {}
    for item in findings:
        if item.key in keys or item.key.split(".")[0] in FREE:
            said.setdefault(item.key, []).append(item)
        elif not any(other.key.startswith(f"{item.key}.") for other in findings):
            first = next((key for key in keys if item.key and key.startswith(f"{item.key}.")), "name")
            said.setdefault(first, []).append(item)
    return said


def _free_lines(car: Car | None, row: Measured, said: Mapping[str, list[Finding]]) -> Iterator[ValueLine]:
    held: Mapping[str, object] = _at(car, (row.key,)) or {}
    yield ValueLine((row.key,), f"{len(held)} set" if held else "", row, tuple(said.get(row.key, ())), table=True)
    for name, value in held.items():
        yield ValueLine((row.key, name), value_text(value), row, tuple(said.get(f"{row.key}.{name}", ())))


def _at(car: Car | None, path: Iterable[str]) -> Any:
    node: Any = car
    for name in path:
        node = node.get(name) if isinstance(node, Mapping) else getattr(node, name, None)
    return node


# pages


def values_table(lines: Sequence[ValueLine]) -> PageTable:
    """A row a value."""
    columns = (
        Column(""), Column("value", most=40, least=26), Column("is", most=40, least=8), Column("", drop=1),
        Column("in the file", drop=2, most=40),
    )  # fmt: skip
    return PageTable(columns, tuple(TableRow(_cells(line), line.key) for line in lines))


def _cells(line: ValueLine) -> tuple[str | Piece, ...]:
    own = line.path[0] == line.key or line.measure.key == line.key
    return (
        Piece(line.mark or " ", "warn"), _name(line) if own else line.path[-1],
        Piece(line.text or "-", "" if line.text else "quiet"), line.measure.unit if own else "",
        line.key,
    )  # fmt: skip


def _name(line: ValueLine) -> str:
    """The label, and which axle or surface it is of where the label alone would stand twice."""
    label, first = line.measure.label, line.path[0]
    which = first if first in ("front", "rear") else line.path[1] if first == "targets" and len(line.path) > 1 else ""
    return f"{label}, {which}" if which and which not in label.lower() else label


def value_page(line: ValueLine) -> Document:
    """The value in hand in full."""
    measure = line.measure
    unit = f", {measure.unit}" if measure.unit else ""
    blocks: list[Block] = [words((f"{measure.label}{unit}. {measure.meaning}", "strong"))]
    blocks += finding_words(line.findings)
    blocks.append(words(("Where: ", "quiet"), measure.how))
    bounds = _bounds(measure)
    if bounds:
        blocks.append(words(("Can be: ", "quiet"), bounds))
    _, purpose, page = _need_of(line.key)
    if purpose:
        blocks.append(words(("For: ", "quiet"), (purpose, "", page)))
    blocks.append(words(("Without it: ", "quiet"), measure.without))
    if line.path[0] in ("front", "rear"):
        blocks.append(words((f"! {CAUTIONS[0]}", "quiet")))
    return Document(line.key, tuple(blocks))


def _bounds(measure: Measured) -> str:
    """``8 to 100 psi``; blank where it is not bounded."""
    unit = f" {measure.unit}" if measure.unit else ""
    if measure.low is None or measure.high is None:
        known = (
            f"at least {measure.low:g}"
            if measure.low is not None
            else f"at most {measure.high:g}"
            if measure.high is not None
            else ""
        )
        return f"{known}{unit}" if known else ""
    return f"{measure.low:g} to {measure.high:g}{unit}"


def no_car(number: str, findings: Sequence[Finding]) -> Document:
    """Where there is no car file to list."""
    told = f"No car file for {number or 'your entry'} yet. Enter asks for the car's name."
    return Document("car", (words((told, "strong")), *finding_words(findings)))
