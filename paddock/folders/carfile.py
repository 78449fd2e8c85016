"""A car file opened: the car, the torque curve beside it, and where each value stands in the text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from paddock.engine.car.findings import Finding, fault
from paddock.engine.car.torque_curve import read_points
from paddock.errors import Problem
from paddock.folders.reading import load_car
from paddock.model.car import Car
from paddock.store import disk
from paddock.store.places import inside, most_bytes
from paddock.store.text import FileFault, decode
from paddock.store.tomllines import line_of


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
