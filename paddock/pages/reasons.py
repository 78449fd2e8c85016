"""The sentences of the pressures' answer, each written once: names of reasons and their values to words, in psi.

``said_in`` of ``paddock.model.units`` puts a whole sentence into another unit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from paddock.engine.pressure.air import GAS_LAW_PSI, UNCERTAINTY_PSI
from paddock.engine.pressure.corners import CORNER_NAMES, Reason, together
from paddock.engine.pressure.plan import Rise
from paddock.engine.pressure.signs import Learned, Sign
from paddock.model.units import plain_number, said_in
from paddock.pages.at_home import at_home, axles, day_done, eve_air_unknown, event_done, for_others, road_caution

if TYPE_CHECKING:
    from paddock.engine.field.response import QuickerWay

RULE_WORDS = {
    "unsafe": "unsafe", "limits": "outside the limits", "first-run": "cold or damp first run",
    "cold-plan": "the cold plan", "standing-water": "standing water", "heat-drift": "heat drift only", "damp": "damp",
    "opposite-phases": "phases of opposite sign", "exit-alone": "only on power",
    "front-past": "front past the mark, understeer", "front-short": "front short with a hot middle, understeer",
    "front-right": "front right, understeer mid-corner", "rear-past": "oversteer, rear past the mark",
    "rear-short": "oversteer, rear short with a hot middle", "fading": "grip fading, tread hot",
    "event-done": "no run left", "day-done": "no run left today", "odd-corner": "one corner out of line",
    "ran": "a run, nothing read since", "stale": "an old reading", "set": "set", "hold": "hold",
}  # fmt: skip
"""What a rule, or a moment that answers without one, is called."""

_MARK_SAYS = {
    "past": "under its best pressure",
    "short": "stiff enough or over; counts as over only with a hot middle",
    "on": "about right",
}
_MIDDLE_SAYS = {"hot": "leans to over its best", "cool": "leans to under its best", "even": "says nothing"}
_SEEN = {
    "front-past": "front past the mark with understeer",
    "front-short": "front short of the mark, hot in the middle, with understeer",
    "rear-past": "rear past the mark with oversteer",
    "rear-short": "rear short of the mark, hot in the middle, with oversteer",
}


def say(reason: Reason) -> str:
    """The sentence of a reason, without its capital and its full stop where it can stand inside another."""
    return _SENTENCES[reason.name](**dict(reason.values))


def sign_says(sign: Sign) -> str:
    """What a sign speaks for."""
    if sign.kind in {"mark", "middle"}:
        return (_MARK_SAYS if sign.kind == "mark" else _MIDDLE_SAYS)[sign.value]
    side = "neutral" if sign.value == "0" else "understeer" if sign.value.startswith("-") else "oversteer"
    return side + ("" if sign.counts or sign.value == "0" else ", faint")


def uncertainty_words(unit: str = "psi") -> str:
    """How well a reading is foretold, and why no better."""
    use, most = GAS_LAW_PSI
    return said_in(
        f"good to {UNCERTAINTY_PSI:g} psi: moist air rises more than dry air and the carcass grows as it warms; "
        f"the gas law itself is good to {use:g} psi in use, {most:g} psi at most",
        unit,
    )


def _n(value: float, places: int = 1) -> str:
    return plain_number(value, places)


def _corners(corners: str | Iterable[str]) -> str:
    corners = (corners,) if isinstance(corners, str) else corners
    return ", ".join(CORNER_NAMES[corner] for corner in corners)


def _both(reasons: Iterable[Reason]) -> str:
    return "; ".join(sorted({say(item) for item in together(reasons)}))


def _over_under(off: Iterable[tuple[str, float]]) -> str:
    return ", ".join(f"{axle} {_n(abs(psi))} psi {'over' if psi > 0 else 'under'}" for axle, psi in off)


def _run(day: int | None, run: int) -> str:
    return f"run {run}" if day is None else f"day {day} run {run}"


def _target(target: str, more_psi: float) -> str:
    return f"{target} target" + (f" plus {more_psi:g} psi" if more_psi else "")


def _evidence(shown: Learned | QuickerWay | None, else_: str) -> str:
    """What a direction rests on: my own times, the car's learned response, or what is common."""
    if shown is None:
        return else_
    return learned_words(shown) if isinstance(shown, Learned) else timed_words(shown)


def timed_words(found: QuickerWay) -> str:
    """What my own times show of an axle."""
    best = f"best near {found.best_psi:.1f} psi" if found.best_psi is not None else "best not bracketed yet"
    side = "more" if found.up else "less"
    return f"my times over {found.runs} runs: {side} is quicker by {found.steep_s:.2f} s for 1 psi here, {best}"


def learned_words(found: Learned) -> str:
    """The evidence of a learned response."""
    towards = "oversteer" if found.slope > 0 else "understeer"
    return (
        f"learned from {found.runs} runs over {found.spread_psi:.1f} psi: {found.axle} +1 psi brings "
        f"{abs(found.slope):.2f} of a step to {towards} (90 %: {found.low:+.2f} to {found.high:+.2f})"
    )


def _source(rise: Rise) -> str:
    return {
        "read": f"read after {rise.runs} of its first runs" if rise.runs > 1 else "read after one first run",
        "car": "from the car file", "earlier": "read at an earlier event", "fit": "from the heat fit",
        "usual": "usual, this car's own is not known", "between": "halfway from damp to dry",
    }[rise.source]  # fmt: skip


def _warms(rises: tuple[Rise, Rise]) -> str:
    """``21/20 K (read after one first run)``, front and rear."""
    on = " and ".join(dict.fromkeys(_source(item) for item in rises))
    return f"{'/'.join(dict.fromkeys(f'{item.k:.0f}' for item in rises))} K ({on})"


def _cold_plan(
    surface: str, air_c: float, assumed: bool, rises: tuple[Rise, Rise], within_psi: float | None, held: Reason | None
) -> str:
    air = f"{air_c:.0f} °C" + (" assumed" if assumed else "")
    within = f", good to {within_psi:.1f} psi" if within_psi is not None else ""
    return (
        f"cold plan for a {surface} first run at {air}: it warms the tyres {_warms(rises)}{within}"
        + (f"; {say(held)}" if held is not None else "")
    )  # fmt: skip


def _first_run(cold: bool, damp: bool, shown: Learned | QuickerWay | None, psi: float, plan: Reason) -> str:
    words = "cold and damp" if cold and damp else "cold" if cold else "damp"
    why = _evidence(shown, "rear short of the mark with a hot middle")
    return f"{words} first run with the rear over its best ({why}): rear {psi:g} psi under the {say(plan)}"


def _directed(seen: str, axle: str, up: bool, psi: float, shown: Learned | QuickerWay | None) -> str:
    word = "up" if up else "down"
    return f"{_SEEN[seen]}: {axle} {word} {psi:g} psi ({_evidence(shown, 'common practice')})"


def _front_right(up: bool, psi: float, shown: Learned | None) -> str:
    source = _evidence(shown, "the rear is over its best: common practice")
    word = "up" if up else "down"
    return f"front mark right, understeer mid-corner: leave the front, rear {word} {psi:g} psi ({source})"


def _too_few_signs(sign: Sign | None) -> str:
    spoken = "" if sign is None else " ".join(part for part in (sign.axle, sign.kind, sign.value) if part)
    said = "no sign agrees" if sign is None else f"only one sign agrees ({spoken})"
    return f"{said}, two are wanted"


def _ran(run: int | None, whose: str | None) -> str:
    of = "the run" if run is None else f"run {run}" if whose is None else f"{whose}'s run {run}"
    return f"nothing read since {of}: read the four corners"


def _odd_corner(corners: Sequence[tuple[str, float]], other: Reason | None = None) -> str:
    said = "; ".join(
        f"{CORNER_NAMES[corner]} reads {_n(abs(psi))} psi {'over' if psi > 0 else 'under'} what its mate's change gives"
        for corner, psi in corners
    )
    again = f"{said}: read that corner again" if len(corners) == 1 else f"{said}: read those corners again"
    return again if other is None else f"{again}; the other axle: {say(other)}"


def _odd_twice(corner: str, psi: float) -> str:
    side = "over" if psi > 0 else "under"
    return f"{CORNER_NAMES[corner]} read twice alike, {_n(abs(psi))} psi {side} what its mate's change gives"


def _another_tyre(corners: Sequence[str], first: Reason | None) -> str:
    said = f"{_corners(corners)}: another tyre or a mended one, cold as planned"
    return said if first is None else f"{say(first)}; {said}"


def _outside_limits(over: Sequence[str], under: Sequence[str]) -> str:
    parts = [f"over the cold maximum ({_corners(over)})"] if over else []
    parts += [f"under the minimum ({_corners(under)})"] if under else []
    return f"{' and '.join(parts)}: inside the limits first"


def _held_down(corner: str | tuple[str, ...], maximum: bool) -> str:
    top = "the cold maximum" if maximum else "what is known to be safe: no cold maximum is known"
    return f"{_corners(corner)} held down by {top}"


def _held_up(corner: str | tuple[str, ...], coldest_c: float, warm_c: float | None) -> str:
    it, its = ("it", "its") if isinstance(corner, str) else ("they", "their")
    unknown = "" if warm_c is None else f", for {its} temperature is not known (up to {warm_c:.0f} °C likely)"
    said = f"parked at {coldest_c:.0f} °C {it} would be under {its} minimum{unknown}"
    return f"{_corners(corner)} held up: {said}"


def _unsafe_done(day: int | None, run: int, seen: str, done: str) -> str:
    return f"{_run(day, run)}'s {seen}: done" + (f" {done}" if any(char.isdecimal() for char in done) else "")


def _let_out_hot(coldest_c: float, parked: Iterable[tuple[str, float]]) -> str:
    there = ", ".join(f"{corner.upper()} {_n(psi)}" for corner, psi in parked)
    return f"Let out hot: parked at {_n(coldest_c, 0)} °C it will read {there} psi."


def _plan_held_up(tyres: bool, coldest_c: float | None) -> str:
    at = "" if coldest_c is None else f" at {_n(coldest_c)} °C, the coldest air"
    return f"held up by the {'tyre' if tyres else 'car file'}'s minimum{at}"


_LITTLE = "than its air can at any likely temperature"

_SENTENCES: dict[str, Callable[..., str]] = {
    # the moments
    "unsafe": lambda seen: f"unsafe: {seen}. Stop and inspect; no setup advice until its worklist row is done",
    "event-done": event_done,
    "day-done": lambda tomorrow, **more: day_done(tomorrow=say(tomorrow), **more),
    "for-others": lambda first, **more: for_others(say(first), **more),
    "at-home": lambda first, **more: at_home(say(first), **more),
    "eve-air-unknown": lambda first, air_c: eve_air_unknown(say(first), air_c),
    "odd-corner": _odd_corner,
    "ran": _ran,
    "unread": lambda: "the newest reading can't be used: read the four corners again",
    "stale": lambda age_min: (
        f"read {age_min:.0f} min ago: the tyres have cooled, read the four corners again; they count as cold then"
    ),
    "set": lambda: "set; nothing more to do before the run",
    "set-as-advised": lambda: "set as advised; nothing to do",
    "set-but": lambda why: f"set; {say(why)}",
    "remaining-step": lambda why: f"set, the remaining step: {say(why)}",
    "another-tyre": _another_tyre,
    # the rules that answer
    "inspect": lambda what: f"stop and inspect: {say(what)}",
    "limits-impossible": lambda corners: (
        f"minimum and cold maximum can't both be met ({_corners(corners)}): look at the tyre, the limits and the "
        "forecast"
    ),
    "fell-against-mate": lambda corner, psi: (
        f"{CORNER_NAMES[corner]} fell {_n(psi)} psi against its mate: look for a cut, a nail, the valve"
    ),
    "fell-beyond-mate": lambda corner, psi: (
        f"{CORNER_NAMES[corner]} fell {_n(psi)} psi beyond its mate: look for a cut, a nail, the valve"
    ),
    "odd-twice": _odd_twice,
    "outside-limits": _outside_limits,
    "no-way-to-add": lambda corners: (
        f"under the minimum ({_corners(corners)}) and no cold maximum is known: read the sidewall, then add"
    ),
    "first-run": _first_run,
    "cold-plan": _cold_plan,
    "found-warm": lambda target, more_psi: (
        f"found warm before the run: what ends it on the {_target(target, more_psi)}"
    ),
    "found-warm-right": lambda target, more_psi: f"as found before the run it ends on the {_target(target, more_psi)}",
    "standing-water": lambda psi: f"standing water: the wet target plus {psi:g} psi",
    "heat-drift": lambda target, more_psi, turned: (
        f"{'heat drift only: back' if turned is None else turned + ' now:'} to the {_target(target, more_psi)}"
    ),
    "damp": lambda surface, target: f"{surface}: to the {target} target; softer bars where the balance allows",
    "opposite-phases": lambda understeer, oversteer: (
        f"understeer ({', '.join(understeer)}), oversteer ({', '.join(oversteer)}): no pressure mends both; "
        "driver, dampers, toe first"
    ),
    "exit-alone": lambda side: f"{side} on power alone: throttle or shift plan first",
    "directed": _directed,
    "front-right": _front_right,
    "front-right-rear-unknown": lambda: (
        "front mark right, understeer mid-corner: leave the front; which way the rear goes is not known"
    ),
    "fading": lambda: "grip fading with a hot tread: cool the tyres",
    "fading-return": lambda target: f"grip fading with a hot tread: cool the tyres, back to the {target} target",
    "no-rule": lambda: "no rule calls for a change",
    "on-target": lambda: "no rule calls for a change: within the gauge's noise of the target",
    "off-but": lambda off, why, target, more_psi: (
        f"{_over_under(off)} the {_target(target, more_psi)}, but {say(why)}: no way back yet"
    ),
    "rule-held": lambda rule, why: f"{RULE_WORDS[rule]}, but {say(why).removeprefix('held: ')}",
    "leak-first": lambda leak: f"find the leak first: {say(leak)}",
    "no-target-to-go-to": lambda surface, target: (
        f"{'standing water' if surface == 'standing' else surface}, and no {target} target in the car file to go to"
    ),
    "but": lambda first, why: f"{say(first)}, but {say(why)}",
    "cut": lambda by: _both(by),
    "cut-short": lambda first, by: f"{say(first)}; cut short: {_both(by)}",
    # why a rule is passed over
    "nothing-unsafe": lambda: "nothing unsafe was logged",
    "unsafe-not-again": lambda day, run, seen: (
        f"{_run(day, run)}'s {seen}: not logged again since, but the work on it isn't ticked off"
    ),
    "unsafe-done": _unsafe_done,
    "no-corner-fell": lambda: "no corner fell or was found odd twice",
    "inside-limits": lambda: "inside the limits as far as they are known",
    "nothing-read": lambda: "nothing has been read",
    "tomorrow-unread": lambda: "tomorrow's tyres are not read yet",
    "not-a-first-run": lambda: "not before a first run",
    "neither-cold-nor-damp": lambda: "neither cold nor damp",
    "rear-not-over": lambda: "the rear is not known to be over its best",
    "limits-leave-nothing": lambda: "the limits leave nothing of it",
    "no-target": lambda target: f"no {target} target in the car file",
    "plan-impossible": lambda: "minimum and cold maximum can't both be met: look at [limits]",
    "plan-held-down": lambda air_c: f"held down by the cold maximum, parked at {_n(air_c)} °C",
    "plan-held-up": _plan_held_up,
    "no-standing-water": lambda: "no standing water",
    "plan-is-for-standing-water": lambda: "the cold plan is for standing water",
    "standing-water-done": lambda: "done once since the water stood",
    "already-there": lambda: "already there",
    "plan-answers": lambda: "before a first run the cold plan answers",
    "turned": lambda surface: f"the surface has turned {surface}: not heat alone",
    "within-noise": lambda: "within the gauge's noise of the target",
    "not-heat-marks": lambda marks: (
        f"not heat alone: the {' and '.join(f'{axle} {mark}' for axle, mark in marks)} the mark"
    ),
    "not-heat-balance": lambda: "not heat alone: the balance is more than 1 from neutral",
    "a-leak": lambda: "a leak is not ruled out",
    "not-damp": lambda: "not damp",
    "plan-is-for": lambda target: f"the cold plan is for the {target}",
    "turned-done": lambda surface: f"done once since it turned {surface}",
    "at-target": lambda target: f"already at the {target} target",
    "not-opposite": lambda: "no phases of opposite sign",
    "opposite-faint": lambda: "phases of opposite sign, but all faint",
    "no-balance": lambda: "no balance was logged",
    "mistake-proves-nothing": lambda: "the run was marked a mistake: it proves nothing",
    "not-the-exit-alone": lambda: "the fault is not on the exit alone",
    "no-front-past": lambda: "no front past the mark with understeer",
    "no-front-short": lambda: "no front short of the mark, hot in the middle, with understeer",
    "no-front-right": lambda: "no front right at its mark with mid-corner understeer of 2",
    "oversteers-too": lambda: "it oversteers as well",
    "no-rear-past": lambda: "no rear past the mark with oversteer",
    "no-rear-short": lambda: "no rear short of the mark, hot in the middle, with oversteer",
    "tread-not-hot": lambda: "the tread is not known to be hot",
    "not-fading": lambda: "grip is not fading: no two clean runs in a row each slower than the one before",
    "no-run": lambda: "no run has been logged",
    "waits-for-the-line": lambda run: f"waits for the line of run {run}",
    "not-my-run": lambda number: f"the car's last run was {number}'s",
    "set-since": lambda axle: f"the {axle} was set since that run: run it first",
    "axle-not-read": lambda axle: f"the {axle} has not been read",
    # the hold gate
    "held": lambda stops: f"held: {'; '.join(say(item) for item in stops)}",
    "mistake": lambda: "the run was marked a mistake",
    "open-change": lambda what: f"another change is open and not yet run twice ({what})",
    "surface-changes": lambda: "the surface changes faster than the tyre",
    "you-lead": lambda: "you lead with one run left",
    "too-few-signs": _too_few_signs,
    "step-too-small": lambda psi, least_psi: (
        f"a step of {psi:g} psi is under what the gauge can tell ({least_psi:g} psi)"
    ),
    # what the limits leave
    "corners-not-read": lambda: "the corners it is about have not been read",
    "under-the-gauge": lambda: "the step left is under what the gauge can tell",
    "no-minimum-known": lambda axle: f"no minimum and no placard is known for the {axle}",
    "no-maximum-known": lambda corner: f"no cold maximum is known for the {CORNER_NAMES[corner]} tyre",
    "held-down": _held_down,
    "held-up": _held_up,
    # cautions
    "maker": lambda: "The maker's figures and the cold maximum on the sidewall stand above this answer.",
    "no-car-file": lambda: "No car file is known for this number: no target and no limit either.",
    "no-floor": lambda axles: f"No minimum and no placard for the {' and '.join(axles)}: never a lower new setting.",
    "no-maximum": lambda: (
        "No cold maximum is known (read the sidewall): never above the cold plan, the placard or a cold setting "
        "logged before."
    ),
    "no-target-said": lambda target: f"No {target} target in the car file.",
    "doubt": lambda text: text if text.endswith("?") else f"{text}.",
    "threshold": lambda text: text,
    "leak": lambda why: f"Leak? {say(why)}.",
    "air-event": lambda why: f"{say(why)}.",
    "fresh-tyre": lambda corners: (
        f"Fitted or mended since it was read: {_corners(corners)}; set it cold as the plan says."
    ),
    "run-unfinished": lambda run: (
        f"Run {run} was not finished: the next is taken to warm them as a first run does, on what is left of their "
        "warmth, or more."
    ),
    "later-rows": lambda count: f"{count} rows bear a time later than now: they count as now.",
    "worked-out": lambda corners: f"Worked out, not read: {_corners(corners)}.",
    "gauge-off": lambda gauge, psi: (
        f"Gauge {gauge} reads {_n(abs(psi), 2)} psi {'high' if psi > 0 else 'low'}: both figures are as it reads."
    ),
    "different-gauges": lambda: "Today's readings are from different gauges: use one.",
    "todays-air": lambda air_c: f"Tomorrow's coldest air is not known (the event's page): {_n(air_c)} °C stands in.",
    "sea-level": lambda: "No altitude and no station pressure: sea level is assumed.",
    "warmed-anew": lambda surface, rises, within_psi: (
        f"a run on {'standing water' if surface == 'standing' else f'a {surface} surface'} warms them {_warms(rises)} "
        f"over what is left of their warmth: good to {within_psi:.1f} psi"
    ),
    "cooled-since": lambda age_min: (
        f"Read {age_min:.0f} min before the surface turned, and both figures are of then: the tyres have cooled, read "
        "them again and set by that."
    ),
    "let-out-hot": _let_out_hot,
    "over-as-read": lambda corners: (
        f"Over the cold maximum as read ({_corners(corners)}); how hot they are is not known: measure it, or let them "
        "cool."
    ),
    "parks-under-placard": lambda axles: (
        f"Parked cold the {' and '.join(axles)} will be under the placard, and no minimum is written."
    ),
    "dries": lambda hot: f"It dries: the way back to the dry target is still to be made ({axles(hot)} psi hot).",
    "road-caution": road_caution,
    "fault-open": lambda item, when: f"Open: {item.replace(': ', ' ')}, {when}.",
    "when-the-water-has-gone": lambda psi: f"When the water has gone, {psi:g} psi down again, to the wet target.",
    "when-it-dries": lambda: "When it dries, back to the dry target and the dry bars.",
    "rear-up-after": lambda psi: f"Rear {psi:g} psi up again after the first run, as grip comes.",
    "plan-under": lambda why: f"The plan is {say(why)}.",
    "under-placard": lambda axle, psi: f"under the {axle} placard of {_n(psi)} psi, and no minimum is written",
    "air-assumed": lambda air_c: f"No air temperature is known: {air_c:.0f} °C is assumed. Log the weather.",
    # what became of the air in a tyre
    "logged": lambda: "logged",
    "air-gained": lambda corner: f"{CORNER_NAMES[corner]}: air added and not logged, or not quite cold",
    "lost-between-colds": lambda corner, psi: f"{CORNER_NAMES[corner]} lost {_n(psi)} psi between two cold readings",
    "lost-against-mate": lambda corner, psi: (
        f"{CORNER_NAMES[corner]} lost {_n(psi)} psi against its axle mate since the last setting"
    ),
    "all-fell-alike": lambda: "all fell alike: let out and not logged, another gauge or colder air",
    "reads-too-little": lambda corner: f"{CORNER_NAMES[corner]} reads less {_LITTLE}: let out and not logged",
    "reads-too-much": lambda corner: f"{CORNER_NAMES[corner]} reads more {_LITTLE}: filled and not logged",
    # why there is no heat fit
    "too-few-readings": lambda count, fewest: (
        f"too few readings ({count} of {fewest} changes in a row with times and air temperatures)"
    ),
    "no-warming": lambda: "the readings show no warming in a run",
    "cooling-not-told": lambda: "the readings can't tell how fast the tyre cools: read again after a wait",
}
"""Every reason's sentence; the keywords are the reason's values."""

REASONS = frozenset(_SENTENCES)
"""The names that have a sentence."""
