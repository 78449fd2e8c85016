"""The rivals of the example event, made from a seed; my own log beside it is written by hand.

Run ``python -m tests.field FOLDER`` to write entrants.csv, grid.csv and times.csv again.
The two groups run by turns, two runs each: so both have two dry runs on the first day before the rain. Every driver learns
at his own rate, has his own scatter (t, four degrees of freedom) and his own liking for cones; group A of the second day is
in its last run when the log ends.
"""

from __future__ import annotations

import csv
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from random import Random

SEED = 20261010
FIRST = """Adda Benno Ciro Delphi Edda Fritjof Greta Halle Ilya Jorun Kester Liv Marek Nerys Osk Pernille Ravi Signe Teo Una
Veit Wanda Ylva Zora Anouk Bodil Corin Dov Eskil Fenja Gilo Hedwig Ivo Jemima Kolya Lotte""".split()
LAST = """Amberley Bramhall Corrigan Dolk Ekholm Fenwick Gannet Hargrave Ibsley Jarvik Kettle Lindqvist Moorcroft Nettleship
Orme Pargeter Quist Rydal Saltmarsh Tolland Umber Varley Westray Yardley Zelnik Aske Blom Cotter""".split()
INDEX = {"ELM": 0.902, "BEECH": 0.925, "ASH": 0.951, "ROWAN": 0.964, "LARCH": 0.972, "OAK": 1.000}
DRIVE = {"ELM": "front", "BEECH": "front", "ASH": "rear", "ROWAN": "rear", "LARCH": "all", "OAK": "front"}
CARS = {"ELM": "town car", "BEECH": "quick small car", "ASH": "saloon", "ROWAN": "open two-seater",
        "LARCH": "all-wheel saloon", "OAK": "light special"}  # fmt: skip
SIZES = {"ELM": 13, "BEECH": 13, "ASH": 14, "ROWAN": 12, "LARCH": 9, "OAK": 11, "HAZEL": 12}
IN_A = ("ELM", "ASH", "LARCH")
BASE_S = 52.4
COURSE = {
    ("A", 1): (1.014, 1.006, 1.062, 1.118),
    ("B", 1): (1.008, 1.004, 1.104, 1.081),
    ("B", 2): (1.013, 1.005, 0.997, 0.994),
    ("A", 2): (1.003, 0.997, 0.992, 0.991),
}
"""What the course makes of a time: cold, dry, damp, standing water; a cold dawn, then sun."""
LEARNING = {1: (1.0, 0.5, 0.33, 0.25), 2: (0.2, 0.17, 0.14, 0.12)}
START = {("A", 1, 1): "09:00", ("B", 1, 1): "10:05", ("A", 1, 3): "11:10", ("B", 1, 3): "12:15",
         ("B", 2, 1): "09:00", ("A", 2, 1): "10:05", ("B", 2, 3): "11:10", ("A", 2, 3): "12:15"}  # fmt: skip
"""When a group's first run of two begins; the second follows ``AGAIN`` seconds later."""
INTERVAL, AGAIN = 40, 1800
LAST_STARTED = 19
"""So far into their last run are the cars of group A when the log ends."""

TOLD: dict[str, tuple[str, str, str, int, tuple[str, ...], tuple[str, ...]]] = {
    "58": ("ASH", "Ansel Brook", "old estate", 34,
           ("57.412", "56.618", "59.934", "62.481"), ("56.264", "55.588+1", "55.514")),
    "23": ("ASH", "Runa Tolland", "saloon", 11,
           ("57.020", "56.380", "60.204+1", "61.918"), ("56.010+1", "55.905", "55.732", "55.868+1")),
    "71": ("ASH", "Kester Dolk", "saloon", 38,
           ("57.355", "56.702", "60.518", "62.240+2"), ("56.377", "55.958", "55.690")),
    "66": ("ELM", "Bodil Jarvik", "town car", 7,
           ("60.411", "59.180", "62.833", "65.602"), ("59.655", "59.247", "59.002", "59.190+1")),
    "104": ("LARCH", "Ivo Saltmarsh", "all-wheel saloon", 30,
            ("55.938", "55.004", "58.010", "59.866"), ("55.420", "55.130+1", "54.851")),
    "158": ("HAZEL", "Petra Brook", "old estate", 5,
            ("58.930", "58.064", "63.822", "62.107+1"), ("57.702", "57.015", "56.388", "56.320")),
    "12": ("OAK", "Ansel Brook", "light special", 30,
           ("54.236", "53.618+1", "59.470", "58.166"), ("53.872", "53.301", "52.846+2", "52.790")),
}  # fmt: skip
"""Runs told by hand: class, driver, car, place in the group, day 1, day 2. My three entries and those they race."""
LATE = {("58", 2, 2): "11:02"}
"""A run of mine typed after the gauge: the clock is that of the typing."""
AS_CODE = {"158": "ASH"}


@dataclass
class Entry:
    """One car of the field. ``pace``: its time over the best possible; ``scatter``, ``learning``: shares of a time;
    ``cones``: on an average run."""

    number: str
    driver: str
    class_: str
    code: str
    group: str
    pace: float
    scatter: float
    learning: float
    cones: float
    wet: float
    car: str = ""
    order: int = 0
    status: str = ""
    control: str = ""


def entries(random: Random) -> list[Entry]:
    """The field in classes, numbered, named and put in two run groups."""
    names = [f"{first} {last}" for first in FIRST for last in LAST]
    random.shuffle(names)
    numbers = [str(value) for value in random.sample(range(2, 199), 120) if str(value) not in TOLD]
    field: list[Entry] = []
    for class_, size in SIZES.items():
        told = [number for number, row in TOLD.items() if row[0] == class_]
        for place in range(size):
            code = class_ if class_ in INDEX else AS_CODE["158"] if place == 0 else random.choice(list(INDEX))
            group = ("A" if place % 2 else "B") if class_ == "HAZEL" else ("A" if class_ in IN_A else "B")
            pace = 1.022 + 0.005 * place * random.uniform(0.7, 1.3) + random.uniform(0, 0.006)
            item = Entry(
                numbers.pop(), names.pop(), class_, code, group, pace,
                scatter=0.0032 * math.sqrt(6 / random.gammavariate(3, 2)), learning=max(0.0, random.gauss(0.009, 0.004)),
                cones=random.gammavariate(1.4, 0.28), wet=random.gauss(1.0, 0.1) * (1.25 if code == "OAK" else 1.0),
                car=CARS[code],
            )  # fmt: skip
            if place < len(told):
                item.number, item.driver, item.car = told[place], TOLD[told[place]][1], TOLD[told[place]][2]
            field.append(item)
    _oddities(field)
    for group in ("A", "B"):
        _in_order([item for item in field if item.group == group], random)
    return field


def _oddities(field: list[Entry]) -> None:
    last = {item.class_: item for item in field}
    last["BEECH"].driver = "[K] Sorrel"
    last["ROWAN"].driver = 'Lio "Rivet" Marlow, jr.'
    last["LARCH"].status = "withdrawn"
    last["ASH"].control = "no"
    [item for item in field if item.class_ == "ROWAN"][7].status = "dsq"


def _in_order(members: list[Entry], random: Random) -> None:
    kept = {TOLD[item.number][3]: item for item in members if item.number in TOLD}
    others = [item for item in members if item.number not in TOLD]
    random.shuffle(others)
    for order in range(1, len(members) + 1):
        (kept[order] if order in kept else others.pop()).order = order


def written_run(entry: Entry, day: int, run: int, random: Random) -> str:
    """A run as results are written."""
    course = COURSE[entry.group, day][run - 1]
    raw = BASE_S / INDEX[entry.code] * entry.pace * (1 + (course - 1) * (entry.wet if course > 1.05 else 1.0))
    raw *= 1 + entry.learning * LEARNING[day][run - 1]
    raw *= 1 + entry.scatter * random.gauss(0, 1) / math.sqrt(random.gammavariate(2, 0.5))
    raw *= 1 + (random.expovariate(1 / 0.022) if random.random() < 0.08 else 0)
    cones = sum(random.random() < 1 - math.exp(-entry.cones / 6) for _ in range(6))
    fate = random.random()
    if fate < 0.012:
        return "dnf"
    missed = "/2" if fate < 0.018 else "/1" if fate < 0.032 else ""
    return f"{raw:.3f}" + (f"+{cones}" if cones else "") + missed


def clock(item: Entry, day: int, run: int) -> str:
    """When the car left the line."""
    late = LATE.get((item.number, day, run))
    if late:
        return late
    hour, minute = START[item.group, day, run - (run + 1) % 2].split(":")
    at = int(hour) * 3600 + int(minute) * 60 + (AGAIN if run % 2 == 0 else 0) + (item.order - 1) * INTERVAL
    return f"{at // 3600:02d}:{at % 3600 // 60:02d}:{at % 60:02d}"


def times(field: list[Entry], random: Random) -> list[list[str]]:
    """Rows of times.csv in the order they were driven."""
    rows: list[list[str]] = []
    absent = [item.number for item in field if item.class_ == "ASH"][-3]
    for item in field:
        for day in (1, 2):
            if day == 2 and item.status == "withdrawn":
                continue
            for run in range(1, 5):
                made = written_run(item, day, run, random)
                if (item.group, day, run) == ("A", 2, 4) and item.order > LAST_STARTED:
                    continue
                told = TOLD[item.number][3 + day] if item.number in TOLD else None
                text = "dns" if item.number == absent and day == 2 else told[run - 1] if told else made
                rows.append(_row(item, day, run, text))
    rows.sort(key=lambda row: (int(row[0]), row[7], int(row[1])))
    return _with_rerun(rows)


def _row(item: Entry, day: int, run: int, text: str) -> list[str]:
    at = clock(item, day, run)
    if text in ("dnf", "dns"):
        return [str(day), str(run), item.number, "", "", "", text, "" if text == "dns" else at, ""]
    body, _, misses = text.partition("/")
    time, _, cones = body.partition("+")
    return [str(day), str(run), item.number, time, cones or "0", misses or "0", "", at, ""]


def _with_rerun(rows: list[list[str]]) -> list[list[str]]:
    """One car was stopped by a red flag: its first try stays in the file, marked."""
    for place, row in enumerate(rows):
        if row[:2] == ["1", "2"] and row[2] not in TOLD and row[6] == "" and place > 60:
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
        [item.number, item.driver, item.car, item.class_, item.code if item.class_ == "HAZEL" else "",
         DRIVE[item.code], "race" if item.code == "OAK" else "street", item.control, item.status]
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
