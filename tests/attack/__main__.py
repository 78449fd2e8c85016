"""``python -m tests.attack --seed S --count N``: as many spoilt folders; exit 1 where one was not borne."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import warnings
from pathlib import Path

from tests.attack.trial import READING, trial
from tests.store.folders import small_folder


def _main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.attack")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--case", type=int, help="one case alone")
    parser.add_argument("--verbs", type=int, default=len(READING), help="reading verbs asked of each folder")
    args = parser.parse_args()
    warnings.simplefilter("error")
    example = Path(__file__).parents[2] / "example_event"
    cases = [args.case] if args.case is not None else range(args.count)
    wrong = 0
    with tempfile.TemporaryDirectory() as own:
        os.environ |= {f"XDG_{kind}_HOME": own for kind in ("STATE", "DATA", "CONFIG", "CACHE")}
        for number in cases:
            with tempfile.TemporaryDirectory() as place:
                event = example if number % 4 == 0 else small_folder(Path(place) / "sound")
                found = trial(args.seed, number, event, Path(place), args.verbs)
            wrong += bool(found)
            print(*found, sep="\n", end="\n" if found else "", flush=True)
    print(f"{len(cases)} spoilt folders, {wrong} not borne")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(_main())
