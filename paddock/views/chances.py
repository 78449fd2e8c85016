"""The chance to lead in words: one table after another, with what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from paddock import words
from paddock.engine.field.chances import Chances, TableChance, chances
from paddock.model.event import Event

__all__ = ["ChanceTable", "chance_tables", "luck_words", "next_rows", "range_words", "share", "tables_of"]


@dataclass(frozen=True, slots=True)
class ChanceTable:
    """``rows``: what, and the chance; ``rivals`` and ``other`` (if an assumption were different) likewise.

    ``why``: why nothing can be said, "" otherwise; ``rests``: the assumptions.
    """

    name: str
    runs_left: int
    rows: tuple[tuple[str, str], ...]
    rivals: tuple[tuple[str, str], ...]
    other: tuple[tuple[str, str], ...]
    luck: str
    rests: tuple[str, ...]
    why: str


def share(value: float | None) -> str:
    """``39 %``; a chance that isn't sure is never shown as 0 or 100."""
    if value is None:
        return "-"
    return "under 1 %" if 0 < value < 0.01 else "over 99 %" if 0.99 < value < 1 else f"{100 * value:.0f} %"


def luck_words(found: TableChance) -> str:
    """How much of the present gap is pace and how much luck; "" where that can't be told."""
    luck = found.luck
    if luck is None:
        return ""
    gap, pace = luck.gap_ms, round(luck.pace_ms)
    return (
        f"{luck.number} is {words.seconds(abs(gap))} {'ahead' if gap > 0 else 'behind'}: by pace alone you would be "
        f"{words.seconds(abs(pace))} {'behind' if pace > 0 else 'ahead'}; luck and cones "
        f"{'cost' if gap > pace else 'gave'} you {words.seconds(abs(gap - pace))}"
    )


def tables_of(found: Chances) -> tuple[tuple[str, TableChance], ...]:
    """Class and index with their names."""
    return ((f"class {found.class_name}" if found.class_name else "class", found.class_), ("index", found.index))


def range_words(found: TableChance) -> str:
    """`` (3 to 56 % as your pace may be)``; "" where it is no wider than the figure shown."""
    if found.p_range is None or found.p_range[1] - found.p_range[0] < 0.02:
        return ""
    low, high = (f"{100 * value:.0f}" for value in found.p_range)
    return f" ({low} to {high} % as your pace may be)"


def next_rows(found: TableChance) -> list[tuple[str, str]]:
    """A safe run and a push next, as far as my own record shows what they do."""
    if not found.runs_left or found.p_lead is None:
        return []
    if not found.evidence:
        return [("a safe run or a push next", "no evidence")]
    safe = (f"a safe run next{', level' if found.level else ''}", share(found.p_lead_if_banked))
    return [safe, (f"a push next{', level' if found.level else ''}", share(found.p_lead_if_pushed))]


def _one(name: str, found: TableChance) -> ChanceTable:
    if found.p_lead is None:
        return ChanceTable(name, found.runs_left, (), (), (), "", (), found.assumptions[0])
    rows = [("driven as so far", share(found.p_lead))]
    if range_words(found):
        rows.append(("as my pace may be", range_words(found).strip(" ()").split(" as ")[0]))
    rows += next_rows(found)
    return ChanceTable(
        name, found.runs_left, tuple(rows), tuple((item.number, share(item.p_ahead)) for item in found.rivals),
        tuple((item.what, share(item.p_lead)) for item in found.sensitivity), luck_words(found), found.assumptions, "",
    )  # fmt: skip


def chance_tables(event: Event, number: str, runs_left: int | None = None) -> tuple[ChanceTable, ...]:
    """Class and index. ``runs_left`` None: as the event says. UsageError for an unknown number."""
    return tuple(_one(name, found) for name, found in tables_of(chances(event, number, runs_left)))
