"""Files that may hold results, and what a typed beginning may mean."""

from __future__ import annotations

import os
from pathlib import Path

from paddock.store.nearby import completions, keep_source, last_source, tables_near


def _file(path: Path, at: int) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("No;Run 1\n")
    os.utime(path, (at, at))
    return path.resolve()


def test_the_events_own_tables_are_no_source(tmp_path: Path) -> None:
    event = tmp_path / "event"
    for name in ("times.csv", "merge-conflicts.csv", ".hidden.csv", "photo.jpg"):
        _file(event / name, 1)
    own = _file(event / "posted.csv", 2)
    above = _file(tmp_path / "times.csv", 3)
    assert [item.path for item in tables_near(event)] == [above, own]
    assert [item.where for item in tables_near(event)] == ["above", "here"]


def test_the_one_used_last_comes_first(tmp_path: Path) -> None:
    event = tmp_path / "event"
    old, new = _file(event / "old.csv", 1), _file(event / "new.csv", 9)
    far = _file(tmp_path / "far" / "away" / "far.csv", 1)
    keep_source(event, old)
    assert [item.path for item in tables_near(event)] == [old, new]
    keep_source(event, far)
    assert last_source(event) == far
    assert tables_near(event)[0].path == far
    far.unlink()
    assert [item.path for item in tables_near(event)] == [new, old]


def test_names_are_completed(tmp_path: Path) -> None:
    event = tmp_path / "event"
    _file(event / "Sunday.csv", 1)
    _file(event / "monday.html", 2)
    _file(tmp_path / "saved" / "a.txt", 3)
    (tmp_path / "saved" / "inner").mkdir()
    assert [item.name for item in completions(event, "SUN")] == ["Sunday.csv"]
    assert [item.name for item in completions(event, "../sa")] == ["../saved/"]
    assert [item.name for item in completions(event, "../saved/")] == ["../saved/a.txt", "../saved/inner/"]
    assert [item.folder for item in completions(event, "../saved/")] == [False, True]
    assert completions(event, "/no/such/place") == ()


def test_nothing_kept_and_nowhere_to_keep(tmp_path: Path) -> None:
    assert last_source(tmp_path) is None
    (tmp_path / ".paddock").write_text("a file in the way")
    keep_source(tmp_path, tmp_path / "x.csv")
    assert last_source(tmp_path) is None
    assert tables_near(tmp_path / "gone") == ()
