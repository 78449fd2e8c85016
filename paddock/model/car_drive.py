"""Gearbox and engine of a car file."""

from __future__ import annotations

from typing import Annotated

from paddock.model.settings import TomlModel
from paddock.model.units import Measured


class Gearbox(TomlModel):
    """Ratios from first gear up; ``size`` or ``rolling_circumference_mm`` gives the wheel.

    ``rpm_per_s``: measured rise of the engine's speed near the shift, one per gear, 0 = not measured.
    ``wheel_inertia_kg_m2``: one wheel with tyre and disc; ``engine_inertia_kg_m2``: crank, flywheel and clutch.
    """

    ratios: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Gear ratios",
            "",
            "From first gear up, each smaller than the one before.",
            "The maker's data; or count turns of the engine per turn of the wheels, over the final drive.",
            "Nothing of the gears.",
        ),
    ] = None
    final: Annotated[
        float | None,
        Measured(
            "Final drive",
            "",
            "Crown wheel over pinion, or all that comes after the gearbox.",
            "The maker's data, or turns counted as above.",
            "Nothing of the gears.",
            1,
            15,
        ),
    ] = None
    efficiency: Annotated[
        float | None,
        Measured(
            "Driveline efficiency",
            "",
            "Share of the engine's torque that reaches the wheels.",
            "Rolling road against the maker's engine figure; 1 where the torque curve was measured at the wheels.",
            "0.9 is taken; shift points don't depend on it.",
            0.4,
            1,
        ),
    ] = None
    limiter_rpm: Annotated[
        float | None,
        Measured(
            "Limiter",
            "rpm",
            "Where the engine cuts.",
            "The maker's data, or read it once.",
            "The end of the torque curve stands in.",
            1000,
            20000,
        ),
    ] = None
    shift_s: Annotated[
        float | None,
        Measured(
            "Shift time",
            "s",
            "Without drive between two gears.",
            "Film the rev counter, or a log: throttle shut to full drive again.",
            "0.3 s is taken.",
            0,
            3,
        ),
    ] = None
    reaction_s: Annotated[
        float | None,
        Measured(
            "Reaction time",
            "s",
            "From the light to the shift beginning.",
            "Any reaction test with the hand on the lever, then 0.1 s more for a busy driver.",
            "0.3 s is taken.",
            0,
            2,
        ),
    ] = None
    grip_g: Annotated[
        float | None,
        Measured(
            "Grip",
            "g",
            "What the tyres hold, as a share of the load on them.",
            "Best steady cornering, or braking from a log; on this surface.",
            "No grip limit.",
            0.1,
            3,
        ),
    ] = None
    rolling_circumference_mm: Annotated[
        float | None,
        Measured(
            "Rolling circumference",
            "mm",
            "Road covered by one turn of a driven wheel.",
            "Chalk the tread and the road, roll three turns with the driver in, divide by three.",
            "0.97 x pi x the diameter from size: right within 1 %.",
            800,
            3500,
        ),
    ] = None
    size: Annotated[
        str | None,
        Measured(
            "Tyre size",
            "",
            "Of the driven wheels, as moulded: 225/45R17.",
            "Read it off the sidewall.",
            "With no roll-out either, no speeds.",
        ),
    ] = None
    rpm_per_s: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Measured rpm rise",
            "rpm/s",
            "Near the shift, full throttle, one per gear, 0 = not measured.",
            "From a log: rpm gained over the last half second before the shift, doubled.",
            "Computed from thrust, grip and mass.",
        ),
    ] = None
    wheel_inertia_kg_m2: Annotated[
        float | None,
        Measured(
            "Inertia of one wheel",
            "kg.m2",
            "Wheel, tyre, disc; mostly 0.8 to 1.2.",
            "Hang it and time its swing, or mass x (0.8 x radius)^2.",
            "The usual mass factor 1.04 + 0.0025 x (overall ratio)^2 covers all that turns.",
            0,
            20,
        ),
    ] = None
    engine_inertia_kg_m2: Annotated[
        float | None,
        Measured(
            "Inertia of the engine",
            "kg.m2",
            "Crank, flywheel and clutch; mostly 0.1 to 0.3.",
            "The maker's data.",
            "The usual mass factor covers all that turns.",
            0,
            10,
        ),
    ] = None


class Engine(TomlModel):
    """Torque at the crank, N.m at rpm; or ``curve``, a CSV beside the car file."""

    rpm: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Torque curve, rpm",
            "rpm",
            "At least two points, rising.",
            "A rolling road sheet or the maker's curve.",
            "Speeds only: no shift point, no light, no grip limit.",
        ),
    ] = None
    torque_nm: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Torque curve, torque",
            "N.m",
            "At the crank, one per rpm; torque_lbft is read too.",
            "A rolling road sheet or the maker's curve.",
            "Speeds only: no shift point, no light, no grip limit.",
        ),
    ] = None
    curve: Annotated[
        str | None,
        Measured(
            "Torque curve, file",
            "",
            "A CSV beside the car file with columns rpm and torque_nm or torque_lbft.",
            "Save it from the rolling road.",
            "rpm and torque_nm are used.",
        ),
    ] = None
