"""Rows of ``measure.py``: gearbox, wheel and engine.

Each row: key, label, unit, meaning, how to measure, what happens without it, lowest, highest possible.
"""

from __future__ import annotations

__all__ = ["ENGINE_ROWS", "GEARBOX_ROWS"]

Row = tuple[object, ...]

GEARBOX_ROWS: tuple[Row, ...] = (
    ("ratios", "Gear ratios", "", "From first gear up, each smaller than the one before.",
     "The maker's data; or count turns of the engine per turn of the wheels, over the final drive.",
     "Nothing of the gears."),
    ("final", "Final drive", "", "Crown wheel over pinion, or all that comes after the gearbox.",
     "The maker's data, or turns counted as above.", "Nothing of the gears.", 1, 15),
    ("efficiency", "Driveline efficiency", "", "Share of the engine's torque that reaches the wheels.",
     "Rolling road against the maker's engine figure; 1 where the torque curve was measured at the wheels.",
     "0.9 is taken; shift points don't depend on it.", 0.4, 1),
    ("limiter_rpm", "Limiter", "rpm", "Where the engine cuts.", "The maker's data, or read it once.",
     "The end of the torque curve stands in.", 1000, 20000),
    ("shift_s", "Shift time", "s", "Without drive between two gears.",
     "Film the rev counter, or a log: throttle shut to full drive again.", "0.3 s is taken.", 0, 3),
    ("reaction_s", "Reaction time", "s", "From the light to the shift beginning.",
     "Any reaction test with the hand on the lever, then 0.1 s more for a busy driver.", "0.3 s is taken.", 0, 2),
    ("grip_g", "Grip", "g", "What the tyres hold, as a share of the load on them.",
     "Best steady cornering, or braking from a log; on this surface.", "No grip limit.", 0.1, 3),
    ("rolling_circumference_mm", "Rolling circumference", "mm", "Road covered by one turn of a driven wheel.",
     "Chalk the tread and the road, roll three turns with the driver in, divide by three.",
     "0.97 x pi x the diameter from size: right within 1 %.", 800, 3500),
    ("size", "Tyre size", "", "Of the driven wheels, as moulded: 225/45R17.", "Read it off the sidewall.",
     "With no roll-out either, no speeds."),
    ("rpm_per_s", "Measured rpm rise", "rpm/s", "Near the shift, full throttle, one per gear, 0 = not measured.",
     "From a log: rpm gained over the last half second before the shift, doubled.",
     "Computed from thrust, grip and mass."),
    ("wheel_inertia_kg_m2", "Inertia of one wheel", "kg.m2", "Wheel, tyre, disc; mostly 0.8 to 1.2.",
     "Hang it and time its swing, or mass x (0.8 x radius)^2.",
     "The usual mass factor 1.04 + 0.0025 x (overall ratio)^2 covers all that turns.", 0, 20),
    ("engine_inertia_kg_m2", "Inertia of the engine", "kg.m2", "Crank, flywheel and clutch; mostly 0.1 to 0.3.",
     "The maker's data.", "The usual mass factor covers all that turns.", 0, 10),
)  # fmt: skip

ENGINE_ROWS: tuple[Row, ...] = (
    ("rpm", "Torque curve, rpm", "rpm", "At least two points, rising.", "A rolling road sheet or the maker's curve.",
     "Speeds only: no shift point, no light, no grip limit."),
    ("torque_nm", "Torque curve, torque", "N.m", "At the crank, one per rpm; torque_lbft is read too.",
     "A rolling road sheet or the maker's curve.", "Speeds only: no shift point, no light, no grip limit."),
    ("curve", "Torque curve, file", "", "A CSV beside the car file with columns rpm and torque_nm or torque_lbft.",
     "Save it from the rolling road.", "rpm and torque_nm are used."),
)  # fmt: skip
