"""Every value of a tyre that a person says: what it is, how it is found out, what happens without it. Bounds stand with
the fields of ``model.rows.TyreRow``."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.model.units import Measured

SIDEWALL = (
    "The figure on the sidewall is the most the cold tyre may hold, never a target. The lowest of tyre, wheel and car "
    "counts; the maker's figures stand above any answer here."
)
"""Said once where a tyre's limits are typed."""
OF_ONE = ("date_code", "runs_before")
"""Values that one tyre has by itself; the rest a set shares."""

VALUES: Mapping[str, Measured] = {
    "tyre": Measured("Name", "", "What you call this tyre; chalk it on the wall.", "A short word without a space. "
                     "Another name goes into every file; - takes out a tyre that was never fitted or measured.", ""),
    "set": Measured("Set", "", "What belongs together: most values go to the whole set.", "As you like.",
                    "The tyre stands by itself."),
    "size": Measured("Size", "", "As on the wall, like 205/50R16.", "Read it off the wall.",
                     "No move between front and rear is proposed."),
    "kind": Measured("Kind", "", "Your own word: street, wet. Wear is compared within a kind.", "As you like.",
                     "It is compared with others that have none."),
    "date_code": Measured("Date code", "", "Week and year of making: 0926 is week 9 of 2026.",
                          "The last four digits of the long code on the wall; it may stand on one side only.",
                          "No age is told."),
    "bought": Measured("Bought", "", "The day.", "Like 2026-03-14.", "Nothing is worked out from it."),
    "price": Measured("Price", "", "Of one tyre, fitted.", "From the bill, in your own money.",
                      "No cost a run, no price beside an order."),
    "runs_before": Measured("Runs before", "", "Runs it had before this event.", "From your notes; 0 is new.",
                            "It counts as new."),
    "directional": Measured("Directional", "", "It has an arrow: it may only roll one way.", "yes or no.",
                            "No move across the car is proposed."),
    "min_cold_psi": Measured("Lowest cold pressure", "psi", "Never suggested below this; the higher of this and the "
                             "car's counts.", "The tyre maker's least for such driving, if there is one.",
                             "Only the car's lowest counts."),
    "max_cold_psi": Measured("Highest cold pressure", "psi", "Never suggested above this. " + SIDEWALL,
                             "Read it off the sidewall.", "Only the wheel's and the car's highest count."),
    "floor_mm": Measured("Depth to stop at", "mm", "Tread at which the tyre is done for you.",
                         "Your own; grip goes before the law does. 2/32 in is 1.6 mm.", "1.6 mm is taken."),
    "delivery_days": Measured("Days to deliver", "", "From the order to the tyre on the wheel.", "Ask the shop.",
                              "No day to order is named."),
}  # fmt: skip
