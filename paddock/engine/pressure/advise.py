"""The question asked most between runs: what do I set?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from paddock.engine.corners import Corners
from paddock.engine.pressure import cautions, unsafe
from paddock.engine.pressure.answer import RULES, Action, Advice, Confidence, PassedOver
from paddock.engine.pressure.gate import move_gates, standing_gates
from paddock.engine.pressure.proposal import Proposal
from paddock.engine.pressure.rules import RULE_TESTS
from paddock.engine.pressure.situation import Situation, situation
from paddock.model.event import Event

__all__ = ["advise", "answer"]


def advise(event: Event, number: str, leads_with_one_left: bool | None = None) -> Advice:
    """What to do to the pressures of the car that ``number`` drives next.

    ``leads_with_one_left`` None: worked out from the standings. Never raises for a thin log: what is missing is
    among the cautions, and the answer is hold.
    """
    return answer(situation(event, number, leads_with_one_left))


def _gated(s: Situation, proposal: Proposal) -> str:
    if proposal.kind != "new":
        return ""
    held_by = standing_gates(s.event, s.number, s.car_log, s.log, s.surface, s.leads)
    stops = (*move_gates(proposal.signs, proposal.step_psi, s.min_psi), *held_by)
    return f"held: {'; '.join(stops)}" if stops else ""


def _allowed(s: Situation, corner: str, psi: float, kind: str) -> float:
    """``psi`` inside the limits; the present reading where the limits forbid the move or it is under the noise."""
    now, bound = s.now[corner], s.bound[corner]
    if now is None:
        return psi
    psi = bound.clamp(psi)
    if psi > now and bound.no_raise:
        return now
    if psi < now and bound.no_lower and kind == "new":
        return now
    wanted_way = kind == "limits" or abs(psi - now) >= s.min_psi - 1e-9
    return psi if wanted_way else now


def _together(s: Situation, wanted: Mapping[str, float]) -> Mapping[str, float]:
    """A new setting moves both tyres of an axle alike, by what the tighter limit leaves."""
    moves = {corner: psi - (s.now[corner] or 0.0) for corner, psi in wanted.items()}
    least = min(moves.values(), key=abs)
    return {corner: (s.now[corner] or 0.0) + least for corner in wanted}


def _settled(s: Situation, proposal: Proposal) -> Mapping[str, float | None] | str:
    """What to set, or why the limits leave nothing of it."""
    found = s.now.as_dict()
    if proposal.kind in {"stop", "none"}:
        return found
    if not proposal.wanted:
        return f"{proposal.reason}, but the corners it is about have not been read"
    allowed = {corner: _allowed(s, corner, psi, proposal.kind) for corner, psi in proposal.wanted.items()}
    found.update(_together(s, allowed) if proposal.kind == "new" else allowed)
    moved = [corner for corner in proposal.wanted if found[corner] != s.now[corner]]
    if moved:
        return found
    why = {
        reason
        for corner, psi in proposal.wanted.items()
        if (reason := _forbidden(s, corner, psi))
    }  # fmt: skip
    return f"{proposal.reason}, but " + (
        "; ".join(sorted(why)) or "the limits or the gauge's noise leave nothing of it"
    )


def _forbidden(s: Situation, corner: str, psi: float) -> str:
    now = s.now[corner] or 0.0
    return s.bound[corner].no_raise if psi > now else s.bound[corner].no_lower


def _tried(s: Situation) -> Iterator[tuple[int, Proposal | str]]:
    yield 1, unsafe.stop(s)
    if s.unread:
        return
    yield 2, unsafe.limits(s)
    for rule, test in RULE_TESTS.items():
        yield rule, test(s)


def answer(s: Situation) -> Advice:
    """First match in order; what the gate or the limits stop is passed over with the reason."""
    passed: list[PassedOver] = []
    for rule, proposal in _tried(s):
        if isinstance(proposal, str):
            passed.append(PassedOver(rule, proposal))
            continue
        settled = _gated(s, proposal) or _settled(s, proposal)
        if isinstance(settled, str):
            passed.append(PassedOver(rule, settled))
            continue
        return _advice(s, rule, proposal, Corners.of(settled), tuple(passed))
    return _hold(s, passed)


def _action(proposal: Proposal) -> Action:
    if proposal.kind == "stop":
        return "stop"
    return "set" if proposal.wanted else "hold"


def _confidence(s: Situation, rule: int, proposal: Proposal) -> Confidence:
    """High for what is measured against a limit, low for two signs and a default direction."""
    if proposal.kind in {"stop", "limits"}:
        return "high"
    if s.track.leaks or s.stale or s.step is None:
        return "low"
    if proposal.kind == "return":
        return "high" if s.step.reading.moment == "after" and rule == 4 else "fair"
    return "fair" if len(proposal.signs) >= 3 or proposal.kind == "none" or s.learned else "low"


def _shown(s: Situation, true_psi: Corners) -> Corners:
    """As the gauge in use reads it."""
    return true_psi.map(lambda psi: psi + s.gauge.offset_psi) if s.gauge.offset_psi else true_psi


def _advice(s: Situation, rule: int, proposal: Proposal, to: Corners, passed: tuple[PassedOver, ...]) -> Advice:
    return Advice(
        number=s.number,
        action=_action(proposal),
        now=_shown(s, s.now),
        set=_shown(s, to),
        rule=rule,
        reason=proposal.reason,
        signs=s.signs,
        passed_over=passed,
        cautions=(*proposal.cautions, *cautions.cautions(s, to)),
        confidence=_confidence(s, rule, proposal),
    )


_STANDS = {"standing": "standing water"}
_WRITTEN = {"damp": "damp", "wet": "wet", "standing": "wet"}
"""The targets a surface's rules go back to."""


def _hold_reason(s: Situation, passed: list[PassedOver]) -> str:
    if s.unread:
        return "the newest reading can't be used: read the four corners again"
    if s.step is None:
        return "no pressure has been read yet"
    held = next((item for item in passed if item.why.startswith("held: ")), None)
    if held is not None:
        return f"{RULES[held.rule]}, but {held.why.removeprefix('held: ')}"
    blocked = next((item.why for item in passed if ", but " in item.why), None)
    leak = f"find the leak first: {s.track.leaks[0].why}" if s.track.leaks else ""
    word = s.surface.word
    unset = (
        f"{_STANDS.get(word, word)}, and no {_WRITTEN[word]} target in the car file to go to"
        if word in _WRITTEN
        else ""
    )
    return blocked or leak or (unset if s.target is None else "") or "no rule calls for a change"


def _hold(s: Situation, passed: list[PassedOver]) -> Advice:
    if not s.unread:
        return _advice(s, 15, Proposal("none", _hold_reason(s, passed), {}), s.now, tuple(passed))
    known = {item.rule for item in passed} | {15}
    passed += [PassedOver(rule, "the newest reading is in doubt") for rule in RULES if rule not in known]
    found = _advice(s, 15, Proposal("none", _hold_reason(s, passed), {}), Corners(), tuple(passed))
    return replace(found, now=Corners(), confidence="low")
