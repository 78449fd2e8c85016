"""The two invented cars of the small event, as their files stand."""

from __future__ import annotations

SALOON = """\
name = "saloon"
drive = "front"
mass_kg = 1250            # driver in, tank half full
front_share = 0.6
cg_height_mm = 530        # guessed
wheelbase_mm = 2650

[setup]
rear_bar = "2-2"
front_toe = "1 mm out"
rear_toe = "0"
front_pressure = 32
rear_pressure = 40

[targets.dry]
front_psi = 32.0
rear_psi = 40.0

[targets.damp]
front_psi = 30.0
rear_psi = 34.0

[targets.wet]
front_psi = 31.0
rear_psi = 33.0

[limits]
front_min_psi = 26.0
rear_min_psi = 26.0
placard_front_psi = 32.0
placard_rear_psi = 31.0
wheel_max_psi = 60.0
max_cold_psi = 48.0

[front]
track_mm = 1540
spring_n_mm = 30.0
spring_mr = 0.95
tyre_n_mm = 240.0
roll_centre_mm = 55.0
unsprung_kg = 80.0
unsprung_cg_mm = 305.0

[front.bar]
diameter_mm = 23.0
length_mm = 940.0
arms_mm = [235.0]
mr = 0.57
left = 1
right = 1

[rear]
track_mm = 1525
spring_n_mm = 44.0
spring_mr = 0.75
tyre_n_mm = 240.0
roll_centre_mm = 110.0
unsprung_kg = 64.0
unsprung_cg_mm = 305.0

[rear.bar]
diameter_mm = 24.0
wall_mm = 3.5
length_mm = 910.0
arms_mm = [250.0, 230.0, 210.0]
mr = 0.62
left = 2
right = 2
shear_gpa = 79.0

[gearbox]
ratios = [3.6, 2.1, 1.4, 1.05, 0.85]
final = 3.9
efficiency = 0.92
limiter_rpm = 6800
shift_s = 0.3
reaction_s = 0.35
grip_g = 0.95
size = "215/45R17"

[engine]
rpm = [1500, 2000, 2500, 3000, 4000, 5000, 5500, 6000, 6500, 6800]
torque_nm = [180, 240, 280, 290, 292, 285, 272, 255, 230, 210]

[fasteners]
"wheel nut" = 115
"heat shield bolt" = 25
"rear end-link bolt" = 50
"""

COUPE = """\
name = "coupe"
drive = "rear"
mass_kg = 980
front_share = 0.49
cg_height_mm = 470
wheelbase_mm = 2400

[setup]
front_bar = "2-2"
rear_bar = "1-1"
front_pressure = 27
rear_pressure = 28

[targets.dry]
front_psi = 27.0
rear_psi = 28.0

[targets.damp]
front_psi = 26.0
rear_psi = 26.5

[limits]
placard_front_psi = 25.0
placard_rear_psi = 25.0
wheel_max_psi = 55.0
max_cold_psi = 42.0

[front]
track_mm = 1450
spring_n_mm = 50.0
spring_mr = 0.66
tyre_n_mm = 205.0
roll_centre_mm = 40.0
unsprung_kg = 58.0
unsprung_cg_mm = 290.0

[front.bar]
diameter_mm = 21.0
length_mm = 830.0
arms_mm = [225.0, 205.0, 185.0]
mr = 0.6
left = 2
right = 2

[rear]
track_mm = 1460
spring_n_mm = 42.0
spring_mr = 0.76
tyre_n_mm = 205.0
roll_centre_mm = 85.0
unsprung_kg = 60.0
unsprung_cg_mm = 290.0

[rear.bar]
diameter_mm = 15.0
length_mm = 790.0
arms_mm = [215.0, 195.0]
mr = 0.68
left = 1
right = 1

[gearbox]
ratios = [3.3, 2.05, 1.45, 1.1, 0.9]
final = 4.1
efficiency = 0.91
limiter_rpm = 7600
shift_s = 0.25
reaction_s = 0.35
grip_g = 0.98
rolling_circumference_mm = 1780

[engine]
rpm = [1500, 2500, 3500, 4500, 5000, 5500, 6000, 6500, 7000, 7600]
torque_nm = [105, 122, 136, 146, 150, 151, 148, 142, 132, 118]

[fasteners]
"wheel nut" = 105
"front end-link nut" = 42
"""
