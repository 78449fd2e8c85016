"""A track as it was read: fixes as a frame, with what was passed over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, slots=True)
class Track:
    """``fixes``: ``t_s`` (seconds; of 1970 where ``dated``), ``lat``, ``lon`` (degrees), ``speed_mps`` (null: none),
    in the file's order. ``skipped``: fixes and sentences that could not be used."""

    name: str
    fixes: pl.DataFrame
    dated: bool
    skipped: int
