"""A folder from elsewhere can't make the program touch anything outside it, nor a file that is none of an event."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from paddock.errors import PaddockError, RefusedError
from paddock.model.edit import AddRow, SetKey
from paddock.session import Session
from paddock.session.loading import check
from paddock.store.folder import read_docs
from paddock.store.journal import Journal
from paddock.store.rowsteps import apply, inverse
from tests.store.folders import every_byte, small_folder

RUN = AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_101})
TOP = "day,run,number,time\n"


def begun(folder: Path, *steps: dict[str, Any]) -> None:
    """A journal with an entry that was begun and never ended."""
    (folder / ".paddock").mkdir(exist_ok=True)
    entry = {"op": "do", "id": "a1", "of": "", "label": "x", "steps": list(steps)}
    with (folder / ".paddock" / "journal").open("a", encoding="utf-8") as out:
        out.write(json.dumps(entry) + "\n")


def file_step(file: str, top: str = TOP, add: bool = True) -> dict[str, Any]:
    return {"step": "file", "file": file, "top": top, "add": add}


def key_step(file: str, before: str | None, after: str | None) -> dict[str, Any]:
    return {"step": "key", "file": file, "path": ["v"], "before": None, "after": None, "before_text": before, "after_text": after}  # fmt: skip


def outside(tmp_path: Path) -> dict[str, bytes | None]:
    return {name: data for name, data in every_byte(tmp_path).items() if not name.startswith("event/")}


STRANGE = [
    "../victim/.bashrc", "../victim/new", "/tmp/paddock-no-such-place/x", "cars/../../victim/.bashrc", "cars/..", "cars/.x.toml",
    "cars/a/b.toml", "cars\\..\\..\\victim\\.bashrc", "C:x.toml", "event.toml/../../victim/new", "./times.csv", ".paddock/journal",
    "notes.txt", "cars/evil.csv", "tracks/../../victim/new", "", "cars/", "cars/\x1b[2J.toml", "tracks/run.toml", "merge-conflicts.csv",
]  # fmt: skip


@pytest.mark.parametrize("file", STRANGE)
@pytest.mark.parametrize("kind", ["made", "emptied", "written", "overwritten"])
def test_a_journal_reaches_no_file_but_the_events_own(tmp_path: Path, file: str, kind: str) -> None:
    folder = small_folder(tmp_path / "event")
    victim = tmp_path / "victim" / ".bashrc"
    victim.parent.mkdir()
    victim.write_text(TOP)
    steps = {
        "made": file_step(file), "emptied": file_step(file, add=False),
        "written": key_step(file, None, "v = 1\n"), "overwritten": key_step(file, TOP, "v = 1\n"),
    }  # fmt: skip
    before, own = outside(tmp_path), set(os.listdir(folder)) | {".paddock"}
    begun(folder, steps[kind])
    session = Session.open(folder)
    session.apply(RUN)
    assert outside(tmp_path) == before
    assert not Path("/tmp/paddock-no-such-place").exists()
    assert set(os.listdir(folder)) == own
    assert {p.name for p in (folder / "cars").iterdir()} == {"estate.toml"}
    for problems in (session.event.problems, check(folder)):
        said = [item for item in problems if item.file == ".paddock/journal"]
        assert [(item.line, item.level) for item in said] == [(1, "fault")]
        assert "is no file of an event" in said[0].message
        assert said[0].message.isprintable()


def test_a_refused_step_can_not_be_undone_into_the_file_either(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    victim = tmp_path / "victim"
    victim.write_text(TOP)
    begun(folder, file_step("../victim"))
    with (folder / ".paddock" / "journal").open("a") as out:
        out.write('{"op":"done","id":"a1"}\n')
    session = Session.open(folder)
    with pytest.raises(PaddockError, match="nothing to undo"):
        session.undo()
    assert victim.read_text() == TOP


@pytest.mark.parametrize("target", ["there", "nowhere"])
@pytest.mark.parametrize("file", ["times.csv", "notes.csv", "cars/estate.toml", "cars/new.toml"])
def test_a_link_out_of_the_folder_is_neither_read_nor_written(tmp_path: Path, file: str, target: str) -> None:
    folder = small_folder(tmp_path / "event")
    held = (folder / file).read_text() if (folder / file).exists() else ""
    if target == "there":
        (tmp_path / "there").write_text(held)
    (folder / file).unlink(missing_ok=True)
    (folder / file).symlink_to(Path("..", "..", target) if "/" in file else Path("..", target))
    begun(folder, key_step(file, held if target == "there" else None, "v = 1\n"), file_step(file))
    before = outside(tmp_path)
    session = Session.open(folder)
    with pytest.raises(PaddockError):
        session.apply(RUN if file == "times.csv" else _edit(file))
    assert outside(tmp_path) == before
    assert any("outside the folder" in item.message for item in check(folder) if item.file == file)


def _edit(file: str) -> Any:
    from paddock.model.edit import SetKey

    return SetKey(file, ("name",), "x") if file.endswith("toml") else AddRow(file, {"id": "a", "text": "x"})


def test_a_cars_folder_that_leads_outside_is_not_gone_into(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    (folder / "cars").rename(tmp_path / "garage")
    (folder / "cars").symlink_to("../garage")
    (tmp_path / "garage" / ".estate.toml.4711.paddock-new").write_text("half")
    before = outside(tmp_path)
    session = Session.open(folder)
    with pytest.raises(PaddockError):
        session.apply(_edit("cars/estate.toml"))
    assert session.apply(RUN).ok
    assert outside(tmp_path) == before
    assert any("outside the folder" in item.message for item in check(folder))


@pytest.mark.parametrize("name", ["journal", "lock", "conflicts.csv", "import.json", "import.new", "import-source.txt"])
def test_what_the_program_keeps_for_itself_follows_no_link(tmp_path: Path, name: str) -> None:
    from paddock.store.nearby import keep_source, remember

    folder = small_folder(tmp_path / "event")
    victim = tmp_path / "victim"
    victim.write_text("mine\n")
    (folder / ".paddock").mkdir()
    (folder / ".paddock" / name).symlink_to(victim)
    session = Session.open(folder)
    assert session.apply(RUN).ok
    keep_source(folder, tmp_path / "results.csv")
    remember(folder, "a", {"number": "No"})
    _against(folder, session)
    assert victim.read_text() == "mine\n"


def test_a_place_of_its_own_that_is_a_link_is_not_gone_into(tmp_path: Path) -> None:
    from paddock.store.nearby import keep_source, remember

    folder = small_folder(tmp_path / "event")
    (tmp_path / "victim").mkdir()
    (folder / ".paddock").symlink_to("../victim")
    session = Session.open(folder)
    assert session.apply(RUN).ok
    keep_source(folder, tmp_path / "results.csv")
    remember(folder, "a", {"number": "No"})
    assert os.listdir(tmp_path / "victim") == []


def _against(folder: Path, session: Session) -> None:
    """An entry that other hands stand against, so that it is put aside."""
    from paddock.model.edit import ChangeRow

    path = folder / "times.csv"
    path.write_text(path.read_text().replace("46.512", "46.999"))
    session.apply(ChangeRow("times.csv", (1, 2, "26", None), {"time_ms": 46_000}))


def test_a_merge_neither_takes_in_nor_writes_through_a_link_that_leads_outside(tmp_path: Path) -> None:
    from paddock.folders.merging import merge_folders

    folder, other = small_folder(tmp_path / "event"), small_folder(tmp_path / "other")
    (tmp_path / "secret").write_text("a secret\n")
    (tmp_path / "garage").mkdir()
    (other / "secret.txt").symlink_to("../secret")
    (other / "cars" / "new.toml").write_text('name = "new"\n')
    (other / "readme.txt").write_text("taken in\n")
    (folder / "readme.txt").symlink_to("../nowhere")
    with pytest.raises(PaddockError, match="outside the folder"):
        merge_folders(folder, other)
    (folder / "readme.txt").unlink()
    merge_folders(folder, other)
    assert not (folder / "secret.txt").exists()
    assert (folder / "readme.txt").read_text() == "taken in\n"
    assert not (tmp_path / "nowhere").exists()


def test_a_torque_curve_is_read_from_beside_the_car_alone(tmp_path: Path) -> None:
    from paddock.folders.starting import open_car

    folder = small_folder(tmp_path / "event")
    (tmp_path / "curve.csv").write_text("rpm,torque_nm\n2000,100\n5000,120\n")
    car = folder / "cars" / "estate.toml"
    for name, link in (("../../curve.csv", False), ("mine.csv", True)):
        car.write_text(f'name = "estate"\n[engine]\ncurve = "{name}"\n')
        if link:
            (folder / "cars" / name).symlink_to("../../curve.csv")
        opened = open_car(car)
        assert opened.car.engine.rpm is None
        assert any("curve" in problem.message for problem in opened.problems)


def test_a_rescue_folder_takes_no_links_along(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    (tmp_path / "secret").write_text("a secret\n")
    (folder / "link.txt").symlink_to("../secret")
    (folder / "mine.txt").write_text("mine\n")
    assert Session.open(folder).save_to(tmp_path / "stick").ok
    assert "mine.txt" in os.listdir(tmp_path / "stick")
    assert "link.txt" not in os.listdir(tmp_path / "stick")


WRONG = (None, True, 0, -1, 10**400, 1.5, float("nan"), "", "x" * 300, [], [[]], {}, {"a": 1}, "\x00", "\ud800")


def _everywhere(value: Any) -> Iterator[Any]:
    """The value with each of its parts in turn of another type or taken away."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield {name: item for name, item in value.items() if name != key}
            yield from ({**value, key: other} for other in (*WRONG, *_everywhere(inner)))
    elif isinstance(value, list):
        for at, inner in enumerate(value):
            yield from ([*value[:at], other, *value[at + 1 :]] for other in (*WRONG, *_everywhere(inner)))


def test_a_journal_of_wrong_types_ends_nothing(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    session.apply(AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_000}))
    session.apply(SetKey("event.toml", ("runs_per_day",), 6))
    session.undo()
    journal = folder / ".paddock" / "journal"
    lines = [json.loads(line) for line in journal.read_text().splitlines()]
    spoilt = [[*lines[:at], other, *lines[at + 1 :]] for at, line in enumerate(lines) for other in _everywhere(line)]
    assert len(spoilt) > 300
    files = Journal(folder)
    sound = read_docs(folder)
    for made in spoilt:
        journal.write_text("".join(json.dumps(line) + "\n" for line in made))
        history, docs = files.read(), dict(sound)
        for entry in (*history.done, *history.undone, *history.open):
            with contextlib.suppress(RefusedError):
                apply(docs, inverse(entry.steps), merge=True)
            with contextlib.suppress(RefusedError):
                apply(docs, entry.steps, merge=True)
        assert all(Path(file).suffix for file in docs)
