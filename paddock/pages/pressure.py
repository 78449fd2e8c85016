"""The answer about pressures laid out: the setting, the plan, what the heat is; ``reasons`` has the sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from paddock import words
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.cautions import road_figures, warmed_anew
from paddock.engine.pressure.corners import AXLES, Corners
from paddock.engine.pressure.heat import CarHeat
from paddock.engine.pressure.plan import AxlePlan, ColdPlan
from paddock.engine.pressure.readings import Reading
from paddock.model.rows import WALK
from paddock.model.units import from_psi, plain_number, pressure_label, said_in
from paddock.pages.at_home import road_words as for_the_road
from paddock.pages.document import Block, Column, PageTable, TableRow, paragraphs
from paddock.pages.document import words as words_line
from paddock.pages.reasons import RULE_WORDS, say, sign_says

_OPPOSED = "opposite-phases"
_MARKS = {"mark": "roll-over mark", "middle": "middle of the tread"}


@dataclass(frozen=True, slots=True)
class Told:
    """The words of an answer, its pressures in one unit. ``answered_by``: the rule in words.

    ``signs``: as in the JSON; ``passed``: name, words and why of every rule that did not answer.
    """

    reason: str
    answered_by: str
    cautions: tuple[str, ...]
    signs: tuple[dict[str, Any], ...]
    passed: tuple[tuple[str, str, str], ...]


def _named(moment: Moment) -> frozenset[str]:
    """The phases of opposite sign that answered."""
    kinds = [value for _, value in moment.reason.values] if moment.rule == _OPPOSED else []
    return frozenset(name for names in kinds if isinstance(names, tuple) for name in names)


def told(moment: Moment, unit: str = "psi") -> Told:
    """Everything an answer says, in ``unit``. A sign that the answer names counts, faint or not."""
    named = _named(moment)
    return Told(
        reason_words(moment, unit),
        RULE_WORDS[moment.rule],
        tuple(dict.fromkeys(said_in(say(item), unit) for item in moment.cautions)),
        tuple(
            {
                "sign": item.kind, "axle": item.axle, "value": said_in(item.value, unit),
                "says": said_in(sign_says(item), unit), "counts": item.counts or item.kind in named,
            }
            for item in moment.signs
        ),
        tuple((item.name, RULE_WORDS[item.name], said_in(say(item.why), unit)) for item in moment.passed_over),
    )  # fmt: skip


def reason_words(moment: Moment, unit: str = "psi") -> str:
    """Why the answer is what it is."""
    return said_in(say(moment.reason), unit)


def as_json(moment: Moment, unit: str = "psi") -> dict[str, Any]:
    """What ``paddock next`` says in JSON; all pressures, those of its sentences too, in ``unit``."""
    said = told(moment, unit)

    def there(psi: float) -> float:
        return from_psi(psi, unit)

    return {
        "action": moment.action,
        "moment": moment.name,
        "fresh": moment.fresh,
        "as_of": moment.as_of,
        "unit": unit,
        "now": None if moment.now is None else moment.now.map(there).as_dict(),
        "set": None if moment.set is None else moment.set.map(there).as_dict(),
        "rule": moment.rule,
        "reason": said.reason,
        "signs": list(said.signs),
        "passed_over": [{"rule": rule, "name": name, "why": why} for rule, name, why in said.passed],
        "cautions": list(said.cautions),
        "confidence": moment.confidence,
    }


def _pair(values: Corners | None, axle: str, unit: str) -> str:
    return "/".join(words.reading(None if values is None else values[corner], unit) for corner in AXLES[axle])


def _way(moment: Moment, axle: str) -> str:
    """let out, add, both or "" for an axle that stays."""
    now, moves = moment.now or Corners(), moment.moves
    by = [psi - before for corner in AXLES[axle] if (psi := moves.get(corner)) is not None
          and (before := now[corner]) is not None]  # fmt: skip
    found = [word for word, there in (("let out", min(by, default=0) < 0), ("add", max(by, default=0) > 0)) if there]
    return " and ".join(found) or ("set" if any(corner in moves for corner in AXLES[axle]) else "")


def _axle(moment: Moment, axle: str, unit: str, label: str = "") -> str:
    """``label``: of the unit, behind the figures."""
    now, way = _pair(moment.now, axle, unit), _way(moment, axle)
    if moment.now is None:
        return f"{axle} {_pair(moment.set, axle, unit)}{label}"
    return f"{axle} {now} -> {_pair(moment.set, axle, unit)}{label} {way}" if way else f"{axle} stays {now}{label}"


def next_line(moment: Moment, unit: str = "psi") -> str:
    """The whole answer in one line; left and right of an axle apart by a stroke, in ``unit``."""
    reason = words.capital(reason_words(moment, unit))
    if moment.action == "stop":
        return f"STOP. {reason}."
    if moment.action == "read":
        return f"Read. {reason}."
    if moment.action == "none":
        return f"{reason}."
    *first, last = AXLES
    label = f" {pressure_label(unit)}"
    axles = ", ".join([*(_axle(moment, axle, unit) for axle in first), _axle(moment, last, unit, label)])
    sure = f"Confidence {moment.confidence}"
    if moment.name == "day-done":
        return f"Tomorrow, cold: {axles}. {reason}. {sure}."
    if moment.action == "plan":
        return f"Set cold: {axles}. {reason}. {sure}."
    other = ", or hold" if moment.action == "set" and moment.rule != "limits" else ""
    lead = axles if moment.action == "set" else f"hold: {axles}"
    return f"{words.capital(lead)}. {reason}. {sure}{other}."


def set_words(moment: Moment, unit: str, walk: tuple[str, ...] = WALK) -> str:
    """``LF 36.5→34.0 RF 37.5→34.0, let out``: only the corners that move, in the order they are typed."""
    now, moves, ways = moment.now or Corners(), moment.moves, set[str]()
    parts = []
    for corner in walk:
        to = moves.get(corner)
        if to is None:
            continue
        before = now[corner]
        lead = "" if before is None else f"{words.reading(before, unit)}→"
        parts.append(f"{corner.upper()} {lead}{words.reading(to, unit)}")
        ways.add("" if before is None else "let out" if to < before else "add")
    said = " and ".join(sorted(way for way in ways if way))
    return "  ".join(parts) + (f", {said}" if said else "")


def headline(moment: Moment, unit: str, walk: tuple[str, ...] = WALK) -> tuple[str, str]:
    """What to do, and why, each short enough for a line: the first thing a page says."""
    reason = reason_words(moment, unit)
    if moment.action == "stop":
        return "STOP and look first", reason
    if moment.name in ("day-done", "event-done"):
        road = road_words(moment, unit)
        why = reason.replace(f"; {road}", "") if road else reason
        return evening_words(moment, unit, walk) if moment.name == "day-done" else road or "nothing to set", why
    if moment.moves:
        others = " and ".join(number for number, _ in moment.known.others_left)
        lead = f"set for {others}" if others else "set cold" if moment.action == "plan" else "set now"
        lead = lead if moment.known.here is None else f"set here, at {plain_number(moment.known.here.temp_c, 0)} °C"
        return f"{lead}: {set_words(moment, unit, walk)}", f"{reason} (confidence {moment.confidence})"
    if moment.action == "read":
        return "read the four corners", reason
    if moment.action == "plan":
        return "no cold plan", reason
    return {"none": "nothing to set", "hold": "hold"}.get(moment.action, moment.action), reason


def road_words(moment: Moment, unit: str) -> str:
    """After the last run of a car that is driven home: what to set for the road; "" = it isn't, or nobody said."""
    if not moment.known.event.settings.mine.driven_home:
        return ""
    return said_in(for_the_road(road_figures(moment.known)), unit)


def evening_words(moment: Moment, unit: str, walk: tuple[str, ...] = WALK) -> str:
    """After the day's last run: the road first where it is driven home, then tomorrow's plan; nothing is set now."""
    plan = f"tomorrow, cold: {set_words(moment, unit, walk)}" if moment.moves else "no cold plan for tomorrow"
    return "; ".join(filter(None, (road_words(moment, unit), plan)))


def which_reading(reading: Reading) -> str:
    """``after run 3``."""
    return reading.moment + (f" run {reading.row.run}" if reading.row.run else "")


def read_last_words(moment: Moment) -> str:
    """Which reading was the last of a day that is done, and how old it is; "" = there is none."""
    if moment.read_last is None:
        return ""
    age = moment.known.age_min
    return f"read last {which_reading(moment.read_last)}" + (f", {words.ago(age)}" if age is not None else "")


def later_words(moment: Moment, unit: str, walk: tuple[str, ...] = WALK) -> tuple[str, ...]:
    """What was read last on a day that is done; what the next reading will probably be, and what would change the
    answer.
    """
    found = []
    if moment.read_last is not None:
        found.append(f"{read_last_words(moment)}: {corner_words(moment.read_last.shown, unit, walk)}")
    expected = corner_words(moment.expected, unit, walk)
    if expected:
        when = "expected now" if moment.name == "ran" else "after the next run they read about"
        warm = warmed_anew(moment.known) if moment.name != "ran" else None
        builds = ", as heat builds up" if moment.known.builds_up and moment.name != "ran" else ""
        found.append(f"{when} {expected}{builds}" + (f"; {said_in(say(warm), unit)}" if warm is not None else ""))
    changes = {
        "before": "a cold reading, other weather or another surface" if moment.known.clock.clocked else
                  "four readings, indoors with the temperature there (t15); another forecast",
        "cold-read": "other weather, another surface or a run",
        "read": "a new reading, a run, another surface", "gauge-first": "the run's own line: time, balance, marks",
        "set": "a reading or a run", "odd-corner": "a second reading of that corner", "stale": "a new reading",
        "ran": "a reading", "unsafe": "the work on it ticked off", "day-done": "another forecast for tomorrow",
        "event-done": "",
    }[moment.name]  # fmt: skip
    if changes:
        found.append(f"what would change this: {changes}")
    return tuple(found)


def corner_words(found: Corners, unit: str, walk: tuple[str, ...] = WALK) -> str:
    """``LF 34.0  RF 34.5 …``; "" where no corner is known."""
    known = found.as_dict()
    return "  ".join(f"{name.upper()} {words.reading(known[name], unit)}" for name in walk if known[name] is not None)


def _planned(plan: AxlePlan, unit: str, offset_psi: float, wider: float) -> str:
    def shown(psi: float | None) -> str:
        return words.reading(None if psi is None else psi + offset_psi, unit)

    if plan.cold_psi is None:
        return f"{plan.axle}: {said_in(say(plan.why), unit) if plan.why else ''}"
    spread = ""
    if plan.low_psi is not None and plan.high_psi is not None and not plan.capped:
        low, high = (plan.cold_psi + wider * (end - plan.cold_psi) for end in (plan.low_psi, plan.high_psi))
        spread = f" ({shown(low)} to {shown(high)})"
    why = f" ({said_in(say(plan.why), unit)})" if plan.why else ""
    return f"{plan.axle} {shown(plan.cold_psi)} cold{spread} for {shown(plan.hot_psi)} hot{why}"


def plan_line(plan: ColdPlan, unit: str = "psi", offset_psi: float = 0.0, wider: float = 1.0) -> str:
    """The cold plan in one line; ``offset_psi``: what the gauge in use reads too high; ``wider``: how many times wider
    its ranges are told, for so the own record of first runs says.
    """
    air = plain_number(plan.air_c, 0)
    axles = ", ".join(_planned(plan.of(axle), unit, offset_psi, wider) for axle in AXLES)
    said = f" Ranges {wider:.1f} times as wide: by your own record they were too narrow." if wider > 1.0 else ""
    return f"First run at {air} C: {axles} {pressure_label(unit)}.{said}"


def plan_in_short(plan: ColdPlan, unit: str = "psi", offset_psi: float = 0.0) -> str:
    """``28.5/26.0``, front and rear cold, short enough for a message; "" = neither axle can be told."""
    known = [plan.of(axle).cold_psi for axle in AXLES]
    if not any(psi is not None for psi in known):
        return ""
    return "/".join(words.reading(None if psi is None else psi + offset_psi, unit) for psi in known)


def heat_lines(heat: CarHeat, unit: str = "psi") -> list[str]:
    """The fit of each axle with its ranges, or why there is none."""
    found = []
    for axle, item in heat.axles.items():
        fit = item.fit
        if fit is None:
            rise = "and no rise in a run has been read"
            if item.last_rise_psi is not None:
                rise = said_in(f"the last rise stands in ({item.last_rise_psi:+.1f} psi)", unit)
            found.append(f"{axle}: {say(item.why) if item.why else ''}; {rise}")
            continue
        high = "no upper end" if fit.tau_high is None else f"{fit.tau_high:.0f}"
        cools = f"cools by two thirds in {fit.tau_min:.0f} min ({fit.tau_low:.0f} to {high})"
        warms = f"a run warms it {fit.rise_k:.0f} K ({fit.rise_low:.0f} to {fit.rise_high:.0f})"
        found.append(f"{axle}: {cools}, {warms}; {fit.pairs} changes, scatter {fit.noise_k:.1f} K")
    return found


def sign_rows(said: Told) -> tuple[tuple[str, str, str], ...]:
    """Every sign: where, what was seen, what it says; those that are too faint to count say so."""
    return tuple(
        (
            " ".join(filter(None, (item["axle"], _MARKS.get(item["sign"], item["sign"])))),
            item["value"],
            _sign_words(said, item),
        )
        for item in said.signs
    )


def _sign_words(said: Told, item: Mapping[str, Any]) -> str:
    if not item["counts"]:
        return f"{item['says']}; doesn't count"
    beside = said.answered_by == RULE_WORDS[_OPPOSED] and item["value"] in {"-1", "+1"}
    return f"{item['says']}{'; counts beside a clear one of opposite sign' if beside else ''}"


def passed_rows(said: Told) -> tuple[tuple[str, str], ...]:
    """Every rule that was tried before the one that answered, and why not."""
    return tuple((name, why) for _, name, why in said.passed)


def why_blocks(moment: Moment, unit: str = "psi") -> tuple[Block, ...]:
    """Every sign, every rule that was passed over, and the heat the answer rests on."""
    said = told(moment, unit)
    signs = tuple(TableRow(row) for row in sign_rows(said))
    passed = tuple(TableRow(row) for row in passed_rows(said))
    return (
        words_line(f"The moment is {moment.name}; answered by: {said.answered_by}."),
        PageTable(
            (Column("sign"), Column("value"), Column("says")), signs, empty="No signs were logged for the last run."
        ),
        PageTable((Column("passed over"), Column("why")), passed, empty="No rule was passed over."),
        *paragraphs(heat_lines(moment.known.heat, unit)),
    )
