"""Which fasteners a kind of change asks to be looked at again: a table, to be added to.

All of it is common practice, no source. A torque is never made up: it comes from ``[fasteners]`` of the car
file, else the maker's figure is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "CAUTION",
    "RULES",
    "Check",
    "Rule",
    "any_of",
    "axle_of",
    "found_loose",
    "rules_for",
    "torque_of",
    "words_of",
]

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


def any_of(words: str) -> Words:
    """Words written with spaces between them."""
    return frozenset(words.split())


_ADJUSTED = any_of("psi kpa pressure click rebound bump compression")
LINKS = Check("links", "end links", (any_of("link"),), but=any_of("jam lock"))
JAM = Check("jam", "end-link jam nuts", (any_of("jam lock"), any_of("nut")), but=any_of("rod toe wheel"))
COLLARS = Check("collars", "bar collars", (any_of("collar"),))
WHEELS = Check("wheels", "wheel nuts", (any_of("wheel lug"), any_of("nut bolt stud")))
RINGS = Check("rings", "spring seat lock rings", (any_of("ring perch seat"), any_of("lock spring perch")))
DAMPER = Check("damper", "damper bolts, top and bottom", (any_of("damper shock strut"),))
RODS = Check("rods", "tie-rod lock nuts", (any_of("rod toe"), any_of("nut")))
CAMBER = Check("camber", "camber bolts or top-mount nuts", (any_of("camber mount knuckle"), any_of("nut bolt")))
CALIPERS = Check("calipers", "caliper bolts", (any_of("caliper"),))
PEDAL = Check("pedal", "brake pedal firm, nothing wet", due="before next run")
BELTS = Check("belts", "seat and belt bolts", (any_of("seat belt harness"), any_of("bolt nut")), due="before next run")

RULES = (
    Rule(any_of("bar arb antiroll"), (LINKS, JAM, COLLARS), unless=_ADJUSTED | any_of("strut harness")),
    Rule(any_of("link endlink droplink"), (LINKS, JAM), unless=_ADJUSTED),
    Rule(any_of("wheel tyre tire rim"), (WHEELS,), unless=_ADJUSTED | any_of("steering")),
    Rule(any_of("spring ride height perch coilover"), (RINGS, DAMPER, WHEELS), unless=_ADJUSTED),
    Rule(any_of("damper shock strut"), (DAMPER, WHEELS), unless=_ADJUSTED),
    Rule(any_of("toe rod"), (RODS,), unless=_ADJUSTED),
    Rule(any_of("camber caster castor"), (CAMBER, WHEELS), unless=_ADJUSTED),
    Rule(any_of("pad caliper disc rotor brake"), (CALIPERS, PEDAL, WHEELS), unless=any_of("bias balance pressure")),
    Rule(any_of("seat belt harness"), (BELTS,)),
)


_LOOSE = re.compile(
    r"[\s,;:]*(?:\b(?:was|were|is|are|found|a|an|half|quarter|one|two|three|full|turns?|bit|little|\d+)\b\s*)*"
    r"\b(?:loose(?:ned)?|slack|undone)\b.*", re.IGNORECASE | re.DOTALL
)  # fmt: skip
_NOT = any_of("no not nothing none never nor")


def found_loose(said: str | None) -> str | None:
    """The part that was found loose, as far as the words name it before that (""); None: none was."""
    found = _LOOSE.search(said or "")
    if said is None or found is None:
        return None
    part = re.split(r"[,;.:]", said[: found.start()])[-1].strip()
    return None if _NOT & words_of(part) else part


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
