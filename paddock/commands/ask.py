"""A verb asked: words to arguments, arguments to an answer. The doorway prints it, ``paddock.answer`` hands it on."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from paddock.clean import clean_json
from paddock.commands.answer import Answer, plain
from paddock.commands.parser import module_of, parser_of
from paddock.commands.verbs import VERBS
from paddock.errors import UsageError, missing

FORMAT = 1
"""Number of the JSON's shape: it changes when a key changes its meaning or goes."""


def ask(verb: str, words: Sequence[str]) -> Answer:
    """What a verb answers to the words after it. Raises PaddockError; SystemExit where it printed its help."""
    if verb not in VERBS:
        raise UsageError(f"{verb!r} is no verb (see: paddock --help)")
    try:
        args = parser_of(verb).parse_intermixed_args(list(words))
        _here(args)
        return module_of(verb).run(args)  # type: ignore[no-any-return]
    except ModuleNotFoundError as error:
        raise missing(error) or error from error


def as_json(verb: str, answer: Answer) -> str:
    """One JSON object in the shape of the verb's own type, the number of the shape first."""
    from paddock.commands.says import said

    whole = {"format": FORMAT, **plain(said(verb, answer.data))}
    return clean_json(json.dumps(whole, ensure_ascii=False, allow_nan=False))


def mapping(verb: str, words: Sequence[str]) -> dict[str, Any]:
    """What ``--json`` prints, as Python has it after reading. Raises PaddockError; prints and asks nothing."""
    if {"-h", "--help"} & set(words):
        raise UsageError("an answer has no help: see docs/json.md")
    found: dict[str, Any] = json.loads(
        as_json(verb, ask(verb, [*(word for word in words if word != "--json"), "--json"]))
    )
    return found


def _here(args: Namespace) -> None:
    """The current folder where FOLDER was left out and it is an event."""
    if getattr(args, "folder_or_here", False) and args.folder is None:
        if not Path("event.toml").is_file():
            raise UsageError("FOLDER is wanted: the current folder is no event (it has no event.toml)")
        args.folder = Path(".")
