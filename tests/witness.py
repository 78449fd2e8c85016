"""The JSON of every verb over the example and random folders, kept and compared byte for byte.

Before a change of structure ``python -m tests.witness keep FILE``, after it ``python -m tests.witness against FILE``: prints
each answer that differs, exit code 1 where one does. ``--folders N`` (200) and ``--seed S`` choose the folders.
"""

from __future__ import annotations

import csv
import io
import json
import sys
import tempfile
from argparse import ArgumentParser
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

from paddock.__main__ import main as paddock

EXAMPLE = Path(__file__).resolve().parents[1] / "example_event"
CLASSES = ("ELM", "OAK", "YEW", "FIR")
CORNERS = ("lf", "rf", "lr", "rr")
MINE = ("7", "70", "8")


def verbs(folder: Path) -> Iterator[tuple[str, ...]]:
    """The words of every reading verb for one folder."""
    at = f"{folder}"
    yield ("check", at)
    yield ("standings", at)
    yield ("standings", at, "--day", "1")
    numbers = sorted({row["number"] for row in _rows(folder / "entrants.csv")} & {*MINE, "58", "158", "12"})
    for number in numbers:
        yield ("gap", at, "--number", number)
        yield ("next", at, "--number", number)
        yield ("chances", at, "--number", number)
    for row in _rows(folder / "changes.csv"):
        yield ("effect", at, "--change", row["id"])
    yield ("tyres", at)
    for car in sorted((folder / "cars").glob("*.toml")):
        yield ("bar", f"{car}")
        yield ("gears", f"{car}")
    yield ("air", "--gauge", "30", "--temp-c", "25", "--altitude-m", "640", "--to-temp-c", "5", "--to-altitude-m", "0")


def answers(folder: Path) -> dict[str, str]:
    """Words of the command (the folder as ``.``) to the exit code and the JSON's text."""
    found = {}
    for words in verbs(folder):
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = paddock([*words, "--json"])
        said = f"{code} {out.getvalue()}{err.getvalue()}".replace(f"{folder}", ".")
        found[" ".join(words).replace(f"{folder}", ".")] = said
    return found


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        return []
    with path.open(encoding="utf-8-sig", newline="") as source:
        return list(csv.DictReader(source))


# random folders


def write_folder(home: Path, seed: int) -> Path:
    """A plausible folder: some files missing, some cells blank, now and then a fault."""
    draw = Random(seed)
    home.mkdir(parents=True)
    (home / "cars").mkdir()
    days, per_day = draw.choice((1, 1, 2)), draw.choice((2, 3, 4, 5))
    classes = CLASSES[: draw.randint(1, 4)]
    (home / "event.toml").write_text(_event(draw, days, per_day, classes), encoding="utf-8")
    numbers = [*MINE[: draw.randint(1, 3)], *(f"{number}" for number in range(20, 20 + draw.randint(2, 14)))]
    _write(home / "entrants.csv", "number,driver,car,class,index,drive,tyre_kind,control,status", (
        (number, f"Driver {number}", "", draw.choice(classes), "", draw.choice(("front", "rear", "")),
         draw.choice(("street", "")), draw.choice(("", "", "", "no")), draw.choice(("",) * 12 + ("withdrawn", "dsq")))
        for number in numbers
    ))  # fmt: skip
    level = {number: draw.gauss(50, 1.5) for number in numbers}
    ran = [
        (day, run, number) for day in range(1, days + 1) for run in range(1, per_day + 1) for number in numbers
        if draw.random() < (0.97 if run < per_day else 0.7)
    ]  # fmt: skip
    _write(home / "times.csv", "day,run,number,time,cones,misses,status,at,try", (
        (day, run, number, f"{level[number] - 0.3 * run + draw.gauss(0, 0.25):.3f}", draw.choice((0, 0, 0, 1, 2, "")),
         draw.choice(("",) * 20 + (1,)), draw.choice(("",) * 24 + ("dnf", "rerun", "practice")), _clock(day, run), "")
        for day, run, number in ran
    ))  # fmt: skip
    _write(home / "runs.csv", "day,run,number,at,mistake,unsafe,entry,mid,exit,slalom,surface,note", (
        (day, run, number, _clock(day, run), draw.choice(("no", "no", "yes", "")),
         draw.choice(("",) * 25 + ("vibration",)), *(draw.choice(("", -2, -1, 0, 0, 1, 2)) for _ in range(4)),
         draw.choice(("dry", "dry", "damp", "drying", "wet", "")), "")
        for day, run, number in ran if number in MINE and draw.random() < 0.9
    ))  # fmt: skip
    _mine(home, draw, [item for item in ran if item[2] in MINE], per_day)
    for name in ("estate", "special"):
        if draw.random() < 0.8:
            (home / "cars" / f"{name}.toml").write_text(_car(draw, name), encoding="utf-8")
    for name in ("pressures", "changes", "tyres", "tread", "runs"):
        if draw.random() < 0.1:
            (home / f"{name}.csv").unlink(missing_ok=True)
    return home


def _mine(home: Path, draw: Random, ran: Sequence[tuple[int, int, str]], per_day: int) -> None:
    readings = [
        (day, run, number, moment, _clock(day, run, 4 if moment == "after" else 8), *_four(draw), draw.choice(("", 18, 45)),
         draw.choice(("", 12, 20)), draw.choice(("", 3)), "dial")
        for day, run, number in ran for moment in ("before", "after", "set") if draw.random() < 0.45
    ]  # fmt: skip
    _write(home / "pressures.csv", "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,tyre_c,air_c,wait_min,gauge",
           readings)  # fmt: skip
    _write(home / "changes.csv", "id,day,run,at,number,kind,key,item,before,after,reason,expect,undoes,decision", (
        (f"c{at}", 1, draw.randint(2, per_day), "", draw.choice(MINE), draw.choice(("test", "correction", "repair")),
         draw.choice(("front_bar", "rear_pressure", "toe")), "", draw.choice(("2", "30")), draw.choice(("3", "28")), "",
         "", "", draw.choice(("", "keep", "revert")))
        for at in range(draw.randint(0, 3))
    ))  # fmt: skip
    tyres = [f"T{at}" for at in range(1, 5)]
    _write(home / "tyres.csv", "tyre,set,size,kind,date_code,bought,price,runs_before,directional,max_cold_psi,floor_mm", (
        (tyre, "A", "195/55R15", "street", draw.choice(("", "1424")), "", draw.choice(("", 90)), draw.randint(0, 60),
         draw.choice(("yes", "no", "")), draw.choice((44, 51)), draw.choice(("", 2)))
        for tyre in tyres
    ))  # fmt: skip
    _write(home / "fitted.csv", "day,run,number,corner,tyre,orientation",
           ((1, 1, MINE[0], corner, tyre, "") for corner, tyre in zip(CORNERS, tyres, strict=True)))  # fmt: skip
    _write(home / "tread.csv", "day,tyre,inner_mm,middle_mm,outer_mm", (
        (day, tyre, *(f"{draw.uniform(4.5, 6.5) - 0.3 * day:.1f}" for _ in range(3))) for day in (1, 2) for tyre in tyres
    ))  # fmt: skip
    _write(home / "weather.csv", "day,at,air_c,surface_c,humidity_pct,station_hpa,surface,sky,wind_kmh", (
        (1, f"{hour:02d}:00", draw.randint(3, 25), "", "", draw.choice(("", 1009)), draw.choice(("dry", "damp")), "", "")
        for hour in (8, 11, 14)
    ))  # fmt: skip


def _clock(day: int, run: int, minutes: int = 0) -> str:
    at = 9 * 60 + 35 * run + minutes + day
    return f"{at // 60:02d}:{at % 60:02d}"


def _four(draw: Random) -> list[object]:
    base = draw.uniform(26, 36)
    return [round((base + draw.gauss(0, 0.8)) * 2) / 2 if draw.random() < 0.95 else "" for _ in CORNERS]


def _event(draw: Random, days: int, per_day: int, classes: Sequence[str]) -> str:
    dates = ", ".join(f"2026-05-{9 + at:02d}" for at in range(days))
    lines = [
        "format = 1", 'name = "A day somewhere"', f"altitude_m = {draw.choice((0, 300, 900))}", f"days = [{dates}]",
        f"runs_per_day = {per_day}", "[rules]", f"cone_s = {draw.choice((1, 2))}",
        f"miss = {draw.choice(('10', chr(34) + 'invalid' + chr(34)))}", f"days = {draw.choice(('sum', 'best'))!r}",
        f"index_rounding = {draw.choice(('half-up', 'truncate'))!r}", f"ties = {draw.choice(('shared', 'next-best'))!r}",
        *(f'[[classes]]\ncode = "{code}"' for code in classes), "[index]", *(
            f"{code} = 0.{draw.randint(780, 999)}" for code in classes
        ), "[mine]", f"numbers = {json.dumps(list(MINE))}", 'cars = { "7" = "estate", "70" = "estate", "8" = "special" }',
    ]  # fmt: skip
    if draw.random() < 0.6:
        lines += ["[forecast]", f"hottest_c = {draw.randint(15, 32)}.0", f"coldest_c = {draw.randint(1, 12)}.0"]
    lines += ["[[gauges]]", 'id = "dial"', "step_psi = 0.5", f"offset_psi = {draw.choice((0.0, 0.5))}"]
    return "\n".join(lines) + "\n"


def _car(draw: Random, name: str) -> str:
    def maybe(text: str, chance: float = 0.85) -> list[str]:
        return [text] if draw.random() < chance else []

    front, rear = draw.choice((28, 30, 32)), draw.choice((26, 28, 30))
    lines = [
        f'name = "{name}"', *maybe('drive = "rear"'), *maybe("mass_kg = 1300"), *maybe("front_share = 0.53"),
        *maybe("cg_height_mm = 550"), *maybe("wheelbase_mm = 2600"),
        *maybe(f"[targets.dry]\nfront_psi = {front}\nrear_psi = {rear}"),
        *maybe(f"[targets.wet]\nfront_psi = {front + 3}\nrear_psi = {rear + 3}", 0.5),
        "[limits]", *maybe("front_min_psi = 24"), *maybe("rear_min_psi = 24"), *maybe("placard_front_psi = 32"),
        *maybe("max_cold_psi = 44"),
    ]  # fmt: skip
    for axle in ("front", "rear"):
        lines += [
            f"[{axle}]", *maybe("track_mm = 1480"), *maybe("spring_n_mm = 40"), *maybe("spring_mr = 0.9"),
            "roll_centre_mm = 80", "unsprung_kg = 75", "unsprung_cg_mm = 300",
            *maybe(f"[{axle}.bar]\ndiameter_mm = 21\nlength_mm = 850\narms_mm = [220, 200, 180]\nmr = 0.6\nleft = 2\n"
                   "right = 2", 0.6),
        ]  # fmt: skip
    lines += maybe("[gearbox]\nratios = [3.5, 2.2, 1.5, 1.1]\nfinal = 4.0\nlimiter_rpm = 7000\nshift_s = 0.3\n"
                   "reaction_s = 0.3\ngrip_g = 1.0\nrolling_circumference_mm = 1850")  # fmt: skip
    lines += maybe("[engine]\nrpm = [2000, 4000, 6000, 7000]\ntorque_nm = [140, 175, 165, 140]")
    return "\n".join(lines) + "\n"


def _write(path: Path, head: str, rows: Iterator[Sequence[Any]] | list[Any] | Any) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write(head + "\n")
        csv.writer(out, lineterminator="\n").writerows(rows)


# keeping and comparing


def gathered(folders: int, seed: int, told: Callable[[int], None] = lambda _: None) -> dict[str, str]:
    """``folder: words`` to the hash of the answer."""
    found = {f"example: {words}": _hash(said) for words, said in answers(EXAMPLE).items()}
    with tempfile.TemporaryDirectory() as home:
        for at in range(folders):
            folder = write_folder(Path(home) / f"{at}" / "event", seed + at)
            found |= {f"{seed + at}: {words}": _hash(said) for words, said in answers(folder).items()}
            told(at + 1)
    return found


def _hash(said: str) -> str:
    return sha256(said.encode()).hexdigest()[:16]


def main(arguments: Sequence[str]) -> int:
    """Keep or compare; 1 where an answer differs."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("keep", "against"))
    parser.add_argument("file", type=Path)
    parser.add_argument("--folders", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args(arguments)
    found = gathered(args.folders, args.seed, lambda at: print(f"\r{at}/{args.folders}", end="", file=sys.stderr))
    print(file=sys.stderr)
    if args.what == "keep":
        args.file.write_text(json.dumps(found, indent=0))
        print(f"{len(found)} answers kept")
        return 0
    kept = json.loads(args.file.read_text())
    differing = sorted(name for name in {*found, *kept} if found.get(name) != kept.get(name))
    print(*differing, sep="\n")
    print(f"{len(found)} answers, {len(differing)} differ")
    return bool(differing)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
