"""``season.toml``: how points are given and dropped, which events are booked and what they cost."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from paddock.model.settings import ExactNumber, TomlModel

Positive = Annotated[ExactNumber, Field(ge=0, le=Decimal(1_000_000))]


class Points(TomlModel):
    """``[points]``. Every figure is exact; ``decimals`` and ``rounding`` apply to the points of one event.

    ``rule`` place: ``by_place``, then ``rest`` for every further place. ``rule`` ratio: ``full`` times the
    winner's score over mine; with ``slowest`` (a multiple of the winner's) the scale is stretched, so that
    ``slowest`` and everything behind it gives ``floor``. ``started``: who ran and has no score.
    """

    tables: tuple[str, ...] = ("class",)
    rule: Literal["place", "ratio"] = "place"
    by_place: tuple[Positive, ...] = tuple(Decimal(value) for value in (10, 8, 6, 5, 4, 3, 2, 1))
    rest: Positive = Decimal(0)
    started: Positive = Decimal(0)
    full: Positive = Decimal(100)
    slowest: Annotated[ExactNumber, Field(gt=1)] | None = None
    floor: Positive = Decimal(0)
    decimals: int = Field(2, ge=0, le=6)
    rounding: Literal["half-up", "truncate"] = "half-up"
    ties: Literal["shared", "pooled"] = "shared"
    season_ties: Literal["shared", "wins"] = "shared"

    @model_validator(mode="after")
    def _falling(self) -> Points:
        places = [*self.by_place, self.rest]
        if any(later > earlier for earlier, later in pairwise(places)):
            raise ValueError("by_place, then rest: points can't rise with the place")
        if self.floor > self.full:
            raise ValueError("floor can't be above full")
        return self


class Drops(TomlModel):
    """``[drops]``. ``counted``: only so many best scores; else all of the season but the ``worst`` ones."""

    worst: int = Field(0, ge=0)
    counted: int | None = Field(None, ge=1)


class Booking(TomlModel):
    """``[[events]]``: an event of the season, run or to come; ``folder`` or the first day ties it to a folder.

    ``paid``: the fee is, None: not said. ``closes``: the last day to enter.
    """

    folder: str | None = None
    name: str | None = None
    days: tuple[date, ...] = ()
    runs_per_day: int | None = Field(None, ge=1, le=999)
    weight: Positive = Decimal(1)
    points: bool = True
    fee: Positive | None = None
    paid: bool | None = None
    closes: date | None = None


class Season(TomlModel):
    """``season.toml`` whole. ``drivers``: other spellings of a name, to the name that counts.

    ``parts``: car to part to the runs its maker allows between inspections or replacements.
    """

    format: int = 1
    name: str | None = None
    currency: str | None = None
    points: Points = Points.model_construct()
    drops: Drops = Drops.model_construct()
    events: tuple[Booking, ...] = ()
    drivers: dict[str, str] = {}
    parts: dict[str, dict[str, Annotated[int, Field(ge=1, le=9999)]]] = {}

    @property
    def says_points(self) -> bool:
        """The file has a rule for the points of its own."""
        return "points" in self.model_fields_set


def booked_name(item: Booking) -> str:
    """What a booked event is called."""
    return item.name or item.folder or (f"{item.days[0]}" if item.days else "an event")
