"""Scoring arithmetic on whole milliseconds and exact factors; no float anywhere.

A factor is a pair of integers, numerator over a power of ten, from the decimal text it was written as.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from paddock.model.settings import Rules


@dataclass(frozen=True, slots=True)
class Factor:
    """``num / den``, exactly; ``den`` is a power of ten."""

    num: int
    den: int


@cache
def factor_of(value: Decimal) -> Factor:
    """The factor a decimal text stands for."""
    exponent = value.normalize().as_tuple().exponent
    places = max(0, -exponent) if isinstance(exponent, int) else 0
    return Factor(int(value.scaleb(places)), 10**places)


def penalty_ms(cones: int, misses: int, rules: Rules) -> int:
    """What cones and, where they cost seconds, missed gates add."""
    return cones * rules.cone_ms + misses * (rules.miss_ms or 0)


def _rounded(raw_ms: int, factor: Factor, rules: Rules) -> int:
    unit = rules.unit_ms
    if rules.index_rounding == "truncate":
        return raw_ms * factor.num // (factor.den * unit) * unit
    return (2 * raw_ms * factor.num + factor.den * unit) // (2 * factor.den * unit) * unit


def index_ms(raw_ms: int, added_ms: int, factor: Factor, rules: Rules) -> int:
    """Index time of a run of ``raw_ms`` with ``added_ms`` of penalties, rounded to the printed decimals."""
    if rules.index_on == "raw":
        return _rounded(raw_ms, factor, rules) + added_ms
    return _rounded(raw_ms + added_ms, factor, rules)


def slowest_raw_ms(below_ms: int, factor: Factor | None, rules: Rules) -> int | None:
    """The slowest clean raw time, at the printed decimals, whose score is strictly under ``below_ms``.

    ``factor`` None: the score is the raw time. None where no time above zero can do it.
    """
    unit = rules.unit_ms
    if factor is None:
        raw = below_ms - 1
    else:
        steps = -(-below_ms // unit)  # the score must stay under this many steps
        if rules.index_rounding == "truncate":
            top, bottom = steps * factor.den * unit, factor.num
        else:
            top, bottom = (2 * steps - 1) * factor.den * unit, 2 * factor.num
        raw = -(-top // bottom) - 1
    raw = raw // unit * unit
    return raw if raw > 0 else None
