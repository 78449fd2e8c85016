"""The ordered rules. Each looks at a situation and gives a proposal, or says why it is passed over.

Directions marked "common practice" have no source: pressure against grip is a hill, and the roll-over mark says on
which side of it a tyre stands.
"""

from __future__ import annotations

from collections.abc import Callable

from paddock.engine.corners import AXLES
from paddock.engine.pressure.proposal import Proposal, Tested
from paddock.engine.pressure.returns import damp, fading, heat_drift, standing_water
from paddock.engine.pressure.signs import Sign, supporting
from paddock.engine.pressure.situation import Situation

__all__ = ["RULE_TESTS"]


def first_run(s: Situation) -> Tested:
    """Rule 5: a cold or damp first run: rear down, only where it is known to be over its best."""
    if s.runs_today:
        return "not the first run of the day"
    air_c = s.step.reading.air_c if s.step else None
    cold = air_c is not None and air_c < s.thresholds.cold_air_c
    damp = s.surface.word in {"damp", "wet", "standing"}
    if not cold and not damp:
        return "neither cold nor damp"
    learned = s.learned.get("rear")
    if not s.axles["rear"].over and (learned is None or learned.slope <= 0):
        return "the rear is not known to be over its best"
    size = s.thresholds.max_step_psi if cold and damp else s.thresholds.step_psi
    signs = supporting(s.signs, "rear", up=False, side=1)
    why = learned.evidence if learned and learned.slope > 0 else "rear short of the mark with a hot middle"
    words = "cold and damp" if cold and damp else "cold" if cold else "damp"
    plan = f"Rear {size:g} psi up again after the first run, as grip comes."
    return _move(s, "rear", -size, f"{words} first run with the rear over its best ({why})", signs, (plan,))


def opposed(s: Situation) -> Tested:
    """Rule 7: phases of opposite sign, each at least 1: no pressure answer."""
    tight = [name for name, value in s.balance.items() if value <= -1]
    loose = [name for name, value in s.balance.items() if value >= 1]
    if not tight or not loose:
        return "no phases of opposite sign" if s.balance else "no balance was logged"
    reason = f"understeer ({', '.join(tight)}) and oversteer ({', '.join(loose)}): look at driver, dampers, toe"
    return Proposal("none", reason, {})


def only_on_power(s: Situation) -> Tested:
    """Rule 8: the exit alone at 2 or more: throttle or shift plan first."""
    fault = s.balance.get("exit", 0)
    others = [value for name, value in s.balance.items() if name != "exit"]
    if abs(fault) < 2 or any(abs(value) >= 2 for value in others):
        return "the fault is not on the exit alone" if s.balance else "no balance was logged"
    side = "understeer" if fault < 0 else "oversteer"
    return Proposal("none", f"{side} on power alone: throttle or shift plan first", {})


def _move(
    s: Situation, axle: str, psi: float, reason: str, signs: tuple[Sign, ...], cautions: tuple[str, ...] = ()
) -> Tested:
    """A new setting of one axle; none where it was set since the run the signs are from."""
    if s.changed[axle] >= s.min_psi:
        return f"the {axle} was set since that run: run it first"
    wanted = {corner: now + psi for corner in AXLES[axle] if (now := s.now[corner]) is not None}
    if not wanted:
        return f"the {axle} has not been read"
    return Proposal("new", reason, wanted, signs, psi, cautions)


def _size(s: Situation, signs: tuple[Sign, ...]) -> float:
    """The usual step; the most allowed where three signs agree."""
    return s.thresholds.max_step_psi if len(signs) >= 3 else s.thresholds.step_psi


def _directed(s: Situation, axle: str, up: bool, side: int, reason: str, wide: bool = False) -> Tested:
    """Move an axle by the default direction, or by the learned one where there is one.

    ``side``: -1 against understeer, +1 against oversteer.
    """
    learned = s.learned.get(axle)
    source = "common practice"
    if learned is not None:
        up, source = (learned.slope > 0) == (side < 0), learned.evidence
    signs = supporting(s.signs, axle, up, side)
    size = _size(s, signs) if wide and up else s.thresholds.step_psi
    word = "up" if up else "down"
    return _move(s, axle, size if up else -size, f"{reason}: {axle} {word} {size:g} psi ({source})", signs)


def front_past(s: Situation) -> Tested:
    """Rule 9."""
    if not s.axles["front"].under or not s.understeer:
        return "no front past the mark with understeer"
    return _directed(s, "front", True, -1, "front past the mark with understeer", wide=True)


def front_short(s: Situation) -> Tested:
    """Rule 10."""
    if not s.axles["front"].over or not s.understeer:
        return "no front short of the mark, hot in the middle, with understeer"
    return _directed(s, "front", False, -1, "front short of the mark, hot in the middle, with understeer")


def front_right(s: Situation) -> Tested:
    """Rule 11: leave the front; the other axle where its direction is learned or known, else hold."""
    if s.axles["front"].mark != "on" or s.balance.get("mid", 0) > -2:
        return "no front right at its mark with mid-corner understeer of 2"
    learned, rear = s.learned.get("rear"), s.axles["rear"]
    if learned is None and not rear.over:
        reason = "front mark right, understeer mid-corner: leave the front; which way the rear goes is not known"
        return Proposal("none", reason, {})
    up = learned.slope > 0 if learned else True
    source = learned.evidence if learned else "the rear is over its best: common practice"
    signs = supporting(s.signs, "rear", not up, -1, marks=("front on",))
    size = s.thresholds.step_psi if up else -s.thresholds.step_psi
    word = "up" if up else "down"
    reason = f"front mark right, understeer mid-corner: leave the front, rear {word} {abs(size):g} psi ({source})"
    return _move(s, "rear", size, reason, signs)


def rear_past(s: Situation) -> Tested:
    """Rule 12."""
    if not s.axles["rear"].under or not s.oversteer:
        return "no rear past the mark with oversteer"
    return _directed(s, "rear", True, 1, "rear past the mark with oversteer")


def rear_short(s: Situation) -> Tested:
    """Rule 13."""
    if not s.axles["rear"].over or not s.oversteer:
        return "no rear short of the mark, hot in the middle, with oversteer"
    return _directed(s, "rear", False, 1, "rear short of the mark, hot in the middle, with oversteer")


RULE_TESTS: dict[int, Callable[[Situation], Tested]] = {
    3: standing_water,
    4: heat_drift,
    5: first_run,
    6: damp,
    7: opposed,
    8: only_on_power,
    9: front_past,
    10: front_short,
    11: front_right,
    12: rear_past,
    13: rear_short,
    14: fading,
}
"""Rules 3 to 14; stop and limits stand before them, hold after."""
