"""My runs: each with what it was worth, how the car felt, where time went, beside what class and course did."""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from paddock.engine.field.course import Evolution, course_evolution, slowed_runs
from paddock.engine.field.scores import groups_of
from paddock.engine.scoring.plain import ScoredRun, run_lines, scored_runs
from paddock.engine.scoring.tables import RunLine, days_run
from paddock.engine.share.names import Names
from paddock.engine.where.answer import where
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import RunRow
from paddock.pages.debrief.parts import Figure, Section, grid, line, places_plot, series
from paddock.pages.document import PageTable, Plot, Series
from paddock.pages.verdict_words import slowed_words
from paddock.pages.where import always, ranges_of, together, varies
from paddock.words import balance, difference, hundredths, plural, run_text, seconds

_HEADS = (
    "day.run",
    "time",
    "total",
    "to my best of the day",
    "to the fastest in class",
    "felt",
    "surface",
    "remarks",
)


def runs(event: Event, names: Names) -> Section | None:
    """One table and one picture per entry of mine that ran."""
    grids, figures, summary = [], [], []
    for number in event.settings.mine.numbers:
        lines = _lines(event, number)
        if not lines:
            continue
        fastest, middle = _class_times(event, number)
        grids.append(_grid(event, names, number, lines, fastest))
        figures.append(_figure(names, number, lines, {"fastest": fastest, "middle of class": middle}))
        summary.append(f"{names.label(number)}: " + line(*(_short(event, item) for item in lines), between="  "))
    if not grids:
        return None
    return Section(
        "Runs", ("Totals with penalties in seconds; u understeer, o oversteer, at entry, middle and exit.",),
        tuple(figure for figure in figures if figure), tuple(grids), summary=tuple(summary),
    )  # fmt: skip


def _lines(event: Event, number: str) -> tuple[RunLine, ...]:
    scored = scored_runs(event, [number]).get(number, [])
    days = sorted({item.row.day for item in scored})
    return tuple(found for day in days for found in run_lines(event, [day], "raw", scored))


def _class_times(event: Event, number: str) -> tuple[dict[tuple[int, int], int], dict[tuple[int, int], float]]:
    """The fastest and the middle total of the others in my class, by day and run."""
    entrant = event.entrant(number)
    others = [
        item.number for item in event.entrants if entrant and item.class_ == entrant.class_ and item.number != number
    ]
    by_run: dict[tuple[int, int], list[int]] = {}
    for found in scored_runs(event, others).values():
        for item in found:
            _add(by_run, item)
    return {key: min(values) for key, values in by_run.items()}, {key: median(values) for key, values in by_run.items()}


def _add(by_run: dict[tuple[int, int], list[int]], item: ScoredRun) -> None:
    if item.total_ms is not None:
        by_run.setdefault((item.row.day, item.row.run), []).append(item.total_ms)


def _short(event: Event, item: RunLine) -> str:
    text = run_text(item.raw_ms, item.cones, item.status, event.settings.rules.decimals)
    return f"{item.day}.{item.run} {text}{'*' if item.counts else ''}"


def _grid(
    event: Event, names: Names, number: str, lines: tuple[RunLine, ...], fastest: dict[tuple[int, int], int]
) -> PageTable:
    log = {(row.day, row.run): row for row in event.of(RunRow) if row.number == number}
    best, decimals = _bests(lines), event.settings.rules.decimals
    rows = []
    for item in lines:
        theirs, row = fastest.get((item.day, item.run)), log.get((item.day, item.run))
        rows.append(
            (
                f"{item.day}.{item.run}" + (" *" if item.counts else ""),
                run_text(item.raw_ms, item.cones, item.status, decimals), seconds(item.total_ms, decimals),
                _less(item.total_ms, best.get(item.day), decimals), _less(item.total_ms, theirs, decimals), _felt(row),
                (row.surface or "-") if row else "-", _remarks(names, item, row),
            )
        )  # fmt: skip
    counting = frozenset(at for at, item in enumerate(lines) if item.counts)
    caption = f"{names.label(number)}: * counts"
    return grid(_HEADS, tuple(rows), caption, frozenset({1, 2, 3, 4}), counting)


def _bests(lines: tuple[RunLine, ...]) -> dict[int, int]:
    """Each day's best total: days are other courses."""
    found: dict[int, int] = {}
    for item in lines:
        if item.total_ms is not None:
            found[item.day] = min(item.total_ms, found.get(item.day, item.total_ms))
    return found


def _less(total: int | None, other: int | None, decimals: int) -> str:
    return "-" if total is None or other is None else difference(total - other, decimals)


def _felt(row: RunRow | None) -> str:
    if row is None or (row.entry, row.mid, row.exit) == (None, None, None):
        return "-"
    return "\N{NO-BREAK SPACE}".join(balance(value) for value in (row.entry, row.mid, row.exit))


def _remarks(names: Names, item: RunLine, row: RunRow | None) -> str:
    missed = f"{item.misses} missed" if item.misses else None
    if row is None:
        return missed or ""
    lost = (
        f"lost {row.lost_s:g} s" + (f" at {names.clean(row.lost_where)}" if row.lost_where else "")
        if row.lost_s
        else None
    )
    unsafe = f"not safe: {names.clean(row.unsafe)}" if row.unsafe else None
    return line(missed, unsafe, "a mistake" if row.mistake else None, lost, names.clean(row.note), between="; ")


def _figure(
    names: Names, number: str, lines: tuple[RunLine, ...], others: Mapping[str, Mapping[tuple[int, int], float]]
) -> Plot | None:
    keys = sorted({(item.day, item.run) for item in lines})
    mine = {(item.day, item.run): item.total_ms for item in lines if item.total_ms is not None}
    if len(mine) < 2:
        return None
    lines_ = [series(number, [_s(mine.get(key)) for key in keys])]
    lines_ += [
        series(name, [_s(found.get(key)) for key in keys])
        for name, found in others.items()
        if any(key in found for key in keys)
    ]
    breaks = [at for at in range(1, len(keys)) if keys[at][0] != keys[at - 1][0]]
    shown = ", ".join(f"day {day} run {run} {seconds(mine[day, run])}" for day, run in keys if (day, run) in mine)
    caption = f"{names.label(number)}: totals by day and run, beside the fastest and the middle of the others in class."
    places, alt = [f"{day}.{run}" for day, run in keys], f"Totals of {names.label(number)}: {shown}"
    return places_plot(places, lines_, "day.run", "total, s", alt, caption, breaks=breaks)


def _s(ms: float | None) -> float | None:
    return None if ms is None else ms / 1000


def where_went(event: Event, names: Names) -> Section | None:
    """My entries with two runs or more with splits, by day; the figure has each element's range about nought."""
    said: list[str] = []
    figures: list[Figure] = []
    grids = []
    for number in event.settings.mine.numbers:
        for day in range(1, max(1, len(event.settings.days)) + 1):
            try:
                found = where(event, number, day)
            except UsageError:
                continue
            label = f"{names.label(number)}, day {day}"
            lost = [f"{item.name} {hundredths(item.delta_ms)}" for item in found.elements if item.verdict == "lost"]
            what = ", ".join(lost) if lost else "nothing that is more than its range"
            said += [
                f"{label}: run {found.run}, the best of {plural(found.runs, 'run')} with splits, lost {what} against "
                "the best of each element",
                *(f"{label}: {text}" for text in (always(found), varies(found), together(found)) if text),
            ]
            figures.append(ranges_of(found))
            rows = [
                (item.name, item.kind, f"{item.mine_ms / 1000:.2f}", hundredths(item.delta_ms),
                 f"{item.error_ms / 1000:.2f}", "" if item.verdict == "can't tell" else item.verdict)
                for item in found.elements
            ]  # fmt: skip
            grids.append(grid(("element", "kind", "mine", "delta", "±", ""), rows, label, frozenset({2, 3, 4})))
    if not said:
        return None
    return Section(
        "Where the time went", figures=tuple(figures), items=tuple(said), grids=tuple(grids), summary=tuple(said[:1])
    )


_DOUBT = (
    "What the field gave is the course and everybody's learning together; nothing here can part the two. "
    "Bars and ranges hold the truth in 80 of 100 such cases."
)


def course(event: Event, names: Names) -> Section | None:
    """One line per day of my group, and my own largest steps against the field's."""
    mine = [number for number in event.settings.mine.numbers if event.entrant(number)]
    days = [found for day in days_run(event) if (found := _day(event, mine, day)).points]
    if not days:
        return None
    said = tuple(sentence for number in mine for day in days for sentence in _about_me(event, names, number, day))
    return Section("The course", (_DOUBT,), (_figure_of_course(days),), (_grid_of_course(days),), items=said)


def _day(event: Event, mine: list[str], day: int) -> Evolution:
    """The run group of my first number without its car, as on the verdict page; everybody without groups."""
    own = frozenset(event.numbers_of_car(mine[0]) if mine else ())
    group = groups_of(event, day).get(mine[0]) if mine else None
    return course_evolution(event, day, group, own)


def _figure_of_course(days: list[Evolution]) -> Plot:
    runs = sorted({point.run for found in days for point in found.points})
    lines = [_series(found, runs) for found in days]
    alt = "; ".join(
        f"day {found.day}: " + ", ".join(f"run {item.run} {hundredths(item.change_ms)} s" for item in found.points)
        for found in days
    )
    alt = f"Change of the field against its first run of the day. {alt}"
    places = [f"{run}" for run in runs]
    return places_plot(places, lines, "run", "against run 1, s", alt, "What each run number gave.")


def _series(found: Evolution, runs: list[int]) -> Series:
    at = {point.run: point for point in found.points}

    def value(run: int, name: str) -> float | None:
        ms = getattr(at.get(run), name, None)
        return None if ms is None else ms / 1000

    columns = [[value(run, name) for run in runs] for name in ("change_ms", "low_ms", "high_ms")]
    return series(f"day {found.day}", *columns)


def _grid_of_course(days: list[Evolution]) -> PageTable:
    rows = [
        (f"{found.day}", f"{pair.run_from} to {pair.run_to}", hundredths(pair.change_ms),
         _range(pair.low_ms, pair.high_ms), f"{pair.drivers}")
        for found in days
        for pair in found.pairs
    ]  # fmt: skip
    return grid(
        ("day", "run", "the field", "range", "drivers"), tuple(rows), "From one run to the next", frozenset({0, 2, 4})
    )


def _range(low: float, high: float) -> str:
    return f"{hundredths(low)} to {hundredths(high)}"


def _about_me(event: Event, names: Names, number: str, day: Evolution) -> list[str]:
    """The steps of mine that the field's scatter can't explain."""
    found = slowed_runs(event, number, day.day, tuple((None, pair.run_to) for pair in day.pairs))
    beyond = [slowed_words(item) for item in found
              if item and item.interval80_ms and not item.interval80_ms[0] <= 0 <= item.interval80_ms[1]]  # fmt: skip
    return [f"{names.label(number)}, day {day.day}: {said[:1].lower()}{said[1:]}" for said in beyond]
