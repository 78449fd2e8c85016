"""The season in words and tables."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from paddock.commands.table import table
from paddock.engine.outlook import Need, Outlook, Stake
from paddock.engine.season import EventPoints, SeasonRow, SeasonTable
from paddock.seasons import SeasonView
from paddock.words import plural, seconds

__all__ = ["season_text"]

TOP, AROUND = 10, 2


def season_text(view: SeasonView, written: Sequence[str] = ()) -> str:
    """Points by table, my events, what is left, my runs and changes in short, what was left out."""
    parts = [_head(view)]
    parts += [_points(item, view) for item in view.tables]
    parts += [_outlook(item) for item in view.outlooks if item.stakes]
    parts += [_runs(view), _fees(view)]
    parts += [f"{problem}" for problem in view.problems]
    parts += [f"written: {line}" for line in written]
    return "\n\n".join(part for part in parts if part)


def _head(view: SeasonView) -> str:
    left = f", {len(view.left)} booked to come" if view.left else ""
    return f"{view.name}: {plural(len(view.events), 'event')} read, {len(view.held)} with results{left}"


def _figure(value: Decimal) -> str:
    return f"{value.normalize():f}" if value else "0"


def _points(found: SeasonTable, view: SeasonView) -> str:
    counted = "all scores count" if found.limit is None else f"the best {found.limit} count"
    rows = [
        _row(row, view) if isinstance(row, SeasonRow) else [f"{row}", "…", "", "", ""] for row in _shown(found, view)
    ]
    head = f"{found.name}: {counted}"
    whole = [head, table(("", "driver", "number", "points", "counted"), rows, right=(0, 3))]
    whole += [_mine(row, view) for row in found.rows if row.driver in view.mine]
    return "\n".join(whole)


def _row(row: SeasonRow, view: SeasonView) -> list[str]:
    me = " (me)" if row.driver in view.mine else ""
    counted = f"{sum(item.counts for item in row.events)} of {len(row.events)}"
    return [f"{row.rank}", row.driver + me, row.number, _figure(row.points), counted]


def _shown(found: SeasonTable, view: SeasonView) -> list[SeasonRow | str]:
    """The top, and what is around me; in place of the others a blank. ``--json`` has them all."""
    mine = [at for at, row in enumerate(found.rows) if row.driver in view.mine]
    near = {*range(TOP), *(spot for at in mine for spot in range(at - AROUND, at + AROUND + 1))}
    shown: list[SeasonRow | str] = []
    for at, row in enumerate(found.rows):
        if at in near:
            shown.append(row)
        elif not shown or shown[-1] != "":
            shown.append("")
    return shown


def _mine(row: SeasonRow, view: SeasonView) -> str:
    names = {folder: event.settings.name or folder for folder, event in view.events}
    lines = [
        [names[item.folder] + (f", day {item.day}" if item.day else ""), f"{item.place or '-'}",
         seconds(item.score_ms), _points_of(item)]
        for item in row.events
    ]  # fmt: skip
    return f"\n{row.driver}\n" + table(("event", "place", "score", "points"), lines, right=(1, 2, 3))


def _points_of(item: EventPoints) -> str:
    return _figure(item.points) if item.counts else f"({_figure(item.points)} dropped)"


def _outlook(item: Outlook) -> str:
    if item.best_rank == item.worst_rank:
        head = f"{item.driver}, {item.table}: place {item.rank} is settled, save for a tie"
    else:
        head = (
            f"{item.driver}, {item.table}: place {item.rank} now; "
            f"at best {item.best_rank}, at worst {item.worst_rank}; {_figure(item.most)} points at most"
        )
    return "\n".join([head, *(f"  {stake.event}: {_stake(stake)}" for stake in item.stakes)])


def _stake(stake: Stake) -> str:
    parts = [f"a win gives {_figure(stake.win)} and adds {_figure(stake.gain)}"]
    if stake.counts_above:
        parts.append(f"up to {_figure(stake.counts_above)} points would be dropped")
    if stake.pass_next:
        parts.append(f"to pass {stake.pass_next.driver} if they score nothing: {_need(stake.pass_next)}")
    if stake.hold_next:
        parts.append(f"to hold {stake.hold_next.driver} if they win: {_need(stake.hold_next)}")
    return "; ".join(parts)


def _need(need: Need) -> str:
    if need.points is None:
        return "not by this event alone"
    if not need.points:
        return "nothing is needed"
    how = f" (place {need.place} or better)" if need.place else ""
    if need.ratio is not None:
        how = f" (within {(need.ratio - 1) * 100:.2f} % of the winner)"
    return f"{_figure(need.points)} points{how}"


def _runs(view: SeasonView) -> str:
    timed = [row for row in view.runs if row["total_ms"] is not None]
    clean = sum(not row["cones"] and not row["misses"] for row in timed)
    coned = len(timed) - clean
    kept = sum(row["decision"] == "keep" for row in view.changes)
    back = sum(row["decision"] == "revert" for row in view.changes)
    return (
        f"My runs: {len(view.runs)}, with a time {len(timed)}: {clean} clean, {coned} with penalties. "
        f"Changes: {len(view.changes)}, kept {kept}, taken back {back}."
    )


def _fees(view: SeasonView) -> str:
    fees = [(item, item.fee) for item in view.rules.events if item.fee is not None]
    if not fees:
        return ""
    open_ = {id(item) for item in view.left}
    due = sum((fee for item, fee in fees if id(item) in open_), Decimal(0))
    paid = sum((fee for _, fee in fees), Decimal(0)) - due
    money = f" {view.rules.currency}" if view.rules.currency else ""
    closing = [f"{item.name or item.folder} closes on {item.closes}" for item in view.left if item.closes]
    return ". ".join([f"Fees: {_figure(paid)}{money} for events run, {_figure(due)}{money} to come", *closing]) + "."
