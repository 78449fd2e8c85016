"""A folder as it was read, before files are held against each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.rows import Row
from paddock.model.settings import Settings


@dataclass(frozen=True, slots=True)
class RawFolder:
    """``settings`` None: ``event.toml`` is missing or can't be used. ``tables``: file name to the rows that
    could be read, in file order, for every file in ``present``; what could not is in ``problems``."""

    name: str
    settings: Settings | None
    tables: Mapping[str, tuple[Row, ...]]
    present: frozenset[str]
    cars: Mapping[str, Car]
    checklists: Mapping[str, tuple[str, ...]]
    problems: tuple[Problem, ...]
