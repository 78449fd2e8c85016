"""One folder on the disk: what was read of it, and entries put into it so that nothing is lost."""

from __future__ import annotations

import contextlib
import errno
import os
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from paddock.errors import FolderError, LockedError, RefusedError, SaveError
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.disk import FileFault, inside, kept, most_bytes
from paddock.store.folder import Broken, Doc, data_of, file_names, is_track, parse, put, read_bytes, read_docs
from paddock.store.journal import History, Journal, JournalEntry
from paddock.store.merge import Conflict, conflict_of, keep
from paddock.store.rowsteps import Docs, RowStep, apply, inverse, place_of, taken_back

_ROUNDS = 100
_LOCK_WAIT_S = 5.0
_LOOKS = 20
_PAUSE_S = 0.05
"""An editor may be caught while it writes: a file that has just become unusable is looked at again for a second."""
_REMEMBERED = 500
_NO_HALVES = (errno.ENOSPC, errno.EDQUOT, errno.EIO)
"""Where the journal can't be written for these, an edit's second file can't either, and nothing tells of the first."""
_Stamp = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of entries: ``docs`` the files now, ``kept`` the entries in them (as they came out), ``conflicts``
    those that other hands stood against. ``moved``: other hands had changed a file. ``note``: what to tell."""

    docs: Docs
    kept: tuple[JournalEntry, ...]
    conflicts: tuple[Conflict, ...] = ()
    moved: bool = False
    note: str = ""


class Keeper:
    """``base``: the files as last seen on the disk. It may be ahead of what the caller has been given: then
    entries are put in anew before they are written, and ``look`` says so."""

    def __init__(self, folder: Path, wait: Callable[[float], object] = time.sleep) -> None:
        self.folder = folder
        self.wait = wait
        self.overwritten: list[Conflict] = []
        """Entries of mine that another program's save has taken out again, until somebody tells the user."""
        self._own: dict[tuple[str, tuple[Any, ...]], tuple[JournalEntry, RowStep]] = {}
        self.base: Docs = read_docs(folder)
        self.journal = Journal(folder)
        self._stamps = {file: self._stamp(file) for file in file_names(folder)}
        self._begun: dict[str, JournalEntry] = {}
        self._written: dict[str, bytes | None] = {}
        self._ahead = False

    # ---- opening

    def open(self) -> tuple[History, tuple[Conflict, ...]]:
        """Puts in what a killed program had begun, sweeps away what it left; gives what can be undone.

        Writes nothing where there is nothing to mend. Raises SaveError, LockedError.
        """
        history = self.history()
        if not history.open and not disk.strays(self.folder) and not self.journal.long:
            return history, ()
        with self._locked():
            disk.sweep(self.folder)
            if self.journal.long:
                with contextlib.suppress(OSError):
                    self.journal.shorten()
            begun = self.history().open
            self._begun = {entry.id: entry for entry in begun}
            outcome = self._commit(begun, dict(self.base), fresh=True)
        return self.history(), outcome.conflicts

    def history(self) -> History:
        """What the journal says; nothing where it can't be read."""
        try:
            return self.journal.read()
        except OSError:
            return History()

    # ---- saving

    def commit(self, entries: Sequence[JournalEntry], docs: Docs) -> Outcome:
        """Puts entries on the disk; ``docs`` are the files with them in.

        Raises SaveError or LockedError: nothing is lost then, the same call may be made again.
        """
        self._still_there()
        with self._locked():
            return self._commit(entries, docs)

    def _commit(self, entries: Sequence[JournalEntry], docs: Docs, fresh: bool = False) -> Outcome:
        moved, conflicts = False, list[Conflict]()
        stale = fresh or self._ahead
        for _ in range(_ROUNDS):
            stale = self._refresh({step.file for entry in entries for step in entry.steps}) or stale or self._ahead
            if stale:
                moved = moved or not fresh
                docs, entries, against = self._replayed(entries, fresh)
                conflicts += against
                stale = fresh = False
            note = self._journalled(entries)
            try:
                self._write(docs)
            except disk.MovedError:
                continue
            self._ended(entries, docs)
            return Outcome(docs, tuple(entries), tuple(conflicts), moved, note)
        raise SaveError("not saved: other hands change the files again and again")

    def _refresh(self, files: Iterable[str]) -> bool:
        """Takes in what changed on the disk; True where something did."""
        self._still_there()
        moved = False
        for file in files:
            data = self._read(file)
            if data != self._known(file) and not (file in self._written and data == self._written[file]):
                self._take(file, self._settled(file, data, partial(self._read, file)))
                self._written.pop(file, None)
                moved = True
        return moved

    def _still_there(self) -> None:
        """A stick pulled out may leave an empty folder in its place: nothing is written into that."""
        if "event.toml" in self.base and self._stamp("event.toml") is None:
            raise SaveError(f"not saved: the folder {self.folder} is gone or empty")

    def _read(self, file: str) -> bytes | None:
        try:
            return self._at(file)
        except OSError as error:
            raise disk.save_error(file, error) from None

    def _at(self, file: str) -> bytes | None:
        path = inside(self.folder, file)
        return data_of(path) if is_track(file) else disk.read(path, most_bytes(file))

    def _known(self, file: str) -> bytes | None:
        doc = self.base.get(file)
        return None if doc is None else doc.data

    def _settled(self, file: str, data: bytes | None, again: Callable[[], bytes | None]) -> bytes | None:
        """What is read once other hands have done writing: they may leave a file empty or cut off for a moment."""
        if _usable(self.base.get(file)):
            for _ in range(_LOOKS):
                if _usable(doc := None if data is None else parse(file, data)) and getattr(doc, "cut", None) is None:
                    break
                self.wait(_PAUSE_S)
                data = again()
        return data

    def _take(self, file: str, data: bytes | None) -> None:
        self._ahead = True
        self._look_for_mine(file, None if data is None else parse(file, data))
        if data is None:
            self.base.pop(file, None)
        else:
            self.base[file] = parse(file, data)

    def _look_for_mine(self, file: str, now: Doc | None) -> None:
        """Rows I saved that stand there again as they were before: whoever read the file earlier and saves it later
        does that without knowing. They are not put in again, for it may be meant; but it is said."""
        was = self.base.get(file)
        if not (isinstance(was, CsvFile) and isinstance(now, CsvFile)) or not _usable(now):
            return
        for place, (entry, step) in list(self._own.items()):
            if place[0] == file and taken_back(now, step) and not taken_back(was, step):
                del self._own[place]
                conflict = conflict_of(
                    replace(entry, steps=(step,)), f"another program saved {file} without it", {file: now}
                )
                self.overwritten.append(conflict)
                with contextlib.suppress(OSError):
                    keep(self.folder, conflict)

    def _replayed(
        self, entries: Iterable[JournalEntry], fresh: bool = False
    ) -> tuple[Docs, list[JournalEntry], list[Conflict]]:
        docs, kept, against = dict(self.base), list[JournalEntry](), list[Conflict]()
        for entry in entries:
            trial = dict(docs)
            try:
                steps = apply(trial, entry.steps, merge=entry.op == "do")
            except RefusedError as reason:
                against.append(self._kept_apart(entry, str(reason), docs))
                if fresh:
                    _backed_out(docs, entry)
                continue
            docs = trial
            kept.append(replace(entry, steps=steps))
        return docs, kept, against

    def _kept_apart(self, entry: JournalEntry, reason: str, docs: Docs) -> Conflict:
        """Mine into ``.paddock/conflicts.csv`` (an undo loses nothing and isn't written); the caller has it too."""
        conflict = conflict_of(entry, reason, docs)
        begun = self._begun.pop(entry.id, None)
        with contextlib.suppress(OSError):
            if entry.op == "do":
                keep(self.folder, conflict)
            if begun is not None:
                self.journal.end([entry.id], "off")
        return conflict

    def _journalled(self, entries: Iterable[JournalEntry]) -> str:
        """Entries begun in the journal; a note where it can't be written, which alone is no reason not to save."""
        new = [entry for entry in entries if self._begun.get(entry.id) != entry]
        try:
            if new:
                self.journal.begin(new)
        except OSError as error:
            touched = sorted({step.file for entry in new for step in entry.steps})
            if len(touched) > 1 and error.errno in _NO_HALVES:
                raise disk.save_error(" and ".join(touched), error) from None
            return "the undo history can't be written: undo works until the program is left"
        self._begun |= {entry.id: entry for entry in new}
        return ""

    def _write(self, docs: Docs) -> None:
        """Every file that differs from the disk, one after the other; one begun before is written again, for it
        may hold half of something that was put aside meanwhile."""
        for file in sorted(self.base.keys() | docs.keys() | self._written.keys()):
            doc = docs.get(file)
            data = None if doc is None else doc.data
            changed = doc is not self.base.get(file) and data != self._known(file)
            if changed or file in self._written:
                self._write_one(file, data)

    def _write_one(self, file: str, data: bytes | None) -> None:
        before = (self._known(file), self._written.get(file, self._known(file)), data)
        self._written[file] = data
        try:
            path = inside(self.folder, file)
            if is_track(file):
                put(self.folder, path, data, lambda: self._at(file) in before)
            elif data is None:
                if disk.read(path) not in before:
                    raise disk.MovedError
                disk.remove(path)
            else:
                if "/" in file and not path.parent.exists():
                    path.parent.mkdir()
                    disk.sync_folder(self.folder)
                with disk.held(path) as late:
                    disk.replace(path, data, lambda: disk.read(path) in before)
                    self._written_into_meanwhile(file, before, late)
        except OSError as error:
            raise disk.save_error(file, error) from None

    def _written_into_meanwhile(
        self, file: str, before: tuple[bytes | None, ...], late: Callable[[], bytes | None]
    ) -> None:
        """An editor that wrote into the file just before its name was mine: theirs is the base, mine is put in anew."""
        theirs = late()
        if theirs is None or theirs in before:
            return
        theirs = self._settled(file, theirs, late)
        if theirs not in before and _usable(parse(file, theirs or b"")):
            self._take(file, theirs)
            raise disk.MovedError

    def _ended(self, entries: Sequence[JournalEntry], docs: Docs) -> None:
        with contextlib.suppress(OSError):
            self.journal.end([entry.id for entry in entries if entry.id in self._begun])
        for entry in entries:
            self._begun.pop(entry.id, None)
        for entry in entries:
            for step in entry.steps:
                if isinstance(step, RowStep):
                    self._own[step.file, place_of(step)] = (entry, step)
        for place in list(self._own)[:-_REMEMBERED]:
            del self._own[place]
        touched = {step.file for entry in entries for step in entry.steps}
        self.base = dict(docs)
        self._written.clear()
        self._ahead = False
        self._stamps |= {file: self._stamp(file) for file in touched}

    @contextlib.contextmanager
    def _locked(self) -> Iterator[None]:
        """Held while writing, so that two copies of the program take turns. Without ``.paddock``, or where the
        system has no locks, there is none."""
        import filelock

        lock = None
        try:
            (self.folder / ".paddock").mkdir(exist_ok=True)
            lock = filelock.FileLock(kept(self.folder, "lock"), timeout=_LOCK_WAIT_S, poll_interval=0.01)
            lock.acquire()
        except filelock.Timeout:
            raise LockedError("not saved yet: another copy of the program is writing") from None
        except (OSError, NotImplementedError):
            lock = None
        try:
            yield
        finally:
            if lock is not None:
                lock.release()

    # ---- other hands

    def _stamp(self, file: str) -> _Stamp | None:
        try:
            found = os.stat(self.folder / file)
        except OSError:
            return None
        return found.st_mtime_ns, found.st_size, found.st_ino

    def look(self, patient: bool = False) -> bool:
        """Takes in files that other hands changed; True where one did. A folder that is gone changes nothing.
        ``patient``: entries wait to be put in, so a file caught half written is looked at again."""
        try:
            names = file_names(self.folder)
        except FolderError:
            return False
        if "event.toml" in self.base and self._stamp("event.toml") is None:
            return False
        changed = [self._look_at(file, patient) for file in dict.fromkeys((*names, *self._stamps))]
        return any(changed) or self._ahead

    def _look_at(self, file: str, patient: bool) -> bool:
        stamp = self._stamp(file)
        if stamp == self._stamps.get(file, ()):
            return False
        self._stamps[file] = stamp
        try:
            data = read_bytes(self.folder, file)
        except FileFault as fault:
            self.base[file] = Broken(file, None, fault.problem)
            return True
        if data == self._known(file) or (file in self._written and data == self._written[file]):
            return False
        self._take(file, self._settled(file, data, partial(self._read, file)) if patient else data)
        return True

    def forget(self, entry: JournalEntry) -> None:
        """Marks an entry as one that can't be undone or done again any more."""
        with contextlib.suppress(OSError):
            if self.journal.path.exists():
                self.journal.end([entry.id], "off")

    def replayed(self, entries: Sequence[JournalEntry]) -> tuple[Docs, list[JournalEntry], list[Conflict]]:
        """The files as last seen with entries that are not on the disk yet."""
        self._ahead = False
        return self._replayed(entries)


def _usable(doc: Doc | None) -> bool:
    """There, and edits can go into it."""
    return doc is not None and not isinstance(doc, Broken) and not (isinstance(doc, CsvFile) and doc.faults)


def _backed_out(docs: Docs, entry: JournalEntry) -> None:
    """What a killed program had already done of an entry that can't be finished, taken back."""
    for step in inverse(entry.steps):
        trial = dict(docs)
        with contextlib.suppress(RefusedError):
            apply(trial, [step])
            docs.clear()
            docs.update(trial)
