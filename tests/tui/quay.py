"""A small event folder for the pages about tyres: one car, a dial gauge, a cold morning and what is said beside."""

from __future__ import annotations

from pathlib import Path

EVENT = """
name = "A day by the water"
altitude_m = 412
days = [2026-05-09]
runs_per_day = 5
[[classes]]
code = "ASH"
[mine]
numbers = ["26"]
[forecast]
hottest_c = 27.0
coldest_c = 12.0
[grid]
interval_s = 1800
[[gauges]]
id = "dial"
step_psi = 0.5
repeat_psi = 0.3
"""
CAR = """
name = "estate"
[targets.dry]
front_psi = 34.0
rear_psi = 44.0
[limits]
front_min_psi = 26.0
rear_min_psi = 28.0
max_cold_psi = 50.0
"""
HEAD = "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,air_c,gauge\n"
COLD = "1,,26,cold,07:45:00,30,30,39,39,12,dial\n"
RAN = "1,1,26,46.5,0,09:00:00\n"


ORDER = "day,number,order\n1,26,1\n1,5,2\n"
"""A run an hour: nothing is left of its warmth by the next."""


def quay(folder: Path, times: str = "", pressures: str = COLD, runs: str = "") -> Path:
    """The folder, with rows of times, pressures and my log as text."""
    files = {
        "event.toml": EVENT, "cars/estate.toml": CAR, "entrants.csv": "number,driver,class\n26,A,ASH\n5,B,ASH\n",
        "times.csv": "day,run,number,time,cones,at\n" + times, "pressures.csv": HEAD + pressures,
        "grid.csv": ORDER,
        "runs.csv": "day,run,number,at,mistake,entry,mid,exit,surface\n" + runs,
    }  # fmt: skip
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder
