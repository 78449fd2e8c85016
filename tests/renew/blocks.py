"""The marked parts of the docs, each answered by the program."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from datetime import date
from functools import partial
from io import StringIO
from pathlib import Path
from unittest.mock import patch

from paddock.__main__ import main
from paddock.commands.new import carry
from paddock.commands.says import SAYS
from paddock.engine.field.verdict import judge
from paddock.engine.season.rows import CHANGES, RUNS, SCORES, TYRES
from paddock.model.rows import RunRow, SetupChange, WorkRow
from paddock.pages.effect import closing_words
from paddock.pages.verdict_words import effect_words
from paddock.session.loading import load
from tests.engine.field.made import change, of
from tests.engine.shown import example_log, situations
from tests.renew.said import keys_table

ROOT = Path(__file__).parents[2]
CARRIED = "autumn"
SEASON = """[[events]]
name = "Inland"
days = [2026-11-14, 2026-11-15]
"""


@contextmanager
def in_a_season() -> Iterator[Path]:
    """A copy of the example with one event booked after it."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "quay"
        shutil.copytree(ROOT / "example_event", folder, ignore=shutil.ignore_patterns(".paddock"))
        (folder.parent / "season.toml").write_text(SEASON, encoding="utf-8")
        yield folder


def changes() -> str:
    """The example's changes, judged."""
    event = load(ROOT / "example_event")
    lines = ["| change | car | controls | P | sentence |", "|---|---|---|---|---|"]
    for row in event.of(SetupChange):
        found = judge(event, row.id)
        chance = "-" if found.p_helped is None else f"{found.p_helped:.2f}"
        lines.append(f"| `{row.id}` | {found.number} | {found.controls} | {chance} | {effect_words(found)} |")
    return "\n".join(lines)


_OTHERS = {str(40 + at): round(-0.75 + 0.22 * at, 2) for at in range(8)}
_WIGGLE = (0.05, -0.11, 0.14, -0.06, 0.09, -0.13, 0.02, 0.12)


def _told(course: tuple[float, ...], mine: tuple[float, ...], *rows: SetupChange) -> str:
    """A day of mine against eight others who met the same course, judged: what is said, and what it is worth."""
    others = {
        number: [f"{47 + pace + step + _WIGGLE[(at + place) % 8]:.3f}" for place, step in enumerate(course)]
        for at, (number, pace) in enumerate(_OTHERS.items())
    }
    logged = [RunRow(day=1, run=run, number="26", mistake=False) for run in range(1, len(mine) + 1)]
    day = of([f"{time:.3f}" for time in mine], others, *rows, *logged, runs_per_day=len(mine))
    closing = closing_words(day, judge(day, rows[0].id))
    return " ".join([effect_words(judge(day, rows[0].id)), closing[0]])


def three_days() -> str:
    """A drying morning, a turn and back, and a gain that comes once."""
    bar = {"setting": "rear_bar", "item": "rear bar", "before": "2", "after": "3"}
    tyres = {"setting": "tyres", "item": "tyres", "before": "old set", "after": "new set"}
    days = (
        ("A drying morning: everybody found half a second a run, so did I, with the rear bar a hole stiffer for the last two",
         _told((0.0, -0.5, -1.0, -1.5), (46.2, 45.75, 45.15, 44.7), change(**bar))),
        ("Other tyres for runs 2 and 3, the old ones back on for run 4, on a course that gave nothing",
         _told((0.0, -0.1, -0.1, -0.1), (46.3, 45.2, 45.15, 46.15), change(run=2, **tyres),
               change("u", run=4, undoes="c1", **tyres))),
        ("A new bar setting half-way, and half a second found with it while the field stood still: learning or bar?",
         _told((0.0, 0.0, 0.0, 0.0), (46.3, 46.0, 45.6, 45.5), change(**bar))),
    )  # fmt: skip
    return "\n\n".join(f"*{story}{'' if story[-1] == '?' else '.'}*\n\n> {said}" for story, said in days)


def rears() -> str:
    """The lines of the rear tyres, and what to order."""
    out = StringIO()
    with in_a_season() as folder, redirect_stdout(out), patch.dict(os.environ, {"COLUMNS": "120"}):
        assert main(["tyres", str(folder)]) == 0
    lines = [line.rstrip() for line in out.getvalue().splitlines()]
    table = [line for line in lines if not line.startswith("-") and line.split()[1:2] in (["tyre"], ["E3"], ["E4"])]
    at = next(place for place, line in enumerate(lines) if line.startswith("- E3 and E4:"))
    order = [lines[at], *_until_next(lines[at + 1 :])]
    return "\n".join(["```", *table, "", *order, "```"])


def _until_next(lines: list[str]) -> Iterator[str]:
    for line in lines:
        if not line.startswith("  "):
            return
        yield line


def carried() -> list[tuple[str, str, str]]:
    """The worklist of the next event: item, due, torque."""
    with in_a_season() as folder:
        into = folder.parent / "inland"
        carry(folder, into, "Inland", [date(2026, 11, 14), date(2026, 11, 15)])
        rows = [row for row in load(into).of(WorkRow) if not (row.item or "").startswith("read the tread")]
    return [(row.item or "", row.due or "", f"{row.torque_nm:.0f}" if row.torque_nm else "") for row in rows]


def work() -> str:
    """That, as a table."""
    return "\n".join(["| item | due | torque |", "|---|---|---|", *(f"| {' | '.join(row)} |" for row in carried())])


def season_columns() -> str:
    """The columns of the tables that ``paddock season --parquet`` and an archive write."""
    kinds = {str: "text", int: "whole number", float: "number", bool: "yes or no", date: "date"}
    lines = ["| table | column | type |", "|---|---|---|"]
    for table, columns in {"runs": RUNS, "changes": CHANGES, "tyres": TYRES, "scores": SCORES}.items():
        alike: dict[str, list[str]] = {}
        for name, kind in columns.items():
            alike.setdefault(kinds[kind], []).append(f"`{name}`")
        lines += [f"| {table} | {', '.join(names)} | {kind} |" for kind, names in alike.items()]
    return "\n".join(lines)


BLOCKS: dict[str, Callable[[], str]] = {
    "situations": situations,
    "example log": example_log,
    "the example's changes": changes,
    "three days": three_days,
    "the rear tyres": rears,
    "carried work": work,
    "columns of a season": season_columns,
} | {f"keys of {verb}": partial(keys_table, verb) for verb in SAYS}
