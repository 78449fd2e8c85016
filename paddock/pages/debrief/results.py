"""Where I came: my class, index and raw, over the days and by day, and what decided it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from paddock.engine.field.verdict import to_test
from paddock.engine.scoring.decided import Decision, decided
from paddock.engine.scoring.gap import contenders
from paddock.engine.scoring.tables import INDEX, RAW, Standing, Standings, StandingsTable
from paddock.engine.share.names import Names, about_rivals
from paddock.engine.work.due import plan_for_next, questions_left
from paddock.model.event import Event
from paddock.model.rows import NoteRow, TimeRow, WeatherRow
from paddock.pages import document as page
from paddock.pages.debrief.changes import cold_next_time
from paddock.pages.debrief.parts import Section, grid, line
from paddock.pages.verdict_words import to_test_words
from paddock.words import difference, ordinal, plural, seconds, tenths

AROUND = 3
"""Rows shown on each side of mine where a table is long, and at its top."""


def results(event: Event, names: Names, total: Standings, days: Mapping[int, Standings]) -> Section | None:
    """A sentence per entry of mine and table, raw times apart, then each class of mine whole."""
    said = _sentences(event, names, [table for table in total.tables if table.name != RAW])
    classes = [table for table in _mine_in(event, total) if table.name not in {INDEX, RAW}]
    grids = tuple(_grid(names, table, days, event.settings.rules.decimals) for table in classes)
    posted = tuple(text for table in classes for text in _sentences(event, names, [table]))
    return Section("Results", said, grids=grids, summary=posted or said) if said or grids else None


def everybody(event: Event, names: Names, total: Standings, days: Mapping[int, Standings]) -> Section | None:
    """Where my raw times stand, then index and raw around me."""
    tables = [table for table in _mine_in(event, total) if table.name in {INDEX, RAW}]
    if not tables:
        return None
    said = _sentences(event, names, [table for table in tables if table.name == RAW])
    grids = tuple(_grid(names, table, days, event.settings.rules.decimals) for table in tables)
    return Section("Everybody, on index and raw", said, grids=grids)


def _mine_in(event: Event, total: Standings) -> list[StandingsTable]:
    """The tables that one of mine is ranked in."""
    mine = [number for number in event.settings.mine.numbers if event.entrant(number)]
    return [table for table in total.tables if any(_placed(table, number) for number in mine)]


def _sentences(event: Event, names: Names, tables: Sequence[StandingsTable]) -> tuple[str, ...]:
    return tuple(
        _sentence(names, table, row, len(contenders(event, table)), event.settings.rules.decimals)
        for number in event.settings.mine.numbers
        if event.entrant(number)
        for table in tables
        if (row := _placed(table, number))
    )


def _placed(table: StandingsTable, number: str) -> Standing | None:
    row = table.of(number)
    return row if row is not None and row.rank is not None else None


def _title(table: StandingsTable) -> str:
    return {INDEX: "on index, everybody", RAW: "raw times, everybody"}.get(table.name, f"class {table.name}")


def _sentence(names: Names, table: StandingsTable, row: Standing, among: int, decimals: int) -> str:
    place = f"{ordinal(row.rank or 0)} of {among} with {seconds(row.score_ms, decimals)}"
    start = f"{names.label(row.number)}, {_title(table)}: {place}"
    other = table.best_other(row.number)
    if other is None or other.score_ms is None or row.score_ms is None:
        return f"{start}."
    return f"{start}, {_gap(row.score_ms - other.score_ms, decimals)} {names.label(other.number)}."


def _gap(ms: int, decimals: int) -> str:
    return f"{seconds(abs(ms), decimals)} {'behind' if ms > 0 else 'ahead of'}" if ms else "level with"


def _grid(names: Names, table: StandingsTable, days: Mapping[int, Standings], decimals: int) -> page.PageTable:
    shown = _shown(table, names)
    by_day = {day: found.table(table.name) for day, found in days.items()} if len(days) > 1 else {}
    rows, strong = [], set()
    for row in shown:
        if row is None:
            rows.append(("…", *[""] * (4 + len(by_day) - 1)))
            continue
        if names.is_mine(row.number):
            strong.add(len(rows))
        daily = [_day_score(found, row.number, decimals) for found in by_day.values()]
        rows.append(
            (
                f"{row.rank or '-'}",
                names.label(row.number),
                *daily,
                seconds(row.score_ms, decimals),
                difference(row.gap_to_leader_ms, decimals),
            )
        )
    heads = ("", "entry", *(f"day {day}" for day in by_day), "score", "to the leader")
    right = frozenset({0, *range(2, len(heads))})
    return grid(heads, tuple(rows), _title(table)[:1].upper() + _title(table)[1:], right, frozenset(strong))


def _day_score(table: StandingsTable | None, number: str, decimals: int) -> str:
    row = table.of(number) if table else None
    return seconds(row.score_ms if row else None, decimals)


def _shown(table: StandingsTable, names: Names) -> Sequence[Standing | None]:
    """The whole class; of a table of everybody its top and what is around me, None where rows are left out."""
    if table.name not in {INDEX, RAW}:
        return table.rows
    mine = [at for at, row in enumerate(table.rows) if names.is_mine(row.number) and row.rank is not None]
    near = {at for spot in mine for at in range(spot - AROUND, spot + AROUND + 1)} | set(range(AROUND))
    kept: list[Standing | None] = []
    for at in sorted(item for item in near if 0 <= item < len(table.rows)):
        if kept and at - 1 not in near:
            kept.append(None)
        kept.append(table.rows[at])
    return kept


def answers(event: Event, names: Names) -> Iterator[str]:
    """A sentence an entry of mine that is ranked, in the order of ``[mine]``: of its class, else of everybody."""
    for number in event.settings.mine.numbers:
        entrant = event.entrant(number)
        tables = (entrant.class_ if entrant else None, INDEX, RAW)
        found = next((made for name in tables if name and (made := decided(event, number, name))), None)
        if found is not None:
            yield _sentence_of_answer(event, names, found)


def _sentence_of_answer(event: Event, names: Names, found: Decision) -> str:
    decimals = event.settings.rules.decimals
    table = {INDEX: "on index", RAW: "on raw times"}.get(found.table, found.table)
    many = len({row.day for row in event.times}) > 1
    over = found.left in (None, 0)
    head = f"{names.label(found.number)} {_stands(found, table, seconds(abs(found.margin_ms or 0), decimals), over)}"
    why = _why(names, found, many, decimals)
    left = "" if over else f" {plural(found.left or 0, 'run')} left."
    return f"{head}{f': {why}' if why else ''}.{left}"


def _stands(found: Decision, table: str, margin: str, over: bool) -> str:
    if found.other is None:
        return f"{'won' if over else 'leads'} {table} alone"
    if found.margin_ms is None:
        return f"{'ended' if over else 'is'} {ordinal(found.rank)} of {found.among} in {table}"
    if found.margin_ms == 0:
        return f"{'ended' if over else 'is'} level in {table}" + ("" if found.rank == 1 else f", {ordinal(found.rank)}")
    if found.rank == 1:
        return f"{'won' if over else 'leads'} {table} by {margin}"
    if found.rank == 2:
        return f"{'lost' if over else 'trails in'} {table} by {margin}"
    return f"{'ended' if over else 'is'} {ordinal(found.rank)} of {found.among} in {table}, {margin} behind the first"


def _why(names: Names, found: Decision, many: bool, decimals: int) -> str:
    where = _runs(found.runs, many)
    if found.cause == "penalty":
        return f"{_penalty(found.runs)} on {where}"
    if found.cause == "mistake":
        return f"the mistake on {where}, {seconds(found.lost_ms, decimals)} as logged"
    if found.cause == "their penalty":
        return f"{_penalty(found.runs)} of {names.label(found.whose)} on {where}"
    return "no penalty and no logged mistake makes that up" if found.cause == "pace" and found.rank > 1 else ""


def _penalty(runs: Sequence[TimeRow]) -> str:
    cones, misses = sum(row.cones or 0 for row in runs), sum(row.misses or 0 for row in runs)
    parts = []
    if cones:
        parts.append("the cone" if cones == 1 else f"the {cones} cones")
    if misses:
        parts.append("the missed gate" if misses == 1 else f"the {misses} missed gates")
    return " and ".join(parts)


def _runs(runs: Sequence[TimeRow], many: bool) -> str:
    """``run 4``, ``runs 2 and 4``, with their days where the event has run on several."""
    if many:
        return " and ".join(f"run {row.run} of day {row.day}" for row in runs)
    return f"run{'s' if len(runs) > 1 else ''} {' and '.join(f'{row.run}' for row in runs)}"


def weather(event: Event, names: Names) -> Section | None:
    """As it was written down."""
    rows = event.of(WeatherRow)
    if not rows:
        return None
    heads = ("day", "at", "air C", "surface C", "humidity %", "station hPa", "surface", "sky", "wind km/h")
    cells = tuple(
        (f"{row.day}", row.at or "", *map(tenths, (row.air_c, row.surface_c, row.humidity_pct, row.station_hpa)),
         row.surface or "", names.clean(row.sky), tenths(row.wind_kmh))
        for row in rows
    )  # fmt: skip
    return Section("Weather", grids=(grid(heads, cells, right=frozenset({0, 2, 3, 4, 5, 8})),))


def notes(event: Event, names: Names) -> Section | None:
    """My notes in order; those about rivals only when names are shown."""
    rows = [row for row in event.of(NoteRow) if row.text and (names.shown or not about_rivals(row))]
    if not rows:
        return None
    rows.sort(key=lambda row: (row.day or 0, row.run or 0, row.at or ""))
    return Section("Notes", items=tuple(_note(names, row) for row in rows))


def _note(names: Names, row: NoteRow) -> str:
    when = line(f"day {row.day}" if row.day else None, f"run {row.run}" if row.run else None, row.at)
    head = line(when, names.clean(row.topic), between=" · ")
    return f"{head}: {names.clean(row.text)}" if head else names.clean(row.text)


def plan(event: Event, names: Names) -> Section | None:
    """The one thing to test, and the questions nobody has answered yet."""
    found = plan_for_next(event)
    said = []
    if found is not None:
        said.append(
            names.clean(
                line(f"To test: {found.test}", f"Expected: {found.expect}" if found.expect else None, between=". ")
            )
        )
        if not found.written:
            said.append("Proposed from the test still open; nobody has written a plan.")
    topics = ", ".join(item.topic.removeprefix("debrief ") for item in questions_left(event))
    left = (f"Not answered yet: {topics}.",) if topics else ()
    left = (*(names.written(text) for text in to_test_words(to_test(event))), *left)
    plan_line = cold_next_time(event)
    cold = (names.written(plan_line),) if plan_line else ()
    short = (names.clean(f"To test: {found.test}"),) if found is not None else ()
    if not said and not left and not cold:
        return None
    return Section("Next time", (*said, *cold), items=left, summary=(*short, *cold))


def faults(event: Event, names: Names) -> Section | None:
    """What this report leaves out because it could not be read."""
    found = [item for item in event.problems if item.level == "fault"]
    if not found:
        return None
    said = tuple(names.clean(f"{item}") for item in found)
    words = ("Lines that could not be read are not in this report.",)
    return Section("Left out", words, items=said, summary=(f"{plural(len(said), 'faulty line')} left out.",))
