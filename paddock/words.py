"""Numbers to words, for commands and screens alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from paddock.model.kinds import format_time, plain_number
from paddock.model.units import from_psi

if TYPE_CHECKING:
    from paddock.engine.clock import AsOf
    from paddock.engine.scoring.gap import Gap, Seen

__all__ = [
    "ago", "as_of", "balance", "by_edge", "difference", "find_sentence", "fresh_sentence", "gap_sentences",
    "missing_words", "ordinal", "plural", "pressure", "run_text", "runs_left", "seconds", "still_words", "torque",
]  # fmt: skip

_SIDES = {0: "neutral", 1: "slight", 2: "clear", 3: "strong"}


def seconds(ms: int | None, decimals: int = 3) -> str:
    """``46.512``; a dash where there is none."""
    return "-" if ms is None else format_time(ms, decimals)


def difference(ms: int | None, decimals: int = 3) -> str:
    """A signed difference: ``-0.312`` is faster."""
    if ms is None:
        return "-"
    return ("+" if ms > 0 else "") + (format_time(ms, decimals) if ms else format_time(0, decimals))


def hundredths(ms: float) -> str:
    """A signed difference as the sentences round it: ``-0.31``; under half a hundredth ``0.00``."""
    whole = round(ms / 10)
    return f"{whole / 100:+.2f}" if whole else "0.00"


def run_text(raw_ms: int | None, cones: int, status: str | None, decimals: int = 3) -> str:
    """A run as results are written: ``46.512+1``, ``46.512 dnf``, ``dns``."""
    parts = [] if raw_ms is None else [seconds(raw_ms, decimals) + (f"+{cones}" if cones else "")]
    return " ".join([*parts, *([status] if status else [])]) or "-"


def pressure(psi: float | None, unit: str = "psi") -> str:
    """A gauge pressure with the decimals of its unit, without the unit's name."""
    if psi is None:
        return "-"
    return plain_number(from_psi(psi, unit), {"psi": 1, "kpa": 0, "bar": 2}[unit])


def balance(value: int | None) -> str:
    """``u2`` understeer, ``0`` neutral, ``o1`` oversteer: as it is typed."""
    if value is None:
        return "-"
    return "0" if value == 0 else ("u" if value < 0 else "o") + str(abs(value))


def plural(count: int, one: str, many: str | None = None) -> str:
    """``1 run``, ``2 runs``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def as_of(moment: AsOf) -> str:
    """``as of Sun 12:58``; only the weekday where no clock is known; "" where it is simply now."""
    if moment.source == "clock":
        return ""
    day = _WEEKDAYS[moment.time.weekday()]
    return f"as of {day} {moment.time:%H:%M}" if moment.clocked else f"as of {day}"


def ago(minutes: float) -> str:
    """``3 min ago``, ``2 h ago``."""
    return f"{minutes:.0f} min ago" if minutes < 90 else f"{minutes / 60:.0f} h ago"


def _place(gap: Gap, decimals: int) -> str:
    where = "on index" if gap.table == "index" else f"in {gap.table}"
    if gap.rank is None:
        return f"{where}: no score yet"
    score = f"{where}: place {gap.rank} with {seconds(gap.score_ms, decimals)}"
    return score if not gap.gap_ms else f"{score}, {seconds(gap.gap_ms, decimals)} behind {gap.leader_number}"


def find_sentence(gap: Gap, decimals: int = 3) -> str:
    """What to find in one table, in raw seconds."""
    if gap.average_need_raw_ms is not None:
        return f"the runs left must average {seconds(gap.average_need_raw_ms, decimals)} clean to lead"
    if gap.need_raw_ms is None:
        return gap.why or "nothing to find"
    need = f"a clean {seconds(gap.need_raw_ms, decimals)} leads"
    if gap.find_raw_ms is None:
        return f"{need} ({gap.why})" if gap.why else need
    if gap.find_raw_ms <= 0:
        return f"{need}: you lead by {seconds(-gap.find_raw_ms, decimals)} raw"
    if gap.drive_ms is not None and gap.drive_ms <= 0:
        driven = seconds(gap.need_raw_ms + gap.drive_ms, decimals)
        return f"{need}: you drove {driven}, so you are fast enough: lose the penalty"
    return f"{need}: find {seconds(gap.find_raw_ms, decimals)} raw" + _split(gap, decimals)


def _split(gap: Gap, decimals: int) -> str:
    if not gap.penalty_ms:
        return ""
    return f" ({seconds(gap.drive_ms, decimals)} by driving, {seconds(gap.penalty_ms, decimals)} in penalties)"


_FEW = 3


def missing_words(seen: Seen) -> str:
    """`` (not 99)``: whose times are missing, where they are few; "" otherwise."""
    return f" (not {', '.join(seen.missing)})" if 0 < len(seen.missing) <= _FEW else ""


def still_words(gap: Gap, decimals: int = 3) -> str:
    """``71 has a run left, 0.260 behind, and 2 more``: who can still come past me; "" where I have runs myself."""
    if not gap.still:
        return ""
    first = gap.still[0]
    runs = "a run" if first.runs == 1 else f"{first.runs} runs"
    behind = "" if first.behind_ms is None else f", {seconds(first.behind_ms, decimals)} behind"
    more = f", and {len(gap.still) - 1} more" if len(gap.still) > 1 else ""
    return f"{first.number} has {runs} left{behind}{more}"


def fresh_sentence(gap: Gap) -> str:
    """How fresh the table is: a gap from half-entered rivals lies."""
    seen = gap.seen
    words = f"times in: {seen.entrants} of {seen.of}{missing_words(seen)}"
    if seen.through_run is not None:
        words += f", all through run {seen.through_run}"
    return words + (f", newest {seen.newest}" if seen.newest else "")


def gap_sentences(gap: Gap, decimals: int = 3) -> list[str]:
    """The whole answer of one table, a line each."""
    lines = [_place(gap, decimals), f"  {find_sentence(gap, decimals)}"]
    lines += [f"  {text}" for text in (still_words(gap, decimals),) if text]
    lines.append(f"  {fresh_sentence(gap)}")
    for item in gap.waiting:
        lead = "" if item.lead_ms is None else f", {seconds(item.lead_ms, decimals)} ahead overnight"
        lines.append(f"  {item.number} has not run today{lead}")
    return lines


def ordinal(rank: int) -> str:
    """``1st``, ``2nd``, ``11th``."""
    ending = "th" if rank % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(rank % 10, "th")
    return f"{rank}{ending}"


def torque(newton_metres: float) -> str:
    """``40 N·m``."""
    return f"{plain_number(newton_metres, 1)} N·m"


def runs_left(runs: float | None, low: float | None, high: float | None) -> str:
    """``62 (48-85)``; ``48+`` where there is no upper end; a dash where nothing is known. Whole runs, rounded down."""
    if runs is None:
        return "-"
    whole, least, most = (None if value is None else int(value + 1e-9) for value in (runs, low or 0.0, high))
    return f"{whole} ({least}+)" if most is None else f"{whole} ({least}-{most})"


def by_edge(values: Iterable[float | None], places: int) -> str:
    """Inner, middle and outer edge: ``5.1/5.4/4.2``."""
    return "/".join("-" if value is None else f"{value:.{places}f}" for value in values)


def reading(psi: float | None, unit: str = "psi") -> str:
    """A gauge reading with fixed decimals, so that columns line up: ``46.0``."""
    if psi is None:
        return "-"
    places = {"psi": 1, "kpa": 0, "bar": 2}[unit]
    text = plain_number(from_psi(psi, unit), places)
    whole, _, part = text.partition(".")
    return whole + (f".{part.ljust(places, '0')}" if places else "")


def pressure_difference(psi: float | None, unit: str = "psi") -> str:
    """A signed difference of pressures: ``+1.5`` is over."""
    text = reading(psi, unit)
    return f"+{text}" if psi is not None and psi > 0 and text.strip("0.") else text.replace("-0.0", "0.0")
