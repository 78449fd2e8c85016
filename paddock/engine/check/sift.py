"""A folder as read becomes an ``Event``: faulty rows are left out and said, the good ones stay."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from operator import is_
from typing import NamedTuple

from paddock.engine.check.figures import (
    CarLine,
    Faults,
    LineOf,
    checked_cars,
    close_to,
    day_fault,
    index_problems,
    near_number,
    repeated,
    said,
    settings_problems,
)
from paddock.engine.clock import Place, hh_mm, minutes, settled
from paddock.errors import Problem
from paddock.model import rows as r
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.kept import KeptRows, kept
from paddock.model.rows import CourseRow, EntrantRow, GridRow, Row, TimeRow, key_of
from paddock.model.settings import Settings
from paddock.model.units import format_time, plain_number

# values that are possible and unlikely: a warning asks, it never forbids


_TIME_MS = (10_000, 300_000)
_CONES, _MISSES = 15, 8
_PSI = (12.0, 75.0)
_CORNERS = frozenset({"lf_psi", "rf_psi", "lr_psi", "rr_psi"})
_BOUNDS: dict[str, tuple[float, float, str]] = {
    "tyre_c": (-25.0, 130.0, "C"),
    "air_c": (-25.0, 50.0, "C"),
    "surface_c": (-25.0, 80.0, "C"),
    "inner_c": (-25.0, 150.0, "C"),
    "middle_c": (-25.0, 150.0, "C"),
    "outer_c": (-25.0, 150.0, "C"),
    "inner_mm": (0.0, 14.0, "mm"),
    "middle_mm": (0.0, 14.0, "mm"),
    "outer_mm": (0.0, 14.0, "mm"),
    "floor_mm": (0.0, 8.0, "mm"),
    "wait_min": (0.0, 600.0, "min"),
    "humidity_pct": (0.0, 100.0, "%"),
    "station_hpa": (600.0, 1085.0, "hPa"),
    "wind_kmh": (0.0, 150.0, "km/h"),
    "lost_s": (0.0, 60.0, "s"),
    "torque_nm": (1.0, 900.0, "N·m"),
    "max_cold_psi": (25.0, 75.0, "psi"),
}


def _pressure(row: r.Row, field: str, value: float) -> Problem | None:
    if _PSI[0] <= value <= _PSI[1]:
        return None
    hint = "" if value < 100 else f"; if that is kPa it is {plain_number(value / 6.894757, 1)} psi"
    return said(row, f"{field[:2]} reads {plain_number(value, 1)} psi: is that right?{hint}", "warning")


@cache
def _asked(row: type[r.Row]) -> tuple[str, ...]:
    """The fields of a row that have bounds."""
    return tuple(field for field in row.model_fields if field in _CORNERS or field in _BOUNDS)


def _bounded(row: r.Row) -> Iterator[Problem]:
    for field in _asked(type(row)):
        value = getattr(row, field)
        if not isinstance(value, float | int) or isinstance(value, bool):
            continue
        if field in _CORNERS:
            found = _pressure(row, field, value)
            if found is not None:
                yield found
        else:
            low, high, unit = _BOUNDS[field]
            if not low <= value <= high:
                yield said(row, f"{field} is {plain_number(value, 2)} {unit}: is that right?", "warning")


def _ordinary(row: r.TimeRow) -> bool:
    """A run nobody would ask about: asked of thousands after every entry, so in few steps."""
    time, cones, misses = row.time_ms, row.cones, row.misses
    return (
        time is not None
        and _TIME_MS[0] <= time <= _TIME_MS[1]
        and row.status != "dns"
        and (cones is None or cones <= _CONES)
        and (misses is None or misses <= _MISSES)
    )


def _time(row: r.TimeRow) -> Iterator[Problem]:
    if row.time_ms is None and row.status is None:
        yield said(row, "no time and no status: not counted until one is there", "warning")
    if row.time_ms is not None and not _TIME_MS[0] <= row.time_ms <= _TIME_MS[1]:
        yield said(row, f"a run of {format_time(row.time_ms)} s: is that right?", "warning")
    if row.time_ms is not None and row.status == "dns":
        yield said(row, "dns with a time: did it start or not?", "warning")
    if row.cones is not None and row.cones > _CONES:
        yield said(row, f"{row.cones} cones in one run: is that right?", "warning")
    if row.misses is not None and row.misses > _MISSES:
        yield said(row, f"{row.misses} missed gates in one run: is that right?", "warning")


def doubts(rows: Sequence[r.Row]) -> list[Problem]:
    """The questions one file's good rows raise."""
    found: list[Problem] = []
    for row in rows:
        if not isinstance(row, r.TimeRow):
            found += _bounded(row)
        elif not _ordinary(row):
            found += _time(row)
    return [*found, *_clocks(rows)]


def _clocks(rows: Sequence[r.Row]) -> Iterator[Problem]:
    """Where a clock was set back: once a day and entry, at the first row."""
    if not rows or not isinstance(rows[0], r.TimeRow | r.RunRow | r.PressureRow | r.WeatherRow):
        return
    days: dict[tuple[int, str], list[r.Row]] = {}
    for row in rows:
        if getattr(row, "at", None) is not None:
            days.setdefault((row.day, getattr(row, "number", "")), []).append(row)  # type: ignore[attr-defined]
    for entered in days.values():
        ats: list[str] = [row.at for row in entered]  # type: ignore[attr-defined]
        if all(one <= other for one, other in pairwise(ats)):
            continue
        clocks = [minutes(at) for at in ats]
        kept = settled(list(zip(_places(entered, clocks), clocks, strict=True)))
        wrong = [place for place, clock in enumerate(clocks) if kept[place] != clock]
        if wrong:
            first = wrong[0]
            line = max((row.line for row, clock in zip(entered[:first], clocks, strict=False) if clock == kept[first]))
            words = (
                f"{ats[first]} is before {hh_mm(kept[first] or 0.0)} of line {line}, entered earlier: where clocks "
                "disagree the order of entry counts; put right the clock that is wrong"
            )
            yield said(entered[first], words, "warning")


def _places(rows: Sequence[r.Row], clocks: Sequence[float | None]) -> list[Place]:
    """Where the log puts each row within its day."""
    if isinstance(rows[0], r.PressureRow):
        from paddock.engine.pressure.timeline import readings_entered

        items = readings_entered(row for row in rows if isinstance(row, r.PressureRow))
        return [(item.run, item.rank) for item in items]
    return [
        (getattr(row, "run", 0), clock or 0.0) if hasattr(row, "run") else ()
        for row, clock in zip(rows, clocks, strict=True)
    ]


def _no_line(_path: tuple[str, ...]) -> int:
    return 0


def _no_car_line(_file: str, _path: tuple[str, ...]) -> int:
    return 0


def _entrant_faults(rows: Sequence[EntrantRow], settings: Settings) -> Faults:
    codes = [item.code for item in settings.classes]
    faults: Faults = []
    for row in rows:
        if row.class_ is not None and row.class_ not in codes:
            mend = close_to(row.class_, codes) or f": event.toml has {', '.join(codes) or 'no classes'}"
            faults.append((row, f"class {row.class_} is unknown{mend}"))
        elif row.index is not None and row.index not in settings.index.factors:
            mend = close_to(row.index, settings.index.factors) or ": add it to [index] in event.toml"
            faults.append((row, f"index {row.index} is unknown{mend}"))
    return faults


_KEY = key_of(TimeRow)


def _time_key(row: TimeRow) -> tuple[object, ...] | None:
    return None if row.status == "rerun" and row.try_ is None else _KEY(row)


def _number_faults(rows: Iterable[Row], known: Mapping[str, bool]) -> Faults:
    """Rows of a number that isn't entered, or whose entry is itself out."""
    faults: Faults = []
    for row in rows:
        number = getattr(row, "number", None)
        if number is None or known.get(number):
            continue
        if number in known:
            faults.append((row, f"the row of {number} in entrants.csv is out, and so is this one: mend that first"))
        else:
            mend = near_number(number, known) or ": add it to entrants.csv, or mend the number"
            faults.append((row, f"number {number} is not entered{mend}"))
    return faults


def _day_faults(rows: Iterable[Row], days: int) -> Faults:
    if max((getattr(row, "day", None) or 0 for row in rows), default=0) <= days:
        return []
    found = ((row, day_fault(row, days)) for row in rows)
    return [(row, words) for row, words in found if words is not None]


def _left(rows: Sequence[Row], *faults: Faults) -> tuple[tuple[Row, ...], list[Problem]]:
    """Rows without a fault, and one problem for each that has one."""
    words = _first_words(faults)
    return tuple(row for row in rows if id(row) not in words), [said(row, text) for row, text in words.values()]


def _first_words(faults: Iterable[Faults]) -> dict[int, tuple[Row, str]]:
    words: dict[int, tuple[Row, str]] = {}
    for row, text in (item for group in faults for item in group):
        words.setdefault(id(row), (row, text))
    return words


def _time_warnings(rows: Iterable[TimeRow], most: int | None) -> list[Problem]:
    tries: dict[tuple[int, int, str], int] = {}
    found = []
    for row in rows:
        if row.status == "practice":
            continue
        if most is not None and row.run > most:
            found.append(said(row, f"run {row.run} of {most}: is that right?", "warning"))
        if row.status == "rerun":
            continue
        at = (row.day, row.run, row.number)
        if at in tries:
            words = f"run {row.run} of {row.number} counts twice (line {tries[at]}): mark the first one rerun"
            found.append(said(row, words, "warning"))
        else:
            tries[at] = row.line
    return found


# a file looked through number by number: every check of a row asks only for rows of the same number, so that after an
# edit the rows of the others are not looked at again


class _Asked(NamedTuple):
    """What rows are held against. ``known``: None for rows of a number that is entered and in."""

    known: Mapping[str, bool] | None
    listed: bool
    days: int
    practice: tuple[int, ...]
    most: int | None
    warned: bool


@dataclass(frozen=True, slots=True)
class _Sifted:
    """``stay``: beside each row what becomes of it, None: it is out; ``good``: those that are in."""

    rows: KeptRows[Row]
    stay: tuple[Row | None, ...]
    good: KeptRows[Row]
    found: tuple[Problem, ...]


def _sift_rows(rows: KeptRows[Row], asked: _Asked) -> _Sifted:
    keyed = repeated(rows, _time_key) if _is_times(rows) else repeated(rows)  # type: ignore[arg-type]
    unlisted = [] if asked.known is None else _number_faults(rows, asked.known)
    words = _first_words([_day_faults(rows, asked.days), unlisted if asked.listed else [], keyed])
    out = words.keys() | (set() if asked.listed else {id(row) for row, _ in unlisted})
    found = [said(row, text) for row, text in words.values()]
    stay = tuple([None if id(row) in out else _as_driven(row, asked.practice) for row in rows])
    good = rows if all(map(is_, stay, rows)) else KeptRows([row for row in stay if row is not None])
    if asked.warned:
        found += doubts(good)
        found += _time_warnings(good, asked.most) if _is_times(rows) else []  # type: ignore[arg-type]
    return _Sifted(rows, stay, good, tuple(found))


def _is_times(rows: Sequence[Row]) -> bool:
    return bool(rows) and isinstance(rows[0], TimeRow)


def _sift_file(rows: KeptRows[Row], asked: _Asked) -> _Sifted:
    """The same of a whole file."""
    if not rows or "number" not in rows[0].KEY:
        return _sift_rows(rows, asked)
    known, alone = asked.known or {}, asked._replace(known=None)
    parts = {
        number: own.once(_sift_rows, alone if known.get(number) else asked) for number, own in rows.by_number.items()
    }
    found = [problem for part in parts.values() for problem in part.found]
    differing = [part for part in parts.values() if part.good is not part.rows]
    if not differing:
        return _Sifted(rows, rows, rows, tuple(found))
    now = {id(row): stays for part in differing for row, stays in zip(part.rows, part.stay, strict=True)}
    stay = tuple([now.get(id(row), row) for row in rows])
    good = KeptRows([row for row in stay if row is not None])
    return _Sifted(rows, stay, good.parted({number: part.good for number, part in parts.items() if part.good}),
                   tuple(found))  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Entered:
    """``known``: every number of the list, whether its row is in; ``out``: the rows of those that are not."""

    good: KeptRows[Row]
    known: Mapping[str, bool]
    out: Mapping[str, EntrantRow]
    found: tuple[Problem, ...]


def _sift_entrants(rows: KeptRows[Row], settings: Settings) -> _Entered:
    entered = tuple(row for row in rows if isinstance(row, EntrantRow))
    left, found = _left(entered, repeated(entered), _entrant_faults(entered, settings))
    good = rows if len(left) == len(rows) else KeptRows(left)
    numbers = {row.number for row in left if isinstance(row, EntrantRow)}
    out = {row.number: row for row in entered if row.number not in numbers}
    return _Entered(good, {row.number: row.number not in out for row in entered}, out, (*found, *doubts(good)))


def sift(
    name: str,
    settings: Settings,
    tables: Mapping[str, tuple[Row, ...]],
    cars: Mapping[str, Car] | None = None,
    checklists: Mapping[str, tuple[str, ...]] | None = None,
    problems: Iterable[Problem] = (),
    line_of: LineOf = _no_line,
    car_line: CarLine = _no_car_line,
    warned: bool = True,
) -> Event:
    """The event of a folder as read. ``problems``: what reading found; all come back sorted by file and line.

    ``tables``: file name to rows in file order, each with its line; a file that can't be used is not in it. Without
    entrants nothing of a number counts, and nothing is said of it. ``warned`` False: faults alone are looked for; what
    is only in doubt changes no answer and takes longer to find.
    """
    found = list(problems)
    entered = kept(tables.get(EntrantRow.FILE, ())).once(_sift_entrants, settings)
    found += entered.found
    unusable = {item.file for item in found if item.file not in tables}
    listed = EntrantRow.FILE not in unusable  # where the list itself can't be read, that is the one fault to tell
    asked = _Asked(entered.known, listed, len(settings.days), settings.practice_days, settings.runs_per_day, warned)
    sifted = {file: kept(rows).once(_sift_file, asked) for file, rows in tables.items() if file != EntrantRow.FILE}
    good = {EntrantRow.FILE: entered.good, **{file: item.good for file, item in sifted.items()}}
    found += [problem for item in sifted.values() for problem in item.found]
    entrants = good[EntrantRow.FILE] = _seen_here(entered.good, good)
    if not listed:
        del good[EntrantRow.FILE]
    if warned:
        found += _gauges(good.get(r.PressureRow.FILE, ()), settings)
    found += settings_problems(settings, line_of, entered.known if listed else None, cars or {})
    found += index_problems(entrants, settings, line_of)  # type: ignore[arg-type]
    whole, said_now = checked_cars(cars or {}, car_line, warned)
    found += said_now
    event = Event(name, settings, good, whole, checklists or {}, out=entered.out)
    return replace(event, problems=tuple(sorted((*found, *(_left_open(event, unusable) if warned else ())))))


def _gauges(rows: Iterable[Row], settings: Settings) -> Iterator[Problem]:
    """Each gauge that the settings lack, at its first row."""
    from paddock.engine.pressure.timeline import unknown_gauge

    asked = set[str | None]()
    for row in rows:
        if isinstance(row, r.PressureRow) and row.gauge not in asked and (text := unknown_gauge(row, settings)):
            asked.add(row.gauge)
            yield said(row, text, "warning")


def _any_carried(entrants: KeptRows[Row]) -> bool:
    return any(isinstance(row, EntrantRow) and row.status == "carried" for row in entrants)


def _seen_here(entrants: KeptRows[Row], good: Mapping[str, KeptRows[Row]]) -> KeptRows[Row]:
    """Who was carried from the event before counts as entered once a run or a place in the order is there."""
    if not entrants.once(_any_carried):
        return entrants
    here = {number for model in (TimeRow, GridRow) if model.FILE in good for number in good[model.FILE].by_number}
    return entrants.once(_arrived, here)


def _arrived(entrants: KeptRows[Row], here: Container[str]) -> KeptRows[Row]:
    return KeptRows(
        row.model_copy(update={"status": None})
        if isinstance(row, EntrantRow) and row.status == "carried" and row.number in here
        else row
        for row in entrants
    )


def _as_driven(row: Row, practice: Container[int]) -> Row:
    """A run on a day of practice is practice, whatever its row says of how it ended."""
    if not practice or not isinstance(row, TimeRow) or row.day not in practice:
        return row
    if row.status in ("dns", "rerun", "practice") or (row.status is None and row.time_ms is None):
        return row
    return row.model_copy(update={"status": "practice"})


def _left_open(event: Event, unusable: Container[str]) -> tuple[Problem, ...]:
    """What the log leaves open about tyres and splits, where the files that could say it can be read.

    Imported here, for the rest needs none of theirs.
    """
    if EntrantRow.FILE in unusable:
        return ()
    from paddock.engine.tyres.buying import questions
    from paddock.engine.where.splits import where_questions

    marks = () if CourseRow.FILE in unusable or TimeRow.FILE in unusable else where_questions(event)
    return (*questions(event), *marks)
