"""``paddock describe``: what the files of a folder hold, for a person or for an editor."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import Any

from paddock.commands.common import Answer
from paddock.model.car import Car
from paddock.model.settings import Settings, TomlModel
from paddock.model.units import FAMILIES, Measured, measured_in

HELP = "Print the description of an event folder, or the JSON Schema of event.toml or of a car file for your editor."
EXAMPLES = (
    "paddock describe folder",
    "paddock describe event > event.schema.json",
    "paddock describe car > car.schema.json",
)


def configure(parser: ArgumentParser) -> None:
    """Which."""
    parser.add_argument("what", choices=("folder", "event", "car"), help="the whole folder, event.toml, cars/*.toml")


def run(args: Namespace) -> Answer:
    """The folder's description as it stands in the docs; a schema as one JSON text."""
    if args.what == "folder":
        from paddock.folders.starting import folder_description

        text = folder_description()
        return Answer({"what": "folder", "text": text, "schema": None}, lambda: text, exact=True)
    import json

    schema: dict[str, Any] = schema_of(args.what)
    return Answer({"what": args.what, "text": None, "schema": schema}, lambda: json.dumps(schema, indent=2), exact=True)


SCHEMAS: dict[str, type[TomlModel]] = {"event": Settings, "car": Car}
_DECIMAL_TEXT = {"type": "string", "pattern": r"^[0-9]+([.,][0-9]+)?$"}
_NUMBER_OR_TEXT = {"anyOf": [{"type": "number"}, _DECIMAL_TEXT]}

_OTHERS = {"psi", "C", "m"}
"""Kept inside in these, and written in others too."""


def schema_of(name: str) -> dict[str, Any]:
    """The schema of ``event`` or ``car``. KeyError: there is no other."""
    model = SCHEMAS[name]
    found = model.model_json_schema()
    classes = {kind.__name__: kind for kind in kinds_of(TomlModel)}
    for title, part in {model.__name__: found, **found.get("$defs", {})}.items():
        _tell(part, classes[title])
    if "IndexTable" in found.get("$defs", {}):  # in the file the codes stand beside the edition
        table = found["$defs"]["IndexTable"]
        table["properties"].pop("factors")
        table["additionalProperties"] = _NUMBER_OR_TEXT
    file = "event.toml" if name == "event" else "cars/<name>.toml"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": file} | {
        key: value for key, value in found.items() if key != "title"
    }


def kinds_of(kind: type[TomlModel]) -> list[type[TomlModel]]:
    """It, and every kind below it."""
    return [kind, *(below for child in kind.__subclasses__() for below in kinds_of(child))]


def _tell(part: dict[str, Any], model: type[TomlModel]) -> None:
    """What the model knows of its fields, put where an editor shows it; other units beside their own."""
    part.pop("title", None)
    part["description"] = " ".join(part.get("description", "").replace("``", "`").split())
    measured = dict(measured_in(model))
    whole: dict[str, Any] = {}
    for name, shape in part.get("properties", {}).items():
        row = measured.get(name)
        whole[name] = _field(shape, row, 1.0, 0.0)
        stem, _, suffix = name.rpartition("_")
        family = next((one for one in FAMILIES.values() if stem and one.units[0].suffix == suffix), None)
        if family is None or row is None or row.unit not in _OTHERS:
            continue
        for unit in family.units[1:]:
            whole[f"{stem}_{unit.suffix}"] = _field(shape, row, unit.factor, unit.shift) | {
                "description": f"{row.label} in {unit.label}, instead of {name}."
            }
    if whole:
        part["properties"] = whole


def _field(shape: dict[str, Any], row: Measured | None, factor: float, shift: float) -> dict[str, Any]:
    made = {key: value for key, value in shape.items() if key not in {"title", "anyOf", "default"}}
    kinds = [kind for kind in shape.get("anyOf", ()) if kind.get("type") != "null"]
    if any(kind.get("type") == "number" for kind in kinds):  # a decimal may be written as text
        kinds = [_DECIMAL_TEXT if kind.get("type") == "string" and "const" not in kind else kind for kind in kinds]
    if row is not None:
        kinds = [_bounded(kind, row, factor, shift) for kind in kinds]
        made = _bounded(made, row, factor, shift)
        unit = f" ({row.unit})" if row.unit else ""
        told = (f"{row.label}{unit}.", row.meaning, row.how, f"Without it: {row.without}" if row.without else "")
        made["description"] = " ".join(filter(None, told))
    if len(kinds) == 1:
        made |= kinds[0]
    elif kinds:
        made["anyOf"] = kinds
    if shape.get("default") not in (None, []) and not isinstance(shape.get("default"), dict) and factor == 1.0:
        made["default"] = shape["default"]
    return made


def _bounded(kind: dict[str, Any], row: Measured, factor: float, shift: float) -> dict[str, Any]:
    """A number between its bounds, in the unit of the key; a list item by item, any other kind as it is."""
    if kind.get("type") == "array" and "items" in kind:
        return kind | {"items": _bounded(kind["items"], row, factor, shift)}
    if kind.get("type") not in {"number", "integer"}:
        return kind
    low = {} if row.low is None else {"minimum": round(row.low / factor - shift, 3)}
    high = {} if row.high is None else {"maximum": round(row.high / factor - shift, 3)}
    return kind | low | high
