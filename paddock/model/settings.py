"""``event.toml``: the event, its rules, classes, index table and what is mine; what each value is, found how."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, field_validator, model_validator

from paddock.model.units import FAMILIES, Family, Measured, Unit, Written, out_of_bounds


def _family_of(field: str) -> tuple[str, Family] | None:
    stem, _, suffix = field.rpartition("_")
    for family in FAMILIES.values():
        if stem and family.units[0].suffix == suffix:
            return stem, family
    return None


def _inward(value: object, unit: Unit) -> object:
    if isinstance(value, list):
        return [_inward(item, unit) for item in value]
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        return Written(unit.inward(float(value)), unit.suffix, f"{value}")
    return value


class TomlModel(BaseModel):
    """Fields carry the unit kept inside; ``altitude_ft`` fills ``altitude_m``, converted.

    A field that is ``Measured`` takes nothing beyond its bounds.
    """

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _any_unit(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        taken = dict(data)
        for field in cls.model_fields:
            known = _family_of(field)
            if known is None or field in taken:
                continue
            stem, family = known
            for unit in family.units[1:]:
                if f"{stem}_{unit.suffix}" in taken:
                    taken[field] = _inward(taken[f"{stem}_{unit.suffix}"], unit)
        return taken

    @field_validator("*", mode="before")
    @classmethod
    def _in_bounds(cls, value: Any, info: ValidationInfo) -> Any:
        name = info.field_name or ""
        field = cls.model_fields.get(name)
        row = next((extra for extra in field.metadata if isinstance(extra, Measured)), None) if field else None
        wrong = None if row is None else out_of_bounds(row, name, value)
        if wrong is not None:
            raise ValueError(wrong)
        return value


def _decimal(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("a number is wanted")
    if isinstance(value, float):
        return Decimal(repr(value))
    return value.replace(",", ".") if isinstance(value, str) else value


ExactNumber = Annotated[Decimal, BeforeValidator(_decimal), Field(allow_inf_nan=False)]


FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2199, 12, 31)
EventDay = Annotated[date, Field(ge=FIRST_DAY, le=LAST_DAY)]
"""Far from where a calendar ends, for days are counted back from it and on."""


def _whole_ms(seconds: Decimal) -> Decimal:
    if seconds < 0 or seconds > 3600:
        raise ValueError("seconds from 0 to 3600 are wanted")
    if seconds * 1000 != int(seconds * 1000):
        raise ValueError("at most three decimals: times are kept to the millisecond")
    return seconds


class BestOfFirst(TomlModel):
    """The best of the runs numbered 1 to ``best_of_first``."""

    best_of_first: int = Field(ge=1)


class Rules(TomlModel):
    """``[rules]``. Penalties in seconds as written; ``cone_ms`` and ``miss_ms`` are what is computed with."""

    cone_s: ExactNumber = Decimal(2)
    miss: Literal["invalid"] | ExactNumber = "invalid"
    miss_limit: int = Field(0, ge=0)
    count: Literal["best", "sum"] | BestOfFirst = "best"
    days: Literal["sum", "best", "separate"] = "sum"
    decimals: int = Field(3, ge=0, le=3)
    index_rounding: Literal["truncate", "half-up"] = "truncate"
    index_on: Literal["total", "raw"] = "total"
    ties: Literal["shared", "next-best"] = "shared"
    protest_min: Annotated[float | None, Measured("Time to protest", "min", low=0, high=1440)] = None

    @field_validator("cone_s")
    @classmethod
    def _cone(cls, value: Decimal) -> Decimal:
        return _whole_ms(value)

    @field_validator("miss")
    @classmethod
    def _miss(cls, value: object) -> object:
        return _whole_ms(value) if isinstance(value, Decimal) else value

    @property
    def cone_ms(self) -> int:
        """Milliseconds a cone costs."""
        return int(self.cone_s * 1000)

    @property
    def miss_ms(self) -> int | None:
        """Milliseconds a missed gate costs, None where it voids the run."""
        return int(self.miss * 1000) if isinstance(self.miss, Decimal) else None

    @property
    def unit_ms(self) -> int:
        """The step of a printed time in milliseconds: 1, 10, 100 or 1000."""
        return (1000, 100, 10, 1)[self.decimals]

    @property
    def first_runs(self) -> int | None:
        """Only runs numbered up to this count, None: all."""
        return self.count.best_of_first if isinstance(self.count, BestOfFirst) else None

    @property
    def summed(self) -> bool:
        """All runs of a day are added."""
        return self.count == "sum"


class ClassDef(TomlModel):
    """A class: ranked on raw totals or on index times."""

    code: str = Field(min_length=1)
    name: str | None = None
    scored_by: Literal["raw", "index"] = "raw"


class IndexTable(TomlModel):
    """``[index]``: code to factor, exact; at most nine decimals."""

    edition: str | None = None
    factors: dict[str, Decimal] = {}


class Mine(TomlModel):
    """My entries, and which car file each drives. ``driven_home``: over the road, None: not said."""

    numbers: tuple[str, ...] = ()
    cars: dict[str, str] = {}
    driven_home: bool | None = None


class Forecast(TomlModel):
    """Hottest and coldest air, C: today's, and the next day's. None: no forecast."""

    hottest_c: Annotated[float | None, Measured("Hottest air", "C", low=-50, high=60)] = None
    coldest_c: Annotated[float | None, Measured("Coldest air", "C", low=-50, high=60)] = None
    next_hottest_c: Annotated[float | None, Measured("Hottest air of the next day", "C", low=-50, high=60)] = None
    next_coldest_c: Annotated[float | None, Measured("Coldest air of the next day", "C", low=-50, high=60)] = None


class GridSettings(TomlModel):
    """Seconds between starts."""

    interval_s: Annotated[float | None, Measured("Seconds between starts", "s", low=1, high=3600)] = None


class Gauge(TomlModel):
    """A pressure gauge: smallest step, repeatability and offset (reads high: positive), psi."""

    id: str
    step_psi: Annotated[float, Measured("Smallest step", "psi", low=0, high=5)] = 0.5
    repeat_psi: Annotated[float, Measured("Repeatability", "psi", low=0, high=5)] = 0.3
    offset_psi: Annotated[float, Measured("What it reads too high", "psi", low=-15, high=15)] = 0.0


class Settings(TomlModel):
    """``event.toml`` whole. ``id``: tells a copy from another event, None: made before there were ids.

    ``practice_days``: counted from 1; whatever is run there is practice.
    """

    format: int = 1
    id: str | None = None
    name: str = ""
    site: str | None = None
    altitude_m: Annotated[float | None, Measured("Altitude", "m", low=-500, high=9000)] = None
    days: tuple[EventDay, ...] = ()
    runs_per_day: int | None = Field(None, ge=1, le=999)
    practice_days: tuple[Annotated[int, Field(ge=1, le=99)], ...] = ()
    pressure_unit: Literal["psi", "kpa", "bar"] | None = None
    rules: Rules = Rules.model_construct()
    classes: tuple[ClassDef, ...] = ()
    index: IndexTable = IndexTable.model_construct()
    mine: Mine = Mine.model_construct()
    forecast: Forecast = Forecast.model_construct()
    grid: GridSettings = GridSettings.model_construct()
    gauges: tuple[Gauge, ...] = ()

    def class_of(self, code: str | None) -> ClassDef | None:
        """The class of a code, None where it isn't in the file."""
        return next((item for item in self.classes if item.code == code), None)

    def is_practice(self, day: int) -> bool:
        """Nothing counts on that day."""
        return day in self.practice_days

    def runs_on(self, day: int) -> int | None:
        """Timed runs everybody has on a day; None: not said, or it is practice."""
        return None if self.is_practice(day) else self.runs_per_day

    def gauge_of(self, gauge: str | None) -> Gauge | None:
        """The gauge of an id; the only one where none is named."""
        if gauge is None:
            return self.gauges[0] if len(self.gauges) == 1 else None
        return next((item for item in self.gauges if item.id == gauge), None)


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
           "Without one readings count as good to 0.5 psi, without offset. What to set is told to 0.1 psi."),
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
