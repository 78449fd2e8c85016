"""One spoilt file and one command, drawn by a seeded generator; a place where it is put to the program, in milliseconds."""

from __future__ import annotations

import io
import os
import re
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from unittest.mock import patch

from paddock.session import Session
from paddock.store.archive import pack
from tests.attack.asking import Bytes, every, guarded, wrong_answer
from tests.attack.spoiling import CELLS, ODD, little
from tests.store.folders import small_folder
from tests.track_files import sentence

RESULTS = """\
Number,Driver,Class,Run 1,Run 2,Run 3,Run 4,Best
58,{58},ASH,61.250,60.512,60.101(1),59.9,59.900
12,{12},OAK,58.003+1,57.001,dnf,56.900,56.900
148,{148},ELM,1:01.641,63.2,,dns,61.641
26,{26},LIME,57.25,56.512,56.101,56.002(2),56.101
7,{7},OAK,59.781,58.225,RRN,58.1+off,58.225
"""
EXAMPLE = Path(__file__).parents[2] / "example_event"


@dataclass(frozen=True)
class Verb:
    """A command line with places to fill; ``often`` of a thousand or so; ``writes``: the one folder it may change.
    ``source``: it is given a file of its own, of this ending, which is spoilt as often as the folder's."""

    words: str
    often: int
    writes: str = ""
    source: str = ""


VERBS = tuple(
    Verb(*row)
    for row in (
        ("check {a}", 60), ("check {a} --json", 30), ("standings {a}", 40), ("standings {a} --json", 30), ("standings {a} --day 2", 20),
        ("standings {a} --at 2026-10-11T12:00 --json", 15), ("standings {a} --class index", 10), ("gap {a} --number 58", 40),
        ("gap {a} --number 12 --day 1 --json", 40), ("gap {a} --number 26 --at 12:58", 15), ("next {a} --number 58 --why", 50),
        ("next {a} --number 12 --json", 40), ("next {a} --number 26", 20), ("next {a} --number 58 --plot --at 10:00", 10),
        ("effect {a} --change e6h2s", 20), ("effect {a} --change p9c4r --json", 20), ("chances {a} --number 58 --runs-left 1", 4),
        ("chances {a} --number 12 --json", 4), ("tyres {a}", 35), ("tyres {a} --json", 30), ("bar {car}", 30), ("bar {car} --json --folder {a} --number 58", 25),
        ("bar {car} --front 1-2 --plot", 10), ("gears {car}", 30), ("gears {car} --json", 20), ("gears {car} --speeds --plot", 8),
        ("gears {car} --hold 2 --from-kmh 40 --length-m 60 --lateral-g 0.4", 10), ("air --gauge 30 --temp-c 20 --to-temp-c 5", 3),
        ("where {a} --number 58", 30), ("where {a} --number 58 --json --against-number 158", 20), ("where {a} --number 58 --day 2 --run 3", 15),
        ("season {home}", 10), ("season {home} --json --year", 3), ("season {home} -o {out}/season.html", 2), ("hindsight {home}", 2),
        ("hindsight {home} --json", 2), ("debrief {a} -o {out}/page.html", 6), ("debrief {a} -o {out}/page.html --names --json", 4),
        ("export {a} -o {out}/a.zip", 25), ("export {a} -o {out}/a.zip --json --xlsx {out}/a.xlsx", 2),
        ("export {a} -o {out}/a.zip --parquet {out}/tables", 2), ("new {out}/next --from {a} --days 2027-01-01", 6),
        ("new {out}/next --from {a} --days 2027-01-01 +1 --number 58 --coldest-c 2 --hottest-c 12 --json", 4),
        ("merge {a} {b} --into {out}/c", 15), ("merge {b} {a} --into {out}/c --copies --json", 15), ("merge {a} {b}", 15, "a"),
        ("merge {b} {a} --json", 15, "b"), ("import {a} {source} --json", 20, "", "csv"), ("import {a} {source} --day 1 --yes", 30, "a", "csv"),
        ("import {a} {source} --day 2 --yes --json", 20, "a", "html"), ("import {a} - --yes --map number=1,run1=3", 15, "a", "txt"),
        ("import {a} {source}", 10, "", "tsv"), ("track {a} {source} --number 58 --day 2 --run 3", 8, "a", "gpx"),
        ("track {a} {source} --number 58 --day 2 --run 3 --phone --json", 10, "a", "track.csv"),
        ("track {a} {source} --number 58 --day 2 --run 3", 8, "a", "nmea"), ("export --unpack {source} -o {out}/back", 40, "", "zip"),
        ("export --unpack {source} -o {out}/back --json", 20, "", "zip"), ("archive {out}/archive --take {a}", 4),
        ("archive {home}", 1), ("describe folder", 1), ("open {a}", 20, "a"),
    )
)  # fmt: skip
"""``open``: what the screens do first, without the screens."""
MAKES = {"page.html", "page.txt", "a.zip", "a.xlsx", "tables", "next", "c", "back", "season.html", "archive"}
"""What a command may make in ``out``."""
MORE = ("season.toml", "a/merge-conflicts.csv", "a/cars/new.toml", "a/tracks/new.toml", "a/times (1).csv", "a/plan.txt")
"""Files that are not in every event."""
ENVIRONMENT = (("PADDOCK_PLAIN", "1"), ("COLUMNS", "1"), ("COLUMNS", "30"), ("COLUMNS", "250"), ("NO_COLOR", "1"))


_PLACE = re.compile(r"\{(a|b|home|out|car|source)\}")


@dataclass(frozen=True)
class Case:
    """``spoilt``: files from the place on, with their bytes or the name of something ``ODD``. ``words``: the command."""

    base: str
    spoilt: tuple[tuple[str, bytes | str], ...]
    words: tuple[str, ...]
    env: tuple[tuple[str, str], ...] = ()
    verb: Verb = field(default=VERBS[0], compare=False, repr=False)


def drawn(random: Random, places: dict[str, Place]) -> Case:
    """A case: mostly one file of an event is spoilt, sometimes two, a source, or the command's own words."""
    base = "whole" if random.random() < 0.1 else "little"
    verb = random.choices(VERBS, [item.often for item in VERBS])[0]
    words = tuple(verb.words.split())
    env = (random.choice(ENVIRONMENT),) if random.random() < 0.15 else ()
    if random.random() < 0.04 and any(word.startswith("--") for word in words[1:]):
        return Case(base, (), _other_words(random, words), env, verb)
    sound = places[base].sound
    if verb.source and random.random() < 0.6:
        name = f"out/source.{verb.source}"
        return Case(base, ((name, _source(random, places[base].sources[verb.source])),), words, env, verb)
    spoilt = {}
    for _ in range(2 if random.random() < 0.08 else 1):
        name = _a_file(random, words, sound)
        found = sound.get(name, b"day,run,number,time\n1,1,31,46.1\n")
        odd = random.random() < 0.03
        spoilt[name] = random.choice(tuple(ODD)) if odd else little(random, found if isinstance(found, bytes) else b"")
    return Case(base, tuple(spoilt.items()), words, env, verb)


def _a_file(random: Random, words: tuple[str, ...], sound: Bytes) -> str:
    """Cars for what is asked of a car; else any file of the spoilt event, or one that it has not."""
    if "{car}" in words and random.random() < 0.8:
        return "home/a/cars/estate.toml"
    if random.random() < 0.04:
        return f"home/{random.choice(MORE)}"
    return random.choice(
        [name for name, data in sound.items() if name.startswith("home/a/") and isinstance(data, bytes)]
    )


def _other_words(random: Random, words: tuple[str, ...]) -> tuple[str, ...]:
    """A value on the command line that is another; never where a file is written."""
    places = [at for at, word in enumerate(words) if at and words[at - 1].startswith("--") and "{" not in word]
    cells = [cell for cell in CELLS if "\0" not in cell and len(cell) < 100_000] + ["\udc80", "58", "-1", "e6h2s"]
    if places and random.random() < 0.8:
        at = random.choice(places)
        return (*words[:at], random.choice(cells), *words[at + 1 :])
    flag = random.choice(
        ("--number", "--day", "--run", "--at", "--class", "--change", "--map", "--table", "--altitude-m", "--nothing")
    )
    return (*words, f"{flag}={random.choice(cells)}")


def _source(random: Random, data: bytes) -> bytes:
    return little(random, data) if data[:2] != b"PK" else _zip(random, data)


def _zip(random: Random, data: bytes) -> bytes:
    """A zip with bytes that are others, or one that is sound but holds what it should not."""
    if random.random() < 0.4:
        spoilt = bytearray(data)
        for _ in range(random.choice((1, 2, 8))):
            at = random.randrange(len(spoilt))
            spoilt[at : at + random.choice((1, 1, 4))] = random.randbytes(random.choice((0, 1, 1, 4)))
        return bytes(spoilt[: random.randrange(len(spoilt))] if random.random() < 0.2 else spoilt)
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", random.choice((0, 8))) as new:
        wanted = random.choice(old.namelist())
        turn = random.randrange(6)
        for name in old.namelist():
            held = old.read(name)
            if name == wanted and turn in (0, 1):
                held = little(random, held)
            elif name == wanted and turn == 2:
                name = random.choice(
                    (
                        "../x",
                        "/x",
                        "a\\..\\x",
                        "con",
                        "x" * 300,
                        "\x1b[2J",
                        "\u202e",
                        ".paddock/lock",
                        "TIMES.CSV",
                        "times.csv/x",
                        "",
                    )
                )
            elif name == wanted and turn == 3:
                continue
            info = zipfile.ZipInfo(name)
            info.external_attr = (0o120777 if name == wanted and turn == 4 else 0o100644) << 16
            new.writestr(info, held)
    return made.getvalue()


class Place:
    """A folder with two copies of a sound event, ``home/a`` and ``home/b``, and room for what is made, ``out``."""

    def __init__(self, root: Path, base: str) -> None:
        self.root = root
        home = root / "home"
        for name in ("a", "b"):
            little_event(home / name) if base == "little" else whole_event(home / name)
        (root / "out").mkdir()
        self.sources = _sources(root)
        self.sound = every(str(root))
        self.names = {
            "a": home / "a",
            "b": home / "b",
            "home": home,
            "out": root / "out",
            "car": home / "a/cars/estate.toml",
        }

    def wrong(self, case: Case, undone: bool = False) -> list[str]:
        """What is wrong once a case was put to the program; everything is as before then. ``undone``: what was
        written must be there after an undo as it was."""
        for name, data in case.spoilt:
            self._lay(name, data)
        heard = next((data for name, data in case.spoilt if name.startswith("out/") and "-" in case.words), b"")
        before = every(str(self.root))
        code, said = self._asked(case, heard if isinstance(heard, bytes) else b"")
        wrong = [said] if said else []
        after = every(str(self.root))
        changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
        wrong += _unwanted(changed, case.verb, code)
        if undone and code == 0 and not wrong and case.words[0] in ("import", "track"):
            wrong += self._undone({name for name in changed if ".paddock" not in name}, before)
            changed |= {name for name in every(str(self.root)) if name not in self.sound}
        for name in sorted(changed | {name for name, _ in case.spoilt}):
            self._lay(name, self.sound.get(name))
        return wrong

    def _asked(self, case: Case, heard: bytes) -> tuple[int, str]:
        source = self.root / "out" / f"source.{case.verb.source}"
        places = {**self.names, "source": source}
        words = [_PLACE.sub(lambda place: str(places[place[1]]), word) for word in case.words]
        with patch.dict(os.environ, dict(case.env)):
            if words[0] != "open":
                return wrong_answer(words, heard)
            return 0, guarded(lambda: Session.open(Path(words[1])).close())

    def _undone(self, changed: set[str], before: Bytes) -> list[str]:
        session = Session.open(self.root / "home" / "a")
        can = session.can_undo
        if can:
            session.undo()
        session.close()
        if not can:
            return ["written, and nothing can be undone"] if changed else []
        now = every(str(self.root))
        return [f"undo leaves {name} changed" for name in sorted(changed) if now.get(name) != before.get(name)]

    def _lay(self, name: str, data: bytes | int | str | None) -> None:
        """Bytes, something odd, a folder, or nothing, under a name."""
        path = self.root / name
        if data.__class__ is bytes and path.is_file() and not path.is_symlink():
            path.write_bytes(data)
            return
        if path.is_dir() and not path.is_symlink():
            if data == 0o040000:
                return
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
        if data is None:
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(data, str):
            ODD[data](path)
        elif isinstance(data, bytes):
            path.write_bytes(data)
        else:
            path.mkdir()


def _unwanted(changed: set[str], verb: Verb, code: int) -> list[str]:
    """Names of what was changed though it should not have been."""
    wrong = []
    for name in sorted(changed):
        top, _, below = name.partition("/")
        own = below.split("/")
        made = top == "out" and own[0] in MAKES
        written = top == "home" and own[0] == verb.writes and (code == 0 or own[1:2] == [".paddock"])
        if made or (written and not own[-1].endswith((".part", ".paddock-new"))):
            continue
        wrong.append(f"exit {code}, and {name} is changed")
    return wrong


def little_event(folder: Path) -> Path:
    """Two entrants and a few rows of every other file."""
    small_folder(folder)
    for file in folder.rglob("*.*"):
        file.write_text(re.sub(r"\b7\b", "12", re.sub(r"\b26\b", "58", file.read_text())))
    for file in EXAMPLE.glob("*.csv"):
        if not (folder / file.name).exists():
            head, *rows = file.read_text().splitlines(keepends=True)
            own = [row for row in rows if file.name != "grid.csv" or re.search(r"\b(58|12)\b", row)]
            (folder / file.name).write_text("".join([head, *own[:3]]))
    return folder


def whole_event(folder: Path) -> Path:
    """The example event with every file it has, and as few rows of each as every answer can still be given from."""
    shutil.copytree(EXAMPLE, folder)
    for name, at in (("entrants.csv", 0), ("times.csv", 2), ("grid.csv", 1), ("splits.csv", 2)):
        _rows_kept(folder / name, lambda row, at=at: row[at] in ("58", "158", "12", "148", "7", "26"))  # type: ignore[misc]
    for name in ("times.csv", "runs.csv", "pressures.csv"):
        _rows_kept(folder / name, lambda row: row[1] in ("", "1", "3", "4"))
    track = folder / "tracks" / "d2r3-58.gpx"
    lines = track.read_text().splitlines(keepends=True)
    track.write_text("".join(line for at, line in enumerate(lines) if "<trkpt" not in line or at % 9 == 0))
    return folder


def _rows_kept(file: Path, wanted: Callable[[list[str]], bool]) -> None:
    head, *rows = file.read_text().splitlines(keepends=True)
    file.write_text(head + "".join(row for row in rows if wanted(row.split(","))))


def _sources(root: Path) -> dict[str, bytes]:
    """What is brought in: results as a table, a page and pasted words, tracks, an event's zip."""
    gpx = (EXAMPLE / "tracks" / "d2r3-58.gpx").read_text()
    fixes = [tuple(map(float, fix)) for fix in re.findall(r'lat="(.+?)" lon="(.+?)".+?speed>(.+?)<', gpx)][::4]
    head = '<?xml version="1.0"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">\n<trk><trkseg>\n'
    gpx = head + "".join(gpx.splitlines(keepends=True)[3:-3:2]) + "</trkseg></trk>\n</gpx>\n"
    table = [f"{at * 0.8:.1f},{lat},{lon},{speed * 3.6:.1f}" for at, (lat, lon, speed) in enumerate(fixes)]
    said = (
        f"GNRMC,1236{at * 0.8:06.3f},A,{int(lat)}{lat % 1 * 60:010.7f},N,0{int(-lon)}{-lon % 1 * 60:010.7f},W,{speed * 1.94:.3f},,111026,,,A"
        for at, (lat, lon, speed) in enumerate(fixes)
    )
    names = dict(line.split(",")[:2] for line in (root / "home" / "a" / "entrants.csv").read_text().splitlines())
    results = re.sub(r"{(\d+)}", lambda number: names.get(number[1], "Lee [R]"), RESULTS)
    rows = [line.split(",") for line in results.splitlines()]
    page = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>\n" for row in rows)
    packed = root / "a.zip"
    pack(root / "home" / "b", packed)
    found = {
        "csv": results.encode(), "tsv": results.replace(",", "\t").encode(), "txt": results.encode(), "gpx": gpx.encode(),
        "html": f"<html><body><h1>Results &amp; times</h1><table class=x>\n{page}</table></body></html>\n".encode(),
        "track.csv": "\n".join(["time_s,lat,lon,speed_kmh", *table, ""]).encode(), "nmea": "".join(map(sentence, said)).encode(),
        "zip": packed.read_bytes(),
    }  # fmt: skip
    packed.unlink()
    for ending, data in found.items():
        (root / "out" / f"source.{ending}").write_bytes(data)
    return found
