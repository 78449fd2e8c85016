"""What the edits share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from paddock.model.edit import AddRow, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import Row


def one_row(event: Event, model: type[Row], key: Mapping[str, Any], cells: Mapping[str, Any]) -> AddRow | ChangeRow:
    """Change the row of ``key`` where it is there, else add it."""
    wanted = tuple(key.get(name) for name in model.KEY)
    if any(row.key == wanted for row in event.of(model)):
        return ChangeRow(model.FILE, wanted, dict(cells))
    return AddRow(model.FILE, {**key, **cells})
