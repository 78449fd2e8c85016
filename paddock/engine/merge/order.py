"""Several orders of partly the same things joined into one."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from typing import Any, TypeVar

T = TypeVar("T", bound=Hashable)


def sort_key(value: Any) -> tuple[Any, ...]:
    """Sorts anything a key may hold: nothing first, then numbers, then text; tuples part by part."""
    if isinstance(value, tuple):
        return (3, tuple(sort_key(part) for part in value))
    if value is None:
        return (0, 0)
    if isinstance(value, bool | int | float):
        return (1, value)
    return (2, str(value))


def joined_order(orders: Sequence[Sequence[T]], key: Callable[[T], Any] = sort_key) -> list[T]:
    """All items, each order kept as far as the orders agree; free choices go by ``key``.

    Where they contradict each other all items are sorted by ``key``. The sequence of the orders does not
    matter, and joining the result with one of them again gives the result.
    """
    if all(order == orders[0] for order in orders[1:]):
        return list(orders[0]) if orders else []
    after: dict[T, list[T]] = defaultdict(list)
    waits: dict[T, int] = {}
    for order in orders:
        for place, item in enumerate(order):
            waits.setdefault(item, 0)
            if place:
                after[order[place - 1]].append(item)
                waits[item] += 1
    keys = {item: key(item) for item in waits}
    ready = [(keys[item], number, item) for number, item in enumerate(waits) if not waits[item]]
    heapq.heapify(ready)
    made: list[T] = []
    while ready:
        item = heapq.heappop(ready)[2]
        made.append(item)
        for other in after[item]:
            waits[other] -= 1
            if not waits[other]:
                heapq.heappush(ready, (keys[other], len(made), other))
    return made if len(made) == len(waits) else sorted(waits, key=keys.__getitem__)
