"""A small event of the tests' own, on disk: three entrants, three runs, one day, one car."""

from __future__ import annotations

from pathlib import Path

_FILES = {
    "event.toml": (
        'format = 1\nid = "smallone"\nname = "A day on the quay"\ndays = [2026-05-10]\nruns_per_day = 4\n'
        '[[classes]]\ncode = "ASH"\n[index]\nASH = 0.951\n[mine]\nnumbers = ["58", "12"]\n'
        'cars = { "58" = "estate" }\n'
    ),
    "entrants.csv": "number,driver,car,class\n58,Ada Quill,estate,ASH\n12,Bo Lunt,estate,ASH\n7,Cy Marl,,ASH\n",
    "times.csv": (
        "day,run,number,time,cones,at\n1,1,58,46.912,,10:01:00\n1,1,12,47.204,1,10:02:00\n1,1,7,46.500,,10:03:00\n"
        "1,2,58,46.413,,10:31:00\n1,2,7,46.333,2,10:33:00\n"
    ),
    "weather.csv": "day,at,air_c,surface_c,surface\n1,09:30,19,24,dry\n",
    "worklist.csv": "id,opened,item,due\nw1,day 1,check pads,now\nw2,day 1,look at the belt,now\n",
    "checklist.toml": '"before grid" = ["wheel nuts", "battery held down"]\n',
    "cars/estate.toml": 'name = "estate"\ndrive = "rear"\n[targets.dry]\nfront_psi = 30.0\nrear_psi = 28.0\n',
}


def small_event(folder: Path, **more: str) -> Path:
    """Write it into ``folder``. ``more``: other files' text by name, ``.`` and ``/`` as ``_`` and ``__``."""
    for name, text in _FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    for name, text in more.items():
        (folder / name.replace("__", "/").replace("_", ".")).write_text(text, "utf-8")
    return folder
