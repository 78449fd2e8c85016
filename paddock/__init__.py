"""paddock: run a cone-course season from a terminal and a folder of plain files.

In Python, ``answer`` gives what the command line's ``--json`` prints::

    from paddock import answer
    answer("gap", "some_event", "--number", "58")["class"]["need_raw_ms"]
"""

from __future__ import annotations

__all__ = ["__version__", "answer"]

__version__ = "0.1.0"


def answer(verb: str, *args: object) -> dict[str, object]:
    """The mapping that ``paddock VERB ARGS --json`` prints: see ``docs/json.md`` for its keys and units.

    ``args``: the folder first where the verb wants one, then flags and values; each is taken as its ``str``. Raises
    the exceptions of ``paddock.errors`` (``UsageError``, ``FolderError`` ...); prints and asks nothing.
    """
    from paddock.commands.ask import mapping

    return mapping(verb, [str(arg) for arg in args])
