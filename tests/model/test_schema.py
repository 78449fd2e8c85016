"""The schemas for editors say what the reader says: the same keys, the same bounds, and the examples fit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from paddock import answer
from paddock.commands.describe import schema_of
from paddock.model.units import measured_in
from paddock.store.aside import template

ROOT = Path(__file__).parents[2]
TYPES: dict[str, Any] = {
    "object": dict, "array": list, "string": (str, date), "integer": int, "number": (int, float), "boolean": bool,
}  # fmt: skip


def wrong(value: Any, shape: dict[str, Any], whole: dict[str, Any], place: str = "") -> Iterator[str]:
    """What a validator would mark: the words of JSON Schema 2020-12 that these schemas use; unknown keys too."""
    if "$ref" in shape:
        shape = whole["$defs"][shape["$ref"].rpartition("/")[2]]
    if "anyOf" in shape and all(list(wrong(value, one, whole)) for one in shape["anyOf"]):
        yield f"{place}: none of the kinds"
    kind = shape.get("type")
    if kind and (not isinstance(value, TYPES[kind]) or (kind != "boolean" and isinstance(value, bool))):
        yield f"{place}: {value!r} is no {kind}"
        return
    yield from (f"{place}: {value!r} is {why}" for why, bad in simple(value, shape) if bad)
    if isinstance(value, dict) and "anyOf" not in shape:
        yield from (f"{place}.{key}: missing" for key in shape.get("required", ()) if key not in value)
        for key, inside in value.items():
            below = shape.get("properties", {}).get(key, shape.get("additionalProperties"))
            yield from [f"{place}.{key}: unknown"] if below is None else wrong(inside, below, whole, f"{place}.{key}")
    if isinstance(value, list):
        for item in value:
            yield from wrong(item, shape.get("items", {}), whole, f"{place}[]")


def simple(value: Any, shape: dict[str, Any]) -> Iterator[tuple[str, bool]]:
    yield "not one of them", value not in shape.get("enum", [value]) or value != shape.get("const", value)
    if "minimum" in shape:
        yield "out of bounds", value < shape["minimum"]
    if "maximum" in shape:
        yield "out of bounds", value > shape["maximum"]
    if "pattern" in shape:
        yield "of another pattern", not re.search(shape["pattern"], value)


def marked(name: str, text: str) -> list[str]:
    whole = schema_of(name)
    return list(wrong(tomllib.loads(text), whole, whole))


def test_the_examples_and_a_new_event_fit() -> None:
    example = ROOT / "example_event"
    assert marked("event", (example / "event.toml").read_text(encoding="utf-8")) == []
    for path in sorted((example / "cars").glob("*.toml")):
        assert marked("car", path.read_text(encoding="utf-8")) == [], path.name
    assert marked("event", template("One", [date(2026, 5, 9)], ["7"], "abc", {})) == []


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("event", "altitude_m = 90000", "out of bounds"), ("event", "altitude_ft = 30000", "out of bounds"),
        ("event", "[rules]\nties = 'coin'", "not one of"), ("event", "[rules]\nmiss = 'never'", "none of the kinds"),
        ("event", "[[classes]]\nname = 'x'", "missing"), ("event", "[rules]\ncone = 1", "unknown"),
        ("event", "[index]\nASH = true", "none of the kinds"), ("car", "drive = 'both'", "not one of"),
        ("car", "[targets.dry]\nfront_psi = 240", "out of bounds"), ("car", "[targets.dry]\nfront_bar = 2.4", ""),
        ("car", "[targets.dry]\nfront_bar = 24.0", "out of bounds"), ("car", "[front]\ntrack_mm = 15", "out of bounds"),
        ("car", "[front.bar]\nmr = [0.6, 0.7]", ""), ("event", "[index]\nASH = '0,951'", ""),
        ("event", "[rules]\ncount = { best_of_first = 3 }", ""),
    ],
)  # fmt: skip
def test_an_editor_marks(name: str, text: str, says: str) -> None:
    found = marked(name, text)
    assert (says in " ".join(found)) if says else found == []


@pytest.mark.parametrize("name", ["event", "car"])
def test_every_measured_value_is_described_with_its_bounds(name: str) -> None:
    from paddock.commands.describe import SCHEMAS, kinds_of
    from paddock.model.settings import TomlModel

    whole = schema_of(name)
    kinds = {kind.__name__: kind for kind in kinds_of(TomlModel)}
    for title, part in {SCHEMAS[name].__name__: whole, **whole["$defs"]}.items():
        for field, row in measured_in(kinds[title]):
            shape = part["properties"][field]
            assert row.label in shape["description"], field
            assert row.how in shape["description"], field
            if shape.get("type") == "number":
                assert (shape.get("minimum"), shape.get("maximum")) == (row.low, row.high), field


def test_the_command_prints_them_and_the_folders_description() -> None:
    assert answer("describe", "car")["schema"] == schema_of("car")
    assert answer("describe", "folder")["text"] == (ROOT / "docs" / "event-folder.md").read_text(encoding="utf-8")
