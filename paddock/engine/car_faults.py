"""Everything in a car file that can't be, for a check of the whole folder; what is only missing stays out."""

from __future__ import annotations

from paddock.engine.car.bars import pairs_table
from paddock.engine.car.chassis import chassis_of
from paddock.engine.car.driveline import driveline_of
from paddock.engine.car.findings import Finding, merged
from paddock.engine.car_check import checked
from paddock.model.car import Car

__all__ = ["car_faults"]


def car_faults(car: Car) -> tuple[Finding, ...]:
    """Impossible values, bars, ratios and curves of ``car``, each once; empty: nothing that can't be.

    A car without a gearbox or an engine is no fault: only what is written is judged.
    """
    tables = (pairs_table(car, end) for end in ("front", "rear"))
    found = merged(
        checked(car)[1],
        *(table.findings for table in tables if table),
        chassis_of(car)[1],
        driveline_of(car)[1],
    )
    return tuple(item for item in found if item.level == "fault")
