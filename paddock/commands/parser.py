"""Arguments to a namespace: one parser a verb, errors as one line."""

from __future__ import annotations

from argparse import ArgumentParser, RawDescriptionHelpFormatter
from importlib import import_module
from types import ModuleType
from typing import NoReturn

from paddock.commands.verbs import VERBS
from paddock.errors import UsageError

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
