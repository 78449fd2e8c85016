"""Rules that go back to a known target: the cold plan, standing water, heat alone, damp, cooked tyres."""

from __future__ import annotations

from paddock.engine.pressure.corners import AXLE_OF
from paddock.engine.pressure.plan import Rise
from paddock.engine.pressure.proposal import Proposal, Tested
from paddock.engine.pressure.situation import Situation
from paddock.model.rows import CORNERS


def _off(s: Situation) -> dict[str, float]:
    """How far each corner that was read is over what ends its next run at the hot target."""
    found = {}
    for corner in CORNERS:
        aim, now = s.aim(corner), s.now[corner]
        if aim is not None and now is not None:
            found[corner] = now - aim
    return found


def _back(s: Situation) -> dict[str, float]:
    """What to bring to the target: both corners of an axle that has one off it by more than the noise."""
    off = _off(s)
    far = {AXLE_OF[corner] for corner, value in off.items() if abs(value) > s.min_psi + 1e-9}
    return {corner: aim for corner in off if AXLE_OF[corner] in far and (aim := s.aim(corner)) is not None}


def standing_water(s: Situation) -> Tested:
    """To the wet target plus 1 to 2, once, with the way down planned."""
    more = s.thresholds.standing_psi
    if s.surface.word != "standing":
        return "no standing water"
    if s.target is None:
        return "no wet target in the car file"
    if s.rested:
        return "the cold plan is for standing water"
    if s.standing_done:
        return "done once since the water stood"
    wanted = _back(s)
    if not wanted:
        return "already there"
    plan = f"When the water has gone, {more:g} psi down again, to the wet target."
    return Proposal("return", f"standing water: the wet target plus {more:g} psi", wanted, cautions=(plan,))


def _drift_blocked(s: Situation) -> str:
    marks = [f"{axle} {item.mark}" for axle, item in s.axles.items() if item.mark in {"past", "short"}]
    if marks:
        return f"not heat alone: the {' and '.join(marks)} the mark"
    if any(abs(value) > 1 for value in s.balance.values()) and not (s.log and s.log.mistake):
        return "not heat alone: the balance is more than 1 from neutral"
    if s.heat.track.leaks:
        return "a leak is not ruled out"
    return ""


def heat_drift(s: Situation) -> Tested:
    """Off the target by heat alone: back to it."""
    if s.rested:
        return "before a first run the cold plan answers"
    if s.target is None:
        return f"no {s.surface.target} target in the car file"
    if s.surface.word in {"damp", "wet"} and not s.target_done and _turned(s):
        return f"the surface has turned {s.surface.word}: not heat alone"
    wanted = _back(s)
    if not wanted:
        return "within the gauge's noise of the target"
    blocked = _drift_blocked(s)
    if blocked:
        return blocked
    return Proposal("return", f"heat drift only: back to the {_target_words(s)}", wanted)


def _turned(s: Situation) -> bool:
    """The surface became what it is after the day's first run."""
    return s.surface.changing or s.surface.since_run > len(s.car_log.runs) - s.runs_today


def damp(s: Situation) -> Tested:
    """Damp without pooling: to the target, once; bar softer."""
    word = s.surface.word
    if word not in {"damp", "wet"}:
        return "not damp"
    if s.rested:
        return f"the cold plan is for the {s.surface.target}"
    if s.target is None:
        return f"no {s.surface.target} target in the car file"
    if s.target_done:
        return f"done once since it turned {word}"
    wanted = _back(s)
    if not wanted:
        return f"already at the {s.surface.target} target"
    reason = f"{word}: to the {s.surface.target} target, bar softer"
    return Proposal("return", reason, wanted, cautions=("When it dries, back to the dry target and the dry bar.",))


def _clean_ms(s: Situation) -> list[int]:
    """This driver's raw times of today, mistakes and void runs left out, in order."""
    return [
        run.time.time_ms
        for run in s.car_log.run_rows()
        if run.number == s.number and run.day == s.clock.day and run.time is not None
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
    """Grip fading and the tread hot: cool, back to target."""
    if s.tread_c is None or s.tread_c < s.thresholds.tread_hot_c:
        return "the tread is not known to be hot"
    if not _fading(s):
        return "grip is not fading: no two clean runs in a row each slower than the one before"
    wanted = _back(s)
    reason = "grip fading with a hot tread: cool the tyres"
    if not wanted:
        return Proposal("none", reason, {})
    return Proposal("return", f"{reason}, back to the {s.surface.target} target", wanted)


def cold_plan_rule(s: Situation) -> Tested:
    """Before a first run: the cold plan, less what is read; of a car found warm, the same in its state."""
    if s.found_warm:
        return _found_warm(s)
    if not s.rested:
        return "not before a first run"
    wanted = {corner: psi for corner in CORNERS if (psi := s.plan.cold_of(corner)) is not None}
    if not wanted:
        return s.plan.front.why or s.plan.rear.why
    return Proposal("plan", plan_reason(s), wanted, cautions=plan_cautions(s))


def _found_warm(s: Situation) -> Tested:
    wanted = {corner: aim for corner in s.now.known() if (aim := s.aim(corner)) is not None}
    if not wanted:
        return f"no {s.surface.target} target in the car file"
    if s.heat.track.leaks:
        return "a leak is not ruled out"
    target = _target_words(s)
    if not _back(s):
        return Proposal("none", f"as found before the run it ends on the {target}", {})
    return Proposal("plan", f"found warm before the run: what ends it on the {target}", wanted)


def _target_words(s: Situation) -> str:
    more = f" plus {s.more_psi:g} psi" if s.more_psi else ""
    return f"{s.surface.target} target{more}"


def plan_reason(s: Situation) -> str:
    """What the cold plan is for and what it rests on."""
    rise = s.rises["front"], s.rises["rear"]
    on = " and ".join(dict.fromkeys(_source(item) for item in rise))
    warms = "/".join(f"{item.k:.0f}" for item in rise) if rise[0].k != rise[1].k else f"{rise[0].k:.0f}"
    air = f"{s.outside.air_c:.0f} °C" + (" assumed" if s.outside.assumed else "")
    which = s.surface.word or "dry"
    spread = [
        (item.high_psi - item.low_psi) / 2 for item in (s.plan.front, s.plan.rear)
        if item.low_psi is not None and item.high_psi is not None
    ]  # fmt: skip
    within = f", good to {max(spread):.1f} psi" if spread else ""
    held = next((f"; {item.why}" for item in (s.plan.front, s.plan.rear) if item.capped), "")
    return f"cold plan for a {which} first run at {air}: it warms the tyres {warms} K ({on}){within}{held}"


def _source(rise: Rise) -> str:
    return {
        "read": f"read after {rise.runs} of its first runs" if rise.runs > 1 else "read after one first run",
        "car": "from the car file", "earlier": "read at an earlier event", "fit": "from the heat fit",
        "usual": "usual, this car's own is not known",
    }[rise.source]  # fmt: skip


def plan_cautions(s: Situation) -> tuple[str, ...]:
    """What the plan is under, and what is assumed."""
    found = [f"The plan is {item.caution}." for item in (s.plan.front, s.plan.rear) if item.caution]
    if s.outside.assumed:
        found.append(f"No air temperature is known: {s.outside.air_c:.0f} °C is assumed. Log the weather.")
    if s.surface.word == "standing":
        found.append(f"When the water has gone, {s.thresholds.standing_psi:g} psi down again, to the wet target.")
    return tuple(found)
