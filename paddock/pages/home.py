"""The page between two runs: everything the home screen says, as one frozen value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from paddock import words
from paddock.engine.car.setup_sheet import Setting, open_changes, setup_in_force
from paddock.engine.clock import as_of, minutes, newest
from paddock.engine.clock.when import Schedule, day_in_hand, next_run, schedule
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.cautions import OLD_MIN
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.signs import from_the_wet
from paddock.engine.scoring.gap import GapAnswer
from paddock.engine.scoring.my_runs import MyRun, my_runs
from paddock.model.event import Event
from paddock.model.rows import WALK, PressureRow, SetupChange, WeatherRow
from paddock.pages.faults import unlisted_words
from paddock.pages.gap import Find, find, freshness
from paddock.pages.notes import element_words
from paddock.pages.pressing import aim_words
from paddock.pages.pressure import headline, read_last_words, which_reading

if TYPE_CHECKING:
    from paddock.engine.work.due import Due


# the work that is due, in words, for the home page


def _due_words(item: Due) -> str:
    torque = f", {words.torque(item.torque_nm)}" if item.torque_nm else ""
    return f"{item.item}{torque}" + ("" if item.now or not item.when else f" ({item.when})")


def due_lines(event: Event, number: str) -> tuple[tuple[bool, str], ...]:
    """Open work on the car: whether it is due before the next run, and the words for it."""
    from paddock.engine.work.due import due

    return tuple((item.now, _due_words(item)) for item in due(event, number))


@dataclass(frozen=True, slots=True)
class ShownRun:
    """A run of mine as it is shown. ``felt``: its balance and what was logged of it."""

    run: int
    counts: bool
    time: str
    total: str
    to_last: str
    to_best: str
    felt: str


@dataclass(frozen=True, slots=True)
class Home:
    """One page. Texts are ready to show; empty means there is nothing to say. ``due``: before the next run?, words.

    ``moment``: the tyres; None: no number of mine is known, or another day is
    looked at. ``as_of``: where that isn't simply now.
    """

    event: str
    day: str
    number: str
    who: str
    others: tuple[str, ...]
    weather: str
    schedule: Schedule
    next: str
    """The schedule in words."""
    mine: tuple[MyRun, ...]
    runs: tuple[ShownRun, ...]
    finds: tuple[Find, ...]
    fresh: str
    moment: Moment | None
    corners: Corners
    """What the four read, as the gauge shows it: now, or last where the day is done."""
    read: str
    """Which reading that is, and how old."""
    aim_is: str
    """What they are held against."""
    setup: tuple[Setting, ...]
    testing: tuple[str, ...]
    due: tuple[tuple[bool, str], ...]
    advice: tuple[str, ...]
    as_of: str
    faults: str
    """What is wrong in the files, "" = nothing."""
    unit: str
    gauged: bool
    """The readings after the run to come are there already: it is driven, and not typed yet."""
    to_begin: tuple[tuple[str, str], ...] = ()
    """What a new event has not been told yet: the page that asks for it, and its words."""
    bell: int = 0
    """Minutes before my run at which a bell rings; 0: none."""
    unlisted: str = ""
    """Why the entrants can't be told: then neither run, gap nor setting is."""
    noted: tuple[str, ...] = ()
    """Notes on the course's elements, where there is room."""
    outside: str = ""
    """What came from outside and waits to be looked at."""
    elsewhere: str = ""
    """``day 2``: the day of now, where another is looked at; tyres, advice and chances are of now and not shown."""


def home(
    event: Event,
    number: str,
    now: datetime,
    gap: GapAnswer | None,
    day: int | None = None,
    walk: tuple[str, ...] = WALK,
    lead: Mapping[str, str] | None = None,
) -> Home:
    """The page for one of my entries. ``gap`` None: not worked out, or the number isn't entered.

    ``walk``: the order corners are read and typed in; ``lead``: the chance to lead by table, once it is worked out.
    """
    today = day_in_hand(event, now.date())
    day = day or today
    settings = event.settings
    unit = settings.pressure_unit or "psi"
    unlisted = unlisted_words(event)
    known = number and day == today and not unlisted
    moment = moment_of(event, number, as_of(event, now)) if known else None
    ahead, mine = schedule(event, number, day, now), my_runs(event, number, day)
    faults = sum(problem.level == "fault" for problem in event.problems)
    return Home(
        event=settings.name or event.name,
        day=day_words(event, day),
        number=number,
        who="" if unlisted else _who(event, number),
        others=tuple(item for item in settings.mine.numbers if item != number),
        weather=weather_words(event, day),
        schedule=ahead,
        next="" if unlisted else _schedule(ahead),
        unlisted=unlisted,
        mine=mine,
        runs=tuple(_run_line(run, settings.rules.decimals) for run in mine),
        finds=_finds(gap, settings.rules.decimals, lead or {} if day == today else {}),
        fresh=_fresh(event, gap, day, now),
        moment=moment,
        corners=_corners(moment),
        read=_read(moment),
        aim_is="" if moment is None else aim_words(moment),
        setup=tuple(item for item in setup_in_force(event, number) if "pressure" not in item.key),
        testing=tuple(_testing(event, moment, row) for row in open_changes(event, number)),
        due=due_lines(event, number) if number and not unlisted else (),
        noted=element_words(event, day),
        advice=headline(moment, unit, walk) if moment is not None else (),
        as_of=words.as_of(moment.known.clock) if moment is not None else "",
        faults=f"! {words.plural(faults, 'fault')} in the files: ! tells them" if faults else "",
        unit=unit,
        gauged=gauged(event, number, day),
        to_begin=() if unlisted else _to_begin(event, number),
        elsewhere="" if day == today else day_words(event, today, short=True),
    )


def _to_begin(event: Event, number: str) -> tuple[tuple[str, str], ...]:
    """Classes, entrants, the car, in the order one asks for them, while the event has no class or no rival of its own;
    nothing of it is needed to log a run."""
    settings = event.settings
    car = event.car_of(number)
    asked = (
        ("event", "days, rules, classes", not settings.classes or [item.code for item in settings.classes] == ["OPEN"]),
        ("entrants", "who is entered", {row.number for row in event.entrants} <= set(settings.mine.numbers)),
        ("car", "the car's targets", car is None or "dry" not in car.targets),
    )
    new = number and any(missing for page, _, missing in asked if page != "car")
    return tuple((page, text) for page, text, missing in asked if new and missing)


_GONE_MIN = 15
"""A run that should have begun so long ago is not waited for any more."""


def due_bells(event: Event, now: datetime, before_min: int) -> dict[tuple[int, int, str], str]:
    """My runs that begin within so many minutes by the running order: (day, run, number) and the words for it."""
    day = day_in_hand(event, now.date())
    found = {number: schedule(event, number, day, now) for number in event.settings.mine.numbers}
    return {
        (day, item.run, number): f"run {item.run} of {number}{_soon(item.minutes)}"
        for number, item in found.items()
        if item.minutes is not None and -_GONE_MIN <= item.minutes <= before_min
    }


def _soon(minutes: float) -> str:
    return f" in about {round(minutes)} min" if minutes >= 0.5 else " is due on the line now"


def gauged(event: Event, number: str, day: int) -> bool:
    """Whether somebody read the tyres after the run that is next to be typed."""
    key = (day, next_run(event, number, day), number, "after")
    return any((row.day, row.run, row.number, row.moment) == key for row in event.of(PressureRow))


def _who(event: Event, number: str) -> str:
    entrant = event.entrant(number)
    car = event.car_name_of(number)
    missing = "its row in entrants.csv is out: ! says why" if number in event.out else "not entered yet"
    parts = [entrant.driver or "" if entrant else missing, car or "", entrant.class_ or "" if entrant else ""]
    return " · ".join(part for part in parts if part)


def day_words(event: Event, day: int, short: bool = False) -> str:
    """``day 1 of 2, Sat 9 May``; only the count where the date isn't known or ``short``."""
    dates = event.settings.days
    of = f" of {len(dates)}" if len(dates) > 1 else ""
    if short or not 1 <= day <= len(dates):
        return f"day {day}"
    date = dates[day - 1]
    return f"day {day}{of}, {_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1]}"


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def top_words(event: Event, day: int, saved: str, width: int) -> tuple[str, str]:
    """Left and right of the top line of every page: day and event; the weather where there is room, what is saved."""
    weather = weather_words(event, day) if width >= 70 else ""
    left = f"{day_words(event, day, width < 60)} · {event.settings.name or event.name}"
    return left, f"{weather}   {saved}" if weather else saved


def weather_words(event: Event, day: int) -> str:
    """The day's weather, each value as it was said last: ``dry, air 24 °C, ground 38 °C``."""
    said = [row for row in event.of(WeatherRow) if row.day == day]
    rows = newest(said, lambda row: minutes(row.at))[::-1]
    air_c = next((row.air_c for row in rows if row.air_c is not None), None)
    ground_c = next((row.surface_c for row in rows if row.surface_c is not None), None)
    parts: list[str] = [next((row.surface for row in rows if row.surface), "")]
    parts += [f"air {air_c:.0f} °C"] if air_c is not None else []
    parts += [f"ground {ground_c:.0f} °C"] if ground_c is not None else []
    return ", ".join(part for part in parts if part)


def _finds(gap: GapAnswer | None, decimals: int, lead: Mapping[str, str]) -> tuple[Find, ...]:
    if gap is None:
        return ()
    tables = [gap.class_, gap.index if gap.class_ is None or gap.index.table != gap.class_.table else None]
    made = []
    for table in tables:
        if table is None:
            continue
        found = find(table, gap.number, decimals)
        alone = table.rank == 1 and table.below is None  # nobody else has a score: to lead them is no chance
        told = () if alone or found.table not in lead else (lead[found.table],)
        made.append(replace(found, around=(*told, *found.around)))
    return tuple(made)


def _fresh(event: Event, gap: GapAnswer | None, day: int, now: datetime) -> str:
    if gap is None:
        return ""
    days = event.settings.days
    live = 1 <= day <= len(days) and days[day - 1] == now.date()
    return freshness((gap.class_ or gap.index).seen, now if live else None)


def _testing(event: Event, moment: Moment | None, row: SetupChange) -> str:
    s = None if moment is None else moment.known
    wet = s is not None and from_the_wet(event, s.car_log, row, s.clock.day)
    return _change(row.item, row.before, row.after) + (", made for the wet: back?" if wet else "")


def _change(item: str | None, before: str | None, after: str | None) -> str:
    return f"{item or 'change'} {before or '?'} → {after or '?'}"


def _schedule(found: Schedule) -> str:
    of = f" of {found.of}" if found.of else ""
    if found.of is not None and found.run > found.of:
        text = f"all {found.of} runs done"
    else:
        text = f"next: run {found.run}{of}{_when(found)}"
    return text + (f" · you work with {found.work_group}" if found.work_group else "")


def _when(found: Schedule) -> str:
    if found.minutes is not None:
        ahead = f", {words.plural(found.cars_ahead, 'start')} before you" if found.cars_ahead else ""
        if found.minutes < -2:
            return f", due on the line now{ahead}"
        return f" in about {max(0, round(found.minutes))} min{ahead}"
    if found.order is None:
        return ""
    return f", place {found.order} in " + (f"group {found.group}" if found.group else "the order")


def _run_line(run: MyRun, decimals: int) -> ShownRun:
    scored = run.scored
    return ShownRun(
        run.run, run.counts,
        words.run_text(scored.raw_ms, scored.cones, scored.status, decimals) if scored else "no time",
        words.seconds(scored.total_ms, decimals) if scored else "-",
        words.difference(run.to_previous_ms, decimals), words.difference(run.to_best_ms, decimals), _felt(run),
    )  # fmt: skip


def _felt(run: MyRun) -> str:
    felt = " ".join(words.balance(value) for value in run.balance) if any(v is not None for v in run.balance) else ""
    log = run.log
    if log is None:
        return felt
    felt = " ".join(part for part in (felt, "m" if log.mistake else "") if part)
    more = [f"{'worked off' if run.worked_off else 'NOT SAFE'}: {log.unsafe}"] if log.unsafe else []
    more += [log.surface] if log.surface and log.surface != "dry" else []
    where = f" at {log.lost_where}" if log.lost_where else ""
    more += [f"lost {log.lost_s:g}{where}" if log.lost_s is not None else f"lost{where}"] if log.lost_s or where else []
    return "  ".join([felt, *more] if felt else more)


def _corners(moment: Moment | None) -> Corners:
    if moment is None:
        return Corners()
    return moment.now or (moment.read_last.shown if moment.read_last is not None else Corners())


def _read(moment: Moment | None) -> str:
    """What the sketch shows, in words."""
    if moment is not None and moment.read_last is not None:
        return read_last_words(moment)
    if moment is None or moment.now is None or moment.known.step is None:
        return "none read yet" if moment is None or moment.name == "before" else "nothing that counts now"
    minutes = moment.known.age_min
    age = f", {words.ago(minutes)}" if minutes is not None and minutes >= OLD_MIN and not moment.known.rested else ""
    return f"{which_reading(moment.known.step.reading)}{age}"
