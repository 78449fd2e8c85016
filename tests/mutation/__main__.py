"""``python -m tests.mutation [ROOM ...] [--seed N] [--each N]``: put faults into the engine and count the ones caught."""

from __future__ import annotations

import argparse
import os
import random
import re
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.mutants import Mutant, count, described, made
from tests.mutation.rooms import ROOMS, Room
from tests.mutation.trial import Outcome, copy_of, trial, warm_up, with_fault

ROOT = Path(__file__).parent.parent.parent
WRONG_TREE = 77


@dataclass(frozen=True)
class Tally:
    """What became of one room's faults."""

    room: str
    possible: int
    tried: int
    caught: int
    by_limit: int
    wall_s: float

    def line(self) -> str:
        """A row of the table."""
        share = 100 * self.caught / self.tried if self.tried else 0.0
        cells = (
            self.room,
            self.possible,
            self.tried,
            self.caught,
            f"{share:.0f} %",
            self.by_limit,
            f"{self.wall_s:.0f} s",
        )
        return "| " + " | ".join(str(cell) for cell in cells) + " |"


def asked(words: list[str] | None = None) -> argparse.Namespace:
    """What was asked for on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("rooms", nargs="*", metavar="ROOM", help=", ".join(ROOMS))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", type=int, default=35, help="faults a room")
    parser.add_argument("--only", default="", metavar="FILE", help="only faults in files whose path begins so")
    parser.add_argument("--again", type=Path, metavar="LOG", help="only the faults a former run printed as SURVIVED")
    found = parser.parse_args(words)
    unknown = set(found.rooms) - set(ROOMS)
    if unknown:
        parser.error(f"no room {', '.join(sorted(unknown))}; rooms: {', '.join(ROOMS)}")
    return found


def drawn(room: Room, root: Path, seed: int, each: int, only: str = "") -> tuple[list[tuple[str, Mutant]], int]:
    """A seeded sample of the room's faults with their files, in order of place, and how many could be made."""
    texts = {file: (root / file).read_text("utf-8") for file in room.files(root)}
    every = [(file, number) for file in texts for number in range(count(texts[file])) if file.startswith(only)]
    order = random.Random(f"{seed} {room.name}").sample(every, len(every))
    found: dict[tuple[str, int], Mutant] = {}
    for file, number in order:
        if len(found) == each:
            break
        if mutant := made(texts[file], number):
            found[file, number] = mutant
    return [(file, found[file, number]) for file, number in sorted(found)], len(every)


_SURVIVED = re.compile(r"^SURVIVED (\S+):(\d+)  (.*)  \(no test failed\)$", re.MULTILINE)


def survivors(room: Room, root: Path, log: str) -> tuple[list[tuple[str, Mutant]], int]:
    """The faults of a room that a printed run has as ``SURVIVED``; where lines have moved, the nearest alike."""
    found: list[tuple[str, Mutant]] = []
    texts = {file: (root / file).read_text("utf-8") for file in room.files(root)}
    for file, line, words in _SURVIVED.findall(log):
        alike = [(at, number) for number, (at, change) in enumerate(described(texts.get(file, ""))) if change == words]
        nearest = min((abs(at - int(line)) for at, _ in alike), default=0)
        numbers = [number for at, number in alike if abs(at - int(line)) == nearest]
        found += [(file, mutant) for number in numbers if (mutant := made(texts[file], number))]
    return found, len(found)


def try_room(room: Room, copy: Path, wanted: argparse.Namespace) -> Tally:
    """Try a room's faults one after another, a line each."""
    started = time.monotonic()
    if wanted.again is None:
        faults, possible = drawn(room, copy, wanted.seed, wanted.each, wanted.only)
    else:
        faults, possible = survivors(room, copy, wanted.again.read_text("utf-8"))
    log = copy.parent / "log"
    sound = trial(copy, room.tests_for(copy, ""), log)
    if sound.code:
        raise SystemExit(f"{room.name}: its tests fail without any fault:\n{log.read_text('utf-8')[-3000:]}")
    limits = (int(3 * sound.cpu_s) + 20, int(20 * sound.wall_s) + 120)
    outcomes: list[Outcome] = []
    for file, mutant in faults:
        outcome = with_fault(copy, file, mutant.source, room.tests_for(copy, file), limits, log)
        if outcome.code == WRONG_TREE:
            raise SystemExit("the tests ran on another tree than the copy")
        outcomes.append(outcome)
        word = "limit   " if outcome.by_limit else "caught  " if outcome.caught else "SURVIVED"
        print(
            f"{word} {file}:{mutant.line}  {mutant.change}  ({_how(log) if outcome.caught else 'no test failed'})",
            flush=True,
        )
    caught = sum(outcome.caught for outcome in outcomes)
    limited = sum(outcome.by_limit for outcome in outcomes)
    return Tally(room.name, possible, len(faults), caught, limited, time.monotonic() - started)


def _how(log: Path) -> str:
    lines = log.read_text("utf-8", errors="replace").splitlines()
    said = [line for line in lines if line.startswith(("FAILED", "ERROR"))]
    return said[0].split(" - ")[0].removeprefix("FAILED ").removeprefix("ERROR ") if said else "ended early"


def main(words: list[str] | None = None) -> int:
    """Try the rooms asked for, or all; 0 when at least nine in ten faults of each were caught."""
    wanted = asked(words)
    os.nice(10)
    warm_up()
    tallies = []
    for name in wanted.rooms or list(ROOMS):
        with tempfile.TemporaryDirectory() as place:
            tallies.append(try_room(ROOMS[name], copy_of(ROOT, Path(place)), wanted))
    print(
        "\n| Room | Faults possible | Tried | Caught | Share | By the time limit | Took |\n|---|---|---|---|---|---|---|"
    )
    print("\n".join(tally.line() for tally in tallies))
    return 0 if all(10 * tally.caught >= 9 * tally.tried for tally in tallies) else 1


if __name__ == "__main__":
    sys.exit(main())
