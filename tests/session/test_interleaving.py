"""Two copies of the program and an editor on one folder, in any order: nothing is lost without a word.

After every act the files must hold what they held before it, and of the act all (it said saved) or nothing (it
said why not). An act may itself be interrupted by the editor, just before a file is replaced.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from paddock.errors import RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, RemoveRow, SetKey
from paddock.session import Session
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.disk import strays
from paddock.store.tomlfile import TomlFile
from tests.examples import share
from tests.session.conftest import MEMORY

Key = tuple[int, int, str, str | None]
Cells = dict[str, str]
State = dict[Any, Any]

WHO = st.integers(0, 1)
RUN = st.integers(1, 4)
COLUMN = st.sampled_from(["cones", "misses"])
VALUE = st.integers(0, 3)
MANNERS = st.sampled_from(["plain", "crlf", "semicolons", "more columns", "turned round"])


def tiny_folder(path: Path) -> Path:
    """As little as an event can be, for it is read thousands of times."""
    path.mkdir()
    (path / "event.toml").write_text('days = [2026-05-09]\n[[classes]]\ncode = "PINE"\n[rules]\ncone_s = 2\n')
    (path / "entrants.csv").write_text("number,class\n26,PINE\n")
    (path / "times.csv").write_text("day,run,number,time,cones,misses\n1,1,26,47.250,,\n1,2,26,46.512,,\n")
    return path


def state_of(folder: Path) -> State:
    """Everything the folder says, however it is written: rows of times by key, logged runs, one key."""
    table = CsvFile.parse("times.csv", (folder / "times.csv").read_bytes())
    assert table.problems == ()
    found: State = {row.key: (row.time_ms, row.cones, row.misses) for row in table.rows}  # type: ignore[attr-defined]
    assert len(found) == len(table.rows)
    log = folder / "runs.csv"
    if log.exists():
        found |= {("log", *row.key): row.note for row in CsvFile.parse("runs.csv", log.read_bytes()).rows}  # type: ignore[attr-defined]
    found["cone_s"] = TomlFile.parse("event.toml", (folder / "event.toml").read_bytes()).value(("rules", "cone_s"))
    return found


def rewritten(folder: Path, change: Callable[[dict[Key, Cells]], None], manner: str) -> None:
    """The editor: reads times.csv, changes rows, writes it back in its own manner."""
    table = CsvFile.parse("times.csv", (folder / "times.csv").read_bytes())
    names = [name.strip().lower() for name in table.layout.headers]
    rows = {r.row.key: dict(zip(names, r.cells, strict=False)) for r in table.records if r.row is not None}
    change(rows)  # type: ignore[arg-type]
    names = names[::-1] if manner == "turned round" else [*names, *(["own"] if manner == "more columns" else [])]
    sign, ending = (";" if manner == "semicolons" else ","), ("\r\n" if manner == "crlf" else "\n")
    lines = [names, *([row.get(name, "") for name in names] for row in rows.values())]
    (folder / "times.csv").write_bytes("".join(sign.join(line) + ending for line in lines).encode())


class Hands(RuleBasedStateMachine):
    """``middle``: an editor's act waiting to happen in the middle of the next save."""

    @initialize()
    def begin(self) -> None:
        self.place = Path(tempfile.mkdtemp(dir=MEMORY if MEMORY.is_dir() else None))
        self.folder = tiny_folder(self.place / "event")
        self.sessions = [Session.open(self.folder), Session.open(self.folder)]
        self.middle: Callable[[], None] | None = None
        self.patch = pytest.MonkeyPatch()
        self.patch.setattr(disk, "_write_new", self._interrupted(disk._write_new))

    def teardown(self) -> None:
        if hasattr(self, "patch"):
            self.patch.undo()
            self._end()
            shutil.rmtree(self.place)

    def _end(self) -> None:
        for session in self.sessions:
            session.poll()
            assert session.unsaved == ()
        assert self.sessions[0].event == self.sessions[1].event == Session.open(self.folder).event
        assert strays(self.folder) == []

    def _interrupted(self, real: Callable[..., None]) -> Callable[..., None]:
        def write(temp: Path, data: bytes, target: Path) -> None:
            real(temp, data, target)
            middle, self.middle = self.middle, None
            if middle is not None:
                middle()

        return write

    def _act(self, session: Session, act: Callable[[], bool], wanted: Callable[[State], Any]) -> None:
        """Does ``act`` and holds the folder against before; the editor's part in the middle is added to before."""
        before = state_of(self.folder)
        if self.middle is not None:
            self.middle = self._noted(self.middle, before)
        conflicts = len(session.conflicts)
        try:
            ok = act()
        except RefusedError:
            ok = False
        else:
            assert ok or len(session.conflicts) > conflicts  # an entry saved over meanwhile is said as well
        self.middle = None
        if ok:
            wanted(before)
        assert state_of(self.folder) == before

    def _noted(self, middle: Callable[[], None], before: State) -> Callable[[], None]:
        def act() -> None:
            there = state_of(self.folder)
            middle()
            after = state_of(self.folder)
            for key in there.keys() | after.keys():
                if there.get(key) != after.get(key):
                    before.pop(key, None)
                    before.update({key: after[key]} if key in after else {})

        return act

    def _seen(self, who: int, key: Key) -> tuple[int | None, int | None, int | None] | None:
        """A row as this copy of the program knows it."""
        found = (row for row in self.sessions[who].event.times if row.key == key)
        return next(((row.time_ms, row.cones, row.misses) for row in found), None)

    def _edit(self, who: int, edit: Edit, wanted: Callable[[State], Any]) -> None:
        session = self.sessions[who]
        self._act(session, lambda: session.apply(edit).ok, wanted)

    # ---- the two copies

    @rule(who=WHO, run=RUN, value=VALUE)
    def add(self, who: int, run: int, value: int) -> None:
        cells = {"day": 1, "run": run, "number": "26", "time_ms": 40_000 + value}
        self._edit(
            who, AddRow("times.csv", cells), lambda s: _new(s, {(1, run, "26", None): (40_000 + value, None, None)})
        )

    @rule(who=WHO, run=RUN, value=VALUE)
    def add_and_log(self, who: int, run: int, value: int) -> None:
        cells = {"day": 1, "run": run, "number": "26", "time_ms": 40_000 + value}
        log = {"day": 1, "run": run, "number": "26", "note": f"{value}"}
        both = Batch("log", (AddRow("times.csv", cells), AddRow("runs.csv", log)))
        new = {(1, run, "26", None): (40_000 + value, None, None), ("log", 1, run, "26"): f"{value}"}
        self._edit(who, both, lambda s: _new(s, new))

    @rule(who=WHO, run=RUN, column=COLUMN, value=VALUE)
    def change(self, who: int, run: int, column: str, value: int) -> None:
        key: Key = (1, run, "26", None)
        at = 1 if column == "cones" else 2
        seen = self._seen(who, key)

        def wanted(state: State) -> None:
            assert seen is not None
            assert state[key][at] in (seen[at], value), "what others wrote there was overwritten without a word"
            state[key] = (*state[key][:at], value, *state[key][at + 1 :])

        self._edit(who, ChangeRow("times.csv", key, {column: value}), wanted)

    @rule(who=WHO, run=RUN)
    def remove(self, who: int, run: int) -> None:
        key: Key = (1, run, "26", None)
        seen = self._seen(who, key)

        def wanted(state: State) -> None:
            assert state.pop(key, seen) == seen, "what others wrote there was removed without a word"

        self._edit(who, RemoveRow("times.csv", key), wanted)

    @rule(who=WHO, value=VALUE)
    def set_cone(self, who: int, value: int) -> None:
        seen = self.sessions[who].event.settings.rules.cone_s

        def wanted(state: State) -> None:
            assert state["cone_s"] in (seen, value)
            state["cone_s"] = value

        self._edit(who, SetKey("event.toml", ("rules", "cone_s"), value), wanted)

    @rule(who=WHO, op=st.sampled_from(["undo", "redo"]))
    def turn(self, who: int, op: str) -> None:
        session = self.sessions[who]
        source = session._done if op == "undo" else session._undone
        if not source:
            return
        entry = source[-1]
        before = state_of(self.folder)
        middle = self.middle is not None
        try:
            getattr(session, op)()
        except RefusedError:
            changed: set[Any] = set()
        else:
            changed = {key for key, value in state_of(self.folder).items() if before.get(key) != value}
            changed |= before.keys() - state_of(self.folder).keys()
        self.middle = None
        touched = {step.file for step in entry.steps}
        if not middle:
            assert all(_file_of(key) in touched for key in changed)
            assert len(changed) <= len(entry.steps)

    @rule(who=WHO)
    def poll(self, who: int) -> None:
        self.middle = None
        before = state_of(self.folder)
        self.sessions[who].poll()
        assert state_of(self.folder) == before
        rows = {row.key for row in self.sessions[who].event.times}
        assert rows == {key for key in before if _file_of(key) == "times.csv"}

    @rule(who=WHO)
    def leave_and_come_back(self, who: int) -> None:
        self.middle = None
        before = state_of(self.folder)
        self.sessions[who].close()
        self.sessions[who] = Session.open(self.folder)
        assert state_of(self.folder) == before

    @rule(who=WHO, run=RUN, value=VALUE, theirs=VALUE, mine=st.integers(0, 3), editor=st.integers(0, 2), manner=MANNERS)
    def meet(self, who: int, run: int, value: int, theirs: int, mine: int, editor: int, manner: str) -> None:
        """The editor saves the same run just before the file is replaced."""
        acts = (
            lambda: self.editor_adds(run=run, value=theirs, manner=manner, later=True),
            lambda: self.editor_changes(run=run, column="cones", value=theirs, manner=manner, later=True),
            lambda: self.editor_removes(run=run, manner=manner, later=True),
        )
        acts[editor]()
        mines = (
            lambda: self.add(who=who, run=run, value=value),
            lambda: self.add_and_log(who=who, run=run, value=value),
            lambda: self.change(who=who, run=run, column="cones", value=value),
            lambda: self.remove(who=who, run=run),
        )
        mines[mine]()

    # ---- the editor

    @rule(run=RUN, column=COLUMN, value=VALUE, manner=MANNERS, later=st.booleans())
    def editor_changes(self, run: int, column: str, value: int, manner: str, later: bool) -> None:
        def change(rows: dict[Key, Cells]) -> None:
            if (1, run, "26", None) in rows:
                rows[1, run, "26", None][column] = str(value)

        self._editor(lambda: rewritten(self.folder, change, manner), later)

    @rule(run=RUN, value=VALUE, manner=MANNERS, later=st.booleans())
    def editor_adds(self, run: int, value: int, manner: str, later: bool) -> None:
        row = {"day": "1", "run": str(run), "number": "26", "time": f"41.00{value}"}
        self._editor(
            lambda: rewritten(self.folder, lambda rows: rows.setdefault((1, run, "26", None), row), manner), later
        )  # type: ignore[arg-type,return-value]

    @rule(run=RUN, manner=MANNERS, later=st.booleans())
    def editor_removes(self, run: int, manner: str, later: bool) -> None:
        self._editor(lambda: rewritten(self.folder, lambda rows: rows.pop((1, run, "26", None), None), manner), later)  # type: ignore[arg-type,return-value]

    def _editor(self, act: Callable[[], None], later: bool) -> None:
        if later:
            self.middle = act
        else:
            act()


def _new(state: State, rows: State) -> None:
    assert all(state.get(key, value) == value for key, value in rows.items()), "another row of that name is lost"
    state.update(rows)


def _file_of(key: Any) -> str:
    if key == "cone_s":
        return "event.toml"
    return "runs.csv" if key[0] == "log" else "times.csv"


@pytest.mark.parametrize("part", range(4))
def test_any_interleaving(part: int) -> None:
    """Half of what the profile says in each part, of up to 9 acts."""
    machine = seed(part)(type(f"Hands{part}", (Hands,), {}))
    health = [HealthCheck.too_slow, HealthCheck.filter_too_much]
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=share(0.5),
            stateful_step_count=9,
            deadline=None,
            database=None,
            phases=[Phase.generate],  # shrinking takes minutes: add it to look into a failure
            suppress_health_check=health,
        ),
    )
