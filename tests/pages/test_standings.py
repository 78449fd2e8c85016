"""Standings as a page: whole columns only, more of them where there is more room, the latest run that was driven first."""

from __future__ import annotations

import pytest

from paddock.model.event import Event
from paddock.pages.document import PageTable
from paddock.pages.standings import standings_page
from paddock.render.pieces import chosen
from paddock.session.loading import standings_of
from tests import factories


def _event() -> Event:
    entrants = [factories.entrant("26"), factories.entrant("7")]
    times = [*factories.runs("26", 1, "46.512", "46.100"), *factories.runs("7", 1, "47.001")]
    return factories.event(entrants, times)


def _table(name: str = "PINE") -> PageTable:
    event = _event()
    page = standings_page(event, standings_of(event, None), name, ["7"], "26")
    return next(block for block in page.blocks if isinstance(block, PageTable))


def test_the_latest_run_driven_stands_first_and_the_best_on_top() -> None:
    table = _table()
    runs = [column.title for column in table.columns if "run" in column.title]
    assert runs == ["day 1 run 2", "run 1"]
    assert [row.id for row in table.rows] == ["26", "7"]
    assert table.rows[0].cells[-2:] == ("46.100", "46.512")
    assert table.rows[1].cells[:1] == ("=",)


@pytest.mark.parametrize("width", range(30, 130, 10))
def test_wider_shows_more_and_every_figure_whole(width: int) -> None:
    table = _table()
    now, wider = chosen(table, width, 1), chosen(table, width + 10, 1)
    assert len(now) <= len(wider)
    assert {at for at, _ in now} <= {at for at, _ in wider}
    for at, size in now:
        if at != 3:
            assert size >= max(len(str(row.cells[at])) for row in table.rows)
    left_out = dict(table.rest("26", [at for at, _ in now]))
    assert ("run 1" in left_out) != ("run 1" in {table.columns[at].title for at, _ in now})
