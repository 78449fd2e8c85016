"""Small events for tests, made in a line."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from paddock.model.event import Event
from paddock.model.rows import EntrantRow, Row, TimeRow
from paddock.model.settings import Settings
from paddock.model.units import parse_time_ms


def settings(rules: dict[str, Any] | None = None, **more: Any) -> Settings:
    """Two classes, PINE on raw times and OAK on index, two days of three runs."""
    found: dict[str, Any] = {
        "name": "Test event",
        "days": [date(2026, 5, 9) + timedelta(days=day) for day in range(2)],
        "runs_per_day": 3,
        "rules": rules or {},
        "classes": [{"code": "PINE"}, {"code": "OAK", "scored_by": "index"}],
        "index": {"factors": {"PINE": Decimal("0.812"), "OAK": Decimal("0.856"), "FIR": Decimal("0.820")}},
        "mine": {"numbers": ["26"]},
    }
    return Settings.model_validate(found | more)


def entrant(number: str, class_: str | None = "PINE", **more: Any) -> EntrantRow:
    """An entrant with an invented name."""
    return EntrantRow(number=number, driver=more.pop("driver", f"Driver {number}"), class_=class_, **more)


def runs(number: str, day: int, *written: str) -> list[TimeRow]:
    """Runs 1, 2 ... of a day as written: ``46.512``, ``46.512+1``, ``dnf``, ``46.512 rerun``, ``46.512/1`` (a miss)."""
    return [_run(number, day, place, text) for place, text in enumerate(written, 1) if text]


def _run(number: str, day: int, run: int, text: str) -> TimeRow:
    time, _, status = text.partition(" ") if text[0].isdigit() else ("", "", text)
    time, _, misses = time.partition("/")
    time, _, cones = time.partition("+")
    return TimeRow(
        day=day, run=run, number=number, time_ms=parse_time_ms(time) if time else None,
        cones=int(cones) if cones else None, misses=int(misses) if misses else None, status=status or None,
    )  # type: ignore[arg-type]  # fmt: skip


def event(entrants: list[EntrantRow], times: list[TimeRow], of: Settings | None = None, *rows: Row) -> Event:
    """An event of these rows."""
    tables: dict[str, tuple[Row, ...]] = {"entrants.csv": tuple(entrants), "times.csv": tuple(times)}
    for row in rows:
        tables[row.FILE] = (*tables.get(row.FILE, ()), row)
    return Event("test", of or settings(), tables)
