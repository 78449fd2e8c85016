"""``cars/<name>.toml``: every key optional; what can't be is said by the engine, not here."""

from __future__ import annotations

from typing import Literal

from paddock.model.toml_base import TomlModel

__all__ = ["Axle", "Bar", "Car", "Engine", "FirstRun", "Gearbox", "Limits", "Target"]


class Target(TomlModel):
    """Hot gauge pressures wanted, psi."""

    front_psi: float | None = None
    rear_psi: float | None = None


class Limits(TomlModel):
    """Gauge pressures never to cross, psi; minimum None: the placard."""

    front_min_psi: float | None = None
    rear_min_psi: float | None = None
    placard_front_psi: float | None = None
    placard_rear_psi: float | None = None
    wheel_max_psi: float | None = None
    max_cold_psi: float | None = None


class FirstRun(TomlModel):
    """K that a day's first run warms each axle's tyres over the air, as earlier events read it; None: not known."""

    front_rise_k: float | None = None
    rear_rise_k: float | None = None


class Bar(TomlModel):
    """An anti-roll bar. ``arms_mm``: perpendicular lever of each hole, hole 1 first.

    ``right_arms_mm`` None: as ``arms_mm``. ``arm_length_mm``: the arm's real length, to the farthest hole or
    one per hole. ``young_gpa``: the arms are the bar itself bent round, and bend. ``link_n_mm``, ``bush_n_mm``:
    give in series at an arm end. ``*_pm``: half the range a measured value may be off by, ``shear_pm`` as a share.
    """

    diameter_mm: float | None = None
    wall_mm: float | None = None
    bore_mm: float | None = None
    length_mm: float | None = None
    arms_mm: tuple[float, ...] | None = None
    right_arms_mm: tuple[float, ...] | None = None
    mr: float | tuple[float, ...] | None = None
    left: int | None = None
    right: int | None = None
    shear_gpa: float | None = None
    arm_ei_n_m2: float | None = None
    arm_length_mm: float | tuple[float, ...] | None = None
    young_gpa: float | None = None
    link_n_mm: float | None = None
    bush_n_mm: float | None = None
    diameter_pm_mm: float | None = None
    wall_pm_mm: float | None = None
    length_pm_mm: float | None = None
    arms_pm_mm: float | None = None
    mr_pm: float | None = None
    shear_pm: float | None = None


class Axle(TomlModel):
    """One axle: springs, tyres, roll centre, unsprung mass and its bar."""

    track_mm: float | None = None
    spring_n_mm: float | None = None
    spring_mr: float | None = None
    tyre_n_mm: float | None = None
    roll_centre_mm: float | None = None
    unsprung_kg: float | None = None
    unsprung_cg_mm: float | None = None
    bar: Bar | None = None


class Gearbox(TomlModel):
    """Ratios from first gear up; ``size`` or ``rolling_circumference_mm`` gives the wheel.

    ``rpm_per_s``: measured rise of the engine's speed near the shift, one per gear, 0 = not measured.
    ``wheel_inertia_kg_m2``: one wheel with tyre and disc; ``engine_inertia_kg_m2``: crank, flywheel and clutch.
    """

    ratios: tuple[float, ...] | None = None
    final: float | None = None
    efficiency: float | None = None
    limiter_rpm: float | None = None
    shift_s: float | None = None
    reaction_s: float | None = None
    grip_g: float | None = None
    rolling_circumference_mm: float | None = None
    size: str | None = None
    rpm_per_s: tuple[float, ...] | None = None
    wheel_inertia_kg_m2: float | None = None
    engine_inertia_kg_m2: float | None = None


class Engine(TomlModel):
    """Torque at the crank, N.m at rpm; or ``curve``, a CSV beside the car file."""

    rpm: tuple[float, ...] | None = None
    torque_nm: tuple[float, ...] | None = None
    curve: str | None = None


class Car(TomlModel):
    """One car file. ``lateral_g``: cornering the balance is reckoned at; ``drag_area_m2``: drag coefficient x area."""

    name: str | None = None
    drive: Literal["front", "rear", "all"] | None = None
    mass_kg: float | None = None
    front_share: float | None = None
    cg_height_mm: float | None = None
    wheelbase_mm: float | None = None
    lateral_g: float | None = None
    drag_area_m2: float | None = None
    setup: dict[str, str | int | float | bool] = {}
    targets: dict[str, Target] = {}
    limits: Limits = Limits()
    first_run: FirstRun = FirstRun()
    front: Axle = Axle()
    rear: Axle = Axle()
    gearbox: Gearbox = Gearbox()
    engine: Engine = Engine()
    fasteners: dict[str, float] = {}
    advice: dict[str, float | bool | str] = {}

    def target(self, surface: str | None) -> Target | None:
        """The hot target of a surface: ``drying`` uses dry, ``standing`` uses wet."""
        name = {"drying": "dry", "standing": "wet"}.get(surface or "dry", surface or "dry")
        return self.targets.get(name)
