"""On what kind of element a change acted, and what `check` asks about splits."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from paddock.engine.field.effect import Effect, RunUsed
from paddock.engine.where.answer import kind_deltas
from paddock.session.loading import check, load
from tests.small import FILES, small_event

COURSE = "day,element,name,kind\n1,1,a,slalom\n1,2,b,sweeper\n1,3,c,slalom\n1,4,end,finish\n"


def effect(news: str, field_ms: float | None = 0.0) -> Effect:
    """Runs of day 1 with (n) and without (o) the change."""
    used = tuple(RunUsed(1, at, 48_000, sign == "n") for at, sign in enumerate(news, 1))
    return Effect("x", "7", "bar", "can't tell", "", "", "other", field_change_ms=field_ms, runs_used=used)


def folder(home: Path, parts: list[list[float]]) -> Path:
    """Runs whose elements took these seconds."""
    kept = [
        line
        for line in FILES["times.csv"].splitlines()
        if not line.startswith(tuple(f"1,{at},7," for at in range(1, 9)))
    ]
    times = [f"1,{at},7,{sum(part):.3f},0,0,,09:{at:02d}:00," for at, part in enumerate(parts, 1)]
    splits = ["day,run,number,element,at_s,error_s,source"]
    splits += [f"1,{run},7,{at},{sum(part[:at]):.3f},,video" for run, part in enumerate(parts, 1) for at in (1, 2, 3)]
    return small_event(
        home,
        {"course.csv": COURSE, "splits.csv": "\n".join(splits) + "\n", "times.csv": "\n".join([*kept, *times]) + "\n"},
    )


def test_a_change_that_acts_in_slaloms(tmp_path: Path) -> None:
    """By hand: two slaloms 0.8 s quicker together, the rest as it was; the field gave 0.48 s of 48, so 0.24 of slaloms' 24."""
    old, new = [12.0, 16.0, 12.0, 8.0], [11.5, 16.0, 11.7, 8.0]
    event = load(folder(tmp_path, [old, new, new, old]))
    found = {item.kind: item for item in kind_deltas(event, effect("onno"))}
    assert {kind: item.delta_ms for kind, item in found.items()} == {"slalom": -800, "sweeper": 0, "finish": 0}
    assert found["slalom"].verdict == "gained"
    assert found["sweeper"].verdict == "can't tell"
    assert (found["slalom"].without, found["slalom"].having) == (2, 2)
    less = {item.kind: item.delta_ms for item in kind_deltas(event, effect("onno", -480.0))}
    assert less == {"slalom": -560, "sweeper": 160, "finish": 80}


def test_without_splits_on_both_sides_nothing_is_said(tmp_path: Path) -> None:
    event = load(folder(tmp_path, [[12.0, 16.0, 12.0, 8.0]] * 2))
    assert kind_deltas(event, effect("oonn")) == ()
    assert kind_deltas(event, effect("on")) != ()


def test_a_kind_is_called_that_did_nothing_on_one_day_in_thirty_or_less(tmp_path: Path) -> None:
    """Simulated: runs that scatter by 0.8 % an element and no effect at all, two runs on a side."""
    rng = np.random.default_rng(8)
    called = asked = 0
    for day in range(60):
        parts = [
            [float(part) for part in np.array([12.0, 16.0, 12.0, 8.0]) * (1 + 0.008 * rng.standard_normal(4))]
            for _ in range(4)
        ]
        found = kind_deltas(load(folder(tmp_path / f"{day}", parts)), effect("onno"))
        called += sum(item.verdict != "can't tell" for item in found)
        asked += len(found)
    assert asked == 180
    assert called <= 6


def test_what_cannot_be_is_asked_about(tmp_path: Path) -> None:
    home = folder(tmp_path, [[12.0, 16.0, 12.0, 8.0]] * 2)
    (home / "course.csv").write_text(
        "day,element,name,kind,lat,lon\n1,1,a,slalom,46.5,\n1,2,b,,46.5,8.9\n1,3,c,,47.5,8.9\n1,4,d,finish,,\n"
    )
    with (home / "splits.csv").open("a") as file:
        file.write(
            "1,1,7,9,5.0,,video\n1,2,7,4,49.0,,video\n2,5,7,1,5.0,,video\n1,1,9,1,12.0,,video\n1,1,9,2,11.0,,video\n"
        )
        file.write("1,1,9,3,12.x,,video\n1,3,9,1,5.0,,film\n")
    said = [str(problem) for problem in check(home) if problem.file in ("course.csv", "splits.csv")]
    for text in (
        "course.csv:2: warning: a place needs both",
        "course.csv:4: warning: lies kilometres",
        "has no element 9 on day 1",
        "finishes at 49.000, the official time is 48.000",
        "run 5 of 7 has no time",
        "11.000 is not between",
        "splits.csv:13: fault: at_s: '12.x' is no time",
        "splits.csv:14: fault: source",
    ):
        assert any(text in line for line in said), (text, said)
