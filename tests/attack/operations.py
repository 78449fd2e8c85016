"""What is done to a folder in one go and may be broken off at any moment. One ``Operation`` a line in ``operations``.

Each is prepared in an empty place, carried out by ``act``, and may be carried out once more after it was broken off:
then the place must hold what it holds after an undisturbed one. Until then an event is as it was before or as it is
after (``whole``), or every file of it is (a merge, which says so and is finished by merging once more).
"""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from paddock.__main__ import main
from paddock.folders.merging import merge_folders
from paddock.session import Session
from paddock.store.disk import strays
from tests.store.folders import EVENT, TIMES, small_folder

EVENTS = ("a", "b", "c", "next", "back")
"""Folders of a place that may be events."""
Files = dict[str, bytes]
_ID = re.compile(rb'^id = "[a-z0-9]+"', re.MULTILINE)


class RefusedHereError(Exception):
    """The act was answered with a sentence instead of being done."""


@dataclass(frozen=True)
class Operation:
    """``prepare`` fills an empty place, ``act`` does the thing in it. ``whole``: all or nothing, not file by file.
    ``lost``: words that must stand somewhere in the place at any moment."""

    name: str
    prepare: Callable[[Path], object]
    act: Callable[[Path], object]
    whole: bool = True
    again: bool = True
    lost: tuple[str, ...] = field(default=())


def files(place: Path) -> Files:
    """Every byte but what may be deleted without loss; a new event's random id is one as good as another."""
    return {
        path.relative_to(place).as_posix(): _ID.sub(b"", path.read_bytes())
        for path in sorted(place.rglob("*"))
        if path.is_file() and ".paddock" not in path.relative_to(place).parts
    }


def asked(*words: object) -> None:
    """A command, which must be done. Raises RefusedHereError with its sentence."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([str(word) for word in words])
    if code:
        raise RefusedHereError(err.getvalue())


def what_is_wrong(place: Path, operation: Operation, before: Files, after: Files) -> list[str]:
    """What a place must never show once an act was broken off, whatever moment that was; opens its events."""
    said = b"\n".join(files(place).values()).decode("latin-1")
    wrong = [f"{word!r} is lost" for word in operation.lost if word.encode().decode("latin-1") not in said]
    for name in EVENTS:
        if (place / name / "event.toml").exists():
            session = Session.open(place / name)
            wrong += [str(item) for item in session.event.problems if item.level == "fault"]
            wrong += [f"left: {path.name}" for path in strays(place / name)]
            wrong += [f"unsaved: {edit}" for edit in session.unsaved]
            session.close()
    now = files(place)
    if operation.whole and now not in (before, after) and _known(now) not in (_known(before), _known(after)):
        wrong.append(
            f"neither as before nor as after: {sorted(_differing(now, before))}, {sorted(_differing(now, after))}"
        )
    elif not operation.whole:
        wrong += [f"{name} is half" for name, data in now.items() if data not in (before.get(name), after.get(name))
                  and not name.endswith(".paddock-new")]  # fmt: skip
    return wrong


def _known(found: Mapping[str, bytes]) -> Files:
    """Without what the next run of the same program takes away."""
    return {name: data for name, data in found.items() if ".paddock-new" not in name}


def _differing(one: Mapping[str, bytes], other: Mapping[str, bytes]) -> set[str]:
    return {name for name in one.keys() | other.keys() if one.get(name) != other.get(name)}


# ---- what is done


def _event(place: Path) -> None:
    small_folder(place / "a")
    lines = ["No,Driver,Run 1,Run 2,Run 3,Run 4"]
    lines += ["26,Ada Nowhere,47.250,46.512,46.101,46.002(1)", '7,"Brook, Otter [R]",48.003(1),47.001,dnf,46.900']
    (place / "posted.csv").write_text("\n".join(lines) + "\n")


def _imported(place: Path) -> None:
    asked("import", place / "a", place / "posted.csv", "--yes", "--day", 1)


def _undo(place: Path) -> None:
    session = Session.open(place / "a")
    if session.can_undo:
        session.undo()
    session.close()


def _event_with(act: Callable[[Path], object]) -> Callable[[Path], None]:
    def prepare(place: Path) -> None:
        _event(place)
        act(place)

    return prepare


def _copies(place: Path) -> None:
    small_folder(place / "a")
    small_folder(place / "b")
    (place / "a" / "times.csv").write_text(TIMES.replace("46.512", "46.401"))
    (place / "b" / "times.csv").write_text(TIMES.replace("46.512", "46.902") + "2,1,26,46.100,,,,10:01,\n")
    (place / "a" / "event.toml").write_text(EVENT.replace("cone_s = 2.0", "cone_s = 1.5"))
    (place / "a" / "plan.txt").write_text("the short plan")
    (place / "b" / "plan.txt").write_text("the much longer plan")
    (place / "b" / "pictures").mkdir()
    (place / "b" / "pictures" / "grid.bin").write_bytes(bytes(range(256)) * 40)


def _merged(place: Path) -> None:
    merge_folders(place / "a", place / "b")


def _merged_apart(place: Path) -> None:
    merge_folders(place / "a", place / "b", place / "c")


def _exported(place: Path) -> None:
    asked("export", place / "a", "-o", place / "a.zip")


def _unpacked(place: Path) -> None:
    if not (place / "back" / "event.toml").exists():
        asked("export", place / "a.zip", "--unpack", "-o", place / "back")


def _carried(place: Path) -> None:
    if not (place / "next" / "event.toml").exists():
        asked("new", place / "next", "--from", place / "a", "--name", "next", "--days", "2027-05-01")


def _track_there(place: Path) -> None:
    from tests.track_files import csv
    from tests.where_event import event, recorded, runs

    driven = runs(1)
    event(place / "a", driven)
    (place / "run.csv").write_text(csv(recorded(driven[0])))


def _tracked(place: Path) -> None:
    asked("track", place / "a", place / "run.csv", "--number", 7, "--day", 1, "--run", 1)


def _track_brought_in(place: Path) -> None:
    _track_there(place)
    _tracked(place)


def _debriefed(place: Path) -> None:
    asked("debrief", place / "a", "-o", place / "page.html")


WORDS = ("46.401", "46.902", "46.100", "1.5", "2.0", "the short plan", "the much longer plan")

OPERATIONS = (
    Operation("import", _event, _imported),
    Operation("undo of an import", _event_with(_imported), _undo, again=False),
    Operation("merge", _copies, _merged, whole=False, lost=WORDS),
    Operation("merge into a third", _copies, _merged_apart, lost=WORDS),
    Operation("export", _event, _exported),
    Operation("unpack", _event_with(_exported), _unpacked),
    Operation("new --from", _event, _carried),
    Operation("track", _track_there, _tracked),
    Operation("undo of a track", _track_brought_in, _undo, again=False),
    Operation("debrief", _event, _debriefed, whole=False),
)
