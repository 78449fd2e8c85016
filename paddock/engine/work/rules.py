"""Which fasteners a kind of change asks to be looked at again: a table, to be added to.

All of it is common practice, no source. A torque is never made up: it comes from ``[fasteners]`` of the car
file, else the maker's figure is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["CAUTION", "RULES", "Check", "Rule", "axle_of", "rules_for", "torque_of", "words_of"]

CAUTION = (
    "Torque figures are the car maker's, or the part maker's, and theirs come first. Firm level ground, stands as "
    "well as the jack, and nobody under a car that stands on a jack alone."
)

Words = frozenset[str]


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at again. ``nuts``: the fastener's name has a word of each group and none of ``but``."""

    slug: str
    item: str
    nuts: tuple[Words, ...] = ()
    but: Words = frozenset()
    due: str = "next run"


@dataclass(frozen=True, slots=True)
class Rule:
    """A change whose key or item has one of ``on`` and none of ``unless`` asks for ``checks``."""

    on: Words
    checks: tuple[Check, ...]
    unless: Words = frozenset()


def _any(words: str) -> Words:
    return frozenset(words.split())


_ADJUSTED = _any("psi kpa pressure click rebound bump compression")
LINKS = Check("links", "end links", (_any("link"),), but=_any("jam lock"))
JAM = Check("jam", "end-link jam nuts", (_any("jam lock"), _any("nut")), but=_any("rod toe wheel"))
COLLARS = Check("collars", "bar collars", (_any("collar"),))
WHEELS = Check("wheels", "wheel nuts", (_any("wheel lug"), _any("nut bolt stud")))
RINGS = Check("rings", "spring seat lock rings", (_any("ring perch seat"), _any("lock spring perch")))
DAMPER = Check("damper", "damper bolts, top and bottom", (_any("damper shock strut"),))
RODS = Check("rods", "tie-rod lock nuts", (_any("rod toe"), _any("nut")))
CAMBER = Check("camber", "camber bolts or top-mount nuts", (_any("camber mount knuckle"), _any("nut bolt")))
CALIPERS = Check("calipers", "caliper bolts", (_any("caliper"),))
PEDAL = Check("pedal", "brake pedal firm, nothing wet", due="before next run")
BELTS = Check("belts", "seat and belt bolts", (_any("seat belt harness"), _any("bolt nut")), due="before next run")

RULES = (
    Rule(_any("bar arb antiroll"), (LINKS, JAM, COLLARS), unless=_ADJUSTED | _any("strut harness")),
    Rule(_any("link endlink droplink"), (LINKS, JAM), unless=_ADJUSTED),
    Rule(_any("wheel tyre tire rim"), (WHEELS,), unless=_ADJUSTED | _any("steering")),
    Rule(_any("spring ride height perch coilover"), (RINGS, DAMPER, WHEELS), unless=_ADJUSTED),
    Rule(_any("damper shock strut"), (DAMPER, WHEELS), unless=_ADJUSTED),
    Rule(_any("toe rod"), (RODS,), unless=_ADJUSTED),
    Rule(_any("camber caster castor"), (CAMBER, WHEELS), unless=_ADJUSTED),
    Rule(_any("pad caliper disc rotor brake"), (CALIPERS, PEDAL, WHEELS), unless=_any("bias balance pressure")),
    Rule(_any("seat belt harness"), (BELTS,)),
)


def words_of(text: str | None) -> Words:
    """The words of a key or item in lower case, a plural without its s; ``end-link`` and ``rear_bar`` are two."""
    found = re.findall(r"[a-z0-9]+", (text or "").lower())
    return frozenset(word[:-1] if re.fullmatch(r"\w{2,}[^asiu]s", word) else word for word in found)


def axle_of(words: Words) -> str | None:
    """``front`` or ``rear`` where the words name one of them."""
    found = [axle for axle in ("front", "rear") if axle in words]
    return found[0] if len(found) == 1 else None


def rules_for(words: Words) -> tuple[Check, ...]:
    """What to look at again after a change of these words, each once."""
    checks = [check for rule in RULES if words & rule.on and not words & rule.unless for check in rule.checks]
    return tuple(dict.fromkeys(checks))


def torque_of(check: Check, axle: str | None, fasteners: Mapping[str, float]) -> float | None:
    """N.m from the car file where its names give one figure for this check and axle, else None."""
    if not check.nuts:
        return None
    named = {}
    for name, torque in fasteners.items():
        words = words_of(name)
        there = axle_of(words)
        fits = all(words & group for group in check.nuts) and not words & check.but
        if fits and (there is None or axle is None or there == axle):
            named[name] = torque
    return next(iter(named.values())) if len(set(named.values())) == 1 else None
