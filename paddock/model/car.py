"""``cars/<name>.toml``: every key optional, each with what it is, how it is measured and its bounds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator

from paddock.model.car_axle import Axle, Bar
from paddock.model.car_drive import Engine, Gearbox
from paddock.model.settings import TomlModel
from paddock.model.units import Measured, measured_in, out_of_bounds


def _torque(value: object) -> object:
    wrong = out_of_bounds(Measured("", "N.m", low=1, high=1000), "", value)
    if wrong is not None:
        raise ValueError(wrong)
    return value


class Target(TomlModel):
    """Hot gauge pressures wanted, psi."""

    front_psi: Annotated[
        float | None,
        Measured(
            "Hot target, front",
            "psi",
            "Gauge pressure wanted at the end of a run on this surface.",
            "From your own log: the pressure of your best runs with a good roll-over mark.",
            "No return to target is suggested on this surface.",
            8,
            100,
        ),
    ] = None
    rear_psi: Annotated[
        float | None,
        Measured(
            "Hot target, rear",
            "psi",
            "Gauge pressure wanted at the end of a run on this surface.",
            "From your own log: the pressure of your best runs with a good roll-over mark.",
            "No return to target is suggested on this surface.",
            8,
            100,
        ),
    ] = None


class Limits(TomlModel):
    """Gauge pressures never to cross, psi; minimum None: the placard."""

    front_min_psi: Annotated[
        float | None,
        Measured(
            "Lowest pressure, front",
            "psi",
            "Never suggested below this.",
            "Your own limit: bead, rim and sidewall. Not under what the tyre maker allows.",
            "The placard's pressure is the lowest.",
            8,
            100,
        ),
    ] = None
    rear_min_psi: Annotated[
        float | None,
        Measured(
            "Lowest pressure, rear",
            "psi",
            "Never suggested below this.",
            "Your own limit: bead, rim and sidewall. Not under what the tyre maker allows.",
            "The placard's pressure is the lowest.",
            8,
            100,
        ),
    ] = None
    placard_front_psi: Annotated[
        float | None,
        Measured(
            "Placard pressure, front",
            "psi",
            "The car maker's cold pressure.",
            "The plate in the door frame or the filler flap.",
            "With no minimum either, no lower new setting is ever suggested.",
            8,
            100,
        ),
    ] = None
    placard_rear_psi: Annotated[
        float | None,
        Measured(
            "Placard pressure, rear",
            "psi",
            "The car maker's cold pressure.",
            "The plate in the door frame or the filler flap.",
            "With no minimum either, no lower new setting is ever suggested.",
            8,
            100,
        ),
    ] = None
    wheel_max_psi: Annotated[
        float | None,
        Measured(
            "Highest pressure of the wheel",
            "psi",
            "The wheel maker's maximum.",
            "Marked inside the wheel, or ask its maker.",
            "Only the tyre's and the car's limits count.",
            10,
            150,
        ),
    ] = None
    max_cold_psi: Annotated[
        float | None,
        Measured(
            "Highest cold pressure of the tyre",
            "psi",
            "The maximum moulded on the sidewall, cold.",
            "Read it off the tyre; the lowest of the four counts.",
            "No higher setting is ever suggested.",
            10,
            150,
        ),
    ] = None


class FirstRun(TomlModel):
    """K that a day's first run warms each axle's tyres over the air, as earlier events read it; None: not known."""

    front_rise_k: Annotated[
        float | None,
        Measured(
            "Rise of a first run, front",
            "K",
            "What a day's first run warms its tyres over the air.",
            "Tyre temperature right after a first run less the air's; paddock new --from writes what the event read.",
            "Read in the event itself or in an earlier one beside it, else no plan for the first run.",
            0,
            100,
        ),
    ] = None
    rear_rise_k: Annotated[
        float | None,
        Measured(
            "Rise of a first run, rear",
            "K",
            "What a day's first run warms its tyres over the air.",
            "Tyre temperature right after a first run less the air's; paddock new --from writes what the event read.",
            "Read in the event itself or in an earlier one beside it, else no plan for the first run.",
            0,
            100,
        ),
    ] = None


class Car(TomlModel):
    """One car file. ``lateral_g``: cornering the balance is reckoned at; ``drag_area_m2``: drag coefficient x area."""

    name: Annotated[
        str | None,
        Measured(
            "Name",
            "",
            "What the car is called in the program.",
            "Your choice.",
            "The file's name is used.",
        ),
    ] = None
    drive: Annotated[
        Literal["front", "rear", "all"] | None,
        Measured(
            "Driven wheels",
            "",
            "front, rear or all.",
            "Known.",
            "No grip limit, no shift light, nothing on holding a gear.",
        ),
    ] = None
    mass_kg: Annotated[
        float | None,
        Measured(
            "Mass",
            "kg",
            "As it runs: driver, helmet, the fuel you start with.",
            "Four corner scales or a weighbridge, driver in.",
            "No load transfer, no share, no grip limit, no shift light (unless the rpm rise is measured).",
            100,
            5000,
        ),
    ] = None
    front_share: Annotated[
        float | None,
        Measured(
            "Share on the front wheels",
            "",
            "Front axle weight over the whole, 0.61 = 61 %.",
            "Corner scales, or a weighbridge with one axle at a time, driver in.",
            "No share of load transfer; no grip limit with one driven axle.",
            0.2,
            0.8,
        ),
    ] = None
    cg_height_mm: Annotated[
        float | None,
        Measured(
            "Height of the centre of gravity",
            "mm",
            "Above the ground, driver in.",
            "Weigh the front with the rear raised 300 mm or more, wheels chocked, suspension blocked; or take "
            "0.38 of the car's height for a saloon, 0.36 for a low car, and call it +/- 10 %.",
            "No load transfer and no share; grip when accelerating is taken from the weight at rest.",
            150,
            1500,
        ),
    ] = None
    wheelbase_mm: Annotated[
        float | None,
        Measured(
            "Wheelbase",
            "mm",
            "Front to rear wheel centre.",
            "Tape along both sides, wheels straight; the mean.",
            "Grip when accelerating is taken from the weight at rest.",
            1000,
            5000,
        ),
    ] = None
    lateral_g: Annotated[
        float | None,
        Measured(
            "Cornering",
            "g",
            "Steady cornering the balance is reckoned at.",
            "A circle of known radius, timed: 4.03 x radius in m / (time for one lap in s) squared.",
            "gearbox.grip_g stands in, else 1.0.",
            0.1,
            3,
        ),
    ] = None
    drag_area_m2: Annotated[
        float | None,
        Measured(
            "Drag area",
            "m2",
            "Drag coefficient times frontal area; 0.6 to 0.8 for most cars.",
            "A coast-down on a flat road in both directions, or a published figure.",
            "Air drag is left out: about a twentieth of the thrust at 100 km/h.",
            0,
            3,
        ),
    ] = None
    setup: Annotated[
        dict[str, str | int | float | bool],
        Measured(
            "Set-up off the trailer",
            "",
            'Free keys: how the car starts the event; front_bar = "2-2" also gives the holes in use where the bar has '
            "none.",
            "Write down what is set.",
            "Nothing is known to have been set.",
        ),
    ] = {}
    targets: dict[str, Target] = {}
    limits: Limits = Limits.model_construct()
    first_run: FirstRun = FirstRun.model_construct()
    front: Axle = Axle.model_construct()
    rear: Axle = Axle.model_construct()
    gearbox: Gearbox = Gearbox.model_construct()
    engine: Engine = Engine.model_construct()
    fasteners: Annotated[
        dict[str, Annotated[float, BeforeValidator(_torque)]],
        Measured(
            "Fastener torques",
            "N.m",
            "Free keys: the maker's torque of each fastener you undo.",
            "The maker's manual for the car or part; never a guess.",
            "The worklist says: to the maker's figure.",
            1,
            1000,
        ),
    ] = {}
    advice: Annotated[
        dict[str, float | bool | str],
        Measured(
            "Thresholds of the advice",
            "",
            "Free keys; every one has a default.",
            "Your own preference.",
            "The defaults hold.",
        ),
    ] = {}

    @property
    def sprung_kg(self) -> tuple[float, float] | None:
        """What the springs of front and rear carry; None where the mass or its share is missing."""
        if self.mass_kg is None or self.front_share is None:
            return None
        front, rear = self.front.unsprung_kg or 0.0, self.rear.unsprung_kg or 0.0
        return self.mass_kg * self.front_share - front, self.mass_kg * (1 - self.front_share) - rear

    def target(self, surface: str | None) -> Target | None:
        """The hot target of a surface: ``drying`` uses dry, ``standing`` uses wet."""
        name = {"drying": "dry", "standing": "wet"}.get(surface or "dry", surface or "dry")
        return self.targets.get(name)


# every value of a car file in one list, for the car editor, ``check``, the engine's findings and the docs


FREE = ("setup", "fasteners", "advice")
"""Tables with keys of one's own."""
TABLES: Mapping[str, type[TomlModel]] = {
    "": Car, "front": Axle, "front.bar": Bar, "rear": Axle, "rear.bar": Bar, "gearbox": Gearbox, "engine": Engine,
    "limits": Limits, "targets.dry": Target, "targets.damp": Target, "targets.wet": Target, "first_run": FirstRun,
}  # fmt: skip
"""Tables of a car file in its order."""


def _built() -> tuple[Measured, ...]:
    rows = [
        replace(row, key=f"{table}.{name}" if table else name)
        for table, model in TABLES.items()
        for name, row in measured_in(model)
    ]
    return tuple(sorted(rows, key=lambda row: row.key in FREE))


_ALL = _built()
_BY_KEY = {row.key: row for row in _ALL}


def measures() -> tuple[Measured, ...]:
    """All values in the order of the car file; front and rear each by their own dotted key."""
    return _ALL


def measure_of(key: str) -> Measured:
    """The value of a dotted key (``rear.bar.length_mm``). KeyError for a key the program does not use."""
    return _BY_KEY[key]


def cant_be(key: str, value: Any) -> str | None:
    """Why a value can't stand at a dotted key, with the mend; None: it may, or the key is one of its owner's."""
    row = _BY_KEY.get(key) or (_BY_KEY["fasteners"] if key.startswith("fasteners.") else None)
    return None if row is None else out_of_bounds(row, key.rpartition(".")[2], value)
