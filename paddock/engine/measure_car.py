"""Rows of ``measure.py``: the car as a whole, its limits and targets, and the free tables.

Each row: key, label, unit, meaning, how to measure, what happens without it, lowest, highest possible.
"""

from __future__ import annotations

__all__ = ["CAR_ROWS", "FIRST_RUN_ROWS", "LIMIT_ROWS", "TABLE_ROWS", "TARGET_ROWS"]

Row = tuple[object, ...]

CAR_ROWS: tuple[Row, ...] = (
    ("name", "Name", "", "What the car is called in the program.", "Your choice.",
     "The file's name is used."),
    ("drive", "Driven wheels", "", "front, rear or all.", "Known.",
     "No grip limit, no shift light, nothing on holding a gear."),
    ("mass_kg", "Mass", "kg", "As it runs: driver, helmet, the fuel you start with.",
     "Four corner scales or a weighbridge, driver in.",
     "No load transfer, no share, no grip limit, no shift light (unless the rpm rise is measured).", 100, 5000),
    ("front_share", "Share on the front wheels", "", "Front axle weight over the whole, 0.61 = 61 %.",
     "Corner scales, or a weighbridge with one axle at a time, driver in.",
     "No share of load transfer; no grip limit with one driven axle.", 0.2, 0.8),
    ("cg_height_mm", "Height of the centre of gravity", "mm", "Above the ground, driver in.",
     "Weigh the front with the rear raised 300 mm or more, wheels chocked, suspension blocked; or take 0.38 of the "
     "car's height for a saloon, 0.36 for a low car, and call it +/- 10 %.",
     "No load transfer and no share; grip when accelerating is taken from the weight at rest.", 150, 1500),
    ("wheelbase_mm", "Wheelbase", "mm", "Front to rear wheel centre.",
     "Tape along both sides, wheels straight; the mean.",
     "Grip when accelerating is taken from the weight at rest.", 1000, 5000),
    ("lateral_g", "Cornering", "g", "Steady cornering the balance is reckoned at.",
     "A circle of known radius, timed: 4.03 x radius in m / (time for one lap in s) squared.",
     "gearbox.grip_g stands in, else 1.0.", 0.1, 3),
    ("drag_area_m2", "Drag area", "m2", "Drag coefficient times frontal area; 0.6 to 0.8 for most cars.",
     "A coast-down on a flat road in both directions, or a published figure.",
     "Air drag is left out: about a twentieth of the thrust at 100 km/h.", 0, 3),
)  # fmt: skip

LIMIT_ROWS: tuple[Row, ...] = tuple(
    (f"{end}_min_psi", f"Lowest pressure, {end}", "psi", "Never suggested below this.",
     "Your own limit: bead, rim and sidewall. Not under what the tyre maker allows.",
     "The placard's pressure is the lowest.", 5, 100)
    for end in ("front", "rear")
) + tuple(
    (f"placard_{end}_psi", f"Placard pressure, {end}", "psi", "The car maker's cold pressure.",
     "The plate in the door frame or the filler flap.",
     "With no minimum either, no lower new setting is ever suggested.", 5, 100)
    for end in ("front", "rear")
) + (
    ("wheel_max_psi", "Highest pressure of the wheel", "psi", "The wheel maker's maximum.",
     "Marked inside the wheel, or ask its maker.", "Only the tyre's and the car's limits count.", 10, 150),
    ("max_cold_psi", "Highest cold pressure of the tyre", "psi", "The maximum moulded on the sidewall, cold.",
     "Read it off the tyre; the lowest of the four counts.", "No higher setting is ever suggested.", 10, 150),
)  # fmt: skip

TARGET_ROWS: tuple[Row, ...] = tuple(
    (f"{end}_psi", f"Hot target, {end}", "psi", "Gauge pressure wanted at the end of a run on this surface.",
     "From your own log: the pressure of your best runs with a good roll-over mark.",
     "No return to target is suggested on this surface.", 5, 100)
    for end in ("front", "rear")
)  # fmt: skip

FIRST_RUN_ROWS: tuple[Row, ...] = tuple(
    (f"{end}_rise_k", f"Rise of a first run, {end}", "K", "What a day's first run warms its tyres over the air.",
     "Tyre temperature right after a first run less the air's; paddock new --from writes what the event read.",
     "Read in the event itself or in an earlier one beside it, else no plan for the first run.", 0, 100)
    for end in ("front", "rear")
)  # fmt: skip

TABLE_ROWS: tuple[Row, ...] = (
    ("setup", "Set-up off the trailer", "", "Free keys: how the car starts the event; rear_bar = \"3-3\" also gives "
     "the holes in use where the bar has none.", "Write down what is set.", "Nothing is known to have been set."),
    ("fasteners", "Fastener torques", "N.m", "Free keys: the maker's torque of each fastener you undo.",
     "The maker's manual for the car or part; never a guess.", "The worklist says: to the maker's figure."),
    ("advice", "Thresholds of the advice", "", "Free keys; every one has a default.", "Your own preference.",
     "The defaults hold."),
)  # fmt: skip
