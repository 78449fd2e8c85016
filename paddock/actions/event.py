"""What can be said about the event: a value, a class, a line of the index table, a gauge, my numbers and cars."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from paddock.actions.car import new_car
from paddock.entry.event import (
    ClassLine,
    read_class,
    read_event_value,
    read_factor,
    read_gauge,
    read_index,
    value_shown,
)
from paddock.model.edit import AddRow, Batch, ChangeRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import EntrantRow
from paddock.model.settings import ClassDef, Settings

FILE = "event.toml"
_OTHER_UNITS = {"altitude_m": "altitude_ft"}
_OPEN = "OPEN"
"""The class a new folder begins with, so that it can be scored at all."""


def edit_of(event: Event, line: str, text: str) -> Batch:
    """What was typed at a line of the event's page: a dotted key, or ``class:ASH``, ``index:FIR``, ``gauge:pen``,
    ``car:58``; ``-`` takes it out. ValueError's sentence on what can't be read."""
    kind, _, item = line.partition(":")
    settings, out = event.settings, text.strip() == "-"
    if kind == "car":
        return _drives(event, item, "" if out else text)
    if kind == "class":
        return drop_class(settings, item) if out else put_classes(event, [read_class(text, item)])
    if kind == "index" and item:
        return set_factor(item, None if out else read_factor(text.strip()))
    if kind == "gauge":
        return drop_gauge(settings, item) if out else put_gauge(settings, *read_gauge(text, item))
    if kind == "classes":
        return put_classes(event, [read_class(text)])
    if kind == "index":
        return set_factor(*read_index(text))
    if kind == "gauges":
        return put_gauge(settings, *read_gauge(text))
    return set_event_value(event, line, read_event_value(line, text))


def _drives(event: Event, number: str, said: str) -> Batch:
    """A car that is there, by its name; else a new one."""
    name = next((name for name in event.cars if name.casefold() == said.strip().casefold()), None)
    return my_car(number, name) if name or not said else new_car(number, said)


def set_event_value(event: Event, key: str, value: Any) -> Batch:
    """A value of ``event.toml`` set, or taken out with None; the same quantity in another unit goes."""
    if key == "mine.numbers":
        return my_numbers(event, value or ())
    path = tuple(key.split("."))
    other = _OTHER_UNITS.get(path[-1]) or (f"{path[-1][:-2]}_f" if path[-1].endswith("_c") else "")
    label = f"{key} taken out" if value is None else f"{key} = {_said(key, value)}"
    out = (SetKey(FILE, (*path[:-1], other), None),) if other else ()
    return Batch(label, (SetKey(FILE, path, value), *out))


def _said(key: str, value: Any) -> str:
    if isinstance(value, Mapping):
        return f"first {value['best_of_first']}"
    return value_shown(key, tuple(value) if isinstance(value, list) else value)


def my_numbers(event: Event, numbers: Sequence[str]) -> Batch:
    """These are my car numbers; those nobody has entered yet are entered, in the only class where there is one."""
    classes = event.settings.classes
    only = {"class_": classes[0].code} if len(classes) == 1 else {}
    new = [number for number in numbers if event.entrant(number) is None]
    rows = [AddRow(EntrantRow.FILE, {"number": number, **only}) for number in new]
    return Batch(f"my numbers: {', '.join(numbers)}", (SetKey(FILE, ("mine", "numbers"), list(numbers)), *rows))


def my_car(number: str, name: str | None) -> Batch:
    """Which car file an entry of mine drives; None: not said any more."""
    label = f"{number} drives {name}" if name else f"the car of {number} taken out"
    return Batch(label, (SetKey(FILE, ("mine", "cars", number), name),))


# classes and index


def put_classes(event: Event, lines: Sequence[ClassLine]) -> Batch:
    """Classes made, or what is said of those that are there; factors go into the index table.

    The class a new folder begins with becomes the first one made, its entrants with it, unless it was made one's own.
    """
    codes = [item.code for item in event.settings.classes]
    edits: list[SetKey | ChangeRow] = []
    for line in lines:
        cells = {name: value for name, value in (("name", line.name), ("scored_by", line.scored_by)) if value}
        if line.code not in codes and _is_fresh(event.settings) and codes == [_OPEN]:
            codes, cells = [], {"code": line.code, **cells}
            edits += _moved(event, _OPEN, line.code)
        at = codes.index(line.code) if line.code in codes else len(codes)
        if at == len(codes):
            codes.append(line.code)
            if "code" not in cells:
                edits.append(SetKey(FILE, ("classes", str(at)), {"code": line.code, **cells}))
                cells = {}
        edits += [SetKey(FILE, ("classes", str(at), name), value) for name, value in cells.items()]
        if line.factor is not None:
            edits.append(SetKey(FILE, ("index", line.code), line.factor))
    label = f"class {lines[0].code}" if len(lines) == 1 else f"{len(lines)} classes"
    return Batch(label, tuple(edits))


def _is_fresh(settings: Settings) -> bool:
    """The one class is still the template's."""
    return settings.classes == (ClassDef(code=_OPEN),) and _OPEN not in settings.index.factors


def _moved(event: Event, old: str, new: str) -> list[ChangeRow]:
    rows = (row for row in event.entrants if row.class_ == old)
    return [ChangeRow(EntrantRow.FILE, (row.number,), {"class_": new}) for row in rows]


def drop_class(settings: Settings, code: str) -> Batch:
    """The class taken out; its factor stays in the index table."""
    at = next(place for place, item in enumerate(settings.classes) if item.code == code)
    return Batch(f"class {code} taken out", (SetKey(FILE, ("classes", str(at)), None),))


def set_factor(code: str, factor: Decimal | None) -> Batch:
    """A line of the index table; None takes it out."""
    label = f"index {code} taken out" if factor is None else f"index {code} = {factor}"
    return Batch(label, (SetKey(FILE, ("index", code), factor),))


def take_codes(event: Event, lines: Sequence[ClassLine], edition: str | None, what: str) -> Batch:
    """A table of codes taken in; ``what``: ``classes``, ``index`` or ``both``. ``edition`` None: not said."""
    edits: list[SetKey | ChangeRow] = []
    if what != "index":
        kept = [line if what == "both" else replace(line, factor=None) for line in lines]
        edits += put_classes(event, kept).edits  # type: ignore[arg-type]
    else:
        edits += [SetKey(FILE, ("index", line.code), line.factor) for line in lines if line.factor is not None]
    if edition and what != "classes":
        edits.append(SetKey(FILE, ("index", "edition"), edition))
    return Batch(f"{len(lines)} {'codes' if what == 'index' else 'classes'} taken in", tuple(edits))


def codes_of(settings: Settings) -> tuple[ClassLine, ...]:
    """The classes and the index table of an event as lines to take in elsewhere."""
    factors = settings.index.factors
    return tuple(ClassLine(item.code, factors.get(item.code), item.scored_by, item.name) for item in settings.classes)


def take_event(event: Event, old: Settings, what: str) -> Batch:
    """Classes with the whole index table and its edition, the rules, or ``both`` of an earlier event."""
    edits: list[SetKey | ChangeRow] = []
    if what != "rules":
        edits += take_codes(event, codes_of(old), old.index.edition, "both").edits  # type: ignore[arg-type]
        classed = {item.code for item in old.classes}
        edits += [
            SetKey(FILE, ("index", code), factor) for code, factor in old.index.factors.items() if code not in classed
        ]
    if what != "classes":
        rules = old.rules.model_dump(exclude_unset=True)
        edits += [SetKey(FILE, ("rules", name), value) for name, value in rules.items()]
    return Batch(
        f"{'classes and rules' if what == 'both' else what} of {old.name or 'the earlier event'}", tuple(edits)
    )


# gauges


def put_gauge(settings: Settings, gauge: str, cells: Mapping[str, float]) -> Batch:
    """A gauge added, or its figures changed."""
    at = next((place for place, item in enumerate(settings.gauges) if item.id == gauge), None)
    if at is None:
        edits = [SetKey(FILE, ("gauges", str(len(settings.gauges))), {"id": gauge, **cells})]
    else:
        edits = [SetKey(FILE, ("gauges", str(at), name), value) for name, value in cells.items()]
    return Batch(f"gauge {gauge}", tuple(edits))


def drop_gauge(settings: Settings, gauge: str) -> Batch:
    """The gauge taken out."""
    at = next(place for place, item in enumerate(settings.gauges) if item.id == gauge)
    return Batch(f"gauge {gauge} taken out", (SetKey(FILE, ("gauges", str(at)), None),))
