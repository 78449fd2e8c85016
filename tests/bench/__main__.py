"""Every budget beside its floor or its peers, in one run and one table.

    python -m tests.bench [--quick] [--processor] [--only WORD ...]

``--quick``: few rounds and small sizes, to see that it runs. ``--only``: the parts so named (``start``, ``save``,
``tables``, ``answers``, ``commands``, ``growth``, ``browser``). Medians; the rounds of a thing and its floor take turns.
``--processor``: tables and growth in processor time, where other work takes the machine away for ten times as long as
they last.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from time import process_time

from tests.bench.parts import PARTS, Size
from tests.bench.report import Figure, drawn, machine, table
from tests.bench.starting import compiled


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--processor", action="store_true")
    parser.add_argument("--only", nargs="+", choices=list(PARTS), default=list(PARTS))
    args = parser.parse_args()
    compiled()
    print(machine(), flush=True)
    size = Size.quick() if args.quick else Size()
    size = replace(size, clock=process_time) if args.processor else size
    figures: list[Figure] = []
    for name in args.only:
        for figure in PARTS[name](size):
            figures.append(figure)
            print(f"{name:9} {' | '.join(cell for cell in figure.cells() if cell)}", file=sys.stderr, flush=True)
    print(table(figures))
    print(drawn(figures))
    print(machine())
    missed = [figure.what.strip() for figure in figures if figure.met is False]
    print(f"bars met: {sum(figure.met is True for figure in figures)}; missed: {'; '.join(missed) or 'none'}")


if __name__ == "__main__":
    main()
