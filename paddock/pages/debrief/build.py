"""The debrief put together: each part is left out when it has nothing to say."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from paddock.engine.scoring.plain import standings
from paddock.engine.scoring.tables import days_run
from paddock.engine.share.names import Names
from paddock.model.event import Event
from paddock.pages.debrief.changes import changes, pressures, set_up, tyres, work
from paddock.pages.debrief.parts import Figure, Section
from paddock.pages.debrief.results import answers, everybody, faults, notes, plan, results, weather
from paddock.pages.debrief.runs import course, runs, where_went

ReportPart = Callable[[Event, Names], Section | None]


def _results(event: Event, names: Names) -> Section | None:
    return results(event, names, standings(event), {day: standings(event, day) for day in days_run(event)})


def _everybody(event: Event, names: Names) -> Section | None:
    return everybody(event, names, standings(event), {day: standings(event, day) for day in days_run(event)})


PARTS: tuple[tuple[str, ReportPart], ...] = (
    ("results", _results), ("runs", runs), ("where", where_went), ("changes", changes), ("tyres", tyres),
    ("plan", plan),
    ("everybody", _everybody), ("course", course), ("set-up", set_up), ("pressures", pressures), ("work", work),
    ("weather", weather), ("notes", notes), ("faults", faults),
)  # fmt: skip
"""The story in its order."""
SHOWN = frozenset({"results", "runs", "where", "changes", "tyres", "plan"})
"""What lies open on the page; the rest is folded, and prints whole."""


@dataclass(frozen=True, slots=True)
class Report:
    """``facts``: the line under the title; ``named``: rivals stand with their names; ``answers``: of the day, a
    sentence an entry; ``picture``: of the day."""

    title: str
    facts: str
    named: bool
    sections: tuple[Section, ...]
    answers: tuple[str, ...] = ()
    picture: Figure | None = None


def build(
    event: Event, named: bool = False, progress: Callable[[str], None] = lambda _: None, past: Sequence[Event] = ()
) -> Report:
    """The whole report; ``progress`` is told which part begins. ``past``: earlier events of the same cars, for the wear
    of their tyres."""
    names = Names(event, named)
    progress("answer")
    said = tuple(answers(event, names))
    sections = []
    for name, part in PARTS:
        progress(name)
        section = tyres(event, names, past) if part is tyres else part(event, names)
        if section is not None:
            sections.append(section if name in SHOWN else replace(section, folded=True))
    picture = None
    for at, section in enumerate(sections):  # the first of the runs' pictures is the day's, and stands there alone
        if section.title == "Runs" and section.figures:
            picture, *rest = section.figures
            sections[at] = replace(section, figures=tuple(rest))
    return Report(event.settings.name or event.name, _facts(event), named, tuple(sections), said, picture)


def _facts(event: Event) -> str:
    days = event.settings.days
    dates = f"{days[0]} to {days[-1]}" if len(days) > 1 else f"{days[0]}" if days else ""
    ran = len({row.number for row in event.times})
    return " · ".join(part for part in (event.settings.site, dates, f"{ran} entries ran" if ran else "") if part)
