"""The answer to "what do I set?" as a value: what is known at this moment, what is asked for, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from paddock.engine.pressure.corners import NONE, Corners
from paddock.engine.pressure.signs import Sign
from paddock.engine.pressure.situation import Situation
from paddock.model.units import from_psi, said_in

Action = Literal["set", "hold", "stop", "read", "plan", "none"]
Confidence = Literal["high", "fair", "low"]


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A rule that was tried and did not answer, with the reason. ``name`` for scripts, ``words`` for people."""

    name: str
    words: str
    why: str


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
    ``rule``: name of the rule that answered, ``rule_words`` for people. ``fresh``: something was read that counts now.
    ``may_rise``: what the next run may end at where the answer doesn't count that in. ``known``: all it rests on.
    """

    number: str
    name: str
    action: Action
    now: Corners | None
    set: Corners | None
    rule: str
    rule_words: str
    reason: str
    known: Situation
    signs: tuple[Sign, ...] = ()
    passed_over: tuple[PassedOver, ...] = ()
    cautions: tuple[str, ...] = ()
    confidence: Confidence = "fair"
    fresh: bool = False
    aim: Corners = NONE
    aim_is: str = ""
    expected: Corners = NONE
    may_rise: Corners = NONE
    offer: Offer = Offer("after", None, {})

    @property
    def moves(self) -> dict[str, float]:
        """Corners to set, and to what; empty where nothing is to be done with the gauge."""
        if self.set is None or self.action not in {"set", "plan"}:
            return {}
        now = self.now or Corners()
        return {corner: psi for corner, psi in self.set.known().items() if now[corner] != psi}

    @property
    def as_of(self) -> str:
        """The moment it is for, ``2026-10-11T12:58``."""
        return self.known.clock.iso

    def told_in(self, unit: str) -> Moment:
        """The same with the pressures of its sentences in ``unit``; its figures stay in psi."""

        def said(text: str) -> str:
            return said_in(text, unit)

        return replace(
            self,
            reason=said(self.reason),
            cautions=tuple(map(said, self.cautions)),
            signs=tuple(replace(item, value=said(item.value), says=said(item.says)) for item in self.signs),
            passed_over=tuple(replace(item, why=said(item.why)) for item in self.passed_over),
        )

    def as_json(self, unit: str = "psi") -> dict[str, Any]:
        """The JSON of ``paddock next``; pressures, those of its sentences too, in ``unit``."""
        told = self.told_in(unit)

        def there(psi: float) -> float:
            return from_psi(psi, unit)

        return {
            "action": self.action,
            "moment": self.name,
            "fresh": self.fresh,
            "as_of": self.as_of,
            "unit": unit,
            "now": None if self.now is None else self.now.map(there).as_dict(),
            "set": None if self.set is None else self.set.map(there).as_dict(),
            "rule": self.rule,
            "reason": told.reason,
            "signs": [
                {"sign": item.kind, "axle": item.axle, "value": item.value, "says": item.says, "counts": item.counts}
                for item in told.signs
            ],
            "passed_over": [{"rule": item.name, "name": item.words, "why": item.why} for item in told.passed_over],
            "cautions": list(told.cautions),
            "confidence": self.confidence,
        }
