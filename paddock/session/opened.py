"""One open event: takes edits, saves them before it says so, undoes them, and takes in what other hands change."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeVar, cast

from paddock.errors import FolderError, LockedError, Problem, RefusedError, SaveError
from paddock.log import note
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, new_id
from paddock.model.event import Event
from paddock.model.settings import Settings
from paddock.session.loading import event_of
from paddock.session.outside import OtherHands, OutsideChange
from paddock.store.csvfile import CsvFile
from paddock.store.journal import JournalEntry
from paddock.store.keeper import Keeper
from paddock.store.merge import Conflict
from paddock.store.plan import plan, singles
from paddock.store.rescue import LIST, rescue, write_elsewhere
from paddock.store.rowsteps import Docs, KeyStep, RowStep, SavedStep, TrackStep, apply, inverse, place_of
from paddock.store.spoken import label_of, row_name
from paddock.store.tomlfile import TomlFile
from paddock.store.watch import Watch

if TYPE_CHECKING:
    from paddock.engine.scoring.gap import GapAnswer
    from paddock.engine.scoring.tables import Standings


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Saved:
    """``ok``: on the disk. False: ``message`` says why not; the edit is kept (``Session.unsaved``), or, when other
    hands changed the same thing, put aside (``Session.conflicts``)."""

    ok: bool
    message: str = ""


class Session:
    """Every method may be called from any thread. Edits take turns; looking waits for no disk."""

    def __init__(self, path: Path, keeper: Keeper) -> None:
        """Use ``Session.open``."""
        self.path = path
        self.version = 1
        self.conflicts: tuple[Conflict, ...] = ()
        self._keeper = keeper
        self._lock = threading.RLock()
        self._showing = threading.Lock()
        self._docs: Docs = dict(keeper.base)
        self._pending: list[JournalEntry] = []
        self._edits: dict[str, Edit] = {}
        self._done: list[JournalEntry] = []
        self._undone: list[JournalEntry] = []
        self._refused: dict[str, str] = {}
        self._cache: dict[object, object] = {}
        self._tables: dict[int | None, tuple[Event, Standings]] = {}
        """By day the standings worked out last, and the event they are of: what the next ones begin at."""
        self._watches: list[Watch] = []
        self._event: Event | None = None
        self._settings: Settings | None = None
        self._beside: tuple[Problem, ...] = ()
        self._hands = OtherHands()

    @classmethod
    def open(cls, path: Path) -> Session:
        """The event at ``path``; what a killed program had begun is put in. Raises FolderError."""
        path = path.resolve()
        keeper = Keeper(path)
        session = cls(path, keeper)
        try:
            history, session.conflicts = keeper.open()
        except (SaveError, LockedError):
            history = keeper.history()
            session._pending = list(history.open)
            session._rebuild()
        session._beside = history.refused
        session._done = list(history.done)
        session._undone = list(history.undone)
        session._done += [item for item in session._pending if item.op == "do"]
        if not session._pending:
            session._show(dict(keeper.base))
        session._settings = session.event.settings  # raises FolderError where it can't be used
        session.version = 1
        note(f"opened {path}")
        return session

    @property
    def event(self) -> Event:
        """The event as it is now, worked out when it is first asked for after a change."""
        event, docs = self._event, self._docs
        if event is None:
            event = event_of(self.path.name, docs, self._settings, self._beside)
            with self._showing:
                if self._docs is docs:
                    self._event, self._settings = event, event.settings
        return event

    # ---- edits

    def apply(self, edit: Edit, joins: bool = False) -> Saved:
        """Checks and saves an edit. Raises RefusedError where it makes no sense; nothing is changed then.

        ``joins``: it is one with the edit before, for undo and redo.
        """
        with self._lock:
            _listed(edit, self._event)
            trial = dict(self._docs)
            steps = plan(trial, edit)
            event = self._checked(edit, trial)
            if _idle(steps):
                return self._unchanged(edit)
            entry = JournalEntry(new_id(), "do", label_of(edit), steps, _group(self._done[-1:]) if joins else "")
            self._edits[entry.id] = edit
            self._done.append(entry)
            self._undone.clear()
            return self._accept(entry, trial, event)

    def would_be(self, edit: Edit) -> Event:
        """The event as ``edit`` would leave it; nothing is done. Raises RefusedError as ``apply`` does."""
        with self._lock:
            _listed(edit, self._event)
            trial = dict(self._docs)
            plan(trial, edit)
            return self._checked(edit, trial)

    def _unchanged(self, edit: Edit) -> Saved:
        """Nothing to change by what is seen here: true, unless other hands have changed that very thing."""
        if self._keeper.look():
            self._rebuild()
            if not _idle(plan(dict(self._docs), edit)):
                raise RefusedError(f"{label_of(edit)}: other hands changed that just now, look at it again")
        return Saved(not self._pending, "nothing to change")

    def _checked(self, edit: Edit, docs: Docs) -> Event:
        """The event with the edit in. Raises RefusedError where it leaves one of its own rows out of the tables."""
        event = event_of(self.path.name, docs, self._settings, self._beside)
        for single in singles(edit):
            if isinstance(single, AddRow | ChangeRow):
                _visible(single, event, docs)
        return event

    def undo(self) -> str:
        """Takes the latest edit back, with those it is one with; its label. Raises RefusedError with the reason."""
        return self._turn_all("undo", self._done, self._undone)[0]

    def redo(self) -> str:
        """Carries out again what was undone last; gives its label. Raises RefusedError with the reason."""
        return self._turn_all("redo", self._undone, self._done)[-1]

    def _turn_all(
        self, op: Literal["undo", "redo"], source: list[JournalEntry], target: list[JournalEntry]
    ) -> list[str]:
        """The last entry of a stack and all that are one with it; their labels in the order they were turned."""
        with self._lock:
            group = _group(source[-1:])
            labels = [self._turn(op, source, target)]
            while source and _group(source[-1:]) == group:
                labels.append(self._turn(op, source, target))
            return labels

    def _turn(self, op: Literal["undo", "redo"], source: list[JournalEntry], target: list[JournalEntry]) -> str:
        """The last entry of one stack turned and put on the other; one that can't be turned any more is dropped."""
        with self._lock:
            if not source:
                raise RefusedError(f"there is nothing to {op}")
            entry, docs = source.pop(), dict(self._docs)
            try:
                steps = apply(docs, inverse(entry.steps))
            except RefusedError as reason:
                self._keeper.forget(entry)
                raise RefusedError(f"can't {op} “{entry.label}”: {reason}") from None
            target.append(replace(entry, steps=steps))
            turned = JournalEntry(new_id(), op, entry.label, steps, entry.id)
            self._accept(turned, docs)
            if turned.id in self._refused:
                raise RefusedError(f"can't {op} “{entry.label}”: {self._refused[turned.id]}")
            return entry.label

    @property
    def can_undo(self) -> str | None:
        """The label of what undo would take back, None where there is nothing."""
        return self._done[-1].label if self._done else None

    @property
    def can_redo(self) -> str | None:
        """The label of what redo would carry out, None where there is nothing."""
        return self._undone[-1].label if self._undone else None

    def unit_of(self, file: str, field: str) -> str:
        """The unit a CSV file writes a field in, as its header ends (``mm``, ``32nds``); blank: no such column yet."""
        doc = self._docs.get(file)
        slot = doc.layout.slot(field) if isinstance(doc, CsvFile) else None
        return slot.unit.suffix if slot is not None and slot.unit is not None else ""

    # ---- to the disk

    @property
    def unsaved(self) -> tuple[Edit, ...]:
        """Edits that are in the tables here but not on the disk yet, oldest first."""
        nothing = Batch("", ())
        return tuple(
            self._edits.get(item.id, replace(nothing, label=f"{item.op} {item.label}")) for item in self._pending
        )

    def retry(self) -> Saved:
        """Tries again to save what is unsaved."""
        with self._lock:
            return self._save() if self._pending else Saved(True, "everything is saved")

    def save_to(self, other: Path) -> Saved:
        """Writes the whole event to another, new folder and goes on there. Raises RefusedError for one in use."""
        with self._lock:
            try:
                write_elsewhere(other, self._docs, self.path)
                keeper = Keeper(other.resolve())
            except (SaveError, FolderError) as error:
                return Saved(False, str(error))
            watched = [watch.callback for watch in self._watches]
            self._unwatch()
            self.path, self._keeper, self._pending, self._beside = other.resolve(), keeper, [], ()
            for callback in watched:
                self.watch(callback)
            self._show(dict(keeper.base))
            return Saved(True, f"saved to {other}")

    def _accept(self, entry: JournalEntry, docs: Docs, event: Event | None = None) -> Saved:
        self._pending.append(entry)
        self._show(docs, event)
        return self._save()

    def _save(self) -> Saved:
        self._refused = {}
        try:
            outcome = self._keeper.commit(self._pending, self._docs)
        except (SaveError, LockedError) as error:
            note(f"not saved: {error}")
            return Saved(False, str(error))
        note(f"saved {len(self._pending)} in {self.path}")
        self._pending = []
        self._sorted_out(outcome.kept, outcome.conflicts)
        if outcome.moved:
            self._hands.notice(self._docs, outcome.docs)
            self._show(outcome.docs)
        self._docs = outcome.docs
        gone = self._overwritten()
        if self._refused:
            return Saved(False, f"{next(iter(self._refused.values()))}: theirs stays in the file, yours is put aside")
        if gone:
            return Saved(True, f"{gone[0].entry.label}: {gone[0].reason}; look at what is put aside")
        return Saved(
            True, outcome.note or ("the file was changed by other hands: both are in" if outcome.moved else "")
        )

    def _overwritten(self) -> list[Conflict]:
        """Entries of mine that another program took out without knowing: told with those put aside."""
        gone, self._keeper.overwritten = self._keeper.overwritten, []
        self.conflicts += tuple(gone)
        return gone

    def _sorted_out(self, kept: Iterable[JournalEntry], against: Iterable[Conflict]) -> None:
        """The stacks after saving: entries as they came out, those that other hands stood against dropped."""
        came_out = {item.id: item for item in kept if item.op == "do"}
        against = tuple(against)
        self._refused |= {item.entry.id: item.reason for item in against}
        dropped = {item.entry.id if item.entry.op == "do" else item.entry.of for item in against}
        for stack in (self._done, self._undone):
            stack[:] = [came_out.get(item.id, item) for item in stack if item.id not in dropped]
        self.conflicts += tuple(item for item in against if item.entry.op == "do")

    # ---- other hands

    def poll(self) -> bool:
        """Takes in what other hands changed and tries again to save what is unsaved; True when the event changed."""
        with self._lock:
            before = self.version
            if self._keeper.look(patient=bool(self._pending)):
                note("other hands changed the folder")
                self._rebuild()
            if self._pending:
                self._save()
            self._overwritten()
            return self.version != before

    @property
    def outside(self) -> tuple[OutsideChange, ...]:
        """What other hands changed since the event was opened and is still so; what stood against an entry of mine is
        in ``conflicts``."""
        return self._cached("outside", lambda: self._hands.standing(self._docs, self._apart()))

    def _apart(self) -> Iterable[tuple[str, tuple[object, ...]]]:
        steps = (step for item in self.conflicts for step in item.entry.steps)
        return ((step.file, place_of(step)) for step in steps if isinstance(step, RowStep))

    def let_be(self, *seen: OutsideChange | Conflict) -> None:
        """What has been looked at and is to stay as it is."""
        with self._lock:
            self.conflicts = tuple(item for item in self.conflicts if item not in seen)
            self._hands.let_be(seen)
            self._cache.pop("outside", None)

    def value_at(self, file: str, path: Sequence[str]) -> object:
        """What a TOML file says at a path, numbers with a point as Decimal; None where it says nothing."""
        doc = self._docs.get(file)
        return doc.value(path) if isinstance(doc, TomlFile) else None

    def watch(self, callback: Callable[[], object]) -> None:
        """Calls back, from another thread, when a file of the folder may have changed: then it is time to ``poll``."""
        self._watches.append(Watch(self.path, callback))

    def _unwatch(self) -> None:
        for watch in self._watches:
            watch.stop()
        self._watches = []

    def close(self) -> None:
        """Stops watching and tries a last time to save."""
        self._unwatch()
        self.retry()

    def leave(self) -> str:
        """Closes; what can't be saved is written down somewhere else. Words on that, blank where all is saved."""
        with self._lock:
            self.close()
            waiting = len(self._pending)
            if not waiting:
                return ""
            head = f"{waiting} {'entry is' if waiting == 1 else 'entries are'} NOT SAVED in {self.path}"
            try:
                place = rescue(self.path, self._docs, self._pending)
            except SaveError:
                lines = "; ".join(item.label for item in self._pending)
                return f"{head} and can't be written anywhere else either: {lines}"
            it = "it is" if waiting == 1 else "they are"
            return f"{head}: {it} in {place} ({LIST}); paddock merge {self.path} {place / self.path.name} brings back"

    def _rebuild(self) -> None:
        self._refused = {}
        docs, self._pending, against = self._keeper.replayed(self._pending)
        self._sorted_out(self._pending, against)
        self._hands.notice(self._docs, docs)
        self._show(docs)

    def _show(self, docs: Docs, event: Event | None = None) -> None:
        """Other files from now on; ``event`` None: it is worked out when somebody asks."""
        with self._showing:
            self._docs, self._event = docs, event
            self._settings = self._settings if event is None else event.settings
            self.version += 1
            self._cache = {}

    # ---- answers

    def standings(self, day: int | None = None) -> Standings:
        """Every table, of a day or in total; worked out once for each version of the event."""
        return self._cached(("standings", day), lambda: self._standings_again(day))

    def _standings_again(self, day: int | None) -> Standings:
        from paddock.session.loading import standings_again

        event = self.event
        found = standings_again(event, day, self._tables.get(day))
        self._tables[day] = (event, found)
        return found

    def gap(self, number: str, day: int | None = None) -> GapAnswer:
        """What ``number`` must find. Raises KeyError for one that isn't entered."""
        from paddock.session.loading import day_of_gap, gap_of

        def find() -> GapAnswer:
            event = self.event
            return gap_of(event, number, day, self.standings(day_of_gap(event, day)))

        return self._cached(("gap", number, day), find)

    def _cached(self, key: object, make: Callable[[], T]) -> T:
        cache = self._cache  # of this version: a change meanwhile begins another
        if key not in cache:
            cache[key] = make()
        return cast("T", cache[key])


def _group(last: Sequence[JournalEntry]) -> str:
    """What the entry is one with: the first of its kind; blank where there is no entry."""
    return (last[0].of or last[0].id) if last else ""


def _idle(steps: Iterable[SavedStep]) -> bool:
    return all(isinstance(step, RowStep | KeyStep | TrackStep) and step.before == step.after for step in steps)


def _listed(edit: Edit, event: Event | None) -> None:
    """Raises RefusedError where an edit puts in what hangs on an entrant, and the list of them can't be used."""
    why = event.unlisted if event is not None else None
    if why is not None and any(isinstance(one, AddRow) and "number" in one.cells for one in singles(edit)):
        raise RefusedError(f"{why.file} {why.message}")


def _visible(edit: AddRow | ChangeRow, event: Event, docs: Docs) -> None:
    """Raises RefusedError where the row of an edit is not among the event's rows, with the reason found there."""
    doc = docs[edit.file]
    assert isinstance(doc, CsvFile)
    model = doc.spec.row
    fields = (
        {**dict(zip(model.KEY, edit.key, strict=True)), **edit.cells} if isinstance(edit, ChangeRow) else edit.cells
    )
    key = tuple(fields.get(name) for name in model.KEY)
    if len(event.tables.get(edit.file, ())) == len(doc.rows):
        return
    lines = {row.line for row in event.tables.get(edit.file, ())}
    for row in doc.rows_of(key):
        if row.line not in lines:
            why = next(
                (p.message for p in event.problems if p.file == edit.file and p.line == row.line), "it can't be used"
            )
            raise RefusedError(f"{row_name(row)}: {why}")
