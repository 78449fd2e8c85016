"""Tables after an edit: entrants whose runs it touches are scored anew and put in their places, the others stand."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

from paddock.engine.scoring.plain import scope, standings, tie_spares
from paddock.engine.scoring.tables import Basis, Standing, Standings, StandingsTable, by_number
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow

_MANY = 20
"""From so many entrants on all are scored."""


def standings_after(before: Event, found: Standings, event: Event) -> Standings | None:
    """``found``, the standings of ``before``, as they are for ``event``: equal to ``plain.standings`` of it.

    None where more than the runs of a few entrants is otherwise: then all of them are to be scored.
    """
    if before.settings is not event.settings or before.entrants is not event.entrants:
        return None
    old, new = before.times.by_number, event.times.by_number
    touched = [number for number, own in new.items() if old.get(number) is not own]
    touched += [number for number in old if number not in new]
    if len(touched) > _MANY or found.days != scope(event, found.day):
        return None
    for number in touched:
        entrant = event.entrant(number)
        if entrant is not None:
            alone = Event(
                event.name, event.settings, {EntrantRow.FILE: (entrant,), TimeRow.FILE: event.times_of(number)}
            )
            scored = standings(alone, found.day, found.days)
            tables = [
                _Table(event, table, found.days).with_row(own.rows[0]) if own.rows else table
                for table, own in zip(found.tables, scored.tables, strict=True)
            ]
            found = replace(found, tables=tuple(tables))
    return found


@dataclass(frozen=True, slots=True)
class _Table:
    event: Event
    table: StandingsTable
    days: Sequence[int]

    def with_row(self, row: Standing) -> StandingsTable:
        """With ``row``, scored alone, in the place of the one its number has."""
        rows = list(self.table.rows)
        was = next(at for at, other in enumerate(rows) if other.number == row.number)
        gone = rows.pop(was)
        ranked = bisect_left(rows, 1, key=lambda other: other.rank is None)
        if row.score_ms is None:
            now = bisect_left(rows, by_number(row.number), lo=ranked, key=lambda other: by_number(other.number))
        else:
            now = self._place(rows, ranked, row)
        rows.insert(now, row)
        ranked += row.score_ms is not None
        led = now == 0 or (was == 0 and gone.rank is not None)
        self._number(rows, 0 if led else min(was, now), ranked if led else max(was, now) + 1, ranked)
        return replace(self.table, rows=tuple(rows))

    def _place(self, rows: list[Standing], ranked: int, row: Standing) -> int:
        """Where it stands among those with a score; of equal ones by what splits the tie, then by number."""
        low = bisect_left(rows, self._key(row), hi=ranked, key=self._key)
        high = bisect_right(rows, self._key(row), lo=low, hi=ranked, key=self._key)
        alike = rows[low:high]
        spares = self._spares([row.number, *(other.number for other in alike)]) if alike else {}
        here = (spares.get(row.number, ()), by_number(row.number))
        return low + sum((spares[other.number], by_number(other.number)) < here for other in alike)

    def _number(self, rows: list[Standing], start: int, stop: int, ranked: int) -> None:
        """Ranks and gaps from ``start`` on, until ``stop`` is passed and neither place nor neighbour is another."""
        for at in range(start, ranked):
            row, ahead = rows[at], rows[at - 1] if at else None
            tied = ahead is not None and self._tied(ahead, row)
            if at > stop and not tied:
                return
            rank = ahead.rank if ahead is not None and tied else at + 1
            to_leader = self._gap(row, rows[0]) if at else 0
            to_next = None if ahead is None else self._gap(row, ahead)
            if (rank, to_leader, to_next) != (row.rank, row.gap_to_leader_ms, row.gap_to_next_ms):
                rows[at] = row._replace(rank=rank, gap_to_leader_ms=to_leader, gap_to_next_ms=to_next)

    def _key(self, row: Standing) -> tuple[int, int]:
        counted = -row.runs_counted if self.event.settings.rules.summed else 0
        return counted, cast("int", row.score_ms)

    def _tied(self, row: Standing, other: Standing) -> bool:
        return self._key(row) == self._key(other) and len(set(self._spares([row.number, other.number]).values())) == 1

    def _spares(self, numbers: Sequence[str]) -> dict[str, tuple[tuple[int, int], ...]]:
        if self.event.settings.rules.ties != "next-best":
            return dict.fromkeys(numbers, ())
        basis: Basis = self.table.scored_by
        return tie_spares(self.event, numbers, self.days, basis)

    def _gap(self, row: Standing, other: Standing) -> int | None:
        if self.event.settings.rules.summed and row.runs_counted != other.runs_counted:
            return None
        return cast("int", row.score_ms) - cast("int", other.score_ms)
