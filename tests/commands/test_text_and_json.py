"""The text and the JSON of a verb are one answer: what the text warns of, the JSON carries."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from paddock.__main__ import main
from paddock.model.units import parse_time_ms
from tests.store.folders import small_folder

Capture = pytest.CaptureFixture[str]
CAR = """\
name = "estate"
[targets.dry]
front_psi = 30
rear_psi = 34
[limits]
front_min_psi = 25
rear_min_psi = 25
max_cold_psi = 44
[first_run]
front_rise_k = 250
[front]
track_mm = 15
[front.bar]
diameter_mm = 22
length_mm = 900
arms_mm = [240, 220]
left = 9
right = 1
[gearbox]
ratios = [3.2, 2.1, 1.5]
final = 4
size = "205/50R16"
limiter_rpm = 7
"""
FILES = {
    "cars/estate.toml": CAR,
    "entrants.csv": "number,driver,class\n26,Ada,LIME\n7,Otter,LIME\n8,Teal,LIME\n9,Hazel,NONE\n",
    "times.csv": "day,run,number,time,cones,status,at\n"
    + "".join(
        f"{day},{run},{number},{base + 0.2 * run + 0.1 * day:.3f},,,{9 + run:02d}:00\n"
        for day in (1, 2)
        for run in (1, 2, 3)
        for number, base in (("26", 47.0), ("7", 47.5), ("8", 46.8))
    ),
    "changes.csv": "id,day,run,number,kind,key,item,before,after\nc1,1,2,26,test,rear_bar,Rear bar hole,1-1,2-2\n",
    "pressures.csv": "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,air_c,gauge\n"
    "2,3,26,after,12:02,34,34.5,40,40,20,\n",
    "tyres.csv": "tyre,size,kind,max_cold_psi,directional,runs_before\n"
    + "".join(f"{name},205/50R16,street,44,,0\n" for name in "ABCD"),
    "fitted.csv": "day,run,number,corner,tyre\n"
    + "".join(f"1,1,26,{corner},{name}\n" for corner, name in zip(("lf", "rf", "lr", "rr"), "ABCD", strict=True)),
    "tread.csv": "day,tyre,inner_mm,middle_mm,outer_mm\n"
    + "".join(f"0,{name},6,6,6\n2,{name},5.8,5.8,{depth}\n" for name, depth in zip("ABCD", (5, 5, 5.7, 5.7), strict=True)),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COLUMNS", "2000")
    path = small_folder(tmp_path / "event")
    for name, text in FILES.items():
        (path / name).write_text(text)
    event = (
        path / "event.toml"
    ).read_text() + 'cars = { "26" = "estate" }\n[[gauges]]\nid = "dial"\noffset_psi = 0.5\n'
    (path / "event.toml").write_text(event)
    return path


def _flat(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for value in node.values():
            yield from _flat(value)
    elif isinstance(node, list):
        for value in node:
            yield from _flat(value)
    elif node is not None:
        yield f"{node}"


def _bare(text: str) -> str:
    return re.sub(r"\W+", " ", text).strip().lower()


WARNING = re.compile(
    r"^\s*([-!?] .*|.*\b(?:fault|warning|left out|caution|mind|can't|not known|later than)\b.*)$", re.I
)


def warned(text: str) -> list[str]:
    """The lines of a text that warn: marked with -, ! or ?, or by their words."""
    return [found[1] for line in text.splitlines() if (found := WARNING.match(line))]


def _told(line: str, data: Any) -> bool:
    """Whether a line's words, or those after its key, stand in the JSON; a count of faults as that count."""
    said = _bare(line)
    if (count := re.match(r"(\d+) faults? in the folder", line)) is not None:
        return data.get("faults_left_out") == int(count[1])
    whole = _bare(" ".join(_flat(data)))
    if (refused := re.match(r"- no (\w+) for ([^:]+): (.*)", line)) is not None:
        kind, tyres, reason = refused.groups()
        return {"kind": kind, "tyres": tyres.split(", "), "reason": reason} in data["refusals"]
    return said in whole or all(_bare(part) in whole for part in re.split(r": |; |\. ", line.lstrip("-!? ")) if part)


VERBS = (
    ("standings",), ("gap", "--number", "26"), ("chances", "--number", "26"), ("effect", "--change", "c1"), ("tyres",),
    ("check",),
)  # fmt: skip


def both(capsys: Capture, *words: str) -> tuple[str, Any]:
    main(list(words))
    text = capsys.readouterr().out
    main([*words, "--json"])
    return text, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("words", VERBS, ids=lambda words: words[0])
def test_what_the_text_warns_of_the_json_carries(words: tuple[str, ...], folder: Path, capsys: Capture) -> None:
    verb, *rest = words
    text, data = both(capsys, verb, str(folder), *rest)
    lines = warned(text)
    assert lines, text
    assert [line for line in lines if not _told(line, data)] == []


def test_next_carries_what_it_warns_of(folder: Path, capsys: Capture) -> None:
    text, data = both(capsys, "next", str(folder), "--number", "26")
    lines = warned(text)
    assert lines
    assert [line for line in lines if not _told(line, data)] == []


@pytest.fixture
def beside(folder: Path) -> Path:
    """The event in a season's directory, a copy with another time, and results that can't all be read."""
    other = small_folder(folder.parent / "copy" / "other")
    for name, text in FILES.items():
        (other / name).write_text(text.replace("47.200", "47.300"))
    (folder.parent / "posted.csv").write_text("number,driver,run 4,Faults\n31,Ada,46.1,x\n99,?,x,\n8,Teal,abc,\n")
    return folder


def test_what_an_import_cant_use_or_read_is_in_both(beside: Path, capsys: Capture) -> None:
    text, data = both(capsys, "import", str(beside), str(beside.parent / "posted.csv"), "--day", "1")
    assert f"not used: {', '.join(data['not_used'])}" in text
    assert data["not_used"] == ["Faults"]
    assert [f"line {item['line']}: {item['why']}" for item in data["unread"]] == [
        line.strip() for line in text.splitlines() if line.startswith("  line ")
    ]
    assert len(data["unread"]) == 2


def test_the_conflicts_of_a_merge_are_in_both(beside: Path, capsys: Capture) -> None:
    copies = [str(beside), str(beside.parent / "copy" / "other")]
    main(["merge", *copies, "--into", str(beside.parent / "one")])
    text = capsys.readouterr().out
    main(["merge", *copies, "--into", str(beside.parent / "two"), "--json"])
    data = json.loads(capsys.readouterr().out)
    told = [line.strip() for line in text.splitlines() if " is kept, " in line]
    found = [(f"{item['file']} {item['row']} {item['column']}:", {item["a"], item["b"]}) for item in data["conflicts"]]
    assert [(line[: line.index(": ") + 1], set(re.findall(r"\d+\.\d+", line))) for line in told] == found
    assert len(told) == 1
    assert f"{data['added']} added, {data['updated']} changed" in text


@pytest.mark.parametrize("verb", ["bar", "gears"])
def test_a_car_that_cant_be_is_told_in_both(verb: str, folder: Path, capsys: Capture) -> None:
    text, data = both(capsys, verb, str(folder / "cars" / "estate.toml"))
    assert warned(text)
    for message in (
        ("15 mm can't be", "7 rpm can't be") if verb == "gears" else ("15 mm can't be", "hole 9 isn't there")
    ):
        assert message in text
        assert _bare(message) in _bare(" ".join(_flat(data)))


def test_standings_print_times_as_the_folder_reads_them(folder: Path, capsys: Capture) -> None:
    """Every run of the table, read as a cell of times.csv, is the run of the JSON: never a day glued to the seconds."""
    text, data = both(capsys, "standings", str(folder), "--class", "LIME")
    assert not re.search(r"\d:\d+\.", text)
    for row in data["tables"][0]["rows"]:
        line = next(line for line in text.splitlines() if f" {row['driver']} " in line)
        cells = re.sub(r"day \d", "", line.split("LIME")[1]).split()
        printed = [parse_time_ms(cell.rstrip("*").split("+")[0]) for cell in cells if not cell.startswith("+")][1:]
        assert printed == [run["raw_ms"] for run in row["runs"]]
        assert f"day {row['runs'][0]['day']}  {row['runs'][0]['raw_ms'] / 1000:.3f}" in line
