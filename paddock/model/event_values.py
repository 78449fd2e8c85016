"""Every value of ``event.toml`` that a person says, in the order of need: what it is, how it is found out, what
happens without it. Bounds stand with the fields of ``model.settings``."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.model.units import Measured

RULES = (
    "rules.cone_s", "rules.miss", "rules.miss_limit", "rules.count", "rules.days", "rules.index_on",
    "rules.index_rounding", "rules.ties", "rules.decimals", "rules.protest_min",
)  # fmt: skip
WANTED = ("name", "days", "runs_per_day", "mine.numbers", "classes", "forecast.hottest_c", "forecast.coldest_c")
"""Values that some answer of every event asks for."""


def _value(key: str, label: str, unit: str, meaning: str, how: str, without: str) -> Measured:
    return Measured(label, unit, meaning, how, without, key=key)


_BOARD = "on the sheet of rules or the notice board"
VALUES: tuple[Measured, ...] = (
    _value("name", "Name", "", "What the event is called on every page.", "As you like.",
           "The folder's name is shown."),
    _value("days", "Days", "", "Its dates in order: day 1, day 2 … of every table.",
           "Type 2026-07-11; 2026-07-11 +1 is that day and the next.", "No clock of the day, no protest time left."),
    _value("runs_per_day", "Runs a day", "", "How many timed runs everybody has a day.", f"It stands {_BOARD}.",
           "No runs left, so no chances and no plan for the last run."),
    _value("practice_days", "Practice days", "", "Days without results: runs are logged, nobody is waited for.",
           "Type 1, or 1 2: which of the days.", "Every day counts."),
    _value("mine.numbers", "My numbers", "", "The entries that are mine: a second car, or a co-driver in the same one.",
           "Type them with spaces: 58 12.", "Nothing can be logged: nobody knows whose run it is."),
    _value("classes", "Classes", "", "What is ranked apart. A class is ranked on raw times, or on index times where it "
           "mixes cars.", "Type ASH, ASH 0.812, or ASH index; a name may follow. Or paste a table, or a takes a file.",
           "No table of a class; index and raw tables stand."),
    _value("rules.cone_s", "A cone costs", "s", "Seconds added for each cone hit.", f"It stands {_BOARD}.",
           "2 is taken."),
    _value("rules.miss", "A missed gate", "s", "What a missed gate costs: seconds, or the whole run (invalid).",
           f"It stands {_BOARD}. Type 8, or invalid.", "The run is void."),
    _value("rules.miss_limit", "Missed gates at most", "", "More missed gates than this void the run where one costs "
           "seconds; 0 is no limit.", f"It stands {_BOARD}.", "There is no limit."),
    _value("rules.count", "Of a day counts", "", "Which runs of a day make its score.",
           "best, sum, or first 3 (the best of runs 1 to 3).", "The best run counts."),
    _value("rules.days", "Over the days", "", "How the days make the event's score.",
           "sum, best, or separate (each day by itself).", "The days are added."),
    _value("rules.index_on", "The index acts on", "", "Whether penalties are multiplied by the index or added "
           "after it.", "total (with penalties) or raw (penalties after it).", "total is taken."),
    _value("rules.index_rounding", "Index times are", "", "What happens to the digits that are not printed.",
           "truncate (cut off) or half-up (rounded).", "They are cut off."),
    _value("rules.ties", "A tie", "", "What happens when two have the same score.",
           "shared (both have the place) or next-best (the next best run decides).", "The place is shared."),
    _value("rules.decimals", "Decimals printed", "", "Decimals of the printed times; 46512 is then 46.512.",
           "Look at a printed time: 3, 2, 1 or 0.", "3 is taken."),
    _value("rules.protest_min", "Time to protest", "min", "Minutes after results are posted in which they can be "
           "disputed.", f"It stands {_BOARD}.", "No minutes are counted down after bringing results in."),
    _value("index.edition", "Index edition", "", "Which table of factors this is, and of which year.",
           "As its head says; with a year in it the next event asks whether it still holds.", "Nobody asks next year."),
    _value("index", "Index", "", "Factors by code: a time times its factor is the index time.",
           "Type FIR 0.82; or paste the table, or a takes a file or an earlier event.",
           "No index times, and classes ranked by them stay empty."),
    _value("site", "Site", "", "Where it is held.", "As you like.", "Nothing is said of the place."),
    _value("altitude_m", "Altitude", "m", "Of the site: pressures are carried over from other places with it.",
           "Read it off a map; 640, or 2100ft.", "Pressures of another place can't be carried here."),
    _value("forecast.hottest_c", "Hottest air today", "C", "Of today's forecast.", "23, or 73F.",
           "No cold pressures for the day, no say in how far they climb."),
    _value("forecast.coldest_c", "Coldest air today", "C", "Of today's forecast.", "8, or 46F.",
           "No cold pressures for the morning."),
    _value("forecast.next_hottest_c", "Hottest air tomorrow", "C", "Of the next day's forecast.", "23, or 73F.",
           "No cold plan for tomorrow."),
    _value("forecast.next_coldest_c", "Coldest air tomorrow", "C", "Of the next day's forecast.", "8, or 46F.",
           "No cold plan for tomorrow's morning."),
    _value("gauges", "Gauges", "", "The pressure gauges: step, how well one repeats, what it reads too high.",
           "Type pen 0.5 0.3 0.2: its name, then the three in psi. The last is against a known good gauge.",
           "A gauge without offset that steps by 0.5 psi is taken."),
    _value("grid.interval_s", "Between starts", "s", "Seconds from one car's start to the next.",
           "Count ten starts and divide.", "No minutes to my run."),
    _value("mine.driven_home", "Driven home", "", "My car goes home on its own wheels.", "yes or no.",
           "No caution about the road after the last run."),
    _value("pressure_unit", "Pressures in", "", "The unit pressures are shown and typed in.", "psi, kpa or bar.",
           "psi is taken."),
)  # fmt: skip

CHOICES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "rules.count": (("best", "the best run of the day counts"), ("sum", "all runs of the day are added"),
                    ("first 3", "the best of runs 1 to 3 counts; later ones are for fun")),
    "rules.days": (("sum", "the days' scores are added"), ("best", "the better day counts"),
                   ("separate", "each day has its own result")),
    "rules.index_on": (("total", "penalties are multiplied by the index too"),
                       ("raw", "the time alone is multiplied, penalties are added after it")),
    "rules.index_rounding": (("truncate", "further digits are cut off"), ("half-up", "rounded to the nearest")),
    "rules.ties": (("shared", "both have the place, the next one is left out"),
                   ("next-best", "the next best run of the same day decides")),
    "rules.decimals": tuple((str(count), f"{count} decimals") for count in (3, 2, 1, 0)),
    "rules.miss": (("invalid", "a missed gate voids the run"), ("8", "so many seconds a missed gate, as typed")),
    "mine.driven_home": (("yes", "the road caution after the last run"), ("no", "on a trailer")),
    "pressure_unit": (("psi", ""), ("kpa", ""), ("bar", "")),
}  # fmt: skip
"""Words a value takes, each with its plain meaning."""
