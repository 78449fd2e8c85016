"""Cases by the hundred thousand: a forked worker does them one after another, its parent watches it from outside."""

from __future__ import annotations

import json
import mmap
import os
import resource
import select
import signal
import struct
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from random import Random

from paddock.store import folder
from tests.attack.asking import HANG_S, MOST_KB
from tests.attack.cases import VERBS, Case, Place, drawn
from tests.attack.kills import MEMORY, in_child, read_once

LASTS = 5000
"""Cases a worker does before another takes its place, so that what one leaves behind can't hide in the next."""
SOUND = 500
"""Files as read that a worker keeps, as an open event keeps its own: most of a case's files are those of the case before."""
WAITS_S = 60
"""Seconds of the clock after which a case that waits for something, and works on nothing, is ended from outside."""


def many(seed: int, count: int, begin: int = 0) -> tuple[str, int]:
    """So many cases, and what they were in words; how many were not borne. Each of those is printed with its number."""
    _read()
    wrong, asked, began = 0, Counter[str](), time.monotonic()
    at = begin
    while at < begin + count:
        with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
            worker = _Worker(seed, range(at, min(at + LASTS, begin + count)), Path(own))
            for number, said in worker.watched():
                wrong += 1
                print(f"seed {seed} case {number}: {said}", flush=True)
            at, asked = worker.next, asked + worker.asked()
        if count > LASTS:
            print(f"{at - begin} so far, not borne: {wrong}, {time.monotonic() - began:.0f} s", flush=True)
    told = ", ".join(f"{many} {verb}" for verb, many in sorted(asked.items()))
    return f"{sum(asked.values())} cases ({told})", wrong


def one(seed: int, number: int) -> tuple[str, int]:
    """One case again, in a process of its own; where it fails, also as small as it still fails."""
    _read()
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
        said = in_child(lambda: _again(seed, number, Path(own)))
    print(*said, sep="\n", flush=True)
    return "1 case", len(said) > 1


def _again(seed: int, number: int, own: Path) -> list[str]:
    places = _places(own)
    case, undone = _case(seed, number, places)
    place = places[case.base]
    told = [f"case {number}: {_told(case)}"]
    if wrong := place.wrong(case, undone):
        small = smallest(case, lambda less: bool(place.wrong(less, undone)))
        told += [*wrong, f"smallest: {small!r}"[:20_000]]
    return told


def _places(own: Path) -> dict[str, Place]:
    return {base: Place(own / base, base) for base in ("little", "whole") if not (own / base).mkdir()}  # type: ignore[func-returns-value]


def _case(seed: int, number: int, places: dict[str, Place]) -> tuple[Case, bool]:
    random = Random(f"{seed}-{number}")
    return drawn(random, places), random.random() < 0.3


def _told(case: Case) -> str:
    return (
        f"{' '.join(case.words)} on {case.base}, spoilt: {', '.join(name for name, _ in case.spoilt) or 'the words'}"[
            :300
        ]
    )


class _Worker:
    """A child that does the cases of ``numbers``; ``next``: the first that is still to do."""

    def __init__(self, seed: int, numbers: range, own: Path) -> None:
        self.numbers, self.next = numbers, numbers.start
        self._board = mmap.mmap(-1, 16 + 8 * len(VERBS))
        self._board[:8] = struct.pack("q", numbers.start)
        ears, mouth = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(ears)
            self._work(seed, own, mouth)
        os.close(mouth)
        self._ears = os.fdopen(ears, "rb")

    def asked(self) -> Counter[str]:
        """How many cases of each verb were done."""
        counts = struct.unpack_from(f"{len(VERBS)}q", self._board, 16)
        found = Counter[str]()
        for verb, count in zip(VERBS, counts, strict=True):
            found[verb.words.split()[0]] += count
        return found

    def watched(self) -> Iterator[tuple[int, str]]:
        """The cases that failed, until all are done or one has ended the worker."""
        how, at, worked, since = "", -1, 0.0, time.monotonic()
        while not how:
            if select.select([self._ears], [], [], 1.0)[0]:
                line = self._ears.readline()
                if not line:
                    break
                yield tuple(json.loads(line))
            now, state, has_worked = struct.unpack_from("q", self._board)[0], *_of(self.pid)
            if now != at:
                at, worked, since = now, has_worked, time.monotonic()
            elif has_worked - worked > 2 * HANG_S:
                how = f"works for {2 * HANG_S} s of processor and hears no signal"
            elif state != "R" and has_worked - worked < 1 and time.monotonic() - since > WAITS_S:
                how = f"waits for {WAITS_S} s"
        if how:
            os.kill(self.pid, signal.SIGKILL)
        self._ears.close()
        status = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        self.next = struct.unpack_from("q", self._board)[0]
        if how or status:
            yield self.next, how or f"ended the process: {status}"
            self.next += 1

    def _work(self, seed: int, own: Path, mouth: int) -> None:
        try:
            self._each(seed, _places(own), mouth)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(3)

    def _each(self, seed: int, places: dict[str, Place], mouth: int) -> None:
        for place in places.values():  # what every process pays once belongs to no case
            for verb in (verb for verb in VERBS if verb.often >= 15):
                place.wrong(Case("", (), tuple(verb.words.split()), (), verb))
        read_before = lru_cache(SOUND)(folder.parse)
        parse = folder.parse
        folder.parse = lambda file, data: read_before(file, data) if len(data) < 20_000 else parse(file, data)
        before = _peak()
        resource.setrlimit(resource.RLIMIT_AS, (_size() + 4 * MOST_KB * 1024,) * 2)
        for number in self.numbers:
            self._board[:8] = struct.pack("q", number)
            case, undone = _case(seed, number, places)
            wrong = places[case.base].wrong(case, undone)
            if _peak() - before > MOST_KB:
                wrong.append(f"{(_peak() - before) // 1000} MB more than before all cases")
            if wrong:
                text = "\n".join([_told(case), *wrong])[:8000]
                os.write(mouth, json.dumps([number, text]).encode() + b"\n")
            at = 16 + 8 * VERBS.index(case.verb)
            struct.pack_into("q", self._board, at, struct.unpack_from("q", self._board, at)[0] + 1)
            if _peak() - before > MOST_KB:
                self._board[:8] = struct.pack("q", number + 1)
                os._exit(0)
        self._board[:8] = struct.pack("q", self.numbers.stop)
        os._exit(0)


def _of(pid: int) -> tuple[str, float]:
    """Whether a process runs (R) or waits, and its seconds of processor."""
    told = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return told[0], (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def _size() -> int:
    return int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()


def _read() -> None:
    """Everything a verb would import, none of it started."""
    from importlib import import_module

    from paddock.commands.verbs import VERBS as NAMES

    read_once()
    for module, _ in NAMES.values():
        import_module(f"paddock.commands.{module}")


def smallest(case: Case, fails: Callable[[Case], bool], seconds: float = 300) -> Case:
    """A case that still fails with no file, line or piece of a line too many."""
    late = time.monotonic() + seconds
    for at in reversed(range(len(case.spoilt))):
        less = replace(case, spoilt=case.spoilt[:at] + case.spoilt[at + 1 :])
        if fails(less):
            case = less
    if case.env and fails(replace(case, env=())):
        case = replace(case, env=())
    for at in range(len(case.spoilt)):
        case = _shorter(case, at, fails, late)
    return case


def _shorter(case: Case, at: int, fails: Callable[[Case], bool], late: float) -> Case:
    name, data = case.spoilt[at]

    def held(pieces: list[bytes]) -> Case:
        return replace(case, spoilt=(*case.spoilt[:at], (name, b"".join(pieces)), *case.spoilt[at + 1 :]))

    if isinstance(data, bytes):
        lines = _fewer(data.splitlines(keepends=True), lambda some: fails(held(some)), late)
        letters = [line[i : i + 1] for line in lines for i in range(len(line))]
        return held(_fewer(letters, lambda some: fails(held(some)), late))
    return case


def _fewer(pieces: list[bytes], fails: Callable[[list[bytes]], bool], late: float) -> list[bytes]:
    step = max(1, len(pieces) // 2)
    while step and time.monotonic() < late:
        at = 0
        while at < len(pieces) and time.monotonic() < late:
            fewer = pieces[:at] + pieces[at + step :]
            if fails(fewer):
                pieces = fewer
            else:
                at += step
        step //= 2
    return pieces
