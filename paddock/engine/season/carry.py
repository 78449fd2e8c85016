"""What an old event hands to the next: cars, tyres with their runs, open work, the plan, classes and index.

Pure: it says which edits are made to copies of the old files; ``paddock.store.plan`` makes the copies and writes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from paddock.engine.car.car_now import car_in_force
from paddock.engine.car.setup_sheet import changes_of, pressure_axle, sheet
from paddock.engine.field.verdict import undecided
from paddock.engine.pressure.air import ambient_psi
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.plan import ColdSet, SitePlace, cold_sets, known_rises
from paddock.engine.tyres.buying import orders
from paddock.engine.tyres.counts import count_of, my_cars
from paddock.engine.tyres.inventory import Inventory, inventory
from paddock.engine.work.due import (
    CARRIED_PLAN,
    CARRIED_UNDECIDED,
    Due,
    due,
    last_ticks,
    missed,
    plan_for_next,
    plan_note,
    with_car,
)
from paddock.model.car import Car
from paddock.model.edit import AddRow, ChangeRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import FittedRow, NoteRow, TickRow, TreadRow, TyreRow, WorkRow
from paddock.model.season import Booking
from paddock.model.units import plain_number

# what a car file is carried on with: the set-up as it stands, its bars' holes, what a first run warms its tyres


def like_before(old: object, text: str) -> object:
    """``text`` as a number where the setting was one and it still is."""
    if isinstance(old, int | float) and not isinstance(old, bool):
        try:
            return int(text) if re.fullmatch(r"[+-]?\d+", text) else float(text)
        except ValueError:
            return text
    return text


def setups(event: Event) -> Iterator[SetKey]:
    """``[setup]`` as the car stands now: what was kept and what is still open, without repairs."""
    for numbers in my_cars(event).values():
        car, name = event.car_of(numbers[0]), event.car_name_of(numbers[0])
        if car is None:
            continue
        repairs = {row.setting or row.item for row in changes_of(event, numbers[0]) if row.kind == "repair"}
        for line in sheet(event, numbers[0]).lines:
            if line.now is None or line.key in repairs or pressure_axle(line.key) is not None:
                continue
            if line.now != line.start or line.key not in car.setup:
                yield SetKey(f"cars/{name}.toml", ("setup", line.key), like_before(car.setup.get(line.key), line.now))
        yield from _pressures(car, name or "")
        yield from _holes(event, numbers[0], car, name or "")
        yield from _rises(event, numbers[0], car, name or "")


def _pressures(car: Car, name: str) -> Iterator[SetKey]:
    """A setting that names an axle's pressure is what is aimed at; without a dry target it is left as it came."""
    target = car.target("dry")
    for key, old in car.setup.items():
        axle = pressure_axle(key)
        aimed = getattr(target, f"{axle}_psi", None) if axle else None
        if aimed is not None and _said(old) != aimed:
            yield SetKey(f"cars/{name}.toml", ("setup", key), like_before(old, plain_number(aimed, 1)))


def _said(old: object) -> float | None:
    try:
        return float(str(old).replace(",", "."))
    except ValueError:
        return None


def _holes(event: Event, number: str, car: Car, name: str) -> Iterator[SetKey]:
    """The bar's own left and right as the log leaves them, so that they say what ``[setup]`` says."""
    held, _ = car_in_force(event, number, car)
    for axle in ("front", "rear"):
        old, new = getattr(car, axle).bar, getattr(held, axle).bar
        if old is not None and (old.left, old.right) != (new.left, new.right):
            yield SetKey(f"cars/{name}.toml", (axle, "bar", "left"), new.left)
            yield SetKey(f"cars/{name}.toml", (axle, "bar", "right"), new.right)


def _rises(event: Event, number: str, car: Car, name: str) -> Iterator[SetKey]:
    """What a dry first run warms the tyres as this car's own readings have it, for the cold plan of the next event."""
    for axle, rise in known_rises(event, number, heat_of(event, number)).items():
        if rise.source in {"read", "fit"} and round(rise.k, 1) != getattr(car.first_run, f"{axle}_rise_k"):
            yield SetKey(f"cars/{name}.toml", ("first_run", f"{axle}_rise_k"), round(rise.k, 1))


# open work carried to the next event: when it is due there, and on which car


ORDER = re.compile(r"(?:[^:]*:)?\s*(?:order|buy)\b", re.IGNORECASE)
AXLE_WORDS = re.compile(r"\b(?:front|rear)", re.IGNORECASE)


def _order_due(line: Due, axles: Mapping[str, date | None], end: date | None) -> str:
    """The day an order must go out: as written, else as the wear tells, else at once.

    ``axles``: the day to order the tyres of ``front`` and ``rear``, None: not known; ``end``: the old event's last day.
    """
    if re.search(r"\b\d{4}-\d{2}-\d{2}\b", line.row.due or ""):
        return line.row.due or ""
    said = line.item.lower()
    known = [day for axle, day in axles.items() if day is not None and (axle in said or not AXLE_WORDS.search(said))]
    return min(known).isoformat() if known and (end is None or min(known) > end) else "order now"


def _order_days(event: Event, found: Inventory, booked: Booking, number: str) -> dict[str, date | None]:
    """By axle, the day to order: for the new event those that last it, for when they run out those that don't."""
    held = found.cars.get(event.car_name_of(number) or number, {})
    days: dict[str, date | None] = {axle: _delivered(found, held, axle, booked) for axle in ("front", "rear")}
    for item in orders(event, found, (booked,)):
        axles = {"front" if corner[1] == "f" else "rear" for corner, tyre in held.items() if tyre in item.tyres}
        days |= dict.fromkeys(axles, item.order_by)
    return days


def _delivered(found: Inventory, held: Mapping[str, str], axle: str, booked: Booking) -> date | None:
    """The last day to order an axle's tyres for the first day of ``booked``; None: no delivery time is known."""
    states = [found.of(tyre) for corner, tyre in held.items() if corner[1] == axle[0]]
    waits = [item.row.delivery_days for item in states if item and item.row and item.row.delivery_days is not None]
    return min(booked.days) - timedelta(days=max(waits)) if waits and booked.days else None


def _due_text(line: Due) -> str:
    """When it is due at the next event: what waited for this one's end, or is late, before its first run."""
    text = (line.row.due or "").lower()
    if line.now or "event" in text or "before" in text:
        return "before run 1"
    if line.when.startswith("in "):
        return line.when
    return "next run" if "run" in text else (line.row.due or "")


def work(event: Event, found: Inventory, name: str, days: Sequence[date]) -> Iterator[AddRow]:
    """Open work on my cars for the event ``name`` on ``days``; an order's due is a day."""
    booked, end = Booking(name=name, days=tuple(days)), max(event.settings.days, default=None)
    seen: set[str] = set()
    for numbers in my_cars(event).values():
        order_days = _order_days(event, found, booked, numbers[0])
        for line in due(event, numbers[0]):
            if line.id in seen:
                continue
            seen.add(line.id)
            when = _order_due(line, order_days, end) if ORDER.match(line.item) else _due_text(line)
            cells = {
                "id": line.id, "opened": f"at {event.settings.name or event.name}", "reason": line.row.reason,
                "item": with_car(event, line, numbers[0]), "due": when or None,
                "torque_nm": line.torque_nm, "note": line.row.note,
            }  # fmt: skip
            yield AddRow(WorkRow.FILE, {name: value for name, value in cells.items() if value is not None})


CarriedEdit = AddRow | ChangeRow | SetKey
LAST = 10**6


@dataclass(frozen=True, slots=True)
class Carried:
    """``edits``: made to the copies, in order. ``words``: what was carried, a phrase each.

    ``questions``: to be looked at by a person. ``index_question``: the index table's edition is from another year,
    None: it fits or names no year. ``cold``: number of my entry to the proposed cold pressures.
    """

    edits: tuple[CarriedEdit, ...]
    words: tuple[str, ...]
    questions: tuple[str, ...] = ()
    index_question: str | None = None
    cold: tuple[tuple[str, tuple[ColdSet, ...]], ...] = ()


def index_question(event: Event, days: Sequence[date]) -> str | None:
    """What to ask where the index table's edition names a year and none of it is the new event's."""
    edition = event.settings.index.edition
    years = {int(year) for year in re.findall(r"(?<!\d)(?:19|20)\d\d(?!\d)", edition or "")}
    wanted = {day.year for day in days}
    if not years or not wanted or years & wanted or not event.settings.index.factors:
        return None
    return f"the index table is {edition!r} and the event is in {min(wanted)}: does it still hold?"


def _settings(
    event: Event, name: str, days: Sequence[date], place: SitePlace, site: str | None, own_id: str
) -> Iterator[SetKey]:
    yield SetKey("event.toml", ("id",), own_id)
    yield SetKey("event.toml", ("name",), name)
    yield SetKey("event.toml", ("days",), list(days))
    if site is not None:
        yield SetKey("event.toml", ("site",), site)
    if place.altitude_m is not None and place.altitude_m != event.settings.altitude_m:
        yield SetKey("event.toml", ("altitude_ft",), None)
        yield SetKey("event.toml", ("altitude_m",), place.altitude_m)
    stale = ("next_hottest_c", "next_coldest_c", "next_hottest_f", "next_coldest_f")
    for key in ("hottest_f", "coldest_f", *stale):
        yield SetKey("event.toml", ("forecast", key), None)
    yield SetKey("event.toml", ("forecast", "hottest_c"), place.hottest_c)
    yield SetKey("event.toml", ("forecast", "coldest_c"), place.coldest_c)


def _entrants(event: Event) -> Iterator[AddRow]:
    """Mine, then everybody else; what was said of the old event alone stays there."""
    mine = event.settings.mine.numbers
    for row in sorted(event.entrants, key=lambda row: row.number not in mine):
        cells = row.model_dump(exclude={"line", "status"}, exclude_none=True)
        yield AddRow(row.FILE, cells if row.number in mine else cells | {"status": "carried"})


def _tyres(event: Event, found: Inventory) -> Iterator[AddRow | ChangeRow]:
    known = {row.tyre for row in event.of(TyreRow)}
    for state in found.tyres:
        if state.tyre not in known:
            yield AddRow(TyreRow.FILE, {"tyre": state.tyre, "runs_before": state.runs})
        elif state.event_runs:
            yield ChangeRow(TyreRow.FILE, (state.tyre,), {"runs_before": state.runs})


def _fitted(event: Event, found: Inventory) -> Iterator[AddRow]:
    rows = sorted(event.of(FittedRow), key=lambda row: (row.day, row.run or 0))
    words: dict[tuple[str, str], str | None] = {(row.tyre, row.corner): row.orientation for row in rows}
    for car, held in found.cars.items():
        number = my_cars(event)[car][0]
        for corner, tyre in held.items():
            cells = {"day": 1, "number": number, "corner": corner, "tyre": tyre}
            turned = words[tyre, corner]
            yield AddRow(FittedRow.FILE, cells | ({"orientation": turned} if turned else {}))


def _tread(found: Inventory) -> Iterator[AddRow]:
    """Day 0: the last reading, worked forward by the runs since it."""
    for state in found.tyres:
        if state.life.depth_mm:
            depths = {f"{edge}_mm": round(depth, 2) for edge, depth in state.life.depth_mm.items()}
            yield AddRow(TreadRow.FILE, {"day": 0, "tyre": state.tyre} | depths)


def _stale(found: Inventory) -> list[str]:
    return [state.tyre for state in found.tyres if state.life.depth_mm and state.runs_since_reading]


def _measure_again(event: Event, stale: Sequence[str], new_id: Callable[[], str]) -> Iterator[AddRow]:
    if stale:
        cells = {
            "id": new_id(), "opened": f"at {event.settings.name or event.name}", "due": "before run 1",
            "item": f"read the tread of {', '.join(stale)}",
            "reason": "day 0 in tread.csv is worked forward from a reading before the last runs",
        }  # fmt: skip
        yield AddRow(WorkRow.FILE, cells)


def _ticks(event: Event) -> Iterator[AddRow]:
    """What was ticked the last time each list was used: rows without a day, so that what was missed is seen."""
    for name, items in event.checklists.items():
        done = last_ticks(event, name, LAST)
        if missed(items, done):
            yield from (AddRow(TickRow.FILE, {"list": name, "item": item}) for item in items if item in done)


def _plan(event: Event, new_id: Callable[[], str]) -> Iterator[AddRow]:
    plan = plan_for_next(event)
    if plan is not None:
        yield plan_note(new_id(), plan.test, plan.expect, topic=CARRIED_PLAN)


_HELD = {
    "plan-held-down": "held down by the cold maximum", "plan-held-up": "held up by the minimum",
    "no-target": "no target", "plan-impossible": "minimum and cold maximum can't both be met",
}  # fmt: skip


def cold_words(sets: Sequence[ColdSet], offset_psi: float = 0.0) -> str:
    """``at 8 °C front 27.4, rear 25.6 psi``, one phrase an air temperature, as a gauge that reads
    ``offset_psi`` high shows it; what can't be told says why."""
    phrases = []
    for air in dict.fromkeys(item.air_c for item in sets):
        parts = [
            f"{item.axle} {'?' if item.set_psi is None else f'{item.set_psi + offset_psi:.1f}'}"
            + (f" ({_HELD.get(item.limit.name, item.limit.name)})" if item.limit else "")
            for item in sets if item.air_c == air
        ]  # fmt: skip
        phrases.append(f"at {air:g} °C {', '.join(parts)}")
    return "; ".join(phrases) + " psi cold" if phrases else ""


def _cold_notes(
    event: Event, cold: Sequence[tuple[str, tuple[ColdSet, ...]]], there: SitePlace, new_id: Callable[[], str]
) -> Iterator[AddRow]:
    elsewhere = _elsewhere(event.settings.altitude_m, there.altitude_m)
    gauge = event.settings.gauge_of(None)
    offset = gauge.offset_psi if gauge else 0.0
    for number, sets in cold:
        car = event.car_name_of(number) or number
        text = f"{car}: {cold_words(sets, offset)}{elsewhere}"
        yield AddRow(NoteRow.FILE, {"id": new_id(), "topic": "cold pressures", "text": text})


_GAUGE_STEP_PSI = 0.25
"""Half of the usual step of a gauge: less is not worth a word."""


def _elsewhere(here_m: float | None, there_m: float | None) -> str:
    """What the same tyre reads at the old place's altitude: who sets cold the evening before stands lower or higher."""
    if here_m is None or there_m is None:
        return ""
    more = ambient_psi(there_m) - ambient_psi(here_m)
    if abs(more) < _GAUGE_STEP_PSI:
        return ""
    way = "more" if more > 0 else "less"
    return f"; as a gauge reads at {there_m:g} m: at {here_m:g} m, as cold, it shows {abs(more):.1f} {way}"


def _reverts(event: Event) -> Iterator[str]:
    for numbers in my_cars(event).values():
        for line in sheet(event, numbers[0]).lines:
            if line.to_revert:
                yield f"{line.key} is to go back and still is {line.now}: carried as it is on the car"


def _undecided(event: Event) -> Iterator[str]:
    """Each undecided test with its car and the event in which it can be decided."""
    several = len(my_cars(event)) > 1
    for row in undecided(event):
        car = event.car_name_of(row.number or event.settings.mine.numbers[0])
        head = f"{car}: " if car and several else ""
        yield (
            f"{head}{row.item or row.setting or row.id} {row.before or '?'} to {row.after or '?'} (change {row.id}) is "
            f"still undecided: decide it in {event.settings.name or event.name}"
        )


def _undecided_notes(event: Event, new_id: Callable[[], str]) -> Iterator[AddRow]:
    for text in _undecided(event):
        yield AddRow(NoteRow.FILE, {"id": new_id(), "topic": CARRIED_UNDECIDED, "text": text})


def _questions(event: Event, place: SitePlace, site: str | None, stale: Sequence[str]) -> Iterator[str]:
    yield from _reverts(event)
    yield from _undecided(event)
    if site is None and event.settings.site:
        yield f"site = {event.settings.site!r} is the old one: is it this event's?"
    if stale:
        yield f"tread of {', '.join(stale)} is worked forward to day 0: measure before the first run"
    if place.altitude_m is None and event.settings.altitude_m is not None:
        yield f"altitude_m = {event.settings.altitude_m:g} is the old place's: is it this one's?"
    if place.coldest_c is None and place.hottest_c is None:
        yield "no forecast yet: write hottest_c and coldest_c under [forecast]"


def _words(event: Event, found: Inventory, edits: Sequence[CarriedEdit], index: str | None) -> Iterator[str]:
    """Phrases for what there is."""
    count = {file: sum(edit.file == file for edit in edits) for file in (WorkRow.FILE, NoteRow.FILE, "entrants.csv")}
    plans = [edit for edit in edits if isinstance(edit, AddRow) and edit.cells.get("topic") == CARRIED_PLAN]
    colds = [edit for edit in edits if isinstance(edit, AddRow) and edit.cells.get("topic") == "cold pressures"]
    if event.cars:
        yield f"{count_of(len(event.cars), 'car')}: {', '.join(event.cars)}, set up as they stand"
    if found.tyres:
        yield f"{count_of(len(found.tyres), 'tyre')} with their runs and tread, as fitted"
    if count[WorkRow.FILE]:
        yield f"open work: {count_of(count[WorkRow.FILE], 'line')}"
    for edit in plans:
        yield f"the plan: {edit.cells['text']}"
    if event.settings.classes:
        count_of_classes = len(event.settings.classes)
        yield f"{count_of_classes} class{'' if count_of_classes == 1 else 'es'} and the rules"
    if event.settings.index.factors:
        yield f"index table: {event.settings.index.edition or 'no edition named'}" + (" (ask)" if index else "")
    mine = [number for number in event.settings.mine.numbers if event.entrant(number) is not None]
    if mine:
        yield f"my {'entry' if len(mine) == 1 else 'entries'} {', '.join(mine)}"
    if rivals := count["entrants.csv"] - len(mine):
        yield f"{count_of(rivals, 'rival')} in their classes, carried: they count once they are seen here"
    for edit in colds:
        yield f"cold pressures: {edit.cells['text']}"


def carry(
    old: Event,
    name: str,
    days: Sequence[date],
    new_id: Callable[[], str],
    place: SitePlace | None = None,
    site: str | None = None,
    past: Sequence[Event] = (),
) -> Carried:
    """What ``old`` hands to an event of this name on these days.

    ``place``: altitude and forecast of the new place, None: as the old one, no forecast. ``past``: events before
    ``old``, for the wear of its tyres. ``new_id`` makes row ids (``paddock.model.edit.new_id``).
    """
    place = place or SitePlace()
    there = (
        place if place.altitude_m is not None else SitePlace(old.settings.altitude_m, place.coldest_c, place.hottest_c)
    )
    cold = tuple(
        (numbers[0], sets) for numbers in my_cars(old).values() if (sets := tuple(cold_sets(old, numbers[0], there)))
    )
    found, index = inventory(old, past), index_question(old, days)
    stale = _stale(found)
    edits: tuple[CarriedEdit, ...] = (
        *_settings(old, name, days, place, site, new_id()), *setups(old), *_entrants(old), *_tyres(old, found),
        *_fitted(old, found), *_tread(found), *work(old, found, name, days), *_measure_again(old, stale, new_id),
        *_ticks(old), *_plan(old, new_id), *_undecided_notes(old, new_id),
        *_cold_notes(old, cold, there, new_id),
    )  # fmt: skip
    words = tuple(_words(old, found, edits, index))
    questions = (*([index] if index else []), *_questions(old, place, site, stale))
    return Carried(edits, words, questions, index, cold)


def without_index(old: Event, carried: Carried) -> Carried:
    """The same without the index table, where its owner says that it no longer holds."""
    keys = ("edition", *old.settings.index.factors)
    edits = tuple(SetKey("event.toml", ("index", key), None) for key in keys)
    words = tuple(word for word in carried.words if not word.startswith("index table"))
    asked = tuple(item for item in carried.questions if item != carried.index_question)
    asked = ("write the new factors and their edition under [index]", *asked)
    return replace(carried, edits=(*carried.edits, *edits), words=words, questions=asked, index_question=None)
