"""An event that is kept up to date edit by edit says what the same folder read from scratch says, whatever is done."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.check import sift as checks
from paddock.engine.scoring.gap import gap
from paddock.engine.scoring.plain import standings
from paddock.errors import FolderError, RefusedError
from paddock.model.edit import AddRow, ChangeRow, Edit, RemoveRow, SetKey
from paddock.model.kept import KeptRows
from paddock.model.rows import TimeRow
from paddock.pages.home import home
from paddock.render.home import home_lines
from paddock.session import Session, load
from tests.examples import share
from tests.session.conftest import MEMORY

NOW = datetime(2026, 5, 10, 11, 0)
NUMBERS = ("26", "7", "83", "X1")
HEAD = "format = 1\ndays = [2026-05-09, 2026-05-10]\nruns_per_day = 3\npractice_days = {practice}\n"
REST = '[rules]\n{rules}\n[[classes]]\ncode = "LIME"\n[[classes]]\ncode = "OAK"\nscored_by = "index"\n[index]\nOAK = 0.9\n[mine]\nnumbers = ["26"]\n'
RULES = (
    "",
    'count = "sum"',
    'days = "best"',
    'days = "separate"',
    "count = { best_of_first = 2 }\nmiss = 3",
    'ties = "shared"',
)
FILES = {
    "entrants.csv": "number,driver,class,index,status",
    "times.csv": "day,run,number,time,cones,misses,status,at,try",
    "pressures.csv": "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,gauge",
    "runs.csv": "day,run,number,at,entry,unsafe",
    "weather.csv": "day,at,air_c,surface",
    "grid.csv": "day,number,group,order",
    "changes.csv": "id,day,run,number,key,before,after",
}  # fmt: skip


def _cell(hand: random.Random, name: str) -> str:
    """A cell of a column, now and then one that is a fault or asked about."""
    odd = hand.random() < 0.05
    cells: dict[str, tuple[str, ...]] = {
        "day": ("1", "1", "2", "3" if odd else "2"),
        "run": ("1", "2", "3", "x" if odd else "1"),
        "number": (*NUMBERS, "026" if odd else "7"),
        "driver": ("Ada", "[R]", ""),
        "class": ("LIME", "LIME", "OAK", "", "OKA" if odd else "OAK"),
        "index": ("", "", "OAK", "GONE" if odd else ""),
        "time": ("46.512", "47.3", "45.100", f"4{hand.randrange(10)}.{hand.randrange(1000):03d}", "", "4.1" if odd else "50"),
        "cones": ("", "", "1", "99" if odd else "2"),
        "misses": ("", "", "", "1"),
        "at": (f"{9 + hand.randrange(4)}:{hand.randrange(60):02d}", ""),
        "try": ("", "", "", "", "1"),
        "moment": ("before", "after", "cold", "set"),
        "entry": ("", "u2", "0", "2"),
        "unsafe": ("", "", "noise"),
        "air_c": ("12", "21.5", "90" if odd else ""),
        "surface": ("dry", "damp", ""),
        "group": ("A", "B"),
        "order": ("1", "2", "3"),
        "gauge": ("", "", "lost"),
        "id": ("a", "b", "c"),
        "key": ("front_bar", ""),
        "before": ("1",),
        "after": ("2",),
    }  # fmt: skip
    if name == "status":
        return hand.choice(("", "", "", "", "dnf", "dns", "rerun", "practice", "dsq"))
    if name.endswith("_psi"):
        return hand.choice(("31.5", "30", "", "220" if odd else "29"))
    return hand.choice(cells[name])


def _line(hand: random.Random, file: str) -> str:
    cells = [_cell(hand, name) for name in FILES[file].split(",")]
    if file == "entrants.csv":
        cells[-1] = hand.choice(("", "", "", "dsq", "withdrawn", "carried"))
    return ",".join(cells)


def _folder(path: Path, hand: random.Random) -> Path:
    path.mkdir()
    practice = hand.choice(("[]", "[]", "[1]"))
    (path / "event.toml").write_text(HEAD.format(practice=practice) + REST.format(rules=hand.choice(RULES)))
    for file, head in FILES.items():
        lines = [_line(hand, file) for _ in range(hand.randrange(14 if file == "times.csv" else 4))]
        if file == "entrants.csv":
            lines = [f"{number},,{hand.choice(('LIME', 'OAK'))},," for number in NUMBERS[:3]] + lines
        if lines or file in ("entrants.csv", "times.csv"):
            (path / file).write_text("\n".join([head, *lines, ""]))
    return path


def _outside(path: Path, hand: random.Random) -> None:
    """Another program writes a file: a line more, less, or otherwise; two places changed round."""
    file = path / hand.choice(list(FILES))
    head, *lines = file.read_text().splitlines() if file.exists() else [FILES[file.name]]
    where = hand.randrange(len(lines) + 1)
    act = hand.randrange(4)
    if act == 0 or not lines:
        lines.insert(where, _line(hand, file.name))
    elif act == 1:
        del lines[where - 1]
    elif act == 2:
        lines[where - 1] = _line(hand, file.name)
    else:
        hand.shuffle(lines)
    file.write_text("\n".join([head, *lines, ""]))


def _edit(session: Session, hand: random.Random) -> Edit:
    """A row more, changed or taken out, or a setting."""
    kind = hand.randrange(8)
    times = session.event.times
    file = hand.choice(["times.csv"] * 4 + ["entrants.csv", "runs.csv", "weather.csv"])
    rows = times if file == "times.csv" else session.event.tables.get(file, ())
    if kind == 0:
        path, values = hand.choice(
            [(("practice_days",), ([1], [])), (("rules", "cone_s"), (1, 2)), (("runs_per_day",), (2, 4)),
             (("index", "LIME"), (0.8,)), (("rules", "ties"), ("shared", "next-best"))]
        )  # type: ignore[assignment]  # fmt: skip
        return SetKey("event.toml", path, hand.choice(values))
    if kind in (1, 2) and rows:
        return RemoveRow(file, hand.choice(rows).key) if kind == 1 else _changed(hand, file, hand.choice(rows).key)
    if kind == 3 and times:
        return _changed(hand, "times.csv", hand.choice(times).key)
    cells: dict[str, Any] = {
        "times.csv": {"run": hand.randrange(1, 5), "time_ms": 44_000 + hand.randrange(4_000), "cones": hand.choice((None, 1))},
        "entrants.csv": {"class_": "LIME"},
        "runs.csv": {"run": hand.randrange(1, 4), "entry": 1},
        "weather.csv": {"at": "12:00", "air_c": 20.0},
    }[file]  # fmt: skip
    number = {} if file == "weather.csv" else {"number": hand.choice((*NUMBERS, "99"))}
    day = {} if file == "entrants.csv" else {"day": hand.randrange(1, 3)}
    return AddRow(file, {**day, **number, **cells})


def _changed(hand: random.Random, file: str, key: tuple[Any, ...]) -> ChangeRow:
    cells: dict[str, dict[str, Any]] = {
        "times.csv": {"time_ms": 44_000 + hand.randrange(4_000), "status": hand.choice((None, "dnf", "rerun"))},
        "entrants.csv": {"class_": hand.choice(("LIME", "OAK"))},
        "runs.csv": {"entry": 0},
        "weather.csv": {"air_c": 10.0},
    }
    return ChangeRow(file, key, cells[file])


def _act(session: Session, hand: random.Random) -> None:
    acts: list[Callable[[], object]] = [lambda: session.apply(_edit(session, hand))] * 5
    acts += [session.undo, session.undo, session.redo, lambda: (_outside(session.path, hand), session.poll())]
    try:
        hand.choice(acts)()
    except RefusedError:
        session.poll()


def _same_as_from_scratch(session: Session) -> None:
    try:
        fresh = load(session.path)
    except FolderError:
        return
    event = session.event
    assert event.problems == fresh.problems
    assert event == fresh
    for rows in event.tables.values():
        together = [row for own in rows.by_number.values() for row in own]  # type: ignore[attr-defined]
        assert sorted(map(id, together)) == sorted(map(id, rows))
    for day in (None, 1, 2):
        assert session.standings(day) == standings(fresh, day)
    for entrant in fresh.entrants:
        day = 2 if fresh.settings.rules.days == "separate" else None
        assert session.gap(entrant.number, 2) == gap(fresh, entrant.number, standings(fresh, day), 2)
    found = session.gap("26", 2) if fresh.entrant("26") else None
    shown = (home_lines(home(of, "26", NOW, found, 2), 80, 50, None) for of in (event, fresh))
    assert next(shown) == next(shown)


@settings(max_examples=share(0.7))
@given(st.integers(0, 10**9))
def test_whatever_is_done_the_event_is_what_the_folder_says(number: int) -> None:
    hand = random.Random(number)
    place = Path(tempfile.mkdtemp(dir=MEMORY if MEMORY.is_dir() else None))
    try:
        session = Session.open(_folder(place / "event", hand))
        _same_as_from_scratch(session)
        for _ in range(7):
            _act(session, hand)
            _same_as_from_scratch(session)
    finally:
        shutil.rmtree(place)


def test_an_accepted_run_looks_at_the_rows_of_its_number_alone(
    quick_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _folder(quick_path / "event", random.Random(1))
    (path / "times.csv").write_text(f"{FILES['times.csv']}\n1,1,26,46.5,,,,,\n1,1,7,47.5,,,,,\n1,2,7,47.1,,,,,\n")
    session = Session.open(path)
    looked = list[TimeRow]()

    def ordinary(row: TimeRow) -> bool:
        looked.append(row)
        return True

    before = session.event.times
    monkeypatch.setattr(checks, "_ordinary", ordinary)
    session.apply(AddRow("times.csv", {"day": 1, "run": 2, "number": "26", "time_ms": 45_000}))
    after = session.event.times
    assert [row.run for row in looked] == [1, 2]
    assert {row.number for row in looked} == {"26"}
    assert after.by_number["7"] is before.by_number["7"]
    assert [row.run for row in after.by_number["26"]] == [1, 2]
    session.undo()
    assert session.event.times == before
    assert session.event.times.by_number["7"] is before.by_number["7"]


def test_an_answer_is_kept_with_rows_and_what_it_was_asked_with() -> None:
    rows = KeptRows((TimeRow(day=1, run=1, number="26", line=2), TimeRow(day=1, run=1, number="7", line=3)))
    asked = list[int]()

    def count(found: KeptRows[TimeRow], more: int) -> int:
        asked.append(more)
        return len(found) + more

    assert [rows.once(count, more) for more in (1, 2, 1, 2)] == [3, 4, 3, 4]
    assert asked == [1, 2]
    assert [rows.once(count, more) for more in (3, 4, 5, 1)] == [5, 6, 7, 3]
    assert asked == [1, 2, 3, 4, 5, 1]
    assert KeptRows(rows).once(count, 1) == 3
    assert len(asked) == 7
