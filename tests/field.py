"""The rivals of the example event, made from a seed; my own log beside it is written by hand.

Run ``python -m tests.field FOLDER`` to write entrants.csv, grid.csv and times.csv again.
The course dries through the first morning, drivers learn, cones fall; group A of the second day
has its last run still to come.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path
from random import Random

SEED = 20260509
FIRST = """Ada Bela Cato Dima Elin Faro Gwen Hale Ines Joss Kaja Lars Mina Noor Odin Pia Quinn Rafe Suri Tove
Ulla Vito Wren Xeno Yara Zeno Alma Bram Cleo Dara Emre Fenn Gita Hugo Isla Jory""".split()
LAST = """Ashdown Birkett Calder Dunmore Eskdale Farrow Garth Holloway Inskip Jessop Kirkby Linden Marsh Norwood
Oakes Penrose Quill Rushton Selby Thornby Upton Vance Wickham Yarrow Zeller Alder Brandt Corrin""".split()
INDEX = {"WREN": 0.798, "LARK": 0.806, "OWL": 0.819, "KITE": 0.826, "HERON": 0.833, "SWIFT": 0.862}
DRIVE = {"WREN": "front", "LARK": "front", "OWL": "rear", "KITE": "rear", "HERON": "all", "SWIFT": "rear"}
CARS = {"WREN": "small hatch", "LARK": "hot hatch", "OWL": "coupe", "KITE": "roadster", "HERON": "all-wheel saloon",
        "SWIFT": "light special"}  # fmt: skip
SIZES = {"WREN": 13, "LARK": 10, "OWL": 9, "KITE": 11, "HERON": 8, "SWIFT": 9, "FINCH": 12}
SURFACE = {
    ("A", 1): (1.085, 1.055, 1.028, 1.010, 1.004),
    ("B", 1): (1.006, 1.002, 0.999, 0.998, 0.997),
    ("A", 2): (1.000, 0.997, 0.996, 0.995, 0.995),
    ("B", 2): (1.004, 1.000, 0.999, 0.998, 0.998),
}
LEARNING = {1: (0.009, 0.004, 0.002, 0.001, 0.0), 2: (0.004, 0.001, 0.0, 0.0, 0.0)}
START = {("A", 1): 9 * 3600, ("B", 1): 11.5 * 3600, ("B", 2): 9 * 3600, ("A", 2): 11.5 * 3600}
INTERVAL, PAUSE = 35, 180
IN_A = ("WREN", "LARK", "OWL")

MINE: dict[str, dict[int, tuple[str, ...]]] = {
    "31": {1: ("50.662", "49.118+1", "47.801", "46.655", "46.247+1"), 2: ("46.398", "46.181", "47.206", "46.064+1")},
    "87": {1: ("46.012", "45.571", "45.402+1", "45.250", "45.377"), 2: ("45.610", "45.222", "45.190", "45.301+1", "45.118")},
    "44": {1: ("51.020", "49.433", "47.990", "46.980+1", "46.702"), 2: ("46.511", "46.288", "46.020", "46.377+1")},
}  # fmt: skip
"""Runs told by hand: my two cars and the rival they chase."""


@dataclass
class Entry:
    """One car of the field. ``pace``: its time over the best possible."""

    number: str
    driver: str
    class_: str
    code: str
    pace: float
    group: str
    order: int = 0
    status: str = ""
    control: str = ""


def entries(random: Random) -> list[Entry]:
    """The field in classes, numbered, named and put in two run groups."""
    names = [f"{first} {last}" for first in FIRST for last in LAST]
    random.shuffle(names)
    numbers = [str(value) for value in random.sample(range(2, 199), 90) if str(value) not in MINE]
    field: list[Entry] = []
    for class_, size in SIZES.items():
        for place in range(size):
            code = class_ if class_ in INDEX else random.choice(list(INDEX))
            pace = 1.009 + 0.007 * place * random.uniform(0.8, 1.15) + random.uniform(0, 0.008)
            group = ("A" if place % 2 else "B") if class_ == "FINCH" else ("A" if class_ in IN_A else "B")
            field.append(Entry(numbers.pop(), names.pop(), class_, code, pace, group))
    _place_mine(field)
    _oddities(field)
    for group in ("A", "B"):
        members = [item for item in field if item.group == group]
        random.shuffle(members)
        for order, item in enumerate(members, 1):
            item.order = order
    return field


def _place_mine(field: list[Entry]) -> None:
    wren = [item for item in field if item.class_ == "WREN"]
    kite = [item for item in field if item.class_ == "KITE"]
    wren[0].number, wren[0].driver = "31", "Robin Tamsin Vale"
    wren[1].number, wren[1].driver = "44", "Hedda Corrin"
    kite[2].number, kite[2].driver = "87", "Robin Tamsin Vale"


def _oddities(field: list[Entry]) -> None:
    by_class = {item.class_: item for item in field}
    by_class["LARK"].driver = "[R] O'Dell"
    by_class["OWL"].driver = 'Juno "Spanner" Holt, jr.'
    by_class["HERON"].status = "withdrawn"
    by_class["SWIFT"].control = "no"
    by_class["WREN"].status = ""
    [item for item in field if item.class_ == "KITE"][7].status = "dsq"


def written_run(entry: Entry, day: int, run: int, random: Random) -> str:
    """A run as results are written."""
    surface = SURFACE[entry.group, day][run - 1]
    tyres = 1 + (surface - 1) * (1.35 if entry.class_ == "SWIFT" else 1.0)
    raw = 37.0 / INDEX[entry.code] * entry.pace * tyres * (1 + LEARNING[day][run - 1] * random.uniform(0.6, 1.6))
    raw *= 1 + random.gauss(0, 0.0045) + (random.uniform(0.012, 0.05) if random.random() < 0.10 else 0)
    cones = random.choices((0, 1, 2, 3), (78, 16, 4, 2))[0]
    fate = random.random()
    if fate < 0.012:
        return "dnf"
    missed = "/1" if fate < 0.03 else ""
    return f"{raw:.3f}" + (f"+{cones}" if cones else "") + missed


def clock(entry: Entry, day: int, run: int, size: int) -> str:
    """When the car left the line."""
    at = START[entry.group, day] + (run - 1) * (size * INTERVAL + PAUSE) + (entry.order - 1) * INTERVAL
    return f"{int(at // 3600):02d}:{int(at % 3600 // 60):02d}:{int(at % 60):02d}"


def times(field: list[Entry], random: Random) -> list[list[str]]:
    """Rows of times.csv in the order they were driven."""
    rows: list[list[str]] = []
    sizes = {group: sum(item.group == group for item in field) for group in ("A", "B")}
    absent = next(item.number for item in field if item.class_ == "WREN" and item.number not in MINE)
    for item in field:
        for day in (1, 2):
            if (day == 2 and item.status == "withdrawn") or (day == 2 and item.number == absent):
                continue
            for run in range(1, 5 if (item.group, day) == ("A", 2) else 6):
                made = written_run(item, day, run, random)
                told = MINE.get(item.number, {}).get(day)
                rows += _row(item, day, run, told[run - 1] if told else made, clock(item, day, run, sizes[item.group]))
    rows.sort(key=lambda row: (int(row[0]), row[7], int(row[1])))
    return _with_rerun(rows)


def _row(item: Entry, day: int, run: int, text: str, at: str) -> list[list[str]]:
    if text == "dnf":
        return [[str(day), str(run), item.number, "", "", "", "dnf", at, ""]]
    body, _, misses = text.partition("/")
    time, _, cones = body.partition("+")
    return [[str(day), str(run), item.number, time, cones or "0", misses or "0", "", at, ""]]


def _with_rerun(rows: list[list[str]]) -> list[list[str]]:
    """One car was stopped by a red flag: its first try stays in the file, marked."""
    for place, row in enumerate(rows):
        if row[0] == "1" and row[1] == "2" and row[2] not in MINE and row[6] == "" and place > 60:
            first = [*row[:3], "", "", "", "rerun", row[7], "1"]
            row[8] = "2"
            return [*rows[:place], first, *rows[place:]]
    return rows


def _write(path: Path, header: str, rows: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header.split(","))
        writer.writerows(rows)


def main(folder: Path) -> None:
    """Write the three files."""
    random = Random(SEED)
    field = entries(random)
    people = [
        [item.number, item.driver, CARS[item.code], item.class_, item.code if item.class_ == "FINCH" else "",
         DRIVE[item.code], "race" if item.code == "SWIFT" else "street", item.control, item.status]
        for item in field
    ]  # fmt: skip
    _write(folder / "entrants.csv", "number,driver,car,class,index,drive,tyre_kind,control,status", people)
    order = sorted(field, key=lambda item: (item.group, item.order))
    work = {"A": "B", "B": "A"}
    grid = [[str(day), item.number, item.group, str(item.order), work[item.group]] for day in (1, 2) for item in order]
    _write(folder / "grid.csv", "day,number,group,order,work_group", grid)
    _write(folder / "times.csv", "day,run,number,time,cones,misses,status,at,try", times(field, random))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
