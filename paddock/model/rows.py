"""One frozen pydantic model per CSV file of the event folder.

A field's ``Column`` says which cell it is: how it is read, its unit family, whether it must be there.
Values are in the units kept inside (psi, C, mm, N.m, km/h, whole milliseconds); None = not recorded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from operator import attrgetter
from typing import Annotated, ClassVar, Literal

from pydantic import BaseModel, ConfigDict

from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.settings import Settings
from paddock.model.units import KINDS, CellKind, Measured, choice

# a table as it was found in a file, a page or a paste: texts only, nothing understood yet


@dataclass(frozen=True, slots=True)
class CellGrid:
    """``rows`` of equal width; ``lines``: where each row stands in the source, from 1.

    In a text file that is its line, in a page the row of the table. ``name`` is the table's caption or
    the heading above it, ``title`` the page's title and other text above all tables; both may be blank.
    """

    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    name: str = ""
    title: str = ""

    @classmethod
    def of(cls, rows: Iterable[Sequence[str]], lines: Iterable[int] = (), name: str = "", title: str = "") -> CellGrid:
        """Rows of any length, padded with blanks to the longest; lines count from 1 where none are given."""
        kept = [tuple(row) for row in rows]
        width = max((len(row) for row in kept), default=0)
        padded = tuple(row + ("",) * (width - len(row)) for row in kept)
        return cls(padded, tuple(lines) or tuple(range(1, len(padded) + 1)), name, title)

    @property
    def width(self) -> int:
        """Columns."""
        return len(self.rows[0]) if self.rows else 0


CORNERS = ("lf", "rf", "lr", "rr")
"""Left front, right front, left rear, right rear."""
WALK = ("lf", "rf", "rr", "lr")
"""Round the car from the left front; a person may choose another order."""


@dataclass(frozen=True, slots=True)
class FileColumn:
    """``header`` is the name in the file where it is not the field's own; ``family`` names the units."""

    kind: CellKind
    header: str = ""
    family: str = ""
    required: bool = False


class Row(BaseModel):
    """A row of a CSV file; ``line`` counts from 1, 0 = not in a file yet."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    FILE: ClassVar[str]
    KEY: ClassVar[tuple[str, ...]]
    line: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        """What tells this row from the others of its file."""
        return key_of(type(self))(self)


@cache
def key_of(row: type[Row]) -> Callable[[Row], tuple[object, ...]]:
    """A row model's key as a function of its rows, quick enough for thousands."""
    if len(row.KEY) > 1:
        return attrgetter(*row.KEY)
    (name,) = row.KEY
    return lambda item: (getattr(item, name),)


def _col(kind: str, header: str = "", family: str = "", required: bool = False) -> FileColumn:
    return FileColumn(KINDS[kind], header, family, required)


def _of(*words: str, header: str = "") -> FileColumn:
    return FileColumn(choice(*words), header)


Day = Annotated[int, _col("ordinal", required=True)]
Run = Annotated[int, _col("ordinal", required=True)]
Number = Annotated[str, _col("text", required=True)]
Text = Annotated[str | None, _col("text")]
Id = Annotated[str, _col("text", required=True)]
Clock = Annotated[str | None, _col("clock")]
Whole = Annotated[int | None, _col("ordinal")]
Count = Annotated[int | None, _col("count")]
Real = Annotated[float | None, _col("float")]
Psi = Annotated[float | None, _col("float", family="pressure")]
Celsius = Annotated[float | None, _col("float", family="temperature")]
Millimetres = Annotated[float | None, _col("float", family="depth")]
Torque = Annotated[float | None, _col("float", family="torque")]
Speed = Annotated[float | None, _col("float", family="speed")]
Balance = Annotated[int | None, _col("balance")]
Flag = Annotated[bool | None, _col("flag")]
Date = Annotated[date | None, _col("date")]
Corner = Annotated[Literal["lf", "rf", "lr", "rr"], FileColumn(choice(*CORNERS), required=True)]
Surface = Annotated[
    Literal["dry", "drying", "damp", "wet", "standing"] | None, _of("dry", "drying", "damp", "wet", "standing")
]


class EntrantRow(Row):
    """One entry. ``index`` None: the class's own code. ``control`` False: known to have changed something.

    ``status`` carried: entered at the event before, not seen at this one yet.
    """

    FILE = "entrants.csv"
    KEY = ("number",)
    number: Number
    driver: Text = None
    car: Text = None
    class_: Annotated[str | None, _col("text", "class")] = None
    index: Text = None
    drive: Annotated[Literal["front", "rear", "all"] | None, _of("front", "rear", "all")] = None
    tyre_kind: Text = None
    control: Flag = None
    status: Annotated[Literal["dsq", "withdrawn", "carried"] | None, _of("dsq", "withdrawn", "carried")] = None


class GridRow(Row):
    """Where one entry stands in the running order of a day."""

    FILE = "grid.csv"
    KEY = ("day", "number")
    day: Day
    number: Number
    group: Text = None
    order: Whole = None
    work_group: Text = None


class TimeRow(Row):
    """One timed run of anybody. ``time_ms`` without penalties; blank cones and misses score as 0."""

    FILE = "times.csv"
    KEY = ("day", "run", "number", "try_")
    day: Day
    run: Run
    number: Number
    time_ms: Annotated[int | None, _col("time", "time")] = None
    cones: Count = None
    misses: Count = None
    status: Annotated[
        Literal["dnf", "dns", "dsq", "rerun", "practice"] | None, _of("dnf", "dns", "dsq", "rerun", "practice")
    ] = None
    at: Clock = None
    try_: Annotated[str | None, _col("text", "try")] = None


class RunRow(Row):
    """My own log of a run. Balance -3 strong understeer ... +3 strong oversteer."""

    FILE = "runs.csv"
    KEY = ("day", "run", "number")
    day: Day
    run: Run
    number: Number
    at: Clock = None
    mistake: Flag = None
    unsafe: Text = None
    lost_s: Real = None
    lost_where: Text = None
    entry: Balance = None
    mid: Balance = None
    exit: Balance = None
    slalom: Balance = None
    surface: Surface = None
    note: Text = None


class PressureRow(Row):
    """Gauge readings of four corners (psi), with what the tyres and the air were then."""

    FILE = "pressures.csv"
    KEY = ("day", "run", "number", "moment", "at")
    day: Day
    run: Whole = None
    number: Number
    moment: Annotated[
        Literal["cold", "before", "after", "set"], FileColumn(choice("cold", "before", "after", "set"), required=True)
    ]
    at: Clock = None
    lf_psi: Psi = None
    rf_psi: Psi = None
    lr_psi: Psi = None
    rr_psi: Psi = None
    tyre_c: Celsius = None
    air_c: Celsius = None
    wait_min: Real = None
    gauge: Text = None
    sun: Text = None
    cooling: Annotated[Literal["none", "shade", "spray"] | None, _of("none", "shade", "spray")] = None
    note: Text = None


class TreadTempRow(Row):
    """Tread temperatures of a corner and how far the scrub rolled over the shoulder."""

    FILE = "treadtemps.csv"
    KEY = ("day", "run", "number", "corner")
    day: Day
    run: Run
    number: Number
    corner: Corner
    inner_c: Celsius = None
    middle_c: Celsius = None
    outer_c: Celsius = None
    mark: Annotated[Literal["short", "on", "past"] | None, _of("short", "on", "past")] = None


class SetupChange(Row):
    """A change to a car; ``run`` is the first run with it. ``undoes`` names the change it takes back."""

    FILE = "changes.csv"
    KEY = ("id",)
    id: Id
    day: Whole = None
    run: Whole = None
    at: Clock = None
    number: Text = None
    kind: Annotated[Literal["test", "correction", "repair"] | None, _of("test", "correction", "repair")] = None
    setting: Annotated[str | None, _col("text", "key")] = None
    item: Text = None
    before: Text = None
    after: Text = None
    reason: Text = None
    expect: Text = None
    undoes: Text = None
    decision: Annotated[Literal["keep", "revert"] | None, _of("keep", "revert")] = None


class WeatherRow(Row):
    """``station_hpa`` is the true local pressure, not the sea-level figure."""

    FILE = "weather.csv"
    KEY = ("day", "at")
    day: Day
    at: Clock = None
    air_c: Celsius = None
    surface_c: Celsius = None
    humidity_pct: Real = None
    station_hpa: Real = None
    surface: Surface = None
    sky: Text = None
    wind_kmh: Speed = None


class NoteRow(Row):
    """A note by topic and run."""

    FILE = "notes.csv"
    KEY = ("id",)
    id: Id
    day: Whole = None
    run: Whole = None
    at: Clock = None
    topic: Text = None
    text: Text = None
    element: Annotated[int | None, _col("count")] = None


class TyreRow(Row):
    """A tyre owned. ``floor_mm``: the depth to stop at; ``min_cold_psi``, ``max_cold_psi``: its maker's limits."""

    FILE = "tyres.csv"
    KEY = ("tyre",)
    tyre: Id
    set: Text = None
    size: Text = None
    kind: Text = None
    date_code: Text = None
    bought: Date = None
    price: Annotated[Real, Measured("Price", low=0, high=1_000_000)] = None
    runs_before: Count = None
    directional: Flag = None
    min_cold_psi: Annotated[Psi, Measured("Lowest cold pressure", "psi", low=8, high=100)] = None
    max_cold_psi: Annotated[Psi, Measured("Highest cold pressure", "psi", low=10, high=150)] = None
    floor_mm: Annotated[Millimetres, Measured("Depth to stop at", "mm", low=0, high=20)] = None
    delivery_days: Count = None


class FittedRow(Row):
    """Which tyre is on which corner from this run on."""

    FILE = "fitted.csv"
    KEY = ("day", "run", "number", "corner")
    day: Day
    run: Whole = None
    number: Number
    corner: Corner
    tyre: Id
    orientation: Text = None


class TreadRow(Row):
    """Tread depth at the inner, middle and outer edge."""

    FILE = "tread.csv"
    KEY = ("day", "tyre")
    day: Annotated[int, _col("count", required=True)]
    tyre: Id
    inner_mm: Millimetres = None
    middle_mm: Millimetres = None
    outer_mm: Millimetres = None


class WorkRow(Row):
    """Work to do on a car. ``done`` None: open."""

    FILE = "worklist.csv"
    KEY = ("id",)
    id: Id
    opened: Text = None
    item: Text = None
    reason: Text = None
    due: Text = None
    torque_nm: Torque = None
    done: Text = None
    note: Text = None

    @property
    def is_done(self) -> bool:
        """``done`` says when; blank or a no is open work."""
        return (self.done or "").strip().lower() not in {"", "no", "n", "false", "0", "-"}


class TickRow(Row):
    """A ticked line of a checklist."""

    FILE = "ticks.csv"
    KEY = ("list", "item", "day")
    list: Id
    item: Id
    day: Whole = None
    at: Clock = None


class CourseRow(Row):
    """One element of a day's course, in the order driven: 0 is the start, the last one the finish.

    A place is on WGS84 in decimal degrees; on the course page a mark is put on a track's line.
    """

    FILE = "course.csv"
    KEY = ("day", "element")
    day: Day
    element: Annotated[int, _col("count", required=True)]
    name: Text = None
    kind: Text = None
    lat: Annotated[Real, Measured("Latitude", "deg", low=-90, high=90)] = None
    lon: Annotated[Real, Measured("Longitude", "deg", low=-180, high=180)] = None


class SplitRow(Row):
    """When a run passed an element's mark. ``at_ms`` from the start; ``error_ms``: half-width of its 80 % range."""

    FILE = "splits.csv"
    KEY = ("day", "run", "number", "element")
    day: Day
    run: Run
    number: Number
    element: Annotated[int, _col("count", required=True)]
    at_ms: Annotated[int, _col("time", "at_s", required=True)]
    error_ms: Annotated[int | None, _col("time", "error_s")] = None
    source: Annotated[Literal["video", "track", "hand"] | None, _of("video", "track", "hand")] = None


ROWS: dict[str, type[Row]] = {
    row.FILE: row
    for row in (
        EntrantRow, GridRow, TimeRow, RunRow, PressureRow, TreadTempRow, SetupChange, WeatherRow, NoteRow,
        TyreRow, FittedRow, TreadRow, WorkRow, TickRow, CourseRow, SplitRow,
    )
}  # fmt: skip
"""Every CSV file of the contract, by name."""


# a folder as it was read, before files are held against each other


@dataclass(frozen=True, slots=True)
class RawFolder:
    """``settings`` None: ``event.toml`` is missing or can't be used. ``tables``: file name to the rows that
    could be read, in file order, for every file of ``present`` that can be used; what could not is in ``problems``."""

    name: str
    settings: Settings | None
    tables: Mapping[str, tuple[Row, ...]]
    present: frozenset[str]
    cars: Mapping[str, Car]
    checklists: Mapping[str, tuple[str, ...]]
    problems: tuple[Problem, ...]
