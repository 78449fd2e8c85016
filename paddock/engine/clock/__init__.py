"""What time it is at an event, and an event as it was at a time.

``as_of`` says which moment an answer is for; ``cut`` takes away what came later; ``settled`` orders
rows whose clocks disagree. Neither reads a clock: the machine's
is handed in.
"""

from paddock.engine.clock.when import (
    AsOf,
    Place,
    Stamp,
    as_of,
    cut,
    entry_clock,
    hh_mm,
    minutes,
    newest,
    of_the_eve,
    settled,
    stamp_of,
    stands_at,
)

__all__ = [
    "AsOf", "Place", "Stamp", "as_of", "cut", "entry_clock", "hh_mm", "minutes", "newest", "of_the_eve", "settled",
    "stamp_of", "stands_at",
]  # fmt: skip
