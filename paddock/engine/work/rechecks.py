"""The re-checks a logged change or a change of tyres makes.

Each has an id that follows from the change's own, so that two devices make the same row, and a re-check that was
never written down is still on the list.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from paddock.engine.clock import stamp_of
from paddock.engine.tyres.counts import my_cars
from paddock.engine.work.moments import Moment, opened_at
from paddock.engine.work.rules import WHEELS, Check, any_of, axle_of, found_loose, rules_for, torque_of, words_of
from paddock.model.edit import AddRow, Batch
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, FittedRow, RunRow, WorkRow

__all__ = ["implied_work", "rechecks_for", "with_rechecks"]


def _fasteners(event: Event, number: str | None) -> Mapping[str, float]:
    car = event.car_of(number) if number else None
    return car.fasteners if car else {}


def _row(id_: str, check: Check, axle: str | None, day: int | None, run: int | None, why: str,
         fasteners: Mapping[str, float]) -> WorkRow:  # fmt: skip
    opened = f"day {day}" + (f" run {run}" if run is not None else "") if day is not None else None
    return WorkRow(
        id=id_,
        opened=opened,
        item=f"{axle} {check.item}" if axle else check.item,
        reason=why,
        due=check.due,
        torque_nm=torque_of(check, axle, fasteners),
    )


def rechecks_for(event: Event, change: ChangeRow) -> tuple[WorkRow, ...]:
    """The work a change makes: nothing for pressures, clicks and the like."""
    words = words_of(change.setting) | words_of(change.item)
    axle = axle_of(words)
    what = change.item or change.setting or "change"
    why = f"{what} {change.before or '?'} to {change.after or '?'} (change {change.id})"
    fasteners = _fasteners(event, change.number)
    checks = [(check, axle) for check in rules_for(words)]
    if any(found_loose(text) is not None for text in (change.before, change.item)):
        checks.append((Check("loose", f"{found_loose(change.item) or what} again"), None))
    return tuple(
        _row(f"{change.id}-{check.slug}", check, where, change.day, change.run, why, fasteners)
        for check, where in checks
    )


def with_rechecks(event: Event, change: AddRow) -> Batch:
    """The edit that logs a change together with the work it makes: one step for undo."""
    row = ChangeRow(**dict(change.cells))
    work = tuple(AddRow(WorkRow.FILE, _cells(item)) for item in rechecks_for(event, row))
    more = f" and {len(work)} to look at again" if work else ""
    return Batch(f"change {row.item or row.setting or row.id}{more}", (change, *work))


def _cells(row: WorkRow) -> dict[str, object]:
    return {name: value for name, value in row.model_dump(exclude={"line"}).items() if value is not None}


def _fittings(event: Event) -> Iterator[WorkRow]:
    """Wheel nuts after tyres went on, but for what the event began with."""
    for car, numbers in my_cars(event).items():
        rows = sorted(
            (row for row in event.of(FittedRow) if row.number in numbers), key=lambda row: (row.day, row.run or 0)
        )
        groups = [(moment, list(group)) for moment, group in groupby(rows, key=lambda row: (row.day, row.run))]
        for (day, run), group in groups[1:]:
            why = f"tyres on at {', '.join(row.corner for row in group)}"
            yield _row(
                f"fit-{car}-{day}-{run or 0}-{WHEELS.slug}", WHEELS, None, day, run, why,
                _fasteners(event, numbers[0]),
            )  # fmt: skip


def _unsafe(event: Event, numbers: Iterable[str]) -> Iterator[WorkRow]:
    """A look before the next run at what was seen, felt or heard in the last one."""
    mine = set(numbers)
    logged = sorted((row for row in event.of(RunRow) if row.number in mine), key=lambda row: (row.day, row.run))
    for row in logged[-1:]:
        if row.unsafe:
            yield WorkRow(
                id=f"unsafe-{row.day}-{row.run}-{row.number}",
                opened=f"day {row.day} run {row.run}",
                item=f"stop and look: {row.unsafe}",
                reason=f"run {row.run} of day {row.day}",
                due="before next run",
            )


def _loose(event: Event) -> Iterator[WorkRow]:
    """A look after the next run at what was found loose, tightened or not."""
    for row in event.of(WorkRow):
        part = found_loose(row.note) if row.is_done else None
        if part is None:
            continue
        done = stamp_of(row.done, event)
        run = None if done.run is None else done.run + 1
        opened = f"day {done.day} run {run}" if done.day and run else row.done
        yield WorkRow(id=f"{row.id}-loose", opened=opened, item=f"{part or row.item or 'it'} again",
                      reason=f"found loose: {row.note}", due="next run")  # fmt: skip


_PLAIN = any_of(
    "and or the a an at in on of from to over under with top bottom left right front rear find look stop again run"
)


def _same_part(made: WorkRow, row: WorkRow) -> bool:
    wanted = words_of(made.item) - _PLAIN - {"bar", "nut", "bolt", "end"} | {axle_of(words_of(made.item)) or ""} - {""}
    return bool(wanted) and wanted <= words_of(row.item) | words_of(row.note)


def _same_noise(made: WorkRow, row: WorkRow) -> bool:
    """One word in common: the noise, the cut."""
    return bool((words_of(made.item) - _PLAIN) & (words_of(row.item) | words_of(row.note)))


def _earlier(one: Moment, other: Moment, within_the_day: bool) -> bool:
    """Surely opened earlier; of one day told only where both say the run, or both the clock."""
    if one.day != other.day or not within_the_day:
        return one.day < other.day
    return (
        (one.run or 0, one.at or "") < (other.run or 0, other.at or "")
        if ((one.run is None) is (other.run is None) and (one.at is None) is (other.at is None))
        else False
    )


def _covered(made: WorkRow, rows: Sequence[WorkRow], event: Event) -> bool:
    """A row a person wrote stands for work when it was opened no earlier and names the same thing."""
    change, start = made.id.rpartition("-")[0], opened_at(made, event)
    loose = made.id.endswith("-loose")
    same = _same_noise if made.id.startswith("unsafe-") else _same_part
    return any(
        row.id == made.id
        or change in re.findall(r"[\w-]+", row.reason or "")
        or (same(made, row) and not _earlier(opened_at(row, event), start, loose) and not (loose and row.id == change))
        for row in rows
    )


def implied_work(event: Event, numbers: Sequence[str]) -> tuple[WorkRow, ...]:
    """Re-checks of a car that nobody wrote down, nor anything like them. They are open."""
    mine, rows = set(numbers), event.of(WorkRow)
    changes = [row for row in event.of(ChangeRow) if row.number is None or row.number in mine]
    made = [item for change in changes for item in rechecks_for(event, change)]
    cars = {car for car, of_car in my_cars(event).items() if mine & set(of_car)}
    made += [item for item in _fittings(event) if any(item.id.startswith(f"fit-{car}-") for car in cars)]
    made += [*_unsafe(event, numbers), *_loose(event)]
    found: dict[str, WorkRow] = {}
    for item in made:
        if not _covered(item, rows, event):
            found[item.id] = item
    return tuple(found.values())
