"""``paddock completion``: a completion script for a shell."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from paddock.commands.answer import Answer

HELP = "Print a completion script for your shell."
EXAMPLES = (
    "paddock completion bash > ~/.local/share/bash-completion/completions/paddock",
    "paddock completion zsh > ~/.zfunc/_paddock",
)


def configure(parser: ArgumentParser) -> None:
    """Which shell."""
    parser.add_argument("shell", choices=("bash", "zsh", "tcsh"))


def _whole_parser() -> ArgumentParser:
    from paddock.commands.parser import fill
    from paddock.commands.verbs import VERBS

    parser = ArgumentParser(prog="paddock")
    subparsers = parser.add_subparsers()
    for verb, (_, words) in VERBS.items():
        fill(subparsers.add_parser(verb, help=words), verb)
    return parser


def run(args: Namespace) -> Answer:
    """The script."""
    import shtab

    script = shtab.complete(_whole_parser(), shell=args.shell)
    return Answer({"shell": args.shell, "script": script}, lambda: script, exact=True)
