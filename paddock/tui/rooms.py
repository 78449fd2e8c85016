"""Every screen of the program, one line each: adding one is a new file and a line here.

A room's key works on every page, so it must be free on all of them. Taken by all pages: e z y x q. Never a room:
digits, the point, and d, o, u, m, r, with which a run begins on home (dnf, o1, u2, r3). Free for a page's own use: a,
j, m, o, r. Left for rooms: the signs.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from paddock.tui.desk import Desk
    from paddock.tui.page import Page


@dataclass(frozen=True, slots=True)
class Room:
    """``key``: opens it from any page; ``tip``: what it is for; ``place``: module and class, imported when opened."""

    name: str
    key: str
    label: str
    tip: str
    place: str


ROOMS = (
    Room("home", "h", "home", "What now: runs, what to find, pressures, due work", "paddock.tui.screens.home:HomePage"),
    Room("pressures", "p", "pressures", "Log four pressures; last readings and targets",
         "paddock.tui.screens.pressures:PressuresPage"),
    Room("standings", "s", "standings", "Tables of class, index and raw; enter rivals' runs",
         "paddock.tui.screens.standings:StandingsPage"),
    Room("notes", "n", "notes", "Write and search notes", "paddock.tui.screens.notes:NotesPage"),
    Room("changes", "c", "changes", "Log a change to the car, keep or revert it",
         "paddock.tui.screens.changes:ChangesPage"),
    Room("work", "k", "due work", "Work due and open: tick it, add it, log a noise",
         "paddock.tui.screens.work:WorkPage"),
    Room("lists", "l", "checklists", "Checklists by phase, ticked with Enter", "paddock.tui.screens.lists:ListsPage"),
    Room("bar", "b", "bar", "What each pair of bar holes does to the balance; log a change of holes",
         "paddock.tui.screens.bar:BarPage"),
    Room("gears", "g", "gears", "Speeds, shift points and shift light; hold a gear or shift on a stretch",
         "paddock.tui.screens.gears:GearsPage"),
    Room("tyres", "t", "tyres", "Runs, depth, wear and runs left of each tyre; log depths and moves",
         "paddock.tui.screens.tyres:TyresPage"),
    Room("tyre", "left_parenthesis", "tyre values", "A tyre's price, limits, date code, readings; add a set",
         "paddock.tui.screens.tyre_values:TyreValuesPage"),
    Room("sheet", "comma", "set-up", "Set-up sheet: now, off the trailer, when fastest; change a line",
         "paddock.tui.screens.sheet:SheetPage"),
    Room("car", "semicolon", "car values", "Every value of the car: type it, where to measure it, what happens without",
         "paddock.tui.screens.car:ValuesPage"),
    Room("event", "at", "event", "Name, days, rules, classes, index, my numbers, gauges, forecast",
         "paddock.tui.screens.event:EventPage"),
    Room("entrants", "underscore", "entrants", "Who is entered: typed, pasted, from a file; class and running order",
         "paddock.tui.screens.entrants:EntrantsPage"),
    Room("weather", "w", "weather", "Log the weather and the surface", "paddock.tui.screens.weather:WeatherPage"),
    Room("advice", "v", "why", "What to set next with every sign, and every rule passed over; set it in one key",
         "paddock.tui.screens.advice:AdvicePage"),
    Room("heat", "asterisk", "tyre heat", "How the tyres warm and cool; what to set for another air, wait or place",
         "paddock.tui.screens.heat:HeatPage"),
    Room("faults", "exclamation_mark", "faults", "What is not saved, put aside or wrong in the files",
         "paddock.tui.screens.faults:FaultsPage"),
    Room("outside", "apostrophe", "from outside",
         "What other hands or a merge changed, what stands in conflict; take it back",
         "paddock.tui.screens.outside:OutsidePage"),
    Room("where", "dollar_sign", "where", "Where the time went by element; type a run's marks, bring in a track",
         "paddock.tui.screens.where:WherePage"),
    Room("course", "number_sign", "course", "The course's elements: name them, put their marks on a track's line",
         "paddock.tui.screens.course:CoursePage"),
    Room("chances", "percent_sign", "chances", "The chance to lead class and index with the runs left",
         "paddock.tui.screens.chances:ChancesPage"),
    Room("verdict", "greater_than_sign", "verdicts", "Was it the change? Verdicts, course, next test, season",
         "paddock.tui.screens.verdict:VerdictPage"),
    Room("season", "less_than_sign", "season", "Points, what is still open, all my runs, changes and tyres",
         "paddock.tui.screens.season:SeasonPage"),
    Room("booked", "quotation_mark", "booked", "Book an event, its days, runs and fee; change it, pay it, cancel it",
         "paddock.tui.screens.booked:BookedPage"),
    Room("import", "ampersand", "bring in", "Import posted results: a file, a page, a paste",
         "paddock.tui.screens.importing:ImportPage"),
    Room("after", "right_parenthesis", "close the day", "Questions, plan, debrief and zip to share, the next event",
         "paddock.tui.screens.after:AfterPage"),
    Room("pad", "i", "tap a run", "Log a run by tapping, without a keyboard", "paddock.tui.screens.pad:PadPage"),
)  # fmt: skip


def room_of(name: str) -> Room:
    """The room of a name. Raises KeyError."""
    return next((room for room in ROOMS if room.name == name), None) or _none(name)


def _none(name: str) -> Room:
    raise KeyError(name)


def build(room: Room, desk: Desk) -> Page:
    """Import the room's file and make its page."""
    module, _, name = room.place.partition(":")
    return cast("Page", getattr(import_module(module), name)(desk))


LEAST = (36, 12)
"""Columns and rows below which a page says so instead of showing half of itself."""


def too_small(width: int, height: int) -> str:
    """What such a page says."""
    return (
        f"This window is {width}x{height}. paddock needs {LEAST[0]}x{LEAST[1]} or more: make it larger, "
        "or the letters smaller. Nothing typed is lost."
    )
