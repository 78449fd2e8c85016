"""The chance to lead in words: one table after another, with what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from paddock import words
from paddock.engine.chances import Chances, TableChance, chances
from paddock.model.event import Event

__all__ = ["ChanceTable", "chance_tables", "luck_words", "share", "tables_of"]


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


def _one(name: str, found: TableChance) -> ChanceTable:
    if found.p_lead is None:
        return ChanceTable(name, found.runs_left, (), (), (), "", (), found.assumptions[0])
    rows = [("driven as so far", share(found.p_lead))]
    if found.runs_left:
        rows += [("a safe clean run next", share(found.p_lead_if_banked)),
                 ("a push next", share(found.p_lead_if_pushed))]  # fmt: skip
    return ChanceTable(
        name, found.runs_left, tuple(rows), tuple((item.number, share(item.p_ahead)) for item in found.rivals),
        tuple((item.what, share(item.p_lead)) for item in found.sensitivity), luck_words(found), found.assumptions, "",
    )  # fmt: skip


def chance_tables(event: Event, number: str, runs_left: int | None = None) -> tuple[ChanceTable, ...]:
    """Class and index. ``runs_left`` None: as the event says. UsageError for an unknown number."""
    return tuple(_one(name, found) for name, found in tables_of(chances(event, number, runs_left)))
