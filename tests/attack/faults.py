"""Each system call of a save made to fail, in each of the ``OPERATIONS`` and on entry; and a machine that is not in order."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path
from random import Random
from unittest.mock import patch

import filelock

from paddock.model.edit import AddRow, Batch
from paddock.session import Session, load
from tests.attack.kills import MEMORY, in_child, read_once
from tests.attack.operations import OPERATIONS, Files, Operation, RefusedHereError, files, what_is_wrong
from tests.session.failing import error_at, error_from, failing_disk
from tests.store.folders import small_folder

Rule = Callable[[str, int], None]
NUMBERS = (errno.ENOSPC, errno.EACCES, errno.EIO, errno.EINTR, errno.EROFS, errno.EDQUOT, errno.ENOENT)
ADD = AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_101})
BOTH = Batch("log run 3", (ADD, AddRow("runs.csv", {"day": 1, "run": 3, "number": "26", "exit": 1})))


def _entered(place: Path) -> None:
    session = Session.open(place / "a")
    saved = session.apply(BOTH) if not any(row.run == 3 for row in session.event.times) else None
    if saved is not None and not saved.ok:
        raise RefusedHereError(saved.message)


ENTRY = Operation("entry", lambda place: small_folder(place / "a"), _entered)


def faults(seed: int, count: int, wanted: str = "", in_turn: bool = False) -> Iterator[tuple[str, list[str]]]:
    """One fault after another: of what, and what was wrong afterwards. First every machine out of order once, then as
    many failing calls, drawn from all there are; ``in_turn``: each call with each number, once and lasting, whatever
    the count."""
    read_once()
    acts = [item for item in (ENTRY, *OPERATIONS) if wanted in ("", item.name)]
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
        machines = [item for item in MACHINES if wanted in ("", item.__name__)]
        for at, machine in enumerate(machines[:count]):
            place = Path(own) / f"machine{at}"
            yield machine.__name__.replace("_", " "), in_child(lambda m=machine, p=place: m(p))  # type: ignore[misc]
        if in_turn:
            for item in acts:
                failing = _Failing(Path(own) / item.name.replace(" ", "-"), item)
                for at, number, rule in product(range(1, failing.calls + 1), NUMBERS, RULES):
                    yield item.name, failing.broken(at, number, rule)
            return
        ready: dict[str, _Failing] = {}
        random = Random(f"{seed}-faults")
        for _ in range(count - len(machines)):
            item = random.choice(acts)
            if item.name not in ready:
                ready[item.name] = _Failing(Path(own) / item.name.replace(" ", "-"), item)
            at, number, rule = random.randint(1, ready[item.name].calls), random.choice(NUMBERS), random.choice(RULES)
            yield item.name, ready[item.name].broken(at, number, rule)


class _Failing:
    """An operation, what its place holds before and after, and how many calls it makes."""

    def __init__(self, own: Path, operation: Operation) -> None:
        self.operation, self.sound, self.place = operation, own / "sound", own / "place"
        self.sound.mkdir(parents=True)
        told = in_child(lambda: operation.prepare(self.sound) and None)
        whole = own / "whole"
        shutil.copytree(self.sound, whole)
        count = in_child(lambda: [str(_calls(operation, whole))])
        assert not told, told
        self.calls = int(count[0])
        self.before, self.after = files(self.sound), files(whole)

    def broken(self, at: int, number: int, kind: Callable[[int, int], Rule]) -> list[str]:
        """One call fails, or all from one on; then the act once more without."""
        rule = kind(at, number)
        shutil.copytree(self.sound, self.place)
        said = in_child(lambda: _acted(self.operation, self.place, rule))
        said += in_child(lambda: what_is_wrong(self.place, self.operation, self.before, self.after))
        said += in_child(lambda: _again(self.operation, self.place, self.after))
        shutil.rmtree(self.place)
        how = f"{errno.errorcode[number]}{' from there on' if kind is _lasting else ''}"
        return [f"call {at} of {self.calls}, {how}: {line}" for line in said]


def _lasting(at: int, number: int) -> Rule:
    """Calls from number ``at`` on fail; what only needs no room does not where there is none."""
    if number in (errno.ENOSPC, errno.EDQUOT):
        return error_from(at, number)

    def rule(_name: str, count: int) -> None:
        if count >= at:
            raise OSError(number, os.strerror(number))

    return rule


RULES = (error_at, _lasting)


def _calls(operation: Operation, place: Path) -> int:
    with failing_disk(lambda _name, _count: None) as disk:
        operation.act(place)
    return disk.count


def _acted(operation: Operation, place: Path, rule: Rule) -> list[str]:
    """Done, or refused with a sentence: anything else is a fault."""
    try:
        with failing_disk(rule):
            operation.act(place)
    except RefusedHereError as reason:
        return [f"crash: {reason}"] if "fault in the program" in str(reason) else []
    except Exception as error:
        from paddock.errors import PaddockError

        return [] if isinstance(error, PaddockError) else [f"{type(error).__name__}: {error}"]
    return []


def _again(operation: Operation, place: Path, after: Files) -> list[str]:
    if not operation.again:
        return []
    operation.act(place)
    now = files(place)
    differing = sorted(name for name in now.keys() | after.keys() if now.get(name) != after.get(name))
    return [f"once more is other than undisturbed: {differing}"] if differing else []


# ---- machines out of order: each gives what is wrong


def folder_taken_away_and_put_back(place: Path) -> list[str]:
    folder = small_folder(place / "a")
    session = Session.open(folder)
    folder.rename(place / "elsewhere")
    wrong = [] if not session.apply(ADD).ok else ["said to be saved"]
    session.poll()
    wrong += ["something was written"] if folder.exists() else []
    folder.mkdir()
    session.poll()
    wrong += [f"written into an empty folder: {name}" for name in files(folder)]
    shutil.rmtree(folder)
    (place / "elsewhere").rename(folder)
    session.poll()
    return wrong + _there(session, folder)


def clock_that_jumps(place: Path) -> list[str]:
    folder = small_folder(place / "a")
    session = Session.open(folder)
    wrong = []
    for at, seconds in enumerate((0, 4_000_000_000, 1, 1_800_000_000)):
        for path in folder.rglob("*.csv"):
            os.utime(path, (seconds, seconds))
        text = (folder / "times.csv").read_text()
        (folder / "times.csv").write_text(text.replace("47.25", "47.35") if at % 2 else text.replace("47.35", "47.25"))
        os.utime(folder / "times.csv", (seconds, seconds))  # the same second, the same size, another text
        with patch("time.time", lambda seconds=seconds: float(seconds)):
            row = AddRow("times.csv", {"day": 1, "run": 3 + at, "number": "26", "time_ms": 46_101})
            wrong += [] if session.apply(row).ok else ["not saved"]
        wrong += [] if ("47.35" in (folder / "times.csv").read_text()) == bool(at % 2) else ["theirs is lost"]
    return wrong + [str(item) for item in load(folder).problems if item.level == "fault"]


def lock_left_by_a_dead_program(place: Path) -> list[str]:
    folder = small_folder(place / "a")
    (folder / ".paddock").mkdir()

    def held() -> None:
        filelock.FileLock(folder / ".paddock" / "lock").acquire()
        os.kill(os.getpid(), 9)

    wrong = in_child(lambda: held() and None)
    session = Session.open(folder)
    return [line for line in wrong if "without a word" not in line] + ([] if session.apply(ADD).ok else ["not saved"])


def something_else_where_the_lock_belongs(place: Path) -> list[str]:
    wrong = []
    for at, make in enumerate((os.mkdir, os.mkfifo, lambda path: os.symlink("/dev/full", path))):
        folder = small_folder(place / f"a{at}")
        (folder / ".paddock").mkdir()
        make(str(folder / ".paddock" / "lock"))
        session = Session.open(folder)
        wrong += [] if session.apply(ADD).ok else ["not saved"]
        wrong += _there(session, folder)
    return wrong


def file_system_without_locks(place: Path) -> list[str]:
    wrong = []
    for at, error in enumerate(
        (OSError(errno.ENOLCK, "no locks"), NotImplementedError(), OSError(errno.ENOSYS, "none"))
    ):
        folder = small_folder(place / f"a{at}")
        session = Session.open(folder)
        with patch.object(filelock.FileLock, "acquire", side_effect=error):
            wrong += [] if session.apply(ADD).ok else ["not saved"]
        wrong += _there(session, folder)
    return wrong


def second_copy_and_an_editor_at_once(place: Path) -> list[str]:
    """Two sessions and an editor that reads, waits and writes all of it, in turns: what is missing must have been said."""
    folder = small_folder(place / "a")
    two = [Session.open(folder), Session.open(folder)]
    mine: dict[int, Session] = {}
    for at in range(3, 60):
        if at % 7 == 0:
            text = (folder / "times.csv").read_text()
        row = AddRow("times.csv", {"day": 1, "run": at, "number": "26", "time_ms": 40_000 + at})
        mine[at] = two[at % 2]
        if not two[at % 2].apply(row).ok:
            return [f"run {at} is not saved"]
        if at % 7 == 2 and at > 8:
            (folder / "times.csv").write_text(text.replace("46.512", f"46.5{at:02d}"))
            [session.poll() for session in two]
    there = {row.run for row in load(folder).times}
    said = {session: " ".join(item.entry.label for item in session.conflicts) for session in two}
    return [f"run {at} is gone and nobody said so" for at, session in mine.items()
            if at not in there and f"run {at} " not in said[session]]  # fmt: skip


def card_that_cannot_be_read_for_a_moment(place: Path) -> list[str]:
    """Each opening of a file to read fails in turn while an entry is saved, once and from there on; then all is well."""
    wrong, real = [], os.open
    for lasting in (False, True):
        for at in range(1, 40):
            met = 0

            def opened(path: str, flags: int, *more: int, at: int = at, lasting: bool = lasting, **named: int) -> int:
                nonlocal met
                if not flags & (os.O_WRONLY | os.O_RDWR | os.O_DIRECTORY):
                    met += 1
                    if met == at or (lasting and met > at):
                        raise OSError(errno.EIO, os.strerror(errno.EIO), path)
                return real(path, flags, *more, **named)

            folder = small_folder(place / f"a{lasting}{at}")
            session = Session.open(folder)
            before = files(folder)
            with patch("os.open", opened):
                saved = session.apply(ADD)
                wrong += [] if saved.ok or saved.message else [f"{at}: refused without a word"]
                session.poll()
            session.poll()
            wrong += [f"{at}: {line}" for line in _there(session, folder)]
            wrong += [] if files(folder) == before else [f"{at}: other bytes after the undo"]
            session.close()
            if met < at:
                break
    return wrong


def _there(session: Session, folder: Path) -> list[str]:
    wrong = [f"unsaved: {edit}" for edit in session.unsaved]
    rows = [row for row in load(folder).times if row.run == 3]
    wrong += [] if len(rows) == 1 else [f"{len(rows)} rows of the run"]
    session.undo()
    return wrong + ([] if not any(row.run == 3 for row in load(folder).times) else ["undo does nothing"])


MACHINES = (
    folder_taken_away_and_put_back, clock_that_jumps, lock_left_by_a_dead_program, something_else_where_the_lock_belongs,
    file_system_without_locks, card_that_cannot_be_read_for_a_moment, second_copy_and_an_editor_at_once,
)  # fmt: skip
