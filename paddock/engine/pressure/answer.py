"""The answer to "what do I set?", as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from paddock.engine.corners import Corners
from paddock.engine.pressure.signs import Sign
from paddock.model.units import from_psi

__all__ = ["RULES", "Advice", "PassedOver"]

Action = Literal["set", "hold", "stop"]
Confidence = Literal["high", "fair", "low"]

RULES = {
    1: "unsafe",
    2: "outside the limits",
    3: "standing water",
    4: "heat drift only",
    5: "cold or damp first run",
    6: "damp",
    7: "phases of opposite sign",
    8: "only on power",
    9: "front past the mark, understeer",
    10: "front short with a hot middle, understeer",
    11: "front right, understeer mid-corner",
    12: "oversteer, rear past the mark",
    13: "oversteer, rear short with a hot middle",
    14: "grip fading, tread hot",
    15: "hold",
}
"""Number and short name of every rule, in the order they are tried."""


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A rule that was tried and did not answer, with the reason."""

    rule: int
    why: str

    @property
    def name(self) -> str:
        """The rule's short name."""
        return RULES[self.rule]


@dataclass(frozen=True, slots=True)
class Advice:
    """``now`` and ``set``: as the gauge in use reads, psi, both in the same thermal state; None = not known.

    ``action``: ``set`` change something, ``hold`` leave the pressures, ``stop`` inspect first. ``rule``: number of
    the rule that answered (see ``RULES``). ``confidence``: high, fair, low.
    """

    number: str
    action: Action
    now: Corners
    set: Corners
    rule: int
    reason: str
    signs: tuple[Sign, ...] = ()
    passed_over: tuple[PassedOver, ...] = ()
    cautions: tuple[str, ...] = ()
    confidence: Confidence = "fair"

    @property
    def name(self) -> str:
        """The rule's short name."""
        return RULES[self.rule]

    def as_json(self, unit: str = "psi") -> dict[str, Any]:
        """The JSON of ``paddock next``; pressures in ``unit``."""

        def there(psi: float) -> float:
            return from_psi(psi, unit)

        return {
            "action": self.action,
            "now": self.now.map(there).as_dict(),
            "set": self.set.map(there).as_dict(),
            "rule": self.rule,
            "reason": self.reason,
            "signs": [
                {"sign": item.kind, "axle": item.axle, "value": item.value, "says": item.says, "counts": item.counts}
                for item in self.signs
            ],
            "passed_over": [{"rule": item.rule, "name": item.name, "why": item.why} for item in self.passed_over],
            "cautions": list(self.cautions),
            "confidence": self.confidence,
        }
