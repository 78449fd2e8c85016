"""Engine, wheel, grip, gears and stretches at their edges. By hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from paddock.engine.car.driveline import (
    Driveline,
    curve_of,
    curve_through,
    driveline_of,
    grip_force,
    mass_factor,
    read_points,
    read_size,
    rolling_circumference,
)
from paddock.engine.car.gears import Gear, gear_table, grip_limited, light_rpm, shift_point, speed_table, thrust_curves
from paddock.model.car_drive import Engine, Gearbox
from tests.cars import saloon

G = 9.80665


def line_of(**values: Any) -> Driveline:
    line, _ = driveline_of(saloon(**values))
    assert line is not None
    return line


def keys(**values: Any) -> list[str]:
    return [item.key for item in driveline_of(saloon(**values))[1]]


# --- the engine ---------------------------------------------------------------------------------------------------------


def kept(rpm: list[float], torque: list[float]) -> tuple[tuple[float, ...], tuple[float, ...], list[str]]:
    curve, findings = curve_of(Engine(rpm=tuple(rpm), torque_nm=tuple(torque)))
    said = [f"{item.level} {item.key}" for item in findings]
    return (curve.rpm, curve.torque_nm, said) if curve else ((), (), said)


def test_which_points_of_a_torque_curve_are_kept() -> None:
    left_out, twice, mixed = "fault engine.torque_nm", "fault engine.rpm", "warning engine.rpm"
    assert kept([1, 25000], [0, 5000]) == ((1, 25000), (0, 5000), [])
    assert kept([0, 1, 2], [10, 10, 20]) == ((1, 2), (10, 20), [left_out])
    assert kept([-1, 1, 2, 25001], [10, 10, 20, 10]) == ((1, 2), (10, 20), [left_out] * 2)
    assert kept([1, 2, 3, 4], [-0.1, 10, 20, 5000.1]) == ((2, 3), (10, 20), [left_out] * 2)
    assert kept([1, 1, 2, 2, 3], [10, 11, 20, 21, 30]) == ((1, 2, 3), (10, 20, 30), [twice] * 2)
    assert kept([1, 1, 2], [-5, 11, 20]) == ((1, 2), (11, 20), [left_out])
    assert kept([3, 2, 1], [30, 20, 10]) == ((1, 2, 3), (10, 20, 30), [mixed])
    assert kept([3, 1, 2], [10, 30, 20]) == ((1, 2, 3), (30, 20, 10), [mixed])
    assert kept([1, 1], [10, 11]) == ((), (), [twice, twice])
    assert kept([1, 2], [10]) == ((), (), [left_out])
    assert kept([], [10]) == kept([10], []) == ((), (), [mixed])


def test_a_curve_at_and_beyond_its_points() -> None:
    """Slopes by Fritsch and Butland (1984) at an even pitch: 2 / (1 / 100 + 1 / 50) over 1000 rpm; ends 3/2 less 1/2."""
    curve = curve_through([1000, 2000, 3000], [100, 200, 250])
    assert curve.slopes == pytest.approx((0.125, 2 / (1 / 0.1 + 1 / 0.05), 0.025))
    assert (curve.low, curve.high) == (1000, 3000)
    assert [curve.knows(rpm) for rpm in (999, 1000, 3000, 3001)] == [False, True, True, False]
    assert [curve.at(rpm) for rpm in (0, 1000, 2000, 3000, 4000)] == pytest.approx([100, 100, 200, 250, 250])
    half = 100 + 0.5 * (125 + 0.5 * (300 - 250 - 200 / 3 + 0.5 * (125 + 200 / 3 - 200)))
    assert curve.at(1500) == pytest.approx(half)
    assert curve_through([1000, 2000], [100, 300]).slopes == pytest.approx((0.2, 0.2))
    assert curve_through([0, 1, 2, 3], [0, 2, 1, 1]).slopes[1:3] == (0.0, 0.0)


@pytest.mark.parametrize(
    ("text", "rpm", "torque", "said"),
    [
        ('torque_nm\t"RPM"\n250\t2000\n', (2000,), (250,), []), ("rpm;torque_nm;torque_lbft\n2000;250,5;1\n", (2000,), (250.5,), []),
        ("rpm,torque_nm\n2000,nan\n3000,inf\n4000,1e2\n", (4000,), (100,), ["line 2", "line 3"]), ("\n\nrpm, torque_nm \n1,2,3\n", (1,), (2,), []),
        ("rpm,power\n1,2\n", (), (), ["no col"]), ("torque_nm\n1\n", (), (), ["no col"]), ("rpm,torque_nm", (), (), []),
    ],
)  # fmt: skip
def test_points_as_people_write_them(
    text: str, rpm: tuple[float, ...], torque: tuple[float, ...], said: list[str]
) -> None:
    found = read_points(text)
    assert (found[0], found[1], [item.message[:6] for item in found[2]]) == (rpm, torque, said)
    assert {item.level for item in found[2]} <= {"fault"}


# --- wheel and grip -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("205/50R08", (205, 8, 408.2)), ("205/50R07", None), ("225/45 R17", (225, 17, 634.3)), ("355/30R26", (355, 26, 873.4)), ("355/30R27", None),
        ("455/70R26", (455, 26, 1297.4)), ("455/71R26", None), ("31X10.5R15", (266.7, 15, 787.4)), ("14.9x5R15", None), ("15.1x5-15", (127, 15, 383.54)), (" lt 215 / 65 - 16.5 ", (215, 16.5, 698.6)),
        ("205/00R16", None),
    ],
)  # fmt: skip
def test_sizes_that_can_be(text: str, size: tuple[float, float, float] | None) -> None:
    found = read_size(text)
    assert (None if found is None else (found.width_mm, found.rim_in, found.diameter_mm)) == (
        size if size is None else pytest.approx(size)
    )


def test_a_roll_out_four_per_cent_off_the_size_is_asked_about() -> None:
    """pi x 634.3 mm x .97 = 1932.9 mm."""
    around = math.pi * 634.3 * 0.97
    said = [
        len(rolling_circumference(Gearbox(size="225/45R17", rolling_circumference_mm=around * share))[1])
        for share in (0.959, 0.961, 1.039, 1.041)
    ]
    assert said == [1, 0, 0, 1]
    nothing, findings = rolling_circumference(Gearbox())
    assert (nothing, [(item.level, item.key) for item in findings]) == (
        None,
        [("warning", "gearbox.rolling_circumference_mm")],
    )
    told, findings = rolling_circumference(Gearbox(size="wide", rolling_circumference_mm=1900.0))
    assert (told, [(item.level, item.key) for item in findings]) == (1900.0, [("fault", "gearbox.size")])


def test_what_grip_needs() -> None:
    def needs(**values: Any) -> tuple[float | None, list[str]]:
        grip, findings = grip_force(saloon(**values))
        return grip, [item.key for item in findings]

    assert needs(gearbox__grip_g=None, mass_kg=None, front_share=None) == (
        None,
        ["mass_kg", "front_share", "gearbox.grip_g"],
    )
    assert needs(drive=None, front_share=None) == (None, ["drive"])
    assert needs(drive="all", front_share=None, cg_height_mm=None) == (pytest.approx(0.95 * 1310 * G), [])
    rest = 0.95 * 1310 * G
    assert needs(cg_height_mm=None, wheelbase_mm=None) == (pytest.approx(rest * 0.61), ["cg_height_mm"])
    assert needs(drive="rear", wheelbase_mm=None) == (pytest.approx(rest * 0.39), ["wheelbase_mm"])


# --- the driveline ------------------------------------------------------------------------------------------------------


def test_a_driveline_whole() -> None:
    line = line_of(
        gearbox__wheel_inertia_kg_m2=1.1,
        gearbox__engine_inertia_kg_m2=0.2,
        drag_area_m2=0.7,
        gearbox__rpm_per_s=[5000, 0],
    )
    assert (line.ratios, line.final, line.circumference_m, line.efficiency) == ((3.5, 2.0, 1.4, 1.0), 4.0, 1.905, 0.92)
    assert (line.limiter_rpm, line.mass_kg, line.mu, line.drag_area_m2) == (7000, 1310, 0.95, 0.7)
    assert (line.turning, line.shift_s, line.reaction_s, line.measured_rpm_per_s) == (
        (pytest.approx(4.4), 0.2),
        0.3,
        0.35,
        (5000, 0),
    )
    blank = line_of(gearbox__efficiency=None, gearbox__shift_s=None, gearbox__reaction_s=None)
    assert (blank.efficiency, blank.shift_s, blank.reaction_s, blank.drag_area_m2) == (0.9, 0.3, 0.3, 0.0)
    assert (blank.turning, blank.measured_rpm_per_s) == ((None, None), ())
    assert line_of(gearbox__wheel_inertia_kg_m2=1.1).turning == (pytest.approx(4.4), None)


def test_forces_and_rises_by_hand() -> None:
    line = line_of(drag_area_m2=0.7, gearbox__rpm_per_s=[5000, 0], gearbox__engine_inertia_kg_m2=0.2)
    radius = 1.905 / (2 * math.pi)
    assert line.radius_m == pytest.approx(radius)
    assert (line.overall(1), line.overall(3)) == (14.0, pytest.approx(5.6))
    assert line.kmh(2, 4000) == pytest.approx(4000 / 8 * 1.905 * 60 / 1000)
    assert line.rpm(2, line.kmh(2, 4000)) == pytest.approx(4000)
    assert line.thrust_n(2, 4000) == pytest.approx(300 * 8 * 0.92 / radius)
    assert (line.thrust_n(2, 1999), line.thrust_n(2, 7001)) == (None, None)
    assert line.drag_n(72) == pytest.approx(0.5 * 1.2 * 0.7 * 20**2)
    assert line.moving_kg(2) == pytest.approx(1310 + 0.2 * 64 / radius**2)
    wheels = line_of(gearbox__wheel_inertia_kg_m2=1.1).moving_kg(2)
    assert wheels == pytest.approx(1310 + 4.4 / radius**2)
    assert line_of().moving_kg(2) == pytest.approx(1310 * (1.04 + 0.0025 * 64))
    assert mass_factor(8) == pytest.approx(1.2)
    drag = line.drag_n(line.kmh(3, 4000))
    free = (300 * 5.6 * 0.92 / radius - drag) / (1310 + 0.2 * 5.6**2 / radius**2)
    assert line.acceleration(3, 4000) == pytest.approx(free)
    assert line.rpm_per_s(3, 4000) == pytest.approx(free * 5.6 * 60 / 1.905)
    assert (line.rpm_per_s(1, 4000), line.rpm_per_s(2, 4000)) == (
        5000,
        pytest.approx((line.acceleration(2, 4000) or 0) * 8 * 60 / 1.905),
    )
    assert line.grip_n is not None
    first = (line.grip_n - line.drag_n(line.kmh(1, 4000))) / 1310
    assert line.acceleration(1, 4000) == pytest.approx(first)
    bent = (line.grip_n * 0.8 - line.drag_n(line.kmh(1, 4000))) / 1310
    assert line.acceleration(1, 4000, 0.57) == pytest.approx(bent)
    assert line_of(gearbox__grip_g=None).grip_left_n(0.5) is None
    assert line_of(mass_kg=None).acceleration(2, 4000) is None
    assert line_of(engine={}).acceleration(2, 4000) is None
    assert line_of(mass_kg=None).rpm_per_s(2, 4000) is None
    assert line_of(drive=None).acceleration(1, 4000) == pytest.approx(300 * 14 * 0.92 / radius / (1310 * 1.53))


def test_where_a_gear_ends() -> None:
    assert line_of().top_rpm == 7000
    assert line_of(gearbox__limiter_rpm=6500).top_rpm == 6500
    assert line_of(gearbox__limiter_rpm=None, engine__rpm=[2000, 4000, 6000, 6900]).top_rpm == 6900
    assert line_of(gearbox__limiter_rpm=None, engine={}).top_rpm is None


def test_what_is_said_of_a_driveline() -> None:
    assert keys() == []
    assert keys(engine__rpm=[2000, 4000, 6000, 6999]) == ["engine.rpm"]
    assert keys(gearbox__limiter_rpm=2001) == []
    assert keys(gearbox__limiter_rpm=2000) == ["engine.rpm"]
    assert line_of(gearbox__limiter_rpm=2000).curve is None
    assert line_of(gearbox__limiter_rpm=2001).curve is not None
    assert keys(gearbox__limiter_rpm=None) == ["gearbox.limiter_rpm"]
    words = [
        driveline_of(saloon(gearbox__limiter_rpm=None, **more))[1][-1].message.partition(":")[0]
        for more in ({}, {"gearbox__shift_s": None})
    ]
    assert words == ["missing, so the end of the torque curve stands in", "missing, so 0.3 s is taken"]
    curveless = {
        item.key: item.message.partition(":")[0]
        for item in driveline_of(saloon(gearbox__limiter_rpm=None, engine={}))[1]
    }
    assert curveless["gearbox.limiter_rpm"] == "missing, so no speeds at the limiter"
    assert keys(gearbox__ratios=[20, 2, 0.1]) == []
    assert keys(gearbox__ratios=[20.1, 2, 1]) == keys(gearbox__ratios=[3, 2, 0.09]) == ["gearbox.ratios"]
    assert keys(gearbox__ratios=[3, 2, 2]) == ["gearbox.ratios"]
    assert keys(gearbox__ratios=[3, 2, 1.999, 1.9]) == []
    assert keys(mass_kg=None) == ["mass_kg"]
    assert keys(gearbox__efficiency=None, gearbox__reaction_s=None, gearbox__shift_s=None) == [
        "gearbox.efficiency", "gearbox.reaction_s", "gearbox.shift_s",
    ]  # fmt: skip
    assert keys(engine={}, gearbox__efficiency=None, mass_kg=None, drive=None) == ["engine.rpm"]
    assert keys(drive="all", mass_kg=None, gearbox__grip_g=None) == ["mass_kg", "gearbox.grip_g"]
    nothing, findings = driveline_of(saloon(gearbox={}))
    assert (nothing, [item.key for item in findings]) == (
        None,
        ["gearbox.ratios", "gearbox.final", "gearbox.rolling_circumference_mm"],
    )


# --- gears --------------------------------------------------------------------------------------------------------------


def test_a_gear_whole() -> None:
    """Second of the saloon: shifted at the limiter, 7000 rpm to 4900; grip holds less than its thrust in the middle."""
    line = line_of()
    table = gear_table(saloon())
    second = table.gears[1]
    held, spins = grip_limited(line, 2), grip_limited(line, 2, 1 / 1.2)
    assert held is not None
    rise = line.rpm_per_s(2, 7000 - (line.rpm_per_s(2, 7000) or 0) * 0.175)
    assert rise is not None
    assert second == Gear(
        2, 2.0, pytest.approx(7000 / 8 * 1.905 * 0.06), 7000, pytest.approx(7000 / 8 * 1.905 * 0.06), False, pytest.approx(7000 - rise * 0.35), held[1],
        pytest.approx(4900), pytest.approx(rise), held[0], None if spins is None else spins[1],
    )  # fmt: skip
    assert (table.grip_n, table.line, table.findings) == (line.grip_n, line, ())
    top = table.gears[3]
    assert top == Gear(4, 1.0, pytest.approx(7000 / 4 * 1.905 * 0.06))
    first = table.gears[0]
    free = grip_limited(line, 1, 1 / 1.53)
    assert free is not None
    assert (first.spins_below_kmh, first.grip_limited_from_kmh) == (free[1], pytest.approx(2000 / 14 * 1.905 * 0.06))


def test_gears_that_can_not_be_shifted() -> None:
    odd = gear_table(saloon(gearbox__ratios=[3.0, 0.0, 2.0, 2.0])).gears
    assert [(item.gear, item.ratio, item.limiter_kmh is None, item.shift_rpm) for item in odd] == [
        (1, 3.0, False, None), (2, 0.0, True, None), (3, 2.0, False, None), (4, 2.0, False, None),
    ]  # fmt: skip
    nothing = gear_table(saloon(gearbox={}))
    assert (nothing.gears, nothing.grip_n, nothing.line) == ((), None, None)
    assert {item.key for item in nothing.findings} == {
        "gearbox.ratios",
        "gearbox.final",
        "gearbox.rolling_circumference_mm",
    }


def test_a_next_gear_that_pulls_harder_wherever_both_are_known_is_told() -> None:
    """Torque falls so steeply that 1.9 pulls harder than 2.0 from the first rpm both know: 2000 x 2 / 1.9 = 2105."""
    steep = {"engine__rpm": [2000, 3200], "engine__torque_nm": [500, 20], "gearbox__limiter_rpm": 3200}
    found = gear_table(saloon(**steep, gearbox__ratios=[2.0, 1.9]))
    assert (found.gears[0].shift_rpm, found.gears[0].crosses, found.gears[0].drop_rpm) == (
        pytest.approx(2000 * 2 / 1.9), True, pytest.approx(2000),
    )  # fmt: skip
    (said,) = found.findings
    assert (said.level, said.key, said.message) == (
        "warning", "engine.rpm", "gear 2 pulls harder wherever the curve knows both: add points below 2000 rpm",
    )  # fmt: skip
    mild = gear_table(saloon(engine__rpm=[2000, 7000], engine__torque_nm=[500, 250], gearbox__ratios=[2.0, 1.5]))
    assert mild.gears[0].crosses
    assert mild.findings == ()


def test_the_shift_and_the_light_at_their_edges() -> None:
    """400 N.m flat, then 400 less a fifth a rpm over 4000: in 1 : .9 the thrusts cross where .2 (n - 4000) is a tenth of 400."""
    curve = curve_through([1000, 4000, 5000], [400, 400, 200])
    rpm, crosses = shift_point(curve, 1.0, 0.9, 5000)
    assert crosses
    assert curve.at(rpm) == pytest.approx(curve.at(rpm * 0.9) * 0.9)
    assert shift_point(curve, 1.0, 0.2, 5000) == (5000, False)
    assert shift_point(curve, 1.0, 0.15, 5000) == (5000, False), "the next gear's torque is known nowhere"
    slow = line_of(gearbox__rpm_per_s=[50000, 100], gearbox__reaction_s=1.0)
    assert light_rpm(slow, 2, 7000) == (6900, 100)
    rough = line_of(gearbox__reaction_s=2.0, gearbox__grip_g=None, mass_kg=400)
    rise = rough.rpm_per_s(1, 3500)
    assert light_rpm(rough, 1, 7000) == (pytest.approx(7000 - (rise or 0) * 2), pytest.approx(rise)), (
        "never under half the shift's rpm"
    )
    assert light_rpm(line_of(mass_kg=None), 2, 7000) == (None, None)


def test_grip_limits_only_where_thrust_passes_grip() -> None:
    """Flat thrust of 250 N.m x 8 x .92 / radius: all of second or none of it; a curve that begins over it and falls."""
    radius = 1.905 / (2 * math.pi)
    flat = {"engine__rpm": [2000, 7000], "engine__torque_nm": [250, 250], "drive": "all"}
    thrust = 250 * 8 * 0.92 / radius
    over, under = thrust / (1310 * G) - 1e-6, thrust / (1310 * G) + 1e-6
    low, high = 2000 / 8 * 1.905 * 0.06, 7000 / 8 * 1.905 * 0.06
    assert grip_limited(line_of(**flat, gearbox__grip_g=over), 2) == (pytest.approx(low), pytest.approx(high))
    assert grip_limited(line_of(**flat, gearbox__grip_g=under), 2) is None
    falling = line_of(**(flat | {"engine__torque_nm": [300, 200]}), gearbox__grip_g=over)
    assert grip_limited(falling, 2) == (pytest.approx(low), pytest.approx(4500 / 8 * 1.905 * 0.06, rel=1e-4))
    rising = line_of(**(flat | {"engine__torque_nm": [200, 300]}), gearbox__grip_g=over)
    assert grip_limited(rising, 2) == (pytest.approx(4500 / 8 * 1.905 * 0.06, rel=1e-4), pytest.approx(high))
    assert grip_limited(line_of(drive=None), 1) is None
    assert grip_limited(line_of(engine={}), 1) is None


def test_tables_and_plots_of_every_gear() -> None:
    line = line_of(gearbox__limiter_rpm=6500)
    assert [rpm for rpm, _ in speed_table(line)] == [1000, 2000, 3000, 4000, 5000, 6000, 6500]
    assert speed_table(line_of(gearbox__limiter_rpm=None, engine={})) == ()
    odd = line_of(gearbox__ratios=[3.5, 0.0])
    assert speed_table(odd, 7000)[0] == (7000, (pytest.approx(7000 / 14 * 1.905 * 0.06), None))
    curves = thrust_curves(odd)
    assert [len(points) for points in curves] == [60, 0]
    assert curves[0][0][0] == pytest.approx(2000 / 14 * 1.905 * 0.06)
    assert curves[0][1][0] == pytest.approx((2000 + 5000 / 59) / 14 * 1.905 * 0.06)
    assert thrust_curves(line_of(engine={})) == ()
