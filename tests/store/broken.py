"""Ways to break an event folder. Each takes a sound folder and spoils it; reading must then give problems,
no traceback, and change no byte."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.store.folders import ENTRANTS, EVENT, TIMES

Breaker = Callable[[Path], object]


def put(file: str, content: str | bytes) -> Breaker:
    """The file holds this instead."""

    def breaker(folder: Path) -> None:
        (folder / file).write_bytes(content if isinstance(content, bytes) else content.encode())

    return breaker


def swap(file: str, old: str, new: str) -> Breaker:
    """The first ``old`` of the file becomes ``new``."""

    def breaker(folder: Path) -> None:
        text = (folder / file).read_text("utf-8")
        assert old in text
        (folder / file).write_bytes(text.replace(old, new, 1).encode())

    return breaker


def gone(file: str) -> Breaker:
    """The file is not there."""
    return lambda folder: (folder / file).unlink()


def directory(file: str) -> Breaker:
    """A directory stands in the file's place."""

    def breaker(folder: Path) -> None:
        (folder / file).unlink()
        (folder / file).mkdir()

    return breaker


def link(file: str, target: str) -> Breaker:
    """A link in the file's place."""

    def breaker(folder: Path) -> None:
        (folder / file).unlink()
        (folder / file).symlink_to(target)

    return breaker


def more(file: str, text: str) -> Breaker:
    """Text appended."""

    def breaker(folder: Path) -> None:
        with (folder / file).open("ab") as out:
            out.write(text.encode())

    return breaker


def _png(folder: Path) -> None:
    (folder / "times.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 4)


BROKEN: dict[str, Breaker] = {
    "event missing": gone("event.toml"),
    "entrants missing": gone("entrants.csv"),
    "times missing": gone("times.csv"),
    "event empty": put("event.toml", b""),
    "entrants empty": put("entrants.csv", b""),
    "times empty": put("times.csv", b""),
    "times only a mark": put("times.csv", b"\xef\xbb\xbf"),
    "times only blank lines": put("times.csv", b"\r\n\n  \n"),
    "times only separators": put("times.csv", b",,,,\n,,,,\n"),
    "notes empty": put("notes.csv", b""),
    "car empty": put("cars/estate.toml", b""),
    "checklist empty": put("checklist.toml", b"\n"),
    "event binary": put("event.toml", bytes(range(256))),
    "times a picture": _png,
    "times NULs": put("times.csv", TIMES.encode() + b"\0" * 512),
    "one NUL in a cell": swap("times.csv", "47.250", "47.\x00250"),
    "escape codes in a note": swap("notes.csv", "late", "\x1b[31mlate"),
    "times UTF-16": put("times.csv", TIMES.encode("utf-16")),
    "event UTF-16": put("event.toml", EVENT.encode("utf-16")),
    "times UTF-16 without a mark": put("times.csv", TIMES.encode("utf-16-le")),
    "entrants in an old code page": put("entrants.csv", ENTRANTS.replace("Otter", "Öttér").encode("cp1252")),
    "cut in the middle of a letter": put("entrants.csv", (ENTRANTS + "9,Bé").encode()[:-1]),
    "last row cut": put("times.csv", TIMES[:-12]),
    "last row cut to one cell": put("times.csv", TIMES + "1,"),
    "open quote at the end": more("notes.csv", 'abd,1,line,"never closed'),
    "open quote in the middle": swap("entrants.csv", "Ada", '"Ada'),
    "open quote in the header": swap("times.csv", "day,", '"day,'),
    "open quote over 200 kB": more("notes.csv", 'abd,1,line,"' + "long " * 40_000 + "\n"),
    "cell of 200 kB": more("notes.csv", "abd,1,line," + "x" * 200_000 + "\n"),
    "header twice the same": swap("times.csv", "cones", "time"),
    "header same in two units": swap("pressures.csv", "rf_psi", "lf_kpa"),
    "header without number": swap("times.csv", "number", "nr"),
    "header gone": put("times.csv", TIMES.split("\n", 1)[1]),
    "a page instead": put("times.csv", "<!DOCTYPE html><html><body>Sign in</body></html>\n"),
    "times a directory": directory("times.csv"),
    "event a directory": directory("event.toml"),
    "car a directory": directory("cars/estate.toml"),
    "times a link to nothing": link("times.csv", "nowhere.csv"),
    "times a link to itself": link("times.csv", "times.csv"),
    "too many cells": more("times.csv", "1,3,26,46,512,,,,,,extra\n"),
    "not a time": more("times.csv", "1,3,26,fast,,,,,\n"),
    "time with four decimals": more("times.csv", "1,3,26,46.5123,,,,,\n"),
    "negative time": more("times.csv", "1,3,26,-46.512,,,,,\n"),
    "time nan": more("times.csv", "1,3,26,nan,,,,,\n"),
    "time with an exponent": more("times.csv", "1,3,26,4e1,,,,,\n"),
    "day 0": more("times.csv", "0,3,26,46.512,,,,,\n"),
    "run blank": more("times.csv", "1,,26,46.512,,,,,\n"),
    "number blank": more("times.csv", "1,3,,46.512,,,,,\n"),
    "cones negative": more("times.csv", "1,3,26,46.512,-1,,,,\n"),
    "cones 10 to the 20": more("times.csv", f"1,3,26,46.512,{10**20},,,,\n"),
    "cones in other digits": more("times.csv", "1,3,26,46.512,²,,,,\n"),
    "status unknown": more("times.csv", "1,3,26,46.512,,,lost,,\n"),
    "clock 25:00": more("times.csv", "1,3,26,46.512,,,,25:00,\n"),
    "corner unknown": put("treadtemps.csv", "day,run,number,corner\n1,1,26,left front\n"),
    "moment unknown": more("pressures.csv", "1,1,26,later,,34,34,40,40\n"),
    "pressure infinite": more("pressures.csv", "1,1,26,set,,inf,34,40,40\n"),
    "balance out of range": put("runs.csv", "day,run,number,entry\n1,1,26,-4\n"),
    "date impossible": put("tyres.csv", "tyre,bought\nA1,2026-02-30\n"),
    "TOML syntax": swap("event.toml", "runs_per_day = 5", "runs_per_day = five"),
    "TOML value blank": swap("event.toml", "runs_per_day = 5", "runs_per_day ="),
    "TOML key twice": swap("event.toml", "runs_per_day = 5", "runs_per_day = 5\nruns_per_day = 6"),
    "TOML table twice": more("event.toml", "\n[rules]\ncone_s = 1\n"),
    "TOML cut": put("event.toml", EVENT[: EVENT.index("2026 club")]),
    "TOML nested too deep": put("event.toml", "a = " + "[" * 5000 + "]" * 5000 + "\n"),
    "TOML clock as key": more("cars/estate.toml", "\n[fasteners]\njam = 1:02.3\n"),
    "rules no table": put("event.toml", EVENT.split("[rules]")[0] + "rules = 5\n"),
    "classes no list": put("event.toml", EVENT.split("[rules]")[0] + 'classes = "LIME"\n'),
    "class without a code": swap("event.toml", 'code = "LIME"\n', ""),
    "class scored by luck": swap("event.toml", 'scored_by = "raw"', 'scored_by = "luck"'),
    "days as text": swap("event.toml", "[2026-05-09, 2026-05-10]", '["Saturday"]'),
    "days a number": swap("event.toml", "[2026-05-09, 2026-05-10]", "2"),
    "runs_per_day 0": swap("event.toml", "runs_per_day = 5", "runs_per_day = 0"),
    "cone of four decimals": swap("event.toml", "cone_s = 2.0", "cone_s = 2.0001"),
    "cone negative": swap("event.toml", "cone_s = 2.0", "cone_s = -2"),
    "cone nan": swap("event.toml", "cone_s = 2.0", "cone_s = nan"),
    "miss a word": swap("event.toml", 'miss = "invalid"', 'miss = "terrible"'),
    "count a bad table": swap("event.toml", 'miss = "invalid"', "count = { best_of_first = 0 }"),
    "index zero": swap("event.toml", "LIME = 0.812", "LIME = 0"),
    "index a word": swap("event.toml", "LIME = 0.812", 'LIME = "slow"'),
    "index of ten decimals": swap("event.toml", "LIME = 0.812", "LIME = 0.8121212121"),
    "index infinite": swap("event.toml", "LIME = 0.812", "LIME = inf"),
    "index true": swap("event.toml", "LIME = 0.812", "LIME = true"),
    "my numbers as numbers": swap("event.toml", '["26"]', "[26]"),
    "format a word": swap("event.toml", "format = 1", 'format = "one"'),
    "car drive unknown": swap("cars/estate.toml", '"front"', '"both"'),
    "car mass a word": more("cars/estate.toml", '\n[gearbox]\nfinal = "long"\n'),
    "car arms mixed": swap("cars/estate.toml", "225.0", '"short"'),
    "car limits a list": swap("cars/estate.toml", "[limits]", "[[limits]]"),
    "checklist of numbers": put("checklist.toml", "inspection = [1, 2]\n"),
    "checklist a table": put("checklist.toml", "[inspection]\na = 1\n"),
}
"""Faults that reading one file shows."""

CROSS_FILE: dict[str, Breaker] = {
    "the same run twice": more("times.csv", "1,1,26,47.300,,,,10:05,\n"),
    "the same number twice": more("entrants.csv", "26,Somebody Else,Estate,LIME,,front,street,,\n"),
    "class unknown": swap("entrants.csv", "LIME", "EMU"),
    "index unknown": swap("entrants.csv", "LIME,,", "LIME,EMU,"),
    "index missing": swap("event.toml", "OAK = 0.900\n", ""),
    "day outside the event": more("times.csv", "3,1,26,47.300,,,,10:05,\n"),
    "number not entered": more("times.csv", "1,1,99,47.300,,,,10:05,\n"),
    "a run of 400 s": more("times.csv", "1,3,26,400.000,,,,10:55,\n"),
    "9 psi": more("pressures.csv", "1,2,26,set,,9,34,40,40\n"),
    "900 psi": more("pressures.csv", "1,2,26,set,,900,34,40,40\n"),
    "my number not entered": swap("event.toml", '["26"]', '["32"]'),
}
"""Faults and doubts that show when files are held against each other."""
