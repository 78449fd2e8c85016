"""The answer in one line: now -> set per corner, bleed or add, one reason, confidence, "or hold"."""

from __future__ import annotations

from paddock.engine.corners import AXLES
from paddock.engine.heat.car import CarHeat
from paddock.engine.pressure.answer import Advice
from paddock.engine.pressure.plan import AxlePlan, ColdPlan
from paddock.model.kinds import plain_number
from paddock.model.units import from_psi

__all__ = ["heat_lines", "next_line", "plan_line"]

_PLACES = {"psi": 1, "kpa": 0, "bar": 2}


def _shown(psi: float | None, unit: str) -> str:
    if psi is None:
        return "-"
    places = _PLACES[unit]
    whole, _, part = plain_number(from_psi(psi, unit), places).partition(".")
    return whole + (f".{part.ljust(places, '0')}" if places else "")


def _pair(advice: Advice, axle: str, which: str, unit: str) -> str:
    values = getattr(advice, which)
    return "/".join(_shown(values[corner], unit) for corner in AXLES[axle])


def _way(advice: Advice, axle: str) -> str:
    """bleed, add, both or "" for an axle that stays."""
    moves = [
        to - now for corner in AXLES[axle]
        if (now := advice.now[corner]) is not None and (to := advice.set[corner]) is not None
    ]  # fmt: skip
    words = [
        word for word, found in (("bleed", min(moves, default=0) < 0), ("add", max(moves, default=0) > 0)) if found
    ]
    return " and ".join(words)


def _axle(advice: Advice, axle: str, unit: str) -> str:
    now, way = _pair(advice, axle, "now", unit), _way(advice, axle)
    return f"{axle} {now} -> {_pair(advice, axle, 'set', unit)} {way}" if way else f"{axle} stays {now}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def next_line(advice: Advice, unit: str = "psi") -> str:
    """One line; left and right of an axle apart by a stroke, in ``unit``."""
    if advice.action == "stop":
        return f"STOP. {_sentence(advice.reason)}."
    axles = ", ".join(_axle(advice, axle, unit) for axle in AXLES)
    lead = f"{axles} {unit}" if advice.action == "set" else f"hold: {axles} {unit}"
    other = ", or hold" if advice.action == "set" and advice.rule != 2 else ""
    return f"{_sentence(lead)}. {_sentence(advice.reason)}. Confidence {advice.confidence}{other}."


def _planned(plan: AxlePlan, unit: str) -> str:
    if plan.cold_psi is None:
        return f"{plan.axle}: {plan.why}"
    why = f" ({plan.why})" if plan.why else ""
    return f"{plan.axle} {_shown(plan.cold_psi, unit)} cold for {_shown(plan.hot_psi, unit)} hot{why}"


def plan_line(plan: ColdPlan, unit: str = "psi") -> str:
    """The cold plan in one line."""
    air = plain_number(plan.air_c, 0)
    return f"First run at {air} C: {_planned(plan.front, unit)}, {_planned(plan.rear, unit)} {unit}."


def heat_lines(heat: CarHeat) -> list[str]:
    """The fit of each axle with its ranges, or why there is none."""
    found = []
    for axle, item in heat.axles.items():
        fit = item.fit
        if fit is None:
            rise = "" if item.last_rise_psi is None else f" ({item.last_rise_psi:+.1f} psi)"
            found.append(f"{axle}: {item.why}{rise}")
            continue
        high = "no upper end" if fit.tau_high is None else f"{fit.tau_high:.0f}"
        cools = f"cools by two thirds in {fit.tau_min:.0f} min ({fit.tau_low:.0f} to {high})"
        warms = f"a run warms it {fit.rise_k:.0f} K ({fit.rise_low:.0f} to {fit.rise_high:.0f})"
        found.append(f"{axle}: {cools}, {warms}; {fit.pairs} changes, scatter {fit.noise_k:.1f} K")
    return found
