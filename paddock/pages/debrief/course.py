"""What the course gave from run to run, and whether it was me."""

from __future__ import annotations

from paddock.engine.field.course import Evolution, course_evolution, slowed_runs
from paddock.engine.field.frame import groups_of
from paddock.engine.scoring.tables import days_run
from paddock.engine.share.names import Names
from paddock.model.event import Event
from paddock.pages.debrief.parts import Section, grid, places_plot, series
from paddock.pages.document import PageTable, Plot, Series
from paddock.pages.verdict_words import slowed_words
from paddock.words import hundredths

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
    return Section("The course", (_DOUBT,), (_figure(days),), (_grid(days),), items=said)


def _day(event: Event, mine: list[str], day: int) -> Evolution:
    """My run group, without my own car; everybody where groups aren't known."""
    own = frozenset(item for number in mine for item in event.numbers_of_car(number))
    group = groups_of(event, day).get(mine[0]) if mine else None
    return course_evolution(event, day, group, own)


def _figure(days: list[Evolution]) -> Plot:
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


def _grid(days: list[Evolution]) -> PageTable:
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
