"""``paddock describe``: what the files of a folder hold, for a person or for an editor."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import Any

from paddock.commands.answer import Answer

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

    from paddock.model.schema import schema_of

    schema: dict[str, Any] = schema_of(args.what)
    return Answer({"what": args.what, "text": None, "schema": schema}, lambda: json.dumps(schema, indent=2), exact=True)
