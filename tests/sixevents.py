"""An invented season of six events on the disk, whole enough to be told in one page: a change tried three times, tyres
read at each, a part that comes due, cones that cost places."""

from __future__ import annotations

from pathlib import Path
from random import Random

from tests.seasonfiles import write_event

NAMES = ("Quay", "Mill", "Airfield", "Harbour", "Quarry", "Fair")
DAYS = ("2026-04-04", "2026-05-02", "2026-06-06", "2026-07-04", "2026-08-01", "2026-09-05")
RULES = """\
name = "2026"
currency = "crowns"
[points]
by_place = [10, 8, 6, 5]
[drops]
worst = 1
[parts.estate]
"front pads" = 25
"gearbox oil" = 60
[[events]]
folder = "3-airfield"
fee = 40
paid = true
[[events]]
name = "Washed out"
days = [2026-06-20]
fee = 35
[[events]]
name = "Autumn"
days = [2026-10-10, 2026-10-11]
runs_per_day = 30
fee = 60
"""
CAR = 'name = "estate"\ndrive = "rear"\n[targets.dry]\nfront_psi = 31\nrear_psi = 29\n'
BAR_EVENTS = (1, 3, 4)
"""Events at which the softer bar came on before run 4; it is worth 0.4 s."""


def _times(at: int, rng: Random) -> dict[str, tuple[str, ...]]:
    """Six runs a driver; mine is 26, with a cone on its quickest run at the second and fifth event."""
    found = {}
    for number, pace in (("26", 46.0), ("7", 45.95), ("8", 46.4), ("31", 46.9), ("44", 47.3), ("52", 46.6)):
        runs = []
        for run in range(6):
            gain = 0.4 if number == "26" and at in BAR_EVENTS and run >= 3 else 0.0
            runs.append(pace - 0.03 * run - gain + rng.gauss(0, 0.12))
        texts = [f"{time:.3f}" for time in runs]
        if number == "26" and at in (1, 4):
            best = runs.index(min(runs))
            texts[best] += "+1"
        found[number] = tuple(texts)
    return found


def _files(at: int, rng: Random) -> dict[str, str]:
    before, wear = 6 * at, {"A": 0.06, "B": 0.062, "C": 0.045, "D": 0.047}
    harsh = (1.0, 1.3, 0.7, 1.1, 1.0, 0.9)
    worn = sum(harsh[:at])
    tyres = "tyre,set,size,kind,price,runs_before,directional,max_cold_psi,floor_mm,delivery_days\n" + "".join(
        f"{name},dry,205/50R16,street,120,{before},no,50,2,10\n" for name in wear
    )
    fitted = "day,run,number,corner,tyre\n" + "".join(
        f"1,1,26,{corner},{name}\n" for corner, name in zip(("lf", "rf", "lr", "rr"), wear, strict=True)
    )
    tread = "day,tyre,inner_mm,middle_mm,outer_mm\n"
    for day, of in ((0, worn), (1, worn + harsh[at])):
        for name, mm in wear.items():
            depths = [7 - 6 * of * mm * share + rng.gauss(0, 0.04) for share in (0.7, 0.6, 1.0)]
            tread += f"{day},{name},{','.join(f'{depth:.1f}' for depth in depths)}\n"
    air, surface = 8 + 3 * at, "wet" if at == 2 else "dry"
    rise = 1.5 if surface == "wet" else 4.0 - 0.1 * at
    pressures = "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,tyre_c,air_c\n"
    pressures += f"1,,26,cold,08:00,27,27,25,25,{air},{air}\n"
    pressures += f"1,1,26,after,09:05,{27 + rise:.1f},{27 + rise:.1f},{25 + rise:.1f},{25 + rise:.1f},,{air}\n"
    runs = "day,run,number,at,mistake,lost_s,surface\n" + "".join(
        f"1,{run},26,{8 + run:02}:00,{'yes' if run == 2 and at == 3 else 'no'},{'1.5' if run == 2 and at == 3 else ''},{surface}\n"
        for run in range(1, 7)
    )
    changes = "id,day,run,number,kind,key,item,before,after,decision\n"
    if at in BAR_EVENTS:
        changes += "same,1,4,26,test,rear_bar,rear bar hole,2,1,keep\n"
    if at == 2:
        changes += "pads,1,1,26,repair,,front pads,worn,new,keep\n"
    return {
        "tyres": tyres, "fitted": fitted, "tread": tread, "pressures": pressures, "runs": runs, "changes": changes,
    }  # fmt: skip


def write_season(home: Path) -> Path:
    """Six event folders with ``season.toml`` beside them."""
    rng = Random(20261130)
    for at, (name, day) in enumerate(zip(NAMES, DAYS, strict=True)):
        folder = home / f"{at + 1}-{name.lower()}"
        write_event(folder, _times(at, rng), name, day, **_files(at, rng))
        toml = (folder / "event.toml").read_text("utf-8").replace("runs_per_day = 3", "runs_per_day = 6")
        toml = toml.replace('numbers = ["26"]', 'numbers = ["26"]\ncars = { "26" = "estate" }')
        edition = "spring table" if at < 3 else "autumn table"
        (folder / "event.toml").write_text(toml.replace("[index]\n", f'[index]\nedition = "{edition}"\n'), "utf-8")
        (folder / "cars").mkdir()
        (folder / "cars" / "estate.toml").write_text(CAR, "utf-8")
    (home / "season.toml").write_text(RULES, "utf-8")
    return home
