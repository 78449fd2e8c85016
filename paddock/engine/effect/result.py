"""What a judged change is: the figures of the contract, and the evidence behind each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from paddock.engine.effect.controls import LeftOut
from paddock.engine.effect.difference import Method

__all__ = ["CoDriver", "ControlUsed", "Effect", "RunUsed"]


@dataclass(frozen=True, slots=True)
class RunUsed:
    """A run of mine behind the verdict; ``new``: driven with the change."""

    day: int
    run: int
    raw_ms: int
    new: bool


@dataclass(frozen=True, slots=True)
class ControlUsed:
    """A car that stands for the course and how much it changed between the same runs."""

    number: str
    change_ms: float


@dataclass(frozen=True, slots=True)
class CoDriver:
    """Who drove the same car, changed as mine was: a second look, never mixed into the controls."""

    number: str
    change_ms: float
    extra_ms: float


@dataclass(frozen=True, slots=True)
class Effect:
    """A change judged. Times in ms at ``time_ms``, my geometric-mean time of the runs used; negative is faster.

    None = can't be said. ``extra_ms`` = mine less the field's less ``learning_ms`` (0: none taken off). ``scatter_ms``
    is the controls' own scatter s, ``df`` the freedom of ``se_ms``. ``rank``: my place among mine and the controls'
    changes, 1 gained most. ``kind`` and ``method`` say what was compared and how; ``cautions`` what limits it.
    ``decision`` is the driver's own and never part of the verdict.
    """

    change_id: str
    number: str
    label: str
    verdict: str
    sentence: str
    next_test: str
    kind: str
    method: Method | Literal["none"]
    decision: str | None = None
    time_ms: float | None = None
    field_change_ms: float | None = None
    my_change_ms: float | None = None
    extra_ms: float | None = None
    scatter_ms: float | None = None
    se_ms: float | None = None
    df: float | None = None
    interval80_ms: tuple[float, float] | None = None
    prior_sd_ms: float | None = None
    shrunk_ms: float | None = None
    shrunk_interval80_ms: tuple[float, float] | None = None
    p_helped: float | None = None
    rank: int | None = None
    learning_ms: float = 0.0
    learning_days: int = 0
    runs_used: tuple[RunUsed, ...] = ()
    mistakes_left_out: tuple[tuple[int, int], ...] = ()
    controls_used: tuple[ControlUsed, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    co_drivers: tuple[CoDriver, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def controls(self) -> int:
        """How many cars stand for the course."""
        return len(self.controls_used)
