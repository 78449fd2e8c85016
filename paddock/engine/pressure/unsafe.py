"""Rules 1 and 2: stop and inspect, and the hard limits. Nothing stands above them."""

from __future__ import annotations

import re
from collections.abc import Iterable

from paddock.engine.corners import CORNER_NAMES
from paddock.engine.pressure.rules import Proposal
from paddock.engine.pressure.situation import Situation
from paddock.engine.readings.timeline import CarRun
from paddock.model.event import Event
from paddock.model.kinds import plain_number
from paddock.model.rows import CORNERS, WorkRow

__all__ = ["limits", "stop", "work_done"]

_WORD = re.compile(r"[^\W\d_]{3,}")
_EMPTY = {"the", "and", "for", "with", "from", "run", "under", "over", "left", "right", "front", "rear", "yes"}


def _words(text: str) -> set[str]:
    return {word.lower() for word in _WORD.findall(text)} - _EMPTY


def _opened(row: WorkRow, event: Event) -> tuple[int, int] | None:
    """Day and run a row was opened at, where it says so; run 0 where only the day is known."""
    text = row.opened or ""
    for day, date in enumerate(event.settings.days, 1):
        if date.isoformat() in text:
            return day, 0
    found = re.fullmatch(r"(?:day|d)?\s*(\d{1,2})(?:\D+(\d{1,2}))?", text.strip(), re.IGNORECASE)
    return (int(found[1]), int(found[2] or 0)) if found else None


def _is_for(row: WorkRow, run: CarRun, words: Iterable[str], event: Event) -> bool:
    """A worklist row is for what was seen where it shares a word with it, or names the run as unsafe."""
    text = " ".join(part for part in (row.item, row.reason, row.note) if part)
    opened = _opened(row, event)
    if opened is not None and (opened[0] < run.day or (opened[0] == run.day and 0 < opened[1] < run.run)):
        return False
    same_run = opened == (run.day, run.run)
    return bool(_words(text) & set(words)) or "unsafe" in text.lower() or same_run


def work_done(event: Event, run: CarRun, seen: str) -> bool:
    """Whether a worklist row for what was seen in a run is done, and none for it still open."""
    rows = [row for row in event.of(WorkRow) if _is_for(row, run, _words(seen), event)]
    done = [bool(row.done) and (row.done or "").strip().lower() not in {"no", "n", "false", "0", "-"} for row in rows]
    return bool(done) and all(done)


def _impossible(s: Situation) -> str:
    corners = [corner for corner in CORNERS if corner in s.bound and s.bound[corner].impossible]
    if not corners:
        return ""
    names = ", ".join(CORNER_NAMES[corner] for corner in corners)
    return f"minimum and cold maximum can't both be met ({names}): look at the tyre, the limits and the forecast"


def _fallen(s: Situation) -> str:
    """Sudden falls of one corner since the last run began, until work on them is done."""
    runs = len(s.car_log.runs)
    for fall in s.track.falls:
        if fall.reading.timed.runs_before != runs or fall.psi <= s.thresholds.sudden_fall_psi:
            continue
        name = CORNER_NAMES[fall.corner]
        seen = f"{name} {fall.corner} puncture leak valve sudden fall"
        if s.last is None or not _worked_on(s, s.last, fall.corner, seen):
            return f"{name} fell {plain_number(fall.psi, 1)} psi against its mate: look for a cut, a nail, the valve"
    return ""


def _worked_on(s: Situation, run: CarRun, corner: str, seen: str) -> bool:
    named = {corner, CORNER_NAMES[corner]}
    words = _words(seen)
    rows = [
        row for row in s.event.of(WorkRow)
        if any(name in _text(row) for name in named) or _is_for(row, run, words, s.event)
    ]  # fmt: skip
    return bool(rows) and all(bool(row.done) for row in rows)


def _text(row: WorkRow) -> str:
    return " ".join(part for part in (row.item, row.reason, row.note) if part).lower()


def stop(s: Situation) -> Proposal | str:
    """Rule 1."""
    run = next((item for item in reversed(s.car_log.run_rows()) if item.log is not None), None)
    seen = run.log.unsafe if run and run.log else None
    if run and seen and not work_done(s.event, run, seen):
        return Proposal("stop", f"unsafe: {seen}. Stop and inspect; no setup advice until its worklist row is done", {})
    found = _fallen(s) or _impossible(s)
    if found:
        return Proposal("stop", f"stop and inspect: {found}", {})
    return "nothing unsafe was logged" if not seen else "the worklist row for it is done"


def _inside(s: Situation, corner: str, now: float) -> float:
    """Inside the limit that is crossed, by at least what the gauge can tell where there is room."""
    bound = s.bound[corner]
    if bound.high is not None and now > bound.high:
        return max(min(bound.high, now - s.min_psi), bound.low if bound.low is not None else 0.0)
    low = bound.low if bound.low is not None else now
    return bound.clamp(max(low, now + s.min_psi))


def _outside(s: Situation, corner: str, now: float) -> str:
    """``over``, ``under`` or "" for inside."""
    bound = s.bound[corner]
    if bound.high is not None and now > bound.high + 1e-9:
        return "over"
    return "under" if bound.low is not None and now < bound.low - 1e-9 else ""


def limits(s: Situation) -> Proposal | str:
    """Rule 2: outside the limits: inside them. A raise without a known cold maximum is never suggested: stop."""
    now = s.now.known()
    out = {corner: side for corner, psi in now.items() if (side := _outside(s, corner, psi))}
    blocked = [corner for corner, side in out.items() if side == "under" and s.bound[corner].no_raise]
    if blocked:
        reason = f"under the minimum ({_names(blocked)}) and no cold maximum is known: read the sidewall, then add"
        return Proposal("stop", reason, {})
    if not out:
        return "inside the limits as far as they are known" if now else "nothing has been read"
    limit = {"over": "cold maximum", "under": "minimum"}
    words = [
        f"{side} the {limit[side]} ({_names(corner for corner in out if out[corner] == side)})"
        for side in limit if side in out.values()
    ]  # fmt: skip
    wanted = {corner: _inside(s, corner, now[corner]) for corner in out}
    return Proposal("limits", f"{' and '.join(words)}: inside the limits first", wanted)


def _names(corners: Iterable[str]) -> str:
    return ", ".join(CORNER_NAMES[corner] for corner in corners)
