"""The keys of ``docs/json.md``, verb by verb, out of the types of the answers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import MISSING, fields
from typing import Any, get_args, get_type_hints

from paddock.commands.says import type_of
from paddock.commands.says.shape import inner

UNITS = {
    "_ms": "ms", "_s": "s", "_min": "min", "_c": "°C", "_psi": "psi", "_mm": "mm", "_m": "m", "_g": "g", "_kmh": "km/h",
    "_rpm": "1/min", "_rpm_per_s": "1/min a second", "_pct": "%", "_n": "N", "_n_mm": "N/mm", "_nm_per_rad": "N·m/rad",
    "_rad": "rad", "_mm_per_run": "mm a run",
}  # fmt: skip
"""The unit a key's ending means; the longest ending that fits."""


def unit_of(key: str) -> str:
    """The unit of a key, "" where its ending is none."""
    plain = re.sub(r"^.*\.", "", key).removesuffix("[]")
    plain = {"minutes_left": "x_min", "interval80_ms": "x_ms", "hz": "hz"}.get(plain, plain)
    if plain == "hz":
        return "1/s"
    ending = max((end for end in UNITS if plain.endswith(end) and plain != end[1:]), key=len, default="")
    return UNITS.get(ending, "")


def described(shape: type, path: str = "", seen: dict[type, str] | None = None) -> Iterator[tuple[str, str, bool]]:
    """Each key by its path, its words, and whether it may be left out. One shape is described where it first stands."""
    seen = {} if seen is None else seen
    hints, plain = get_type_hints(shape, include_extras=True), get_type_hints(shape)
    for item in fields(shape):
        key = f"{path}{item.name.rstrip('_')}"
        words = f"{get_args(hints[item.name])[1]}"
        inside, many = inner(plain[item.name])
        if inside is not None and inside in seen:
            words = f"{words}; the keys of `{seen[inside]}`"
        yield key, words, item.default is not MISSING
        if inside is not None and inside not in seen:
            seen[inside] = key
            yield from described(inside, f"{key}[]." if many else f"{key}.", seen)


def keys_table(verb: str) -> str:
    """The table of a verb: keys that mean the same stand in one row."""
    rows: list[tuple[list[str], str, str]] = []
    for key, words, optional in described(type_of(verb)):
        told, unit = f"{words}{' (not always there)' if optional else ''}", unit_of(key)
        if rows and rows[-1][1:] == (told, unit):
            rows[-1][0].append(f"`{key}`")
        else:
            rows.append(([f"`{key}`"], told, unit))
    lines = [f"| {', '.join(keys)} | {unit} | {words} |" for keys, words, unit in rows]
    return "\n".join(["| key | unit | |", "|---|---|---|", *lines])


def paths(value: Any, path: str = "") -> Iterator[str]:
    """Every path of a JSON value, lists as ``[]``."""
    if isinstance(value, dict):
        for key, inside in value.items():
            yield f"{path}{key}"
            yield from paths(inside, f"{path}{key}.")
    elif isinstance(value, list):
        for inside in value:
            yield from paths(inside, f"{path[:-1]}[].")
