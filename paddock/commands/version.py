"""``paddock version``."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from paddock import __version__
from paddock.commands.common import Answer

HELP = "Say which version this is."
EXAMPLES = ("paddock version", "paddock version --json")


def configure(_parser: ArgumentParser) -> None:
    """No arguments."""


def run(_args: Namespace) -> Answer:
    """The version."""
    return Answer({"version": __version__}, lambda: f"paddock {__version__}")
