"""An axle of a car file and its bar, the same keys under ``[front]`` and ``[rear]``."""

from __future__ import annotations

from typing import Annotated

from paddock.model.settings import TomlModel
from paddock.model.units import Measured


class Bar(TomlModel):
    """An anti-roll bar. ``arms_mm``: perpendicular lever of each hole, hole 1 first.

    ``right_arms_mm`` None: as ``arms_mm``. ``arm_length_mm``: the arm's real length, to the farthest hole or
    one per hole. ``young_gpa``: the arms are the bar itself bent round, and bend. ``link_n_mm``, ``bush_n_mm``:
    give in series at an arm end. ``*_pm``: half the range a measured value may be off by, ``shear_pm`` as a share.
    """

    diameter_mm: Annotated[
        float | None,
        Measured(
            "Bar diameter",
            "mm",
            "Outside diameter of the part that twists.",
            "Calliper, paint off, at three places. 2 % wrong is 8 % of rate.",
            "Nothing of this bar.",
            5,
            80,
        ),
    ] = None
    wall_mm: Annotated[
        float | None,
        Measured(
            "Wall",
            "mm",
            "Of a tubular bar; leave out for a solid one.",
            "Calliper at an open end, ultrasonic gauge, or the maker's drawing; never drill it.",
            "The bar is solid.",
        ),
    ] = None
    bore_mm: Annotated[
        float | None,
        Measured(
            "Bore",
            "mm",
            "Inside diameter instead of the wall.",
            "Calliper at an open end.",
            "The wall is used, else the bar is solid.",
        ),
    ] = None
    length_mm: Annotated[
        float | None,
        Measured(
            "Twisting length",
            "mm",
            "The straight part between the arms.",
            "Tape, middle of one arm to middle of the other.",
            "Nothing of this bar.",
            200,
            2500,
        ),
    ] = None
    arms_mm: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Lever of each hole",
            "mm",
            "Perpendicular from the bar's axis to each hole, hole 1 first.",
            "Set square against the bar; not along a slanting arm.",
            "Nothing of this bar.",
        ),
    ] = None
    right_arms_mm: Annotated[
        tuple[float, ...] | None,
        Measured(
            "Lever of each hole, right",
            "mm",
            "Only where the right arm differs from the left.",
            "As for the left.",
            "As arms_mm.",
        ),
    ] = None
    mr: Annotated[
        float | tuple[float, ...] | None,
        Measured(
            "Bar motion ratio",
            "",
            "Arm-end travel per wheel travel; a list gives one per hole.",
            "Link off the bar: raise the wheel 50 mm and measure the link's end. It counts squared.",
            "Only the end-to-end rate.",
        ),
    ] = None
    left: Annotated[
        int | None,
        Measured(
            "Hole in use, left",
            "",
            "Counted from 1.",
            "Look; count from the end that arms_mm counts from.",
            "setup.front_bar / rear_bar stands in, else no pair in use.",
        ),
    ] = None
    right: Annotated[
        int | None,
        Measured(
            "Hole in use, right",
            "",
            "Counted from 1.",
            "Look; count from the end that arms_mm counts from.",
            "setup.front_bar / rear_bar stands in, else no pair in use.",
        ),
    ] = None
    shear_gpa: Annotated[
        float | None,
        Measured(
            "Shear modulus G",
            "GPa",
            "Of the steel; handbooks give 77 to 79.3.",
            "The bar maker's figure.",
            "79, right within 5 %.",
            20,
            120,
        ),
    ] = None
    arm_ei_n_m2: Annotated[
        float | None,
        Measured(
            "Bending stiffness of an arm",
            "N.m2",
            "E times second moment of the arm's section.",
            "Flat steel: 205e9 x width x height^3 / 12, in metres, height in the plane of bending.",
            "Arms taken as rigid, unless young_gpa says they are the bar itself.",
            1,
            1e7,
        ),
    ] = None
    arm_length_mm: Annotated[
        float | tuple[float, ...] | None,
        Measured(
            "Real length of the arm",
            "mm",
            "To the farthest hole along the arm, or one per hole.",
            "Tape along the arm. Only its bending uses it; the lever is another length.",
            "As long as the lever.",
        ),
    ] = None
    young_gpa: Annotated[
        float | None,
        Measured(
            "Young's modulus of a one-piece bar",
            "GPa",
            "Give it where the arms are the bar bent round.",
            "205 for steel.",
            "Arms taken as rigid: up to 15 % too stiff for a one-piece bar.",
            20,
            250,
        ),
    ] = None
    link_n_mm: Annotated[
        float | None,
        Measured(
            "Link stiffness",
            "N/mm",
            "One drop link with its joints, pulled.",
            "Dial gauge across it under a known load.",
            "Taken as rigid.",
            10,
            1e6,
        ),
    ] = None
    bush_n_mm: Annotated[
        float | None,
        Measured(
            "Bush stiffness at the arm end",
            "N/mm",
            "The rubber that holds the bar, seen at one arm end: its own rate x (bush spacing / link spacing)^2.",
            "Dial gauge at the bush under a known load at the arm ends.",
            "Taken as rigid.",
            10,
            1e6,
        ),
    ] = None
    diameter_pm_mm: Annotated[
        float | None,
        Measured(
            "Diameter, +/-",
            "mm",
            "Half the range your measuring leaves.",
            "Measure three times.",
            "0.1",
            0,
            5,
        ),
    ] = None
    wall_pm_mm: Annotated[
        float | None,
        Measured(
            "Wall or bore, +/-",
            "mm",
            "Half the range your measuring leaves.",
            "Measure three times.",
            "0.2",
            0,
            5,
        ),
    ] = None
    length_pm_mm: Annotated[
        float | None,
        Measured(
            "Length, +/-",
            "mm",
            "Half the range your measuring leaves.",
            "Measure three times.",
            "5",
            0,
            100,
        ),
    ] = None
    arms_pm_mm: Annotated[
        float | None,
        Measured(
            "Lever, +/-",
            "mm",
            "Half the range your measuring leaves.",
            "Measure three times.",
            "1",
            0,
            9,
        ),
    ] = None
    mr_pm: Annotated[
        float | None,
        Measured(
            "Motion ratio, +/-",
            "",
            "Half the range your measuring leaves.",
            "Measure three times.",
            "0.02",
            0,
            0.2,
        ),
    ] = None
    shear_pm: Annotated[
        float | None,
        Measured(
            "Shear modulus, +/-",
            "",
            "As a share: 0.05 = 5 %.",
            "The bar maker's figure.",
            "0.05",
            0,
            0.3,
        ),
    ] = None


class Axle(TomlModel):
    """One axle: springs, tyres, roll centre, unsprung mass and its bar."""

    track_mm: Annotated[
        float | None,
        Measured(
            "Track",
            "mm",
            "Between the tread centres of this axle.",
            "Outside of one tread to inside of the other, on the ground, car settled.",
            "No roll stiffness and no share.",
            500,
            2500,
        ),
    ] = None
    spring_n_mm: Annotated[
        float | None,
        Measured(
            "Spring rate",
            "N/mm",
            "Rate of one spring; 1 lbf/in = 0.1751 N/mm.",
            "Stamped on the spring, or press it on a scale through 25 mm around its working length.",
            "No share; the steps between holes still stand.",
            1,
            1000,
        ),
    ] = None
    spring_mr: Annotated[
        float | None,
        Measured(
            "Spring motion ratio",
            "",
            "Spring travel per wheel travel, at ride height.",
            "Spring out (with a compressor, to the maker's procedure), raise the wheel 50 mm, measure the strut"
            " or spring seat, over 50; 1 for a spring at the wheel.",
            "Taken as 1 with a warning: too stiff for a spring on a lever.",
            0.1,
            1.5,
        ),
    ] = None
    tyre_n_mm: Annotated[
        float | None,
        Measured(
            "Tyre rate",
            "N/mm",
            "Upright stiffness of one tyre at its pressure; mostly 180 to 300.",
            "Load the wheel on a scale in two steps and measure the drop of the hub; the tyre maker may give it.",
            "The tyre is taken as rigid: the share leans too far on springs and bars.",
            50,
            1000,
        ),
    ] = None
    roll_centre_mm: Annotated[
        float | None,
        Measured(
            "Roll centre height",
            "mm",
            "Above the ground; may be below it (negative).",
            "Draw the links to scale at ride height: wheel contact to the point where the links meet, at the "
            "car's middle.",
            "Taken as 0 (on the ground): shares compare, but don't trust the figure itself.",
            -300,
            600,
        ),
    ] = None
    unsprung_kg: Annotated[
        float | None,
        Measured(
            "Unsprung mass",
            "kg",
            "Both wheels, tyres, brakes, hubs and half of the links of this axle.",
            "Weigh a wheel, look up or weigh the rest; 60 to 90 for most cars.",
            "Taken as 0: all mass rides on the springs.",
            0,
            500,
        ),
    ] = None
    unsprung_cg_mm: Annotated[
        float | None,
        Measured(
            "Height of the unsprung mass",
            "mm",
            "Mostly the wheel centre.",
            "Ground to hub centre.",
            "The rolling radius, else 300 mm.",
            100,
            600,
        ),
    ] = None
    bar: Bar | None = None
