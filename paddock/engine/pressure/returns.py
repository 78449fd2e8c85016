"""Rules that go back to a known target: standing water (3), heat alone (4), damp (6), cooked tyres (14)."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.engine.pressure.proposal import Proposal, Tested
from paddock.engine.pressure.situation import Situation
from paddock.model.rows import CORNERS
from paddock.model.units import PSI_PA

__all__ = ["damp", "fading", "heat_drift", "standing_water"]


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
    return Proposal("return", f"standing water: the wet target plus {more:g} psi", wanted, cautions=(plan,))


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
