"""``event.toml``: the event, its rules, classes, index table and what is mine."""

from __future__ import annotations

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

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False)

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
        return int(10 ** (3 - self.decimals))

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
    rules: Rules = Rules()
    classes: tuple[ClassDef, ...] = ()
    index: IndexTable = IndexTable()
    mine: Mine = Mine()
    forecast: Forecast = Forecast()
    grid: GridSettings = GridSettings()
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
