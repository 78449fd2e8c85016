"""Before an event is open: a new one, the example to try, and the notes of the events beside one."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import paddock
from paddock.engine.car.driveline import read_points
from paddock.engine.work.notes import all_notes
from paddock.errors import Finding, FolderError, Problem, fault
from paddock.model.car import Car
from paddock.model.edit import new_id
from paddock.model.rows import NoteRow, TreadRow
from paddock.session.loading import load, load_car
from paddock.store import disk
from paddock.store.aside import new_folder, write_fresh
from paddock.store.disk import FileFault, decode, inside, most_bytes, typed
from paddock.store.tomlread import line_of

if TYPE_CHECKING:
    from paddock.engine.pressure.plan import SitePlace
    from paddock.engine.season.carry import Carried
    from paddock.model.event import Event


# a car file opened: the car, the torque curve beside it, and where each value stands in the text


@dataclass(frozen=True, slots=True)
class CarFile:
    """``car`` without its unreadable keys, its curve read in; ``problems`` of reading; ``text`` as it stands."""

    file: str
    text: str
    car: Car
    problems: tuple[Problem, ...]

    def problem(self, finding: Finding) -> Problem:
        """A finding of the engine with its line; a missing key points at the table it belongs in."""
        line = line_of(self.text, finding.key.split("."))
        return Problem(self.file, line, f"{finding.key}: {finding.message}", finding.level)

    def all_problems(self, findings: Iterable[Finding]) -> tuple[Problem, ...]:
        """Those of reading, then those of the engine, each once."""
        return tuple(dict.fromkeys([*self.problems, *map(self.problem, findings)]))


def with_curve(car: Car, folder: Path) -> tuple[Car, tuple[Finding, ...]]:
    """``car`` with the points of ``engine.curve``, a CSV in ``folder``; where it can't be read the typed ones stay."""
    name = car.engine.curve
    if not name:
        return car, ()
    if Path(name).name != name:
        return car, (fault("engine.curve", f"{name!r}: give the name of a file beside the car file, without a path"),)
    try:
        text = decode(name, disk.read(inside(folder, name), most_bytes(name)) or b"")
    except (OSError, ValueError) as error:
        return car, (fault("engine.curve", f"{name} can't be read ({getattr(error, 'strerror', None) or error})"),)
    except FileFault as error:
        return car, (fault("engine.curve", f"{name} can't be read ({error})"),)
    rpm, torque, findings = read_points(text)
    if not rpm:
        return car, findings
    return car.model_copy(update={"engine": car.engine.model_copy(update={"rpm": rpm, "torque_nm": torque})}), findings


def open_car(path: Path) -> CarFile:
    """Read a car file. FolderError where there is none to read, UsageError where it is no car file."""
    car, problems = load_car(path)
    file = f"cars/{path.name}"
    text = decode(file, disk.read(path, most_bytes(file)) or b"")
    car, findings = with_curve(car, path.parent)
    opened = CarFile(file, text, car, problems)
    return CarFile(file, text, car, opened.all_problems(findings))


# the example event that ships with the program, copied to where it may be written to


def example_folder() -> Path:
    """Where the example lies: in the installed package, or beside it in a checkout."""
    here = Path(paddock.__file__).parent
    packed = here / "example_event"
    return packed if packed.is_dir() else here.parent / "example_event"


def folder_description() -> str:
    """The page that describes every file, column and key: in the installed package, or in the docs of a checkout."""
    here = Path(paddock.__file__).parent
    packed = here / "data" / "event-folder.md"
    return (packed if packed.is_file() else here.parent / "docs" / "event-folder.md").read_text(encoding="utf-8")


def copy_example(into: Path | None = None) -> Path:
    """A copy to try things on, made once; ``into`` None: the user's data folder. Raises FolderError."""
    from platformdirs import user_data_path

    target = into or user_data_path("paddock") / "example_event"
    if (target / "event.toml").exists():
        return target
    with new_folder(target) as draft:
        shutil.copytree(example_folder(), draft, dirs_exist_ok=True)
    return target


def new_event(
    folder: Path, name: str, days: Sequence[date], numbers: Sequence[str], place: SitePlace | None = None,
    site: str | None = None, runs_per_day: int | None = None,
) -> Path:  # fmt: skip
    """Make an event folder with an id of its own; raises FolderError where that can't be.

    ``runs_per_day`` None: the template's.
    """
    said: dict[tuple[str, ...], object] = {("site",): site, ("runs_per_day",): runs_per_day}
    more = {} if place is None else {
        ("altitude_m",): place.altitude_m, ("forecast", "hottest_c"): place.hottest_c,
        ("forecast", "coldest_c"): place.coldest_c,
    }  # fmt: skip
    write_fresh(folder, name, list(days), list(numbers), new_id(), {**said, **more})
    return folder


def named_place(said: str, here: Path) -> tuple[Path, str]:
    """Folder and name of a new event from what was typed first: a name, or a path whose end is the name.

    A name that is taken gets a number. Raises UsageError for what can be no path.
    """
    if "/" in said or os.sep in said:
        folder = typed(said)
        return folder, folder.name.replace("_", " ").replace("-", " ").strip()
    stem = re.sub(r"\W+", "_", said.casefold()).strip("_")[:40] or "event"
    names = (stem, *(f"{stem}_{count}" for count in range(2, 1000)))
    return next(here / name for name in names if not os.path.lexists(here / name)), said


def carry_on(
    old: Path, event: Event, folder: Path, name: str, days: Sequence[date], place: SitePlace, site: str | None,
    keep_index: bool = True,
) -> Carried:  # fmt: skip
    """Make ``folder`` the event after ``event`` (read from ``old``); what was carried.

    ``place``, ``site``: as in ``engine.prepare.carry``; ``keep_index`` False: the index table no longer holds.
    Raises FolderError.
    """
    from paddock.engine.season.carry import carry, without_index
    from paddock.folders.seasons import earlier_events
    from paddock.store.plan import write_carried

    carried = carry(event, name, days, new_id, place, site, earlier_events(old, event))
    carried = carried if keep_index else without_index(event, carried)
    write_carried(old, folder, carried.edits)
    if event.of(TreadRow) and folder.resolve().parent != old.resolve().parent:
        before = old.resolve().name
        apart = f"the wear of your tyres is read from the event folders beside this one: put {before} there too"
        carried = replace(carried, questions=(*carried.questions, apart))
    return carried


def notes_beside(folder: Path) -> tuple[tuple[str, tuple[NoteRow, ...]], ...]:
    """Name and notes of each event in the same directory; those that can't be read are passed over."""
    here = folder.resolve()
    found = []
    for path in sorted(here.parent.glob("*/notes.csv")):
        if path.parent == here:
            continue
        try:
            event = load(path.parent)
        except FolderError:
            continue
        found.append((event.settings.name or event.name, all_notes(event)))
    return tuple(found)
