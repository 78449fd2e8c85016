"""What is typed about a tyre: a value of its line in ``tyres.csv``, the names of new ones."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Any

from paddock.engine.tyres.inventory import code_question
from paddock.entry.said import shown
from paddock.model.columns import spec_of
from paddock.model.rows import TyreRow
from paddock.model.tyre_values import VALUES
from paddock.model.units import FAMILIES, out_of_bounds

_NUMBER = re.compile(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(\D*)", re.ASCII)
_BEHIND = {"/32": "32nds", "/32in": "32nds", "32nds": "32nds"}
_NAME = re.compile(r"[^\s,;\"]{1,24}")
_MOST = 24


def read_tyre_value(field: str, text: str, unit: str = "", today: date | None = None) -> Any:
    """A value of ``TyreRow`` in the unit kept inside; None: ``-``, taken out. ``unit``: of a number without one behind.

    ``today``: a date code may not be after it. ValueError's sentence on what can't be.
    """
    text = text.strip()
    if text == "-":
        return None
    column = spec_of(TyreRow.FILE).column(field)
    value = column.kind.read(text) if column.family is None else _measured(field, text, unit)
    wrong = column.measured and out_of_bounds(column.measured, field, value)
    if wrong:
        raise ValueError(wrong)
    question = code_question(text, today) if field == "date_code" else None
    if question:
        raise ValueError(question)
    if isinstance(value, str) and (len(value) > 60 or not value.isprintable()):
        raise ValueError(f"{shown(text)!r} is too long, or holds a sign that can't be printed")
    return value


def _measured(field: str, text: str, unit: str) -> float:
    """A pressure or a depth; its unit may stand behind it."""
    column = spec_of(TyreRow.FILE).column(field)
    assert column.family is not None
    found = _NUMBER.fullmatch(text)
    said = found[2].strip().lower() if found else ""
    known = column.family.by_suffix(_BEHIND.get(said, said) or unit or column.family.units[0].suffix)
    if found is None or known is None:
        units = ", ".join(item.suffix for item in FAMILIES[column.family.name].units)
        raise ValueError(f"{shown(text)!r}: type a number, with {units} behind it where that is meant")
    return round(known.inward(float(found[1].replace(",", "."))), 6)


def read_tyre_name(text: str, known: Iterable[str]) -> str:
    """One name that is not taken. ValueError's sentence."""
    text = text.strip()
    if _NAME.fullmatch(text) is None or not text.isprintable() or text == "-":
        raise ValueError(f"{shown(text)!r} is no name: up to 24 letters or digits without a space")
    if text.casefold() in {name.casefold() for name in known}:
        raise ValueError(f"there is a tyre {text} already: another name, or take it in hand on the tyres page")
    return text


def read_new_names(text: str, known: Iterable[str]) -> tuple[str, ...]:
    """``F1 F2 R1 R2``: as many new tyres. ValueError's sentence."""
    known = tuple(known)
    names = tuple(read_tyre_name(word, known) for word in re.split(r"[\s,;]+", text.strip()) if word)
    if not names or len(names) > _MOST:
        raise ValueError("type a name for each tyre, like F1 F2 R1 R2")
    if len({name.casefold() for name in names}) < len(names):
        raise ValueError(f"{shown(text)!r}: each tyre needs a name of its own")
    return names


def tyre_value_text(field: str, value: Any, unit: str = "") -> str:
    """A value as it is typed; blank for None."""
    if value is None:
        return ""
    column = spec_of(TyreRow.FILE).column(field)
    if column.family is None:
        return column.kind.write(value)
    known = column.family.by_suffix(unit)
    return f"{known.outward(value) if known else value:.6g}"


def label_of_value(field: str) -> str:
    """What the value is called."""
    return VALUES[field].label.lower()
