"""What can be done to the car: a bar moved, a setting or value changed, a change decided or taken back, a car made."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from paddock.engine.car.bars import Pair, pair_of, pairs_table
from paddock.engine.car.setup_sheet import setup_in_force
from paddock.engine.clock.when import next_run
from paddock.engine.work.rechecks import with_rechecks
from paddock.entry.car import value_text
from paddock.model.car import FREE, Car
from paddock.model.edit import AddRow, Batch, ChangeRow, SetKey, new_id
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.model.units import FAMILIES


def add_change(event: Event, number: str, day: int, run: int, at: str, said: Mapping[str, object]) -> Batch:
    """A change in force from ``run`` on, and what it makes one look at again.

    ``said``: item, before, after, reason, expect, kind as far as known. An item that is a setting of the car is logged
    as that setting; run: where it was first driven before ``run``, which then has no time of day.
    """
    late = {"at": None} if said.get("run", run) != run else {}
    name = str(said["item"]).strip().replace(" ", "_").casefold()
    known = (item.key for item in setup_in_force(event, number))
    cells: dict[str, Any] = {
        "id": new_id(), "day": day, "run": run, "at": at, "number": number,
        "setting": next((key for key in known if key.casefold() == name), name), **said, **late,
    }  # fmt: skip
    return with_rechecks(event, AddRow(SetupChange.FILE, cells))


_HOLES = re.compile(r"(\d{1,2})\s*[-/]\s*(\d{1,2})", re.ASCII)


def setting_reader(car: Car | None, key: str) -> Callable[[str], str]:
    """Text to the value of a setting, ``key`` as the car file has it: the holes of a bar must be there, left first.

    A bar may be off, or another one: words without a figure are taken. The reader raises ValueError.
    """
    axle = {"front_bar": "front", "rear_bar": "rear"}.get(key.casefold())
    table = pairs_table(car, axle) if car is not None and axle is not None else None

    def read(value: str) -> str:
        holes = _HOLES.fullmatch(value.strip())
        if table is None or table.parts is None or (holes is None and not any(map(str.isdigit, value))):
            return value
        if holes is None or pair_of(table.parts, int(holes[1]), int(holes[2])) is None:
            most = f"{len(table.parts.left)}-{len(table.parts.right)}"
            raise ValueError(f"{value!r}: the {axle} bar has holes 1-1 to {most}, left first")
        return f"{int(holes[1])}-{int(holes[2])}"

    return read


def decide(change: SetupChange, decision: str | None) -> Batch:
    """Keep or revert a change, or open it again."""
    label = {"keep": "keep", "revert": "revert"}.get(decision or "", "open again")
    return Batch(f"{label}: {change.item}", (ChangeRow(SetupChange.FILE, (change.id,), {"decision": decision}),))


def take_back(event: Event, change: SetupChange, number: str, day: int, at: str) -> Batch:
    """Back to the old setting: a row that undoes the change, and the decision on it."""
    cells: dict[str, Any] = {
        "id": new_id(), "day": day, "run": next_run(event, number, day), "at": at, "number": change.number,
        "kind": change.kind, "setting": change.setting, "item": change.item, "before": change.after,
        "after": change.before, "undoes": change.id,
    }  # fmt: skip
    edits = (AddRow(SetupChange.FILE, cells), ChangeRow(SetupChange.FILE, (change.id,), {"decision": "revert"}))
    return Batch(f"take back: {change.item}", edits)


def move_bar(
    event: Event, number: str, day: int, run: int, at: str, axle: str, now: Pair | None, to: Pair, reason: str = "",
    shares: tuple[float | None, float | None] = (None, None), kind: str = "test",
) -> Batch:  # fmt: skip
    """The bar of ``axle`` on other holes from ``run`` on, with what has to be looked at again.

    ``shares``: front share now and then, written down as what is expected where both are known.
    """
    setting = f"{axle}_bar"
    named = [row.item for row in event.of(SetupChange) if row.setting == setting and row.item]
    said: dict[str, object] = {
        "setting": setting, "item": named[-1] if named else f"{axle} bar hole", "after": to.holes, "kind": kind,
    }  # fmt: skip
    if now is not None:
        said["before"] = now.holes
    before, after = shares
    if before is not None and after is not None:
        said["expect"] = f"front share {before * 100:.1f} % to {after * 100:.1f} %"
    if reason:
        said["reason"] = reason
    return add_change(event, number, day, run, at, said)


def change_setting(
    event: Event, number: str, day: int, run: int, at: str, key: str, now: str | None, said: Mapping[str, object]
) -> Batch:
    """A line of the set-up sheet from ``run`` on. ``said``: ``after`` and, where given, ``reason`` and ``kind``."""
    cells: dict[str, object] = {"item": key.replace("_", " "), "setting": key, "kind": "test", **said}
    if now is not None:
        cells["before"] = now
    return add_change(event, number, day, run, at, cells)


def set_value(name: str, path: Sequence[str], value: Any) -> Batch:
    """The value set in the car's file, or taken out with None: one step for undo.

    The same quantity in another unit goes: two keys for one thing would be one too many.
    """
    file, key = f"cars/{name}.toml", ".".join(path)
    label = f"{key} taken out" if value is None else f"{key} = {value_text(value)}"
    stem, _, suffix = path[-1].rpartition("_")
    families = [FAMILIES[family].units for family in ("pressure", "torque")] if stem and path[0] not in FREE else []
    others = next((units[1:] for units in families if units[0].suffix == suffix), ())
    out = (SetKey(file, (*path[:-1], f"{stem}_{unit.suffix}"), None) for unit in others)
    return Batch(f"{name}: {label}", (SetKey(file, tuple(path), value), *out))


def new_car(number: str, said: str, like: Car | None = None) -> Batch:
    """A car file of that name for the entry, with the values of ``like``; None: with its name alone.

    ValueError's sentence where it can't be a file's name.
    """
    name = re.sub(r"[^\w-]+", "-", said.strip().lower()).strip("-_")
    if not name or len(name) > 40:
        raise ValueError(f"{said!r}: a short name for the car, letters and digits")
    file = f"cars/{name}.toml"
    held = {} if like is None else like.model_dump(exclude_unset=True, exclude_none=True)
    copied = (SetKey(file, (key,), _plain_values(value)) for key, value in held.items() if key != "name" and value)
    edits = (
        SetKey(file, ("name",), said.strip()),
        *copied,
        SetKey("event.toml", ("mine", "cars", number), name),
    )
    return Batch(f"car {name} for {number}", edits)


def _plain_values(value: Any) -> Any:
    """A copied value as a file takes it: whole numbers without a point, no tuples."""
    if isinstance(value, Mapping):
        return {key: _plain_values(item) for key, item in value.items() if item is not None and item != {}}
    if isinstance(value, list | tuple):
        return [_plain_values(item) for item in value]
    return float(value) if isinstance(value, float) else value
