"""Event folders on the disk for tests."""

from __future__ import annotations

from pathlib import Path

EVENT = """\
# rules as posted on the board
format = 1
name = "Two days at the old car park"
days = [2026-05-09, 2026-05-10]
runs_per_day = 5

[rules]
cone_s = 2.0   # a cone
miss = "invalid"

[[classes]]
code = "LIME"
scored_by = "raw"
[[classes]]
code = "OAK"
scored_by = "index"

[index]
edition = "2026 club table"
LIME = 0.812
OAK = 0.900

[mine]
numbers = ["26"]
"""
ENTRANTS = """\
number,driver,car,class,index,drive,tyre_kind,control,status
26,Ada Nowhere,Estate,LIME,,front,street,,
7,"Brook, Otter [R]",Coupe,OAK,,rear,street,,
"""
TIMES = """\
day,run,number,time,cones,misses,status,at,try
1,1,26,47.250,,,,10:01,
1,1,7,48.003,1,,,10:02,
1,2,26,46.512,,,,10:31,
"""
CAR = """\
name = "estate"
drive = "front"
[limits]
max_cold_psi = 50.0
[front.bar]
arms_mm = [240.0, 225.0]
"""


def small_folder(path: Path) -> Path:
    """Two entrants, three runs, a car, a checklist, pressures."""
    path.mkdir(parents=True, exist_ok=True)
    (path / "cars").mkdir()
    files = {
        "event.toml": EVENT,
        "entrants.csv": ENTRANTS,
        "times.csv": TIMES,
        "cars/estate.toml": CAR,
        "checklist.toml": 'inspection = ["wheel nuts", "helmet"]\n',
        "pressures.csv": "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi\n1,1,26,after,10:03,34,34.5,40,40\n",
        "notes.csv": 'id,day,topic,text\nabc,1,line,"late\nat the turn"\n',
    }
    for name, text in files.items():
        (path / name).write_bytes(text.encode())
    return path


def large_folder(path: Path, entrants: int = 300, runs: int = 10) -> Path:
    """``entrants`` x ``runs`` rows of times over two days, every time another."""
    small_folder(path)
    head, *_ = ENTRANTS.splitlines(keepends=True)
    rows = "".join(f"{number},Driver {number},Estate,LIME,,front,street,,\n" for number in range(1, entrants + 1))
    (path / "entrants.csv").write_bytes((head + rows).encode())
    lines = [TIMES.splitlines(keepends=True)[0]]
    for at in range(entrants * runs):
        run, number = divmod(at, entrants)
        day, run = divmod(run, (runs + 1) // 2)
        cones = "1" if at % 7 == 0 else ""
        time = 40_000 + (at * 7919) % 20_000
        lines.append(f"{day + 1},{run + 1},{number + 1},{time / 1000:.3f},{cones},,,{9 + run:02d}:{number % 60:02d},\n")
    (path / "times.csv").write_bytes("".join(lines).encode())
    return path


def every_byte(path: Path) -> dict[str, bytes | None]:
    """All files of a folder with their bytes, folders as None: what must be the same after reading."""
    return {
        str(item.relative_to(path)): item.read_bytes() if item.is_file() else None for item in sorted(path.rglob("*"))
    }
