"""The answer to "what do I set?" as a value: a proposal by a rule; all that is known, asked for, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.pressure.corners import NONE, Corners, Reason
from paddock.engine.pressure.readings import Reading
from paddock.engine.pressure.signs import Sign
from paddock.engine.pressure.situation import Situation

Action = Literal["set", "hold", "stop", "read", "plan", "none"]
Confidence = Literal["high", "fair", "low"]


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A rule that was tried and did not answer, with the reason."""

    name: str
    why: Reason


@dataclass(frozen=True, slots=True)
class Offer:
    """What is gauged next: the ``kind`` of the row (cold, after, set), its run (None: before any), per corner what it
    will probably read, or, ``advised``, is to be set to; psi as the gauge in use reads. ``run_due``: that run is not
    typed yet. ``how``: what the figures rest on.
    """

    kind: str
    run: int | None
    psi: Mapping[str, float]
    advised: bool = False
    run_due: bool = False
    how: str = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """One answer for one car at one moment; pressures as the gauge in use reads, psi, None = not known.

    ``name``: which of the moments it is. ``now`` and ``set`` in the same thermal state; ``set`` None: none is given.
    ``aim``: what ``now`` is held against (``aim_is``: cold plan or hot target, "" = nothing), limits aside;
    ``expected``: what the four read at the end of the next run as they are set, or after the one that was just driven.
    ``rule``: name of the rule that answered. ``fresh``: something was read that counts now.
    ``known``: all it rests on.
    """

    number: str
    name: str
    action: Action
    now: Corners | None
    set: Corners | None
    rule: str
    reason: Reason
    known: Situation
    signs: tuple[Sign, ...] = ()
    passed_over: tuple[PassedOver, ...] = ()
    cautions: tuple[Reason, ...] = ()
    confidence: Confidence = "fair"
    fresh: bool = False
    aim: Corners = NONE
    aim_is: str = ""
    expected: Corners = NONE
    offer: Offer = Offer("after", None, {})

    @property
    def moves(self) -> dict[str, float]:
        """Corners to set, and to what; empty where nothing is to be done with the gauge."""
        if self.set is None or self.action not in {"set", "plan"}:
            return {}
        now = self.now or Corners()
        return {corner: psi for corner, psi in self.set.known().items() if now[corner] != psi}

    @property
    def moves_now(self) -> dict[str, float]:
        """``moves``; empty after a day's last run, when the setting is tomorrow's."""
        return {} if self.name == "day-done" else self.moves

    @property
    def read_last(self) -> Reading | None:
        """The newest reading since the last run of a day that is done: it asks for nothing any more. None: none."""
        s = self.known
        if self.name not in {"day-done", "event-done"} or s.step is None or s.unread:
            return None
        return s.step.reading if s.step.reading.timed.runs_before >= len(s.car_log.runs) else None

    @property
    def as_of(self) -> str:
        """The moment it is for, ``2026-10-11T12:58``."""
        return self.known.clock.iso


Kind = Literal["stop", "limits", "plan", "return", "new", "none"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """``wanted``: true gauge psi per corner in the present state, before the limits are applied.

    ``kind``: ``new`` goes through the hold gate; ``none`` answers with hold. ``step_psi``: size of the new part.
    """

    kind: Kind
    reason: Reason
    wanted: Mapping[str, float]
    signs: tuple[Sign, ...] = ()
    step_psi: float = 0.0
    cautions: tuple[Reason, ...] = ()


Tested = Proposal | Reason
"""A proposal, or why the rule is passed over."""
