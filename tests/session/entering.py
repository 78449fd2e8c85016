"""A child that enters runs over a Session and says so after each; a parent that kills it and looks at what is left.

``python -m tests.session.entering kill FOLDER ROUNDS SEED`` kills a forked child ROUNDS times and prints a report;
``python -m tests.session.entering enter FOLDER SEED`` is the child alone, in an interpreter of its own.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, RemoveRow
from paddock.session import Session
from paddock.store.disk import strays

Table = dict[tuple[int, int, str], int]
Op = tuple[str, int, int]
KNOWN = {"event.toml", "entrants.csv", "times.csv", "runs.csv", "notes.csv", "pressures.csv", "checklist.toml"}


class Model:
    """What must be there: runs with their cones (-1: blank), which are logged, and how all that was before."""

    def __init__(self, times: Table) -> None:
        self.times = dict(times)
        self.logged: set[tuple[int, int]] = set()
        self.before: list[tuple[Table, set[tuple[int, int]]]] = []

    def edit(self, op: Op) -> Edit | None:
        """The edit of an operation, None for undo."""
        name, run, cones = op
        cells = {"day": 1, "run": run, "number": "26", "time_ms": 40_000 + run, "cones": cones}
        add = AddRow("times.csv", cells)
        if name == "add":
            return add
        if name == "both":
            log = AddRow("runs.csv", {"day": 1, "run": run, "number": "26", "note": 'said "late", twice\nand left'})
            return Batch(f"log run {run}", (add, log))
        if name == "change":
            return ChangeRow("times.csv", (1, run, "26", None), {"cones": cones})
        return RemoveRow("times.csv", (1, run, "26", None)) if name == "remove" else None

    def apply(self, op: Op) -> None:
        """The operation carried out here."""
        name, run, cones = op
        if name == "undo":
            self.times, self.logged = self.before.pop()
            return
        if name == "change" and self.times[1, run, "26"] == cones:
            return  # nothing to change is no entry
        self.before.append((dict(self.times), set(self.logged)))
        if name == "remove":
            del self.times[1, run, "26"]
        else:
            self.times[1, run, "26"] = cones
        if name == "both":
            self.logged.add((1, run))

    def next(self, chance: random.Random) -> Op:
        """An operation that makes sense now."""
        runs = [run for _, run, number in self.times if number == "26"]
        free = next(run for run in range(1, 999) if run not in runs)
        names = [
            "add",
            "add",
            "both",
            *(["change", "remove"] if len(runs) > 2 else []),
            *(["undo"] if self.before else []),
        ]
        name = chance.choice(names)
        if name == "both" and (1, free) in self.logged:
            name = "add"
        return name, free if name in ("add", "both") else chance.choice(runs or [0]), chance.randint(0, 9)


def found_in(session: Session) -> tuple[Table, set[tuple[int, int]]]:
    """The same of a real folder."""
    times = {(row.day, row.run, row.number): -1 if row.cones is None else row.cones for row in session.event.times}
    logged = {(row.day, row.run) for row in session.event.tables.get("runs.csv", ())}  # type: ignore[attr-defined]
    return times, logged


def enter(session: Session, model: Model, chance: random.Random, out: int) -> None:
    """Enters for ever; a byte on ``out`` after each."""
    while True:
        op = model.next(chance)
        edit = model.edit(op)
        if edit is None:
            session.undo()
        else:
            assert session.apply(edit).ok
        model.apply(op)
        os.write(out, b".")


def _child(folder: Path, model: Model, seed: int, out: int) -> None:
    try:
        enter(Session.open(folder), model, random.Random(seed), out)
    except BaseException as error:
        os.write(out, f"!{error!r}".encode())
    finally:
        os._exit(1)


def _killed(pid: int, ears: int, chance: random.Random) -> bytes:
    """The acknowledgements of a child that is killed a random while after a random one of them."""
    heard, wanted = b"", chance.randint(0, 5)
    while len(heard) < wanted:
        heard += os.read(ears, 1) or b"!"
    select.select([], [], [], chance.uniform(0, 0.008))
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    while more := os.read(ears, 65536):
        heard += more
    return heard


def one_round(folder: Path, model: Model, seed: int) -> str:
    """One child killed; what is wrong afterwards, blank where nothing is. ``model`` then says what is there."""
    ears, mouth = os.pipe()
    pid = os.fork()
    if pid == 0:
        _child(folder, model, seed, mouth)
    os.close(mouth)
    heard = _killed(pid, ears, random.Random(seed + 1_000_000))
    os.close(ears)
    if heard.strip(b"."):
        return heard.decode()
    return looked_at(folder, model, seed, len(heard))


def looked_at(folder: Path, model: Model, seed: int, acknowledged: int) -> str:
    """What is wrong with a folder after that many acknowledged entries of the child ``seed``."""
    chance = random.Random(seed)
    for _ in range(acknowledged):
        model.apply(model.next(chance))
    session = Session.open(folder)
    found = found_in(session)
    if found != (model.times, model.logged):
        model.apply(model.next(chance))
        if found != (model.times, model.logged):
            return f"after {acknowledged} entries: {found}, not {(model.times, model.logged)}"
    left = {path.name for path in folder.iterdir() if path.is_file()} - KNOWN
    faults = [str(problem) for problem in session.event.problems if problem.level == "fault"]
    wrong = [*faults, *map(str, strays(folder)), *left]
    return "; ".join(wrong)


def rounds(folder: Path, count: int, seed: int) -> Iterator[str]:
    """What is wrong after each kill; the folder goes on from one to the next, with its undo history."""
    model = Model(found_in(Session.open(folder))[0])
    for at in range(count):
        if at % 25 == 24:  # all the way back, over all those kills
            session = Session.open(folder)
            while model.before and session.can_undo:
                session.undo()
                model.apply(("undo", 0, 0))
            if found_in(session) != (model.times, model.logged) or model.before:
                yield f"undo to the start: {found_in(session)}"
            (folder / ".paddock" / "journal").unlink()
        yield one_round(folder, model, seed + at)


def main(args: list[str]) -> None:
    """See the top."""
    folder = Path(args[1])
    if args[0] == "kill":
        found = list(rounds(folder, int(args[2]), int(args[3])))
        report: dict[str, Any] = {"rounds": int(args[2]), "wrong": [text for text in found if text]}
        print(json.dumps(report))
    else:
        session = Session.open(folder)
        enter(session, Model(found_in(session)[0]), random.Random(int(args[2])), sys.stdout.fileno())


if __name__ == "__main__":
    main(sys.argv[1:])
