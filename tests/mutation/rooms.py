"""Which files make a room of the engine, and which tests are its own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ENGINE = "paddock/engine"
TESTS = "tests/engine"


@dataclass(frozen=True)
class Room:
    """Sources and tests as patterns under the checkout, the quick tests first."""

    name: str
    sources: tuple[str, ...]
    tests: tuple[str, ...]

    def files(self, root: Path) -> list[str]:
        """The source files, as paths from the root."""
        return _found(root, self.sources)

    def tests_for(self, root: Path, source: str) -> list[str]:
        """The room's tests, those that name the source file's module first."""
        module = source.removesuffix(".py").replace("/", ".")
        files = _found(root, self.tests)
        return sorted(files, key=lambda file: module not in (root / file).read_text(encoding="utf-8"))


def _found(root: Path, patterns: tuple[str, ...]) -> list[str]:
    found = [path for pattern in patterns for path in sorted(root.glob(pattern))]
    return list(dict.fromkeys(path.relative_to(root).as_posix() for path in found if path.name != "__init__.py"))


def _room(name: str, sources: str, tests: str, commands: str = "") -> Room:
    return Room(
        name,
        tuple(f"{ENGINE}/{item}" for item in sources.split()),
        (*(f"{TESTS}/{item}" for item in tests.split()), *(f"tests/commands/{item}" for item in commands.split())),
    )


ROOMS = {
    room.name: room
    for room in (
        _room(
            "scoring",
            "scoring/tables.py scoring/plain.py scoring/again.py scoring/standings.py scoring/gap.py check/*.py",
            "test_scoring*.py test_check_*.py test_car_faults.py clock/test_entered.py",
            "test_ground.py test_broken_folders.py",
        ),
        _room(
            "air",
            " ".join(f"pressure/{name}.py" for name in "air mass heat heat_fit readings timeline follow".split()),
            "test_air*.py test_readings*.py test_heat*.py pressure/test_what_if.py pressure/test_situations.py",
            "test_air.py",
        ),
        _room(
            "pressure",
            "pressure/[!acdfhmrt]*.py pressure/a[!i]*.py pressure/moment.py pressure/cautions.py pressure/decide.py "
            "pressure/rules.py pressure/returns.py",
            "pressure/test_*.py test_shown.py test_responses.py",
            "test_next.py",
        ),
        _room(
            "effect",
            "field/*.py stats/*.py",
            "stats/test_*.py field/test_*.py test_any_event.py",
            "test_effect.py test_chances.py",
        ),
        _room(
            "car",
            "car/bars.py car/bar_parts.py car/balance.py car/compensation.py car/gears.py car/driveline.py car/hold_or_shift.py",
            "test_bars*.py test_bar_table.py test_wheels.py test_torque.py test_balance*.py test_giveback.py "
            "test_responses*.py test_gears*.py test_stretch*.py",
            "test_bar.py test_gears.py",
        ),
        _room(
            "tyres",
            "tyres/*.py work/*.py car/setup_sheet.py season/carry.py",
            "tyres/test_[!a]*.py work/*.py test_sheet*.py test_prepare*.py test_checklists.py test_afterwards.py "
            "tyres/test_any_event.py",
            "test_tyres.py",
        ),
    )
}
