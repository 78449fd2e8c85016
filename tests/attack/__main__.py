"""``python -m tests.attack kills|faults|cases|rooms|inputs|endure --seed S --count N``; exit 1 where something was not borne.

``kills``: programs killed at random moments. ``faults``: each system call of a save failing in turn. ``cases``: one spoilt
file and one command each, in milliseconds. ``rooms``: the screens on a spoilt folder. ``inputs``: spoilt folders put to
every verb. ``endure``: a folder that changes without rest. ``docs/reliability.md`` says what they found.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
import warnings
from collections.abc import Iterable
from pathlib import Path

KINDS = ("kills", "faults", "cases", "rooms", "inputs", "endure")


def _main(words: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.attack", description=__doc__)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--only", default="", help="kills, faults, endure: of this alone")
    parser.add_argument("--case", type=int, help="cases, inputs: one case alone, made smaller while it still fails")
    parser.add_argument("--in-turn", action="store_true", help="faults: each call with each error, whatever the count")
    parser.add_argument("--begin", type=int, default=0, help="cases: the number of the first")
    parser.add_argument("--verbs", type=int, default=99, help="inputs: reading verbs asked of each folder")
    args = parser.parse_args(words)
    warnings.simplefilter("error")
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "POLARS_MAX_THREADS"):
        os.environ[name] = "1"  # a process that is forked has no threads
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as own:
        os.environ |= {f"XDG_{kind}_HOME": own for kind in ("STATE", "DATA", "CONFIG", "CACHE")}
        told, wrong = _told(args, Path(own))
    print(f"{args.kind}, seed {args.seed}: {told}; not borne: {wrong}; {time.monotonic() - begun:.0f} s")
    return 1 if wrong else 0


def _told(args: argparse.Namespace, own: Path) -> tuple[str, int]:
    """What was done, in words, and how many times it went wrong; each wrong is printed as it is found."""
    if args.kind == "inputs":
        from tests.attack.trial import inputs

        return inputs(args.seed, range(args.count) if args.case is None else [args.case], args.verbs)
    if args.kind == "cases":
        from tests.attack.many import many, one

        return many(args.seed, args.count, args.begin) if args.case is None else one(args.seed, args.case)
    if args.kind == "endure":
        from tests.attack.endure import endure

        return endure(args.seed, args.count, args.only, own)
    found: Iterable[tuple[str, list[str]]]
    if args.kind == "kills":
        from tests.attack.kills import kills

        found = kills(args.seed, args.count, args.only)
    elif args.kind == "rooms":
        from tests.attack.rooms import rooms

        found = rooms(args.seed, args.count)
    else:
        from tests.attack.faults import faults

        found = faults(args.seed, args.count, args.only, args.in_turn)
    counts: dict[str, int] = {}
    wrong = 0
    for name, said in found:
        counts[name] = counts.get(name, 0) + 1
        wrong += bool(said)
        for line in said:
            print(f"{name}, number {counts[name]}: {line}", flush=True)
        if sum(counts.values()) % 100 == 0:
            print(f"{sum(counts.values())} so far, not borne: {wrong}", flush=True)
    each = ", ".join(f"{count} {name}" for name, count in counts.items())
    return f"{sum(counts.values())} {args.kind} ({each})", wrong


if __name__ == "__main__":
    sys.exit(_main(sys.argv[1:]))
