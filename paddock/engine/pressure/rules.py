"""The ordered rules. Each looks at a situation and gives a proposal, or says why it is passed over.

Directions marked "common practice" have no source: pressure against grip is a hill, and the roll-over mark says on
which side of it a tyre stands.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.corners import AXLES
from paddock.engine.pressure.signs import Sign, supporting
from paddock.engine.pressure.situation import Situation
from paddock.model.rows import CORNERS
from paddock.model.units import PSI_PA

__all__ = ["Proposal", "RULE_TESTS"]

Kind = Literal["stop", "limits", "return", "new", "none"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """``wanted``: true gauge psi per corner in the present state, before the limits are applied.

    ``kind``: ``new`` goes through the hold gate; ``none`` answers with hold. ``step_psi``: size of the new part.
    """

    kind: Kind
    reason: str
    wanted: Mapping[str, float]
    signs: tuple[Sign, ...] = ()
    step_psi: float = 0.0
    cautions: tuple[str, ...] = ()


Tested = Proposal | str


def to_target(s: Situation, more: float = 0.0) -> dict[str, float]:
    """What each corner should read now for the surface's hot target (plus ``more``).

    By proportion of the air inside from today's last hot reading; without one, the target itself.
    """
    found = {}
    outside = s.step.reading.ambient_pa / PSI_PA if s.step else 0.0
    for corner in CORNERS:
        wanted, now, hot = s.wanted(corner), s.now[corner], s.hot[corner]
        if wanted is None or now is None:
            continue
        share = 1.0 if hot is None else (now + outside) / (hot + outside)
        found[corner] = (wanted + more + outside) * share - outside
    return found


def _off(s: Situation, more: float = 0.0) -> dict[str, float]:
    """How far each corner is over its hot target: the hot reading, else the present one."""
    found = {}
    for corner in CORNERS:
        wanted, is_ = s.wanted(corner), s.hot[corner] if s.hot[corner] is not None else s.now[corner]
        if wanted is not None and is_ is not None:
            found[corner] = is_ - wanted - more
    return found


def _far(s: Situation, off: Mapping[str, float]) -> set[str]:
    return {corner for corner, value in off.items() if abs(value) > s.min_psi + 1e-9}


def standing_water(s: Situation) -> Tested:
    """Rule 3: to the wet target plus 1 to 2, once, with the way down planned."""
    more = s.thresholds.standing_psi
    if s.surface.word != "standing":
        return "no standing water"
    if s.target is None:
        return "no wet target in the car file"
    if s.standing_done:
        return "done once since the water stood"
    wanted = to_target(s, more)
    if not _far(s, _off(s, more)):
        return "already there"
    plan = f"When the water has gone, {more:g} psi down again, to the wet target."
    return Proposal("return", f"standing water: the wet target plus {more:g}", wanted, cautions=(plan,))


def _drift_blocked(s: Situation) -> str:
    marks = [f"{axle} {item.mark}" for axle, item in s.axles.items() if item.mark in {"past", "short"}]
    if marks:
        return f"not heat alone: the {' and '.join(marks)} the mark"
    if any(abs(value) > 1 for value in s.balance.values()):
        return "not heat alone: the balance is more than 1 from neutral"
    if s.track.leaks:
        return "a leak is not ruled out"
    return ""


def heat_drift(s: Situation) -> Tested:
    """Rule 4: off the target by heat alone: back to it."""
    if not s.hot.known():
        return "no reading after a run today"
    if s.target is None:
        return f"no {s.surface.target} target in the car file"
    if s.surface.word in {"damp", "wet"} and not s.target_done and _turned(s):
        return f"the surface has turned {s.surface.word}: not heat alone"
    more = s.thresholds.standing_psi if s.surface.word == "standing" else 0.0
    far = _far(s, _off(s, more))
    if not far:
        return "within the gauge's noise of the target"
    blocked = _drift_blocked(s)
    if blocked:
        return blocked
    wanted = {corner: psi for corner, psi in to_target(s, more).items() if corner in far}
    return Proposal("return", f"heat drift only: back to the {s.surface.target} target", wanted)


def _turned(s: Situation) -> bool:
    """The surface became what it is after the day's first run."""
    return s.surface.changing or s.surface.since_run > len(s.car_log.runs) - s.runs_today


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


def damp(s: Situation) -> Tested:
    """Rule 6: damp without pooling: to the target, once; bar softer."""
    word = s.surface.word
    if word not in {"damp", "wet"}:
        return "not damp"
    if s.target is None:
        return f"no {s.surface.target} target in the car file"
    if s.target_done:
        return f"done once since it turned {word}"
    far = _far(s, _off(s))
    if not far:
        return f"already at the {s.surface.target} target"
    wanted = {corner: psi for corner, psi in to_target(s).items() if corner in far}
    reason = f"{word}: to the {s.surface.target} target, bar softer"
    return Proposal("return", reason, wanted, cautions=("When it dries, back to the dry target and the dry bar.",))


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
    return _move(s, axle, size if up else -size, f"{reason}: {axle} {word} {size:g} ({source})", signs)


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
    reason = f"front mark right, understeer mid-corner: leave the front, rear {word} {abs(size):g} ({source})"
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


def _clean_ms(s: Situation) -> list[int]:
    """This driver's raw times of today, mistakes and void runs left out, in order."""
    return [
        run.time.time_ms
        for run in s.car_log.run_rows()
        if run.number == s.number and run.day == s.car_log.day and run.time is not None
        and run.time.time_ms is not None and run.time.status in (None, "practice", "rerun") and not run.time.misses
        and not (run.log and run.log.mistake)
    ]  # fmt: skip


def _fading(s: Situation) -> bool:
    """The last two clean runs were each slower than the one before, the last by ``fade_pct`` on the day's best."""
    times = _clean_ms(s)
    if len(times) < 3 or not times[-1] > times[-2] > times[-3]:
        return False
    return times[-1] >= min(times) * (1 + s.thresholds.fade_pct / 100)


def fading(s: Situation) -> Tested:
    """Rule 14: grip fading and the tread hot: cool, back to target."""
    if s.tread_c is None or s.tread_c < s.thresholds.tread_hot_c:
        return "the tread is not known to be hot"
    if not _fading(s):
        return "grip is not fading: no two clean runs in a row each slower than the one before"
    far = _far(s, _off(s))
    wanted = {corner: psi for corner, psi in to_target(s).items() if corner in far}
    reason = "grip fading with a hot tread: cool the tyres"
    if not wanted:
        return Proposal("none", reason, {})
    return Proposal("return", f"{reason}, back to the {s.surface.target} target", wanted)


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
