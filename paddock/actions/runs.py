"""A typed line turned into an edit: what it adds or changes in the folder, and its words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from paddock import words
from paddock.engine.clock import of_the_eve
from paddock.engine.clock.when import next_run, run_for_line, run_of_others
from paddock.engine.scoring.my_runs import MyRun
from paddock.entry import PressureLine, RivalLine, TypedRun
from paddock.entry.pressures import TreadLine
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.kept import KeptRows
from paddock.model.rows import EntrantRow, PressureRow, Row, RunRow, TimeRow, TreadTempRow


def one_row(event: Event, model: type[Row], key: Mapping[str, Any], cells: Mapping[str, Any]) -> AddRow | ChangeRow:
    """Change the row of ``key`` where it is there, else add it. An entrant whose row is out is there."""
    wanted = tuple(key.get(name) for name in model.KEY)
    if event.of(model).known_by(wanted) or (model is EntrantRow and key["number"] in event.out):
        return ChangeRow(model.FILE, wanted, dict(cells))
    return AddRow(model.FILE, {**key, **cells})


_RESULT = ("time_ms", "cones", "misses", "status")
_ENOUGH = 3
_FELT = ("entry", "mid", "exit", "slalom", "mistake", "surface", "unsafe", "note", "lost_s", "lost_where")


@dataclass(frozen=True, slots=True)
class Logged:
    """``edit``: to apply; ``said``: the entry echoed in words; ``new_number``: an entrant was made for it.

    ``doubt``: words where the time is far from the day's others, though it was readable; "" = none.
    """

    edit: Batch
    run: int
    said: str
    new_number: bool = False
    doubt: str = ""


def _times_on(rows: KeptRows[TimeRow], day: int) -> list[int]:
    return [row.time_ms for row in rows if row.day == day and row.time_ms is not None]


def _doubt(event: Event, day: int, time_ms: int | None) -> str:
    """A time under 0.6 or over 1.7 of the day's median is probably a slip (bounds of this program, no source)."""
    others = sorted(chain.from_iterable(own.once(_times_on, day) for own in event.times.by_number.values()))
    if time_ms is None or len(others) < _ENOUGH:
        return ""
    middle = others[len(others) // 2]
    if 0.6 * middle <= time_ms <= 1.7 * middle:
        return ""
    return f"; the others are about {middle // 1000} s, z undoes a slip"


def _said(line: TypedRun | RivalLine | PressureLine, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: value for name in names if (value := getattr(line, name)) is not None}


def _result(event: Event, line: TypedRun | RivalLine, key: dict[str, Any], at: str, whole: bool) -> AddRow | ChangeRow:
    """The row of ``times.csv``. A re-run's first try, and practice before the run of that number, get ``try``: the run
    that counts has its own row."""
    cells = {name: getattr(line, name) for name in _RESULT} if whole else _said(line, _RESULT)
    apart = line.status == "practice" and not whole and not event.settings.is_practice(key["day"])
    if line.status == "rerun" or apart:
        key = key | {"try_": _free_try(event, key)}
    found = one_row(event, TimeRow, key, cells)
    return found if isinstance(found, ChangeRow) else AddRow(found.file, {**found.cells, "at": at})


def _free_try(event: Event, key: Mapping[str, Any]) -> str:
    same = ("day", "run", "number")
    taken = {row.try_ for row in event.times_of(key["number"]) if all(getattr(row, name) == key[name] for name in same)}
    return next(str(count) for count in range(1, 100) if str(count) not in taken)


def log_run(event: Event, number: str, day: int, line: TypedRun, at: str, mend: int | None = None) -> Logged:
    """A run of mine. ``mend``: the run the line was opened on, whose cells it replaces whole."""
    run = line.run or mend or run_for_line(event, number, day, line.timed)
    key = {"day": day, "run": run, "number": number}
    felt = {name: getattr(line, name) for name in _FELT} if mend else _said(line, _FELT)
    edits: list[AddRow | ChangeRow] = []
    if line.timed:
        edits.append(_result(event, line, key, at, mend is not None))
    if any(value is not None for value in felt.values()) or (mend and _logged(event, key)):
        found = one_row(event, RunRow, key, felt)
        edits.append(found if isinstance(found, ChangeRow) else AddRow(found.file, {**found.cells, "at": at}))
    said = run_words(line, event.settings.rules.decimals)
    label = f"run {run} of {number}: {said}"
    over = "" if run == mend else replaces(event, number, day, line, run)
    return Logged(Batch(label, tuple(edits)), run, f"run {run}: {said}{over}", doubt=_doubt(event, day, line.time_ms))


def replaces(event: Event, number: str, day: int, line: TypedRun | RivalLine, run: int) -> str:
    """``, replaces 47.206+1``: the result a line with one puts its own in the place of; "" = none."""
    says_result = line.time_ms is not None or line.status is not None
    if not says_result or line.status in ("rerun", "practice"):
        return ""
    old = next(iter(event.times.known_by((day, run, number, None))), None)
    if old is None or (old.time_ms is None and old.status is None):
        return ""
    return f", replaces {words.run_text(old.time_ms, old.cones or 0, old.status, event.settings.rules.decimals)}"


def _logged(event: Event, key: Mapping[str, Any]) -> bool:
    return bool(event.of(RunRow).known_by([key[name] for name in RunRow.KEY]))


def run_words(line: TypedRun, decimals: int) -> str:
    """What a run line says, spelt out."""
    felt = [(name, getattr(line, field)) for name, field in _PHASES if getattr(line, field) is not None]
    parts = [f"{name} {words.balance(value)}" for name, value in felt]
    parts += [] if line.mistake is None else ["a mistake" if line.mistake else "no mistake"]
    if line.timed:
        parts.append(words.run_text(line.time_ms, line.cones or 0, line.status, decimals))
    parts += [words.plural(line.misses, "missed gate")] if line.misses else []
    lost = "" if line.lost_s is None else f"{line.lost_s:g} s "
    parts += [f"{lost}lost{f' at {line.lost_where}' if line.lost_where else ''}"] if lost or line.lost_where else []
    parts += [line.surface] if line.surface else []
    parts += [f"not safe: {line.unsafe}"] if line.unsafe else []
    parts += ["note"] if line.note else []
    return ", ".join(parts)


_PHASES = (("entry", "entry"), ("middle", "mid"), ("exit", "exit"), ("slalom", "slalom"))


def log_rival(event: Event, day: int, line: RivalLine, at: str) -> Logged:
    """A rival's run; an unknown number makes an entrant to complete later."""
    run = line.run or next_run(event, line.number, day)
    key = {"day": day, "run": run, "number": line.number}
    new = event.entrant(line.number) is None
    edits: list[AddRow | ChangeRow] = [AddRow(EntrantRow.FILE, {"number": line.number})] if new else []
    edits.append(_result(event, line, key, at, line.run is not None))
    said = words.run_text(line.time_ms, line.cones or 0, line.status, event.settings.rules.decimals)
    label = f"run {run} of {line.number}: {said}"
    over = replaces(event, line.number, day, line, run)
    return Logged(Batch(label, tuple(edits)), run, label + over, new, _doubt(event, day, line.time_ms))


def behind(event: Event, number: str, day: int) -> tuple[int, int] | None:
    """(its next run, the run the others are on) where a number is more than a run behind; None: nothing to ask."""
    following = next_run(event, number, day)
    others = run_of_others(event, number, day)
    return (following, others) if others > following + 1 or (following == 1 and others > 1) else None


def log_pressures(
    event: Event, number: str, day: int, line: PressureLine, moment: str, run: int | None, at: str, count: int = 0
) -> Logged:
    """As many readings as were taken; those of the same moment and clock time are one row.

    ``count``: readings the row has with these, 0: these alone. A tyre read before the day stands in its own air.
    """
    cells: dict[str, Any] = {f"{corner}_psi": value for corner, value in line.psi.items()}
    cells |= _said(line, ("tyre_c", "air_c", "wait_min", "note"))
    if of_the_eve(at) and line.tyre_c is not None:
        cells.setdefault("air_c", line.tyre_c)
    gauge = event.settings.gauge_of(None)
    cells |= {"gauge": gauge.id} if gauge else {}
    key = {"day": day, "run": run, "number": number, "moment": moment, "at": at}
    readings = words.plural(count or len(line.psi), "reading")
    whose = f" of {number}" if len(event.settings.mine.numbers) > 1 else ""
    label = f"{readings}{whose} {moment}" + (f" run {run}" if run else "")
    return Logged(Batch(label, (one_row(event, PressureRow, key, cells),)), run or 0, label)


def log_tread(event: Event, number: str, day: int, run: int, lines: Sequence[TreadLine]) -> Batch:
    """Tread temperatures and roll-over marks after a run; what a line doesn't say is left as it was."""
    edits = []
    for line in lines:
        named = ("inner_c", "middle_c", "outer_c", "mark")
        cells = {name: value for name in named if (value := getattr(line, name)) is not None}
        key = {"day": day, "run": run, "number": number, "corner": line.corner}
        edits.append(one_row(event, TreadTempRow, key, cells))
    return Batch(f"tread after run {run}: {', '.join(line.corner.upper() for line in lines)}", tuple(edits))


def typed(run: MyRun) -> TypedRun:
    """The run as it would be typed, to mend it."""
    line, log = run.scored, run.log
    return TypedRun(
        time_ms=line.raw_ms if line else None,
        cones=(line.cones or None) if line else None,
        misses=(line.misses or None) if line else None,
        status=line.status if line else None,
        entry=log.entry if log else None,
        mid=log.mid if log else None,
        exit=log.exit if log else None,
        slalom=log.slalom if log else None,
        mistake=log.mistake if log else None,
        surface=log.surface if log else None,
        unsafe=log.unsafe if log else None,
        note=log.note if log else None,
        run=run.run,
        lost_s=log.lost_s if log else None,
        lost_where=log.lost_where if log else None,
    )
