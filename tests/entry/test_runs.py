"""A run on one line: what it says, and what is wrong with it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.entry import TypedRun, Wrong, read_run, write_run
from paddock.entry.between import read_between


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("46512", TypedRun(46512)),
        ("46.512 +1", TypedRun(46512, cones=1)),
        ("46,512+2", TypedRun(46512, cones=2)),
        ("u2 0 o1 46512", TypedRun(46512, entry=-2, mid=0, exit=1, mistake=False)),
        ("u20o1 46512", TypedRun(46512, entry=-2, mid=0, exit=1, mistake=False)),
        ("46512 u2 0 o1 m", TypedRun(46512, entry=-2, mid=0, exit=1, mistake=True)),
        ("u2u1u146512", TypedRun(46512, entry=-2, mid=-1, exit=-1, mistake=False)),
        ("u20o146512+1", TypedRun(46512, cones=1, entry=-2, mid=0, exit=1, mistake=False)),
        ("000 46512", TypedRun(46512, entry=0, mid=0, exit=0, mistake=False)),
        ("- o2 46512", TypedRun(46512, mid=2, mistake=False)),
        ("dnf", TypedRun(status="dnf")),
        ("DNS", TypedRun(status="dns")),
        ("re 46512", TypedRun(46512, status="rerun")),
        ("46512 miss", TypedRun(46512, misses=1)),
        ("46512 miss2 damp", TypedRun(46512, misses=2, surface="damp")),
        ("u1", TypedRun(entry=-1, mistake=False)),
        ("r3 46512", TypedRun(46512, run=3)),
        ("r46512", TypedRun(46512)),
        ("rre", TypedRun(status="rerun")),
        ("ru1 0 o1 46.512", TypedRun(46512, entry=-1, mid=0, exit=1, mistake=False)),
        (
            "46512 ! vibration over 90 # lost the wheel",
            TypedRun(46512, unsafe="vibration over 90", note="lost the wheel"),
        ),
        ("# [R] O'Dell was slow", TypedRun(note="[R] O'Dell was slow")),
        ("46512 ok", TypedRun(46512, mistake=False)),
    ],
)
def test_what_a_line_says(text: str, line: TypedRun) -> None:
    assert read_run(text, 3) == line


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        ("", "line", "nothing to log"),
        ("+1", "time", "need the time"),
        ("+40 46512", "cones", "more cones"),
        ("46512 +", "cones", "how many"),
        ("46512 1", "time", "+1"),
        ("4613", "time", "46.130"),
        ("46,13", "time", "two decimals"),
        ("46.1.3", "time", "no time"),
        ("[R] O'Dell", "line", "[r]"),
        ("u4 46512", "balance", "u1 to u3"),
        ("u0", "balance", "u1 to u3"),
        ("u2u1u1465", "balance", "u1 to u3"),
        ("u146512", "balance", "is a space missing? u1 46512"),
        ("00046512", "time", "more than one way"),
        ("u1 u1 u1 u1 u1", "balance", "four phases"),
        ("46512 46513", "time_ms", "twice"),
        ("dns 46512", "time", "not started"),
        ("46512 !", "unsafe", "nothing is written"),
        ("r3", "line", "nothing to log"),
        ("miss2", "time", "missed gates need"),
        ("46512 dry damp", "surface", "twice"),
    ],
)
def test_a_sentence_about_the_field_that_is_wrong(text: str, field: str, says: str) -> None:
    found = read_run(text, 3)
    assert isinstance(found, Wrong)
    assert found.field == field
    assert says in found.sentence


_BALANCE = st.none() | st.integers(-3, 3)
_WORDS = st.none() | st.text("abc [R]'+-/", min_size=1, max_size=12).map(str.strip).filter(bool)


@st.composite
def _lines(draw: st.DrawFn) -> TypedRun:
    felt = [draw(_BALANCE) for _ in range(4)]
    some = any(value is not None for value in felt)
    status = draw(st.sampled_from([None, "dnf", "dns", "dsq", "rerun", "practice"]))
    time_ms = None if status == "dns" else draw(st.none() | st.integers(10_000, 199_999))
    return TypedRun(
        time_ms=time_ms,
        cones=draw(st.none() | st.integers(1, 20)) if time_ms else None,
        misses=draw(st.none() | st.integers(1, 20)) if time_ms else None,
        status=status,
        entry=felt[0], mid=felt[1], exit=felt[2], slalom=felt[3],
        mistake=draw(st.booleans() if some else st.none() | st.booleans()),
        surface=draw(st.none() | st.sampled_from(["dry", "drying", "damp", "wet", "standing"])),
        unsafe=draw(_WORDS), note=draw(_WORDS),
        run=draw(st.none() | st.integers(1, 99)),
    )  # fmt: skip


@given(_lines())
def test_a_run_written_out_reads_back_the_same(line: TypedRun) -> None:
    text = write_run(line, 3)
    empty = not (line.timed or text.replace(f"r{line.run}", "").strip())
    found = read_run(text, 3)
    assert isinstance(found, Wrong) if empty else found == line
    assert read_between(text, 3) == found


@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text: str) -> None:
    found = read_run(text, 3)
    assert isinstance(found, TypedRun) or found.sentence


@pytest.mark.parametrize(
    ("text", "lost", "where"),
    [("46512 l0.3@5", 0.3, "5"), ("u1 0 0 l,25 46512 @third_gate", 0.25, "third gate"), ("46512 l1", 1.0, None),
     ("46512 @box", None, "box")],
)  # fmt: skip
def test_time_lost_and_where(text: str, lost: float | None, where: str | None) -> None:
    found = read_run(text, 3)
    assert isinstance(found, TypedRun)
    assert (found.time_ms, found.lost_s, found.lost_where) == (46512, lost, where)
    assert read_run(write_run(found, 3), 3) == found


def test_a_place_that_is_not_said_is_asked_for() -> None:
    found = read_run("46512 l0.3@", 3)
    assert isinstance(found, Wrong)
    assert "where was it lost" in found.sentence
