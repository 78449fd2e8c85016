"""The hold gate: what stops a *new* setting. It never stops a stop, the limits or a return to a known target."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paddock.engine.pressure.signs import Sign
from paddock.engine.pressure.surface import SurfaceNow
from paddock.engine.readings.log import CarLog
from paddock.engine.scoring import plain
from paddock.engine.scoring.gap import Gap, gap
from paddock.engine.scoring.tables import days_run, has_run
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange

SIGNS_WANTED = 2


def _leads(table: Gap | None) -> bool:
    """First in a table with somebody behind, and one run left."""
    return table is not None and table.rank == 1 and table.runs_left == 1 and table.below is not None


def _one_left(event: Event, number: str) -> bool:
    """Whether one run is left, by the run numbers alone: spares the standings where it is not."""
    limits = [value for value in (event.settings.runs_per_day, event.settings.rules.first_runs) if value is not None]
    day = max(days_run(event), default=1)
    last = max((row.run for row in event.times if row.number == number and row.day == day and has_run(row)), default=0)
    return bool(limits) and min(limits) - last == 1


def leads_with_one_left(event: Event, number: str) -> bool:
    """Whether the number leads its class or the index table with one run left on the latest day."""
    if event.entrant(number) is None or not _one_left(event, number):
        return False
    answer = gap(event, number, plain.standings(event))
    return _leads(answer.class_) or _leads(answer.index)


def _runs_since(log: CarLog, change: SetupChange) -> int:
    if change.day is None:
        return 0
    first = (change.day, change.run or 0)
    return sum(1 for run in log.run_rows() if (run.day, run.run) >= first)


def open_change(event: Event, number: str, log: CarLog) -> SetupChange | None:
    """A change to this car that is undecided, not taken back, and not yet run twice. Corrections are not tests."""
    numbers = event.numbers_of_car(number)
    undone = {row.undoes for row in event.of(SetupChange) if row.undoes}
    for row in event.of(SetupChange):
        mine = row.number is None or row.number in numbers
        closed = row.decision is not None or row.undoes is not None or row.id in undone or row.kind == "correction"
        if mine and not closed and _runs_since(log, row) < 2:
            return row
    return None


def standing_gates(
    event: Event, number: str, log: CarLog, mine: RunRow | None, surface: SurfaceNow, leads: bool | None
) -> tuple[str, ...]:
    """The gates that hold whatever the proposal is."""
    return tuple(_standing(event, number, log, mine, surface, leads))


def _standing(
    event: Event, number: str, log: CarLog, mine: RunRow | None, surface: SurfaceNow, leads: bool | None
) -> Iterator[str]:
    if mine is not None and mine.mistake:
        yield "the run was marked a mistake"
    change = open_change(event, number, log)
    if change is not None:
        yield f"another change is open and not yet run twice ({change.item or change.setting or change.id})"
    if surface.changing:
        yield "the surface changes faster than the tyre"
    if leads if leads is not None else leads_with_one_left(event, number):
        yield "you lead with one run left"


def move_gates(signs: Sequence[Sign], move_psi: float, min_psi: float) -> tuple[str, ...]:
    """The gates that hang on the proposal: signs that agree, and the size of its step."""
    found = []
    if len(signs) < SIGNS_WANTED:
        said = "no sign agrees" if not signs else f"only one sign agrees ({_spoken(signs[0])})"
        found.append(f"{said}, two are wanted")
    if abs(move_psi) < min_psi - 1e-9:
        found.append(f"a step of {abs(move_psi):g} psi is under what the gauge can tell ({min_psi:g} psi)")
    return tuple(found)


def _spoken(sign: Sign) -> str:
    return " ".join(part for part in (sign.axle, sign.kind, sign.value) if part)
