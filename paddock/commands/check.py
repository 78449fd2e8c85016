"""``paddock check``: every fault in a folder, with its mend."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace

from paddock.clean import clean
from paddock.commands.common import Answer, add_folder
from paddock.errors import Problem
from paddock.words import plural

HELP = "Read every file of an event folder and say what is wrong, where, and how to mend it."
EXAMPLES = ("paddock check example_event", "paddock check example_event --json")


def configure(parser: ArgumentParser) -> None:
    """The folder."""
    add_folder(parser)


def _summary(problems: tuple[Problem, ...]) -> str:
    faults = sum(problem.level == "fault" for problem in problems)
    warnings = len(problems) - faults
    if not problems:
        return "no fault found"
    return f"{plural(faults, 'fault')}, {plural(warnings, 'warning')}"


def run(args: Namespace) -> Answer:
    """Findings in order of file and line; exit code 1 where one is a fault."""
    from paddock.folders.merging import half_synced
    from paddock.session.loading import check

    problems = tuple(sorted((*check(args.folder), *half_synced(args.folder))))

    def text() -> str:
        lines = [clean(str(item)) for item in problems]
        return "\n".join([*lines, *([_summary(problems)] if sys.stdout.isatty() or not lines else [])])

    code = int(any(item.level == "fault" for item in problems))
    return Answer({"problems": problems}, text, code, exact=not sys.stdout.isatty())
