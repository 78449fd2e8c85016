"""When work is due; and the re-checks that a change, other tyres or a part found loose makes, with their fasteners.

Which fasteners is a table, to be added to; all of it is common practice, no source. A torque is never made up: it
comes from ``[fasteners]`` of the car file, else the maker's figure is asked for.

Each re-check has an id that follows from what made it, so that two devices make the same row, and one that was never
written down is still on the list.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import groupby

from paddock.engine.clock import stamp_of
from paddock.engine.tyres.counts import CarRun, car_key, my_cars, runs_from
from paddock.model.edit import AddRow, Batch
from paddock.model.event import Event
from paddock.model.rows import FittedRow, RunRow, SetupChange, WorkRow

_DAY = re.compile(r"\b(?:day|d)\s*(\d{1,3})\b")
_RUN = re.compile(r"\b(?:run|r)\s*(\d{1,3})\b")
_RUNS = re.compile(r"(\d{1,3})\s*(?:more\s+)?runs?\b")
_CLOCK = re.compile(r"\b(\d{1,2}):(\d{2})\b")
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


@dataclass(frozen=True, slots=True)
class WorkMoment:
    """``run``: the first run after it, that of ``number`` where one is known; None where a clock time says it.

    ``day`` 0: before the event.
    """

    day: int = 0
    run: int | None = None
    at: str | None = None
    number: str | None = None


@dataclass(frozen=True, slots=True)
class When:
    """When work is due: whether now, and in words. ``rank``: 0 now, 1 next run, 2 counted runs, 3 event, 4 open."""

    now: bool
    words: str
    rank: int


def _number(pattern: re.Pattern[str], text: str) -> int | None:
    found = pattern.search(text)
    return int(found[1]) if found else None


def _day_of(text: str, event: Event) -> int | None:
    day, written = _number(_DAY, text), _DATE.search(text)
    if day is None and written and _iso(written[0]) in event.settings.days:
        return event.settings.days.index(_iso(written[0]) or date.min) + 1
    return day


def _iso(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def opened_at(row: WorkRow, event: Event) -> WorkMoment:
    """``day 1 run 4``, ``day 1 10:08``, a date; blank or anything else: before the event.

    Work that a change or a change of tyres made is opened by its number, and at the change's clock.
    """
    text = (row.opened or "").lower()
    clock = _CLOCK.search(text)
    day = _day_of(text, event)
    if day is None:
        return WorkMoment()
    run, at = _number(_RUN, text), f"{int(clock[1]):02d}:{clock[2]}" if clock else None
    change = change_of(row, event)
    if change is not None and run is not None and (change.day, change.run) == (day, run):
        return WorkMoment(day, run, at or (change.at or "")[:5] or None, change.number)
    return WorkMoment(day, run, at, _fitted_by(row, event))


def change_of(row: WorkRow, event: Event) -> SetupChange | None:
    """The change that made this work: the one its id begins with, or its reason names; None: none."""
    said = set(re.findall(r"[\w-]+", row.reason or ""))
    return next((item for item in event.of(SetupChange) if item.id in said or row.id.startswith(f"{item.id}-")), None)


def _fitted_by(row: WorkRow, event: Event) -> str | None:
    made = re.fullmatch(r"fit-(.+)-(\d+)-(\d+)-\w+", row.id)
    if made is None:
        return None
    moment = (made[1], int(made[2]), int(made[3]))
    return next((item.number for item in event.of(FittedRow)
                 if (car_key(event, item.number), item.day, item.run or 0) == moment), None)  # fmt: skip


def runs_since(moment: WorkMoment, runs: Sequence[CarRun]) -> tuple[CarRun, ...]:
    """The car's runs from a moment on."""
    return runs_from(runs, moment.day, moment.run, moment.at or "", moment.number)


def _at_run(day: int, number: int, runs: Sequence[CarRun], before: bool) -> When:
    latest = max(((run.day, run.run) for run in runs), default=(0, 0))
    if before and number == 1:
        return When(day <= max(latest[0] + 1, 1), f"before run 1 of day {day}", 0)
    reached = latest >= (day, number - before)
    return When(reached, f"{'before' if before else 'after'} run {number}", 1)


def _event_over(event: Event, runs: Sequence[CarRun], numbers: Sequence[str]) -> bool:
    """No number of the car that is still in has a run of the last day left."""
    days = len(event.settings.days)
    per_day = event.settings.runs_on(days) or 0
    entered = {row.number: row.status for row in event.entrants}
    ran = {run.number for run in runs}
    racing = {number for number in ran | (set(numbers) & set(entered)) if not entered.get(number)}
    done = {run.number for run in runs if run.day == days and run.run >= per_day}
    return bool(per_day and runs) and racing <= done


def _on(day: date, event: Event, runs: Sequence[CarRun]) -> When:
    days, latest = event.settings.days, max((run.day for run in runs), default=0)
    reached = (0 < latest <= len(days) and days[latest - 1] >= day) or (bool(days) and day < days[0])
    return When(reached, f"on {day.isoformat()}", 2)


def when_due(row: WorkRow, event: Event, runs: Sequence[CarRun], numbers: Sequence[str] = ()) -> When:
    """``next run``, ``after run 4``, ``before run 4``, ``in 12 runs``, ``after the event``, a date; ``now``.

    ``order now`` is shown as it is. ``runs``: those of the car, ``numbers``: who drives it.
    A due that can't be read is shown as it is written, as open work.
    """
    text, opened = (row.due or "").lower(), opened_at(row, event)
    since = runs_since(opened, runs)
    written, number, count = _DATE.search(text), _number(_RUN, text), _number(_RUNS, text)
    if written and (day := _iso(written[0])) is not None:
        return _on(day, event, runs)
    if number is not None and "runs" not in text:
        return _at_run(_number(_DAY, text) or max(opened.day, 1), number, runs, "before" in text)
    if count is not None:
        left = count - len(since)
        return When(left <= 0, "now" if left <= 0 else f"in {left} run{'' if left == 1 else 's'}", 2)
    if "event" in text:
        over = _event_over(event, runs, numbers)
        return When(over, "now the event is over" if over else "after the event", 3)
    if text.strip() == "order now":
        return When(True, "order now", 0)
    if "before" in text or "now" in text.split():
        return When(True, "before the next run", 0)
    if "run" in text:
        return When(bool(since), "before the next run" if since else "after the next run", 1)
    return When(False, row.due or "open", 4)


CAUTION = (
    "Torque figures are the car maker's, or the part maker's, and theirs come first. Firm level ground, stands as "
    "well as the jack, and nobody under a car that stands on a jack alone."
)

RecheckWords = frozenset[str]


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at again. ``nuts``: the fastener's name has a word of each group and none of ``but``."""

    slug: str
    item: str
    nuts: tuple[RecheckWords, ...] = ()
    but: RecheckWords = frozenset()
    due: str = "next run"


@dataclass(frozen=True, slots=True)
class RecheckRule:
    """A change whose key or item has one of ``on`` and none of ``unless`` asks for ``checks``."""

    on: RecheckWords
    checks: tuple[Check, ...]
    unless: RecheckWords = frozenset()


def any_of(words: str) -> RecheckWords:
    """Words written with spaces between them."""
    return frozenset(words.split())


_ADJUSTED = any_of("psi kpa pressure click rebound bump compression")
LINKS = Check("links", "end links", (any_of("link"),), but=any_of("jam lock"))
JAM = Check("jam", "end-link jam nuts", (any_of("jam lock"), any_of("nut")), but=any_of("rod toe wheel"))
COLLARS = Check("collars", "bar collars", (any_of("collar"),))
WHEELS = Check("wheels", "wheel nuts", (any_of("wheel lug"), any_of("nut bolt stud")))
RINGS = Check("rings", "spring seat lock rings", (any_of("ring perch seat"), any_of("lock spring perch")))
DAMPER = Check("damper", "damper bolts, top and bottom", (any_of("damper shock strut"),))
RODS = Check("rods", "tie-rod lock nuts", (any_of("rod toe"), any_of("nut")))
CAMBER = Check("camber", "camber bolts or top-mount nuts", (any_of("camber mount knuckle"), any_of("nut bolt")))
CALIPERS = Check("calipers", "caliper bolts", (any_of("caliper"),))
PEDAL = Check("pedal", "brake pedal firm, nothing wet", due="before next run")
BELTS = Check("belts", "seat and belt bolts", (any_of("seat belt harness"), any_of("bolt nut")), due="before next run")
OVER = Check("over", "look the car over: wheels and nuts, body, underneath, leaks", WHEELS.nuts, due="before next run")

RULES = (
    RecheckRule(any_of("bar arb antiroll"), (LINKS, JAM, COLLARS), unless=_ADJUSTED | any_of("strut harness")),
    RecheckRule(any_of("link endlink droplink"), (LINKS, JAM), unless=_ADJUSTED),
    RecheckRule(any_of("wheel tyre tire rim"), (WHEELS,), unless=_ADJUSTED | any_of("steering")),
    RecheckRule(any_of("spring ride height perch coilover"), (RINGS, DAMPER, WHEELS), unless=_ADJUSTED),
    RecheckRule(any_of("damper shock strut"), (DAMPER, WHEELS), unless=_ADJUSTED),
    RecheckRule(any_of("toe rod"), (RODS,), unless=_ADJUSTED),
    RecheckRule(any_of("camber caster castor"), (CAMBER, WHEELS), unless=_ADJUSTED),
    RecheckRule(
        any_of("pad caliper disc rotor brake"), (CALIPERS, PEDAL, WHEELS), unless=any_of("bias balance pressure")
    ),
    RecheckRule(any_of("seat belt harness"), (BELTS,)),
)


_LOOSE = re.compile(
    r"[\s,;:]*(?:\b(?:was|were|is|are|found|a|an|half|quarter|one|two|three|full|turns?|bit|little|\d+)\b\s*)*"
    r"\b(?:loose(?:ned)?|slack|undone)\b.*", re.IGNORECASE | re.DOTALL
)  # fmt: skip
_NOT = any_of("no not nothing none never nor")
_SPUN, _NEARLY = any_of("spun spin"), _NOT | any_of("nearly almost without")


def found_loose(said: str | None) -> str | None:
    """The part that was found loose, as far as the words name it before that (""); None: none was."""
    found = _LOOSE.search(said or "")
    if said is None or found is None:
        return None
    part = re.split(r"[,;.:]", said[: found.start()])[-1].strip()
    return None if _NOT & words_of(part) else part


@lru_cache(4096)
def words_of(text: str | None) -> RecheckWords:
    """The words of a key or item in lower case, a plural without its s; ``end-link`` and ``rear_bar`` are two."""
    found = re.findall(r"[a-z0-9]+", (text or "").lower())
    return frozenset(word[:-1] if re.fullmatch(r"\w{2,}[^asiu]s", word) else word for word in found)


def axle_of(words: RecheckWords) -> str | None:
    """``front`` or ``rear`` where the words name one of them."""
    found = [axle for axle in ("front", "rear") if axle in words]
    return found[0] if len(found) == 1 else None


def rules_for(words: RecheckWords) -> tuple[Check, ...]:
    """What to look at again after a change of these words, each once."""
    checks = [check for rule in RULES if words & rule.on and not words & rule.unless for check in rule.checks]
    return tuple(dict.fromkeys(checks))


def torque_of(check: Check, axle: str | None, fasteners: Mapping[str, float]) -> float | None:
    """N.m from the car file where its names give one figure for this check and axle, else None."""
    if not check.nuts:
        return None
    named = {}
    for name, torque in fasteners.items():
        words = words_of(name)
        there = axle_of(words)
        fits = all(words & group for group in check.nuts) and not words & check.but
        if fits and (there is None or axle is None or there == axle):
            named[name] = torque
    return next(iter(named.values())) if len(set(named.values())) == 1 else None


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


def rechecks_for(event: Event, change: SetupChange) -> tuple[WorkRow, ...]:
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
    row = SetupChange(**dict(change.cells))
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


def _off(event: Event, numbers: Sequence[str]) -> Iterator[WorkRow]:
    """The car looked over before the next run, where its last one was not finished or its note says that it spun."""
    notes = {(row.day, row.run, row.number): words_of(row.note) for row in event.of(RunRow) if row.number in numbers}
    ends = {(row.day, row.run, row.number): row.status for row in event.times_of(*numbers) if row.status != "dns"}
    ran = sorted(notes.keys() | ends.keys())
    for day, run, number in (key for key in ran if key[:2] == ran[-1][:2]):
        note = notes.get((day, run, number), frozenset())
        spun = bool(note & _SPUN) and not note & _NEARLY
        if spun or ends.get((day, run, number)) == "dnf":
            why = f"run {run} of {number} {'spun' if spun else 'was not finished'}"
            yield _row(f"off-{day}-{run}-{number}", OVER, None, day, run + 1, why, _fasteners(event, number))


def _loose(event: Event, number: str) -> Iterator[WorkRow]:
    """A look after the next run at what was found loose, tightened or not."""
    for row in event.of(WorkRow):
        part = found_loose(row.note) if row.is_done else None
        if part is None or not is_theirs(row, event, number):
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


def _earlier(one: WorkMoment, other: WorkMoment, within_the_day: bool) -> bool:
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


def _names(text: str, car: str | None) -> bool:
    return car is not None and re.search(rf"(?<!\w){re.escape(car.lower())}(?!\w)", text) is not None


def is_theirs(row: WorkRow, event: Event, number: str) -> bool:
    """A row is this car's unless its words name another car's file, or a change of another car made it.

    A change made it that it names, or that was logged in the same minute.
    """
    mine = event.car_name_of(number)
    text = f"{row.item or ''} {row.reason or ''} {row.note or ''}".lower()
    if any(_names(text, name) for name in event.cars if name != mine):
        return _names(text, mine)
    opened = opened_at(row, event)
    then = (item for item in event.of(SetupChange) if item.at and (item.day, item.at[:5]) == (opened.day, opened.at))
    made = next((item.number for item in (change_of(row, event), *then) if item and item.number), None)
    return made is None or made in event.numbers_of_car(number)


def implied_work(event: Event, numbers: Sequence[str]) -> tuple[WorkRow, ...]:
    """Re-checks of a car that nobody wrote down, nor anything like them. They are open."""
    mine, rows = set(numbers), event.of(WorkRow)
    changes = [row for row in event.of(SetupChange) if row.number is None or row.number in mine]
    made = [item for change in changes for item in rechecks_for(event, change)]
    cars = {car for car, of_car in my_cars(event).items() if mine & set(of_car)}
    made += [item for item in _fittings(event) if any(item.id.startswith(f"fit-{car}-") for car in cars)]
    made += [
        *_unsafe(event, numbers),
        *_off(event, numbers),
        *(item for number in numbers[:1] for item in _loose(event, number)),
    ]
    return tuple({item.id: item for item in made if not _covered(item, rows, event)}.values())
