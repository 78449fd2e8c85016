"""What to find: in class and on index, in my own raw seconds, who is around me, and how fresh that is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from paddock.engine.clock.when import minutes_since
from paddock.engine.scoring.gap import Freshness, Gap, GapAnswer
from paddock.engine.scoring.tables import Standing, days_run
from paddock.model.event import Event
from paddock.pages.document import Block, Document, Heading, words
from paddock.words import ago, difference, ordinal, seconds

_FEW = 3
"""Up to so many numbers are named, more are counted."""


@dataclass(frozen=True, slots=True)
class Find:
    """One table in short. ``place``: my rank; ``find``: the answer; ``clean``: the time to drive.

    ``around``: neighbours; ``waiting``: who has yet to run today, ahead overnight.
    """

    table: str
    place: str
    find: str
    clean: str
    around: tuple[str, ...]
    waiting: str


def gap_page(event: Event, found: GapAnswer) -> Document:
    """The whole answer: class, then index."""
    entrant, decimals = event.entrant(found.number), event.settings.rules.decimals
    who = f"{found.number} {(entrant.driver if entrant else '') or ''}".rstrip()
    done = all(gap.runs_left == 0 for gap in (found.class_, found.index) if gap is not None)
    more = "no run left" if done else "one more run"
    blocks: list[Block] = [words((f"{who}, {more} on day {found.day}{_scope(event)}", "strong"), hang=2)]
    for gap in (found.class_, found.index):
        if gap is not None:
            blocks += [
                Heading("on index" if gap.table == "index" else f"in {gap.table}"),
                *_told(gap, found.number, decimals),
            ]
    return Document("gap", tuple(blocks))


def _scope(event: Event) -> str:
    rules, days = event.settings.rules, days_run(event)
    if len(days) < 2 or rules.days == "separate":
        return ""
    listed = " and ".join(str(day) for day in days)
    return f"; scores are {'the better of' if rules.days == 'best' else 'the sum of'} days {listed}"


def _told(gap: Gap, number: str, decimals: int) -> list[Block]:
    short = find(gap, number, decimals)
    place = short.place if gap.rank is None else f"{short.place} with {seconds(gap.score_ms, decimals)}"
    answer = ": ".join(part for part in (short.clean, short.find) if part)
    lines = [
        place,
        answer + _split(gap, decimals),
        "; ".join(short.around),
        *_all_waiting(gap, decimals),
        freshness(gap.seen, None),
    ]
    return [words((text, "strong") if text.startswith(answer) and answer else text, hang=2) for text in lines if text]


def find(gap: Gap, number: str, decimals: int) -> Find:
    """The words for one table."""
    return Find(
        table=gap.table,
        place="no score yet" if gap.rank is None else f"{ordinal(gap.rank)} of {gap.seen.of}",
        find=_find(gap, number, decimals),
        clean=_clean(gap, decimals),
        around=_around(gap, number, decimals),
        waiting=_waiting(gap, decimals),
    )


def _find(gap: Gap, number: str, decimals: int) -> str:
    leads = gap.rank == 1 and gap.leader_number == number
    if gap.still:
        return f"no run is left; {_still(gap, decimals)}"
    if gap.find_raw_ms is None:
        return (gap.why or "") if gap.need_raw_ms is None else "no time of yours to compare"
    if leads:
        return f"you lead by {seconds(-gap.find_raw_ms, decimals)} raw" if gap.find_raw_ms < 0 else "you lead"
    if gap.drive_ms is not None and gap.drive_ms <= 0 < (gap.penalty_ms or 0):
        return "fast enough: lose the cones"
    return f"find {seconds(gap.find_raw_ms, decimals)} raw"


def _clean(gap: Gap, decimals: int) -> str:
    if gap.need_raw_ms is not None:
        return f"a clean {seconds(gap.need_raw_ms, decimals)} leads"
    if gap.average_need_raw_ms is not None:
        return f"average {seconds(gap.average_need_raw_ms, decimals)} leads"
    return ""


def _split(gap: Gap, decimals: int) -> str:
    """How much of it is driving and how much penalties; what I drove where that was fast enough."""
    if gap.need_raw_ms is None or gap.drive_ms is None or not gap.penalty_ms:
        return ""
    if gap.drive_ms <= 0:
        return f" (you drove {seconds(gap.need_raw_ms + gap.drive_ms, decimals)})"
    return f" ({seconds(gap.drive_ms, decimals)} by driving, {seconds(gap.penalty_ms, decimals)} in penalties)"


def _still(gap: Gap, decimals: int) -> str:
    """Who can still come past me, where I have no run left."""
    first = gap.still[0]
    runs = "a run" if first.runs == 1 else f"{first.runs} runs"
    behind = "" if first.behind_ms is None else f", {seconds(first.behind_ms, decimals)} behind"
    more = f", and {len(gap.still) - 1} more" if len(gap.still) > 1 else ""
    return f"{first.number} has {runs} left{behind}{more}"


def _around(gap: Gap, number: str, decimals: int) -> tuple[str, ...]:
    lines = []
    if gap.leader_number and gap.leader_number != number:
        by = "" if gap.gap_ms is None else f" by {seconds(gap.gap_ms, decimals)}"
        lines.append(f"{gap.leader_number} leads{by}")
    if gap.above is not None and gap.above.number != gap.leader_number:
        lines.append(f"above: {_who(gap.above, gap.score_ms, decimals)}")
    if gap.below is not None:
        lines.append(f"below: {_who(gap.below, gap.score_ms, decimals)}")
    return tuple(lines)


def _who(other: Standing, mine_ms: int | None, decimals: int) -> str:
    apart = None if mine_ms is None or other.score_ms is None else other.score_ms - mine_ms
    return f"{other.number} {difference(apart, decimals)}"


def _waiting(gap: Gap, decimals: int) -> str:
    if not gap.waiting:
        return ""
    more = f" and {len(gap.waiting) - 1} more" if len(gap.waiting) > 1 else ""
    return _all_waiting(gap, decimals)[0] + more


def _all_waiting(gap: Gap, decimals: int) -> list[str]:
    return [
        f"yet to run today: {item.number}"
        + ("" if item.lead_ms is None else f", {seconds(item.lead_ms, decimals)} ahead overnight")
        for item in gap.waiting
    ]


def freshness(seen: Freshness, now: datetime | None) -> str:
    """How much of the field is entered: a gap from half-entered rivals lies. ``now`` None: no age is given."""
    carried = f"; {seen.carried} carried, not seen here yet" if seen.carried else ""
    if seen.of == 1 and seen.without_class:
        return f"nobody else is in it: {seen.without_class} with times have no class yet{carried}"
    if seen.of < 2:
        return f"nobody else is entered{carried}" if seen.of else ""
    if seen.entrants == 0:
        return f"no rival's run entered yet ({seen.of} in class){carried}"
    missing = f" (not {', '.join(seen.missing)})" if 0 < len(seen.missing) <= _FEW else ""
    text = f"times in: {seen.entrants} of {seen.of}{missing}"
    text += f", through run {seen.through_run}" if seen.through_run else ""
    if seen.newest:
        since = -1.0 if now is None else minutes_since(seen.newest, now)
        text += f", newest {seen.newest[:5]}" + (f", {ago(since)}" if since >= 0 else "")
    return text + carried
