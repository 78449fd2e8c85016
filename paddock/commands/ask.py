"""A verb asked: words to arguments, arguments to an answer. The doorway prints it, ``paddock.answer`` hands it on."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace, RawDescriptionHelpFormatter
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

from paddock.clean import clean_json
from paddock.commands.common import Answer, plain
from paddock.commands.verbs import VERBS
from paddock.errors import UsageError, missing

_OPENING = """\
usage: paddock [FOLDER]              the screens, on an event folder
       paddock VERB ... [--json]     one answer, as a table or as JSON

"""
_CLOSING = """
paddock VERB --help shows what a verb takes, with examples.
--log FILE, anywhere on the line, keeps a record of what the program does; without it nothing is kept.
Exit codes: 0 answered, 1 check found faults, 2 wrong use, 3 the folder can't be read or written,
            70 a fault in the program itself, 130 stopped with Ctrl+C.
Environment: COLUMNS (width of texts), NO_COLOR, PADDOCK_PLAIN=1 (score without polars),
             PADDOCK_PASSPHRASE (of serve), XDG_CONFIG_HOME, XDG_STATE_HOME, XDG_DATA_HOME (your own folders).
"""


class Parser(ArgumentParser):
    """An argument parser that raises instead of leaving."""

    def error(self, message: str) -> NoReturn:
        """One line, with where to look."""
        raise UsageError(f"{message} (see: {self.prog} --help)")


def module_of(verb: str) -> ModuleType:
    """The module of a verb."""
    return import_module(f"paddock.commands.{VERBS[verb][0]}")


def fill(parser: ArgumentParser, verb: str) -> None:
    """The arguments of a verb and the ones all have."""
    module = module_of(verb)
    module.configure(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object instead of a table")


def parser_of(verb: str) -> Parser:
    """The parser of one verb."""
    module = module_of(verb)
    examples = "\n".join(f"  {line}" for line in module.EXAMPLES)
    parser = Parser(
        prog=f"paddock {verb}",
        description=module.HELP,
        epilog=f"examples:\n{examples}",
        formatter_class=RawDescriptionHelpFormatter,
    )
    fill(parser, verb)
    return parser


def overview() -> str:
    """The help of the program itself."""
    width = max(map(len, VERBS))
    lines = [f"  {verb:{width}}  {words}" for verb, (_, words) in VERBS.items()]
    return _OPENING + "\n".join(lines) + "\n" + _CLOSING


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
