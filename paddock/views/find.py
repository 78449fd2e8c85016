"""What to find in one table, in words: a sentence, who is just above and below, and how fresh it all is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from paddock import words
from paddock.engine.scoring.gap import Gap, Seen
from paddock.engine.scoring.tables import Standing
from paddock.views.schedule import minutes_since

__all__ = ["Find", "find", "freshness"]


@dataclass(frozen=True, slots=True)
class Find:
    """``place``: my rank in words; ``find``: the answer; ``clean``: the time to drive; ``around``: neighbours."""

    table: str
    place: str
    find: str
    clean: str
    around: tuple[str, ...]
    waiting: str


def find(gap: Gap, number: str, decimals: int) -> Find:
    """The words for one table."""
    return Find(
        table=gap.table,
        place=_place(gap),
        find=_find(gap, number, decimals),
        clean=_clean(gap, decimals),
        around=_around(gap, number, decimals),
        waiting=_waiting(gap, decimals),
    )


def _place(gap: Gap) -> str:
    return "unranked" if gap.rank is None else f"{words.ordinal(gap.rank)} of {gap.seen.of}"


def _find(gap: Gap, number: str, decimals: int) -> str:
    leads = gap.rank == 1 and gap.leader_number == number
    if gap.still:
        return f"no run is left; {words.still_words(gap, decimals)}"
    if gap.find_raw_ms is None:
        return (gap.why or "") if gap.need_raw_ms is None else "no time of yours to compare"
    if leads:
        return f"you lead by {words.seconds(-gap.find_raw_ms, decimals)} raw" if gap.find_raw_ms < 0 else "you lead"
    if gap.drive_ms is not None and gap.drive_ms <= 0 < (gap.penalty_ms or 0):
        return "fast enough: lose the cones"
    return f"find {words.seconds(gap.find_raw_ms, decimals)} raw"


def _clean(gap: Gap, decimals: int) -> str:
    if gap.need_raw_ms is not None:
        return f"a clean {words.seconds(gap.need_raw_ms, decimals)} leads"
    if gap.average_need_raw_ms is not None:
        return f"average {words.seconds(gap.average_need_raw_ms, decimals)} leads"
    return ""


def _around(gap: Gap, number: str, decimals: int) -> tuple[str, ...]:
    lines = []
    if gap.leader_number and gap.leader_number != number:
        by = "" if gap.gap_ms is None else f" by {words.seconds(gap.gap_ms, decimals)}"
        lines.append(f"{gap.leader_number} leads{by}")
    if gap.above is not None and gap.above.number != gap.leader_number:
        lines.append(f"above: {_who(gap.above, gap.score_ms, decimals)}")
    if gap.below is not None:
        lines.append(f"below: {_who(gap.below, gap.score_ms, decimals)}")
    return tuple(lines)


def _who(other: Standing, mine_ms: int | None, decimals: int) -> str:
    apart = None if mine_ms is None or other.score_ms is None else other.score_ms - mine_ms
    return f"{other.number} {words.difference(apart, decimals)}"


def _waiting(gap: Gap, decimals: int) -> str:
    if not gap.waiting:
        return ""
    first = gap.waiting[0]
    lead = "" if first.lead_ms is None else f", {words.seconds(first.lead_ms, decimals)} ahead overnight"
    more = f" and {len(gap.waiting) - 1} more" if len(gap.waiting) > 1 else ""
    return f"yet to run today: {first.number}{lead}{more}"


def freshness(seen: Seen, now: datetime | None) -> str:
    """How much of the field is entered; ``now`` None: not today, so no age is given."""
    if seen.entrants == 0:
        return f"no rival's run entered yet ({seen.of} in class)"
    text = f"times in: {seen.entrants} of {seen.of}{words.missing_words(seen)}"
    text += f", through run {seen.through_run}" if seen.through_run else ""
    if seen.newest:
        age = (
            ""
            if now is None or minutes_since(seen.newest, now) < 0
            else f", {words.ago(minutes_since(seen.newest, now))}"
        )
        text += f", newest {seen.newest[:5]}{age}"
    return text
