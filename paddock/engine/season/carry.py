"""What an old event hands to the next: cars, tyres with their runs, open work, the plan, classes and index.

Pure: it says which edits are made to copies of the old files; ``paddock.store.prepare`` makes the copies and writes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from paddock.engine.car.setup_sheet import sheet
from paddock.engine.cold import ColdSet, Place, cold_sets
from paddock.engine.field.todo import undecided
from paddock.engine.season.carry_car import setups
from paddock.engine.season.carry_work import work
from paddock.engine.tyres import Inventory, inventory, my_cars
from paddock.engine.tyres.counts import count_of
from paddock.engine.tyres.readings import by_tyre
from paddock.engine.work.checklists import last_ticks, missed
from paddock.engine.work.closing_questions import CARRIED_PLAN, plan_for_next, plan_note
from paddock.model.edit import AddRow, ChangeRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import FittedRow, NoteRow, TickRow, TreadRow, TyreRow, WorkRow

Single = AddRow | ChangeRow | SetKey
LAST = 10**6


@dataclass(frozen=True, slots=True)
class Carried:
    """``edits``: made to the copies, in order. ``words``: what was carried, a phrase each.

    ``questions``: to be looked at by a person. ``index_question``: the index table's edition is from another year,
    None: it fits or names no year. ``cold``: number of my entry to the proposed cold pressures.
    """

    edits: tuple[Single, ...]
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
    event: Event, name: str, days: Sequence[date], place: Place, site: str | None, own_id: str
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
    for number in event.settings.mine.numbers:
        row = event.entrant(number)
        if row is not None:
            yield AddRow(row.FILE, {name: value for name, value in row.model_dump(exclude={"line", "status"}).items()
                                    if value is not None})  # fmt: skip


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


def _tread(event: Event, found: Inventory) -> Iterator[AddRow]:
    """Day 0: the last reading, worked forward by the runs since it."""
    for state in found.tyres:
        if state.tyre in by_tyre(event) and state.life.depth_mm:
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


def cold_words(sets: Sequence[ColdSet]) -> str:
    """``at 8 °C front 27.4, rear 25.6 psi``, one phrase an air temperature; what can't be told says why."""
    phrases = []
    for air in dict.fromkeys(item.air_c for item in sets):
        parts = [
            f"{item.axle} {'?' if item.set_psi is None else f'{item.set_psi:.1f}'}"
            + (f" ({item.limit})" if item.limit else "")
            for item in sets if item.air_c == air
        ]  # fmt: skip
        phrases.append(f"at {air:g} °C {', '.join(parts)}")
    return "; ".join(phrases) + " psi cold" if phrases else ""


def _cold_notes(
    event: Event, cold: Sequence[tuple[str, tuple[ColdSet, ...]]], new_id: Callable[[], str]
) -> Iterator[AddRow]:
    for number, sets in cold:
        car = event.car_name_of(number) or number
        yield AddRow(NoteRow.FILE, {"id": new_id(), "topic": "cold pressures", "text": f"{car}: {cold_words(sets)}"})


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
            f"{head}{row.setting or row.item or row.id} {row.before or '?'} to {row.after or '?'} (change {row.id}) is "
            f"still undecided: decide it in {event.settings.name or event.name}"
        )


def _undecided_notes(event: Event, new_id: Callable[[], str]) -> Iterator[AddRow]:
    for text in _undecided(event):
        yield AddRow(NoteRow.FILE, {"id": new_id(), "topic": "undecided from last time", "text": text})


def _questions(event: Event, place: Place, site: str | None, stale: Sequence[str]) -> Iterator[str]:
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


def _words(event: Event, found: Inventory, edits: Sequence[Single], index: str | None) -> Iterator[str]:
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
        yield f"{len(event.settings.classes)} classes and the rules"
    if event.settings.index.factors:
        yield f"index table: {event.settings.index.edition or 'no edition named'}" + (" (ask)" if index else "")
    if count["entrants.csv"]:
        yield f"my {'entry' if count['entrants.csv'] == 1 else 'entries'} {', '.join(event.settings.mine.numbers)}"
    for edit in colds:
        yield f"cold pressures: {edit.cells['text']}"


def carry(
    old: Event,
    name: str,
    days: Sequence[date],
    new_id: Callable[[], str],
    place: Place | None = None,
    site: str | None = None,
    past: Sequence[Event] = (),
) -> Carried:
    """What ``old`` hands to an event of this name on these days.

    ``place``: altitude and forecast of the new place, None: as the old one, no forecast. ``past``: events before
    ``old``, for the wear of its tyres. ``new_id`` makes row ids (``paddock.ids.new_id``).
    """
    place = place or Place()
    there = place if place.altitude_m is not None else Place(old.settings.altitude_m, place.coldest_c, place.hottest_c)
    cold = tuple(
        (numbers[0], sets) for numbers in my_cars(old).values() if (sets := tuple(cold_sets(old, numbers[0], there)))
    )
    found, index = inventory(old, past), index_question(old, days)
    stale = _stale(found)
    edits: tuple[Single, ...] = (
        *_settings(old, name, days, place, site, new_id()), *setups(old), *_entrants(old), *_tyres(old, found),
        *_fitted(old, found), *_tread(old, found), *work(old, found, name, days), *_measure_again(old, stale, new_id),
        *_ticks(old), *_plan(old, new_id), *_undecided_notes(old, new_id),
        *_cold_notes(old, cold, new_id),
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
