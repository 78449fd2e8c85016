"""Checklists with what was missed on top."""

from __future__ import annotations

import tomllib
from dataclasses import replace

from paddock.engine.work.due import checklist, checklists, tick_line, untick_line
from paddock.model.edit import AddRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import TickRow
from paddock.store.aside import default_checklists
from tests.engine.tyres.make import car

LISTS = {"grid": ("a", "b", "c", "d"), "after": ("e",)}


def _event(*ticks: tuple[str, str, int | None, str | None]) -> Event:
    rows = [TickRow(list=name, item=item, day=day, at=at) for name, item, day, at in ticks]
    return replace(car([], *rows), checklists=LISTS)


def _items(event: Event, day: int) -> list[str]:
    return [line.item for line in checklist(event, "grid", day).lines]


def test_what_was_missed_last_time_stands_on_top() -> None:
    event = _event(("grid", "a", 1, "08:00"), ("grid", "c", 1, None), ("grid", "b", 2, "07:30"))
    assert _items(event, 1) == ["a", "b", "c", "d"]
    today = checklist(event, "grid", 2)
    assert [(line.item, line.missed_last, line.at) for line in today.lines] == [
        ("b", True, "07:30"), ("d", True, None), ("a", False, None), ("c", False, None),
    ]  # fmt: skip
    assert today.left == 3


def test_a_day_on_which_the_list_was_not_used_is_passed_over() -> None:
    event = _event(("grid", "a", 1, None), ("after", "e", 2, None))
    assert _items(event, 3) == ["b", "c", "d", "a"]


def test_ticks_carried_without_a_day_are_the_event_before() -> None:
    event = _event(("grid", "b", None, None), ("grid", "c", None, None))
    assert _items(event, 1) == ["a", "d", "b", "c"]
    assert all(not line.ticked for line in checklist(event, "grid", 1).lines)


def test_a_list_never_used_or_all_done_keeps_its_order() -> None:
    assert _items(_event(), 2) == ["a", "b", "c", "d"]
    assert _items(_event(*[("grid", item, 1, None) for item in "dcba"]), 2) == ["a", "b", "c", "d"]


def test_an_item_taken_out_of_the_file_is_gone_and_a_missing_list_is_empty() -> None:
    event = _event(("grid", "z", 1, None))
    assert _items(event, 1) == ["a", "b", "c", "d"]
    assert checklist(event, "nothing", 1).lines == ()
    assert [item.name for item in checklists(event, 1)] == ["grid", "after"]


def test_edits() -> None:
    assert tick_line("grid", "a", 2, "07:30") == AddRow(
        "ticks.csv", {"list": "grid", "item": "a", "day": 2, "at": "07:30"}
    )
    assert untick_line("grid", "a", 2) == RemoveRow("ticks.csv", ("grid", "a", 2))


def test_the_lists_that_ship_have_every_phase() -> None:
    lists = tomllib.loads(default_checklists())
    assert list(lists) == ["night before", "inspection", "before grid", "between days", "after"]
    assert all(isinstance(item, str) and item for items in lists.values() for item in items)
    assert all(len(set(items)) == len(items) for items in lists.values())
