"""The rules asked in order, their answers cut short at the limits: what a reading calls for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from paddock.engine.pressure.answer import Action, Confidence, PassedOver, Proposal, Tested
from paddock.engine.pressure.corners import AXLE_OF, AXLES, Corners, Reason, because
from paddock.engine.pressure.returns import axles_off, no_plan, target_of
from paddock.engine.pressure.rules import RULES, Rule, new_setting_stops, unread_signs
from paddock.engine.pressure.situation import Situation
from paddock.model.rows import CORNERS


@dataclass(frozen=True, slots=True)
class Decided:
    """True psi, before the gauge's offset. ``set`` None: no setting."""

    action: Action
    rule: str
    reason: Reason
    set: Corners | None = None
    passed: tuple[PassedOver, ...] = ()
    cautions: tuple[Reason, ...] = ()
    confidence: Confidence = "fair"
    now: bool = True


Cut = tuple[Reason, ...]
"""Why a setting was cut short, corner by corner; empty: it wasn't."""


def allowed(s: Situation, corner: str, psi: float, kind: str) -> float:
    """``psi`` cut short at the limits; the present reading where they forbid the move."""
    now, bound = s.now[corner], s.bound[corner]
    if now is None or kind == "limits":
        return psi
    return bound.lowered(psi, now, new=kind == "new") if psi < now else bound.raised(psi, now)


def settled(s: Situation, proposal: Proposal, skip: Sequence[str] = ()) -> tuple[dict[str, float | None], Cut] | Reason:
    """What to set and what cut it short; or why the limits leave nothing of it. ``skip``: corners left alone."""
    found, now = s.now.as_dict() | dict.fromkeys(skip), s.now.known()
    wanted = {corner: psi for corner, psi in proposal.wanted.items() if corner not in skip}
    if proposal.kind in {"stop", "none"}:
        return found, ()
    if not wanted:
        return because("but", first=proposal.reason, why=because("corners-not-read"))
    to = {corner: allowed(s, corner, psi, proposal.kind) for corner, psi in wanted.items()}
    if proposal.kind == "new":
        least = min((to[corner] - now[corner] for corner in wanted), key=abs)
        to = {corner: now[corner] + least for corner in wanted}
    for axle in AXLES.values():
        pair = [corner for corner in axle if corner in to]
        small = all(corner in now and abs(to[corner] - now[corner]) < s.min_psi - 1e-9 for corner in pair)
        if small and proposal.kind != "limits":
            to |= {corner: now[corner] for corner in pair}
    found.update(to)
    short = [
        corner for corner, psi in wanted.items()
        if corner in now and abs(to[corner] - psi) > 0.05 and abs(psi - now[corner]) > s.min_psi
    ]  # fmt: skip
    why = tuple(dict.fromkeys(_forbidden(s, corner, now[corner], wanted[corner]) for corner in short))
    if any(found[corner] != s.now[corner] for corner in wanted):
        return found, why
    return because("but", first=proposal.reason, why=because("cut", by=why) if why else because("under-the-gauge"))


def _forbidden(s: Situation, corner: str, now: float, psi: float) -> Reason:
    bound, likely = s.bound[corner], s.likely[corner]
    if psi > now:
        return bound.no_raise or because("held-down", corner=corner, maximum=bound.high is not None)
    warm_c = None if likely.known else likely.warm_c
    return bound.no_lower or because("held-up", corner=corner, coldest_c=s.outside.coldest_c, warm_c=warm_c)


def _tried(s: Situation) -> Iterator[tuple[Rule, Tested]]:
    waits = unread_signs(s)
    for rule in RULES:
        yield rule, waits if rule.signs and waits else rule.test(s)


def by_rules(s: Situation, skip: Sequence[str] = ()) -> Decided:
    """First match in order; what the gate or the limits stop is passed over with the reason."""
    passed: list[PassedOver] = []
    for rule, proposal in _tried(s):
        if isinstance(proposal, Reason):
            passed.append(PassedOver(rule.name, proposal))
            continue
        stops = new_setting_stops(s, proposal.signs, proposal.step_psi) if proposal.kind == "new" else ()
        found = because("held", stops=stops) if stops else settled(s, proposal, skip)
        if isinstance(found, Reason):
            passed.append(PassedOver(rule.name, found))
            continue
        values, short = found
        return _made(s, rule, proposal, Corners.of(values), tuple(passed), short, skip)
    return _held(s, passed, skip)


def _made(
    s: Situation, rule: Rule, proposal: Proposal, to: Corners, passed: tuple[PassedOver, ...], short: Cut,
    skip: Sequence[str],
) -> Decided:  # fmt: skip
    planned: Action = "plan" if s.rested else "set"
    action: Action = planned if proposal.kind == "plan" else "set" if proposal.wanted else "hold"
    if proposal.kind == "stop":
        return Decided("stop", rule.name, proposal.reason, None, passed, proposal.cautions, "high")
    if (
        proposal.kind == "plan"
        and s.now.known()
        and all(to[corner] is None or to[corner] == s.now[corner] for corner in CORNERS if corner not in skip)
    ):
        action = "none"
    reason = because("cut-short", first=proposal.reason, by=short) if short else proposal.reason
    return Decided(
        action, rule.name, reason, None if action == "none" else to, passed, proposal.cautions,
        _confidence(s, rule, proposal),
    )  # fmt: skip


GUESSED = {"usual", "between"}
"""Rises that are not this car's own."""


def _own(s: Situation) -> bool:
    """What the next run warms the tyres that were read, and how warm they are, is this car's own and known."""
    read = s.now.known()
    return all(s.way[corner].known and s.rises[AXLE_OF[corner]].source not in GUESSED for corner in read)


def _confidence(s: Situation, rule: Rule, proposal: Proposal) -> Confidence:
    if rule.name == "limits":
        return "high"
    if s.heat.track.leaks:
        return "low"
    if (s.turned or s.unfinished) and (proposal.kind in {"return", "plan"} or rule.name == "cold-plan"):
        return "fair" if _own(s) else "low"
    if proposal.kind == "plan":
        sources = {s.rises[axle].source for axle in AXLES}
        read = sources == {"read"} and min(s.rises[axle].runs for axle in AXLES) > 1
        return "low" if sources & GUESSED else "high" if read else "fair"
    if proposal.kind == "return":
        sure = all(s.way[corner].known for corner in proposal.wanted)
        return "high" if rule.name == "heat-drift" and sure else "fair"
    return "fair" if len(proposal.signs) >= 3 or proposal.kind == "none" or s.learned else "low"


def _held(s: Situation, passed: list[PassedOver], skip: Sequence[str]) -> Decided:
    held = next((item for item in passed if item.why.name == "held"), None)
    blocked = next((item.why for item in passed if item.why.name in {"but", "opposite-faint"}), None)
    leaks = s.heat.track.leaks
    drift = next((item.why for item in passed if item.name == "heat-drift"), None)
    reason = because("on-target" if drift is not None and drift.name == "within-noise" else "no-rule")
    if drift is not None and drift.name.startswith("not-heat-"):
        reason = because("off-but", off=axles_off(s), why=drift, **target_of(s))
    if held is not None:
        reason = because("rule-held", rule=held.name, why=held.why)
    elif blocked or leaks:
        reason = blocked or because("leak-first", leak=leaks[0].why)
    elif s.target is None and s.surface.word in {"damp", "wet", "standing"}:
        reason = because("no-target-to-go-to", surface=s.surface.word, target=s.surface.target)
    elif s.rested:
        reason = no_plan(s)
    guessed = reason.name == "on-target" and (s.turned or s.unfinished) and not _own(s)
    to = Corners.of(s.now.as_dict() | dict.fromkeys(skip))
    return Decided("hold", "hold", reason, to, tuple(passed), (), "low" if leaks or guessed else "fair")
