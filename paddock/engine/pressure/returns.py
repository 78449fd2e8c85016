"""Rules that go back to a known target: the cold plan, standing water, heat alone, damp, cooked tyres."""

from __future__ import annotations

from paddock.engine.pressure.answer import Proposal, Tested
from paddock.engine.pressure.corners import AXLE_OF, AXLES, Reason, because
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


def axles_off(s: Situation) -> tuple[tuple[str, float], ...]:
    """By how much each axle that is to be brought back is over its target, psi."""
    off, back = _off(s), _back(s)
    found = {
        axle: [off[corner] for corner in pair if corner in back]
        for axle, pair in AXLES.items()
    }  # fmt: skip
    return tuple((axle, sum(values) / len(values)) for axle, values in found.items() if values)


def standing_water(s: Situation) -> Tested:
    """To the wet target plus 1 to 2, once, with the way down planned."""
    more = s.thresholds.standing_psi
    if s.surface.word != "standing":
        return because("no-standing-water")
    if s.target is None:
        return because("no-target", target="wet")
    if s.rested:
        return because("plan-is-for-standing-water")
    if s.standing_done:
        return because("standing-water-done")
    wanted = _back(s)
    if not wanted:
        return because("already-there")
    down = because("when-the-water-has-gone", psi=more)
    return Proposal("return", because("standing-water", psi=more), wanted, cautions=(down,))


def _drift_blocked(s: Situation) -> Reason | None:
    marks = tuple((axle, item.mark) for axle, item in s.axles.items() if item.mark in {"past", "short"})
    if marks:
        return because("not-heat-marks", marks=marks)
    if any(abs(value) > 1 for value in s.balance.values()) and not (s.log and s.log.mistake):
        return because("not-heat-balance")
    if s.heat.track.leaks:
        return because("a-leak")
    return None


def heat_drift(s: Situation) -> Tested:
    """Off the target by heat alone: back to it."""
    if s.rested:
        return because("plan-answers")
    if s.target is None:
        return because("no-target", target=s.surface.target)
    if s.surface.word in {"damp", "wet"} and not s.target_done and _turned(s):
        return because("turned", surface=s.surface.word)
    wanted = _back(s)
    if not wanted:
        return because("within-noise")
    blocked = _drift_blocked(s)
    if blocked is not None:
        return blocked
    turned = s.surface.word if s.turned else None
    return Proposal("return", because("heat-drift", turned=turned, **target_of(s)), wanted)


def _turned(s: Situation) -> bool:
    """The surface became what it is after the day's first run."""
    return s.surface.changing or s.surface.since_run > len(s.car_log.runs) - s.runs_today


def damp(s: Situation) -> Tested:
    """Damp without pooling: to the target, once; bar softer."""
    word = s.surface.word
    if word not in {"damp", "wet"}:
        return because("not-damp")
    if s.rested:
        return because("plan-is-for", target=s.surface.target)
    if s.target is None:
        return because("no-target", target=s.surface.target)
    if s.target_done:
        return because("turned-done", surface=word)
    wanted = _back(s)
    if not wanted:
        return because("at-target", target=s.surface.target)
    reason = because("damp", surface=word, target=s.surface.target)
    return Proposal("return", reason, wanted, cautions=(because("when-it-dries"),))


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
    slower = len(times) >= 3 and times[-1] > times[-2] > times[-3]
    return slower and times[-1] >= min(times) * (1 + s.thresholds.fade_pct / 100)


def fading(s: Situation) -> Tested:
    """Grip fading and the tread hot: cool, back to target."""
    if s.tread_c is None or s.tread_c < s.thresholds.tread_hot_c:
        return because("tread-not-hot")
    if not _fading(s):
        return because("not-fading")
    wanted = _back(s)
    if not wanted:
        return Proposal("none", because("fading"), {})
    return Proposal("return", because("fading-return", target=s.surface.target), wanted)


def cold_plan_rule(s: Situation) -> Tested:
    """Before a first run: the cold plan, less what is read; of a car found warm, the same in its state."""
    if s.found_warm:
        return _found_warm(s)
    if not s.rested:
        return because("not-a-first-run")
    wanted = {corner: psi for corner in CORNERS if (psi := s.plan.cold_of(corner)) is not None}
    if not wanted:
        return no_plan(s)
    return Proposal("plan", plan_reason(s), wanted, cautions=plan_cautions(s))


def _found_warm(s: Situation) -> Tested:
    wanted = {corner: aim for corner in s.now.known() if (aim := s.aim(corner)) is not None}
    if not wanted:
        return because("no-target", target=s.surface.target)
    if s.heat.track.leaks:
        return because("a-leak")
    if not _back(s):
        return Proposal("none", because("found-warm-right", **target_of(s)), {})
    return Proposal("plan", because("found-warm", **target_of(s)), wanted)


def target_of(s: Situation) -> dict[str, object]:
    """The target's name and what is added to it."""
    return {"target": s.surface.target, "more_psi": s.more_psi}


def no_plan(s: Situation) -> Reason:
    """Why there is no cold plan."""
    return s.plan.front.why or s.plan.rear.why or because("no-rule")


def plan_reason(s: Situation) -> Reason:
    """What the cold plan is for and what it rests on."""
    spread = [
        (item.high_psi - item.low_psi) / 2 for item in (s.plan.front, s.plan.rear)
        if item.low_psi is not None and item.high_psi is not None
    ]  # fmt: skip
    return because(
        "cold-plan", surface=s.surface.word or "dry", air_c=s.outside.air_c, assumed=s.outside.assumed,
        rises=(s.rises["front"], s.rises["rear"]), within_psi=max(spread, default=None),
        held=next((item.why for item in (s.plan.front, s.plan.rear) if item.capped), None),
    )  # fmt: skip


def plan_cautions(s: Situation) -> tuple[Reason, ...]:
    """What the plan is under, and what is assumed."""
    found = [because("plan-under", why=item.caution) for item in (s.plan.front, s.plan.rear) if item.caution]
    if s.outside.assumed:
        found.append(because("air-assumed", air_c=s.outside.air_c))
    if s.surface.word == "standing":
        found.append(because("when-the-water-has-gone", psi=s.thresholds.standing_psi))
    return tuple(found)
