"""Notes from the course walk, bound to an element: typed quickly, shown beside its time and before the run."""

from __future__ import annotations

from pathlib import Path

from tests.small import NOW, small_event
from tests.tui.pilot import driving

COURSE = """\
day,element,name,kind
2,0,start,start
2,1,first slalom,slalom
2,2,long left,sweeper
2,3,last box,box
2,4,finish,finish
"""
SPLITS = "day,run,number,element,at_s,error_s,source\n" + "".join(
    f"2,{run},7,{element},{at},,video\n"
    for run, marks in ((1, (12.4, 30.0, 41.0)), (2, (12.1, 30.2, 40.9)))
    for element, at in enumerate(marks, 1)
)


async def test_a_note_is_bound_to_its_element_and_stands_beside_its_time_and_before_the_run(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {"course.csv": COURSE, "splits.csv": SPLITS})
    async with driving(tmp_path, now=NOW) as hand:
        await hand.press("n")
        await hand.type("box: brake where the paint ends")
        await hand.press("enter")
        assert hand.told == "saved: note at 3 last box: brake where the paint ends"
        assert hand.file("notes.csv").splitlines()[0] == "id,day,run,at,topic,text,element"
        assert hand.file("notes.csv").splitlines()[-1].endswith(",2,4,13:08:00,course,brake where the paint ends,3")
        await hand.press("escape")
        await hand.press("number_sign")
        await hand.type("2: late apex")
        await hand.press("enter")
        await hand.settle()
        page = " ".join(hand.text.split())
        assert "noted at the elements" in page
        assert "2 long left (" in page, "with what was lost there on average"
        assert "on average): late apex" in page
        await hand.press("dollar_sign")
        await hand.settle()
        assert "3 last box: brake where the paint ends" in " ".join(hand.text.split())
        await hand.type("2: wait for the second cone")
        await hand.press("enter")
        assert "2 long left: late apex; wait for the second cone" in " ".join(hand.text.split())
        await hand.press("h", "v")
        assert "3 last box (" in hand.text
        await hand.press("z", "z", "z")
        assert ",3\n" not in hand.file("notes.csv")
        assert "noted at" not in hand.text


async def test_what_names_no_element_is_a_topic_as_ever(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {"course.csv": COURSE})
    async with driving(tmp_path, now=NOW) as hand:
        await hand.press("n")
        for text, row in (
            ("car: hot", "car,hot,"),
            ("9: nothing there", "9,nothing there,"),
            ("slalom: both hands", "course,both hands,1"),
            ("left of it: no", ",left of it: no,"),
        ):
            await hand.type(text)
            await hand.press("enter")
            assert hand.file("notes.csv").splitlines()[-1].rstrip(",").endswith(row.rstrip(",")), text


async def test_home_has_them_where_there_is_room(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {"course.csv": COURSE})
    async with driving(tmp_path, (100, 40), now=NOW) as hand:
        await hand.press("n")
        await hand.type("1: two wheels inside")
        await hand.press("enter", "escape")
        assert "at 1 first slalom: two wheels inside" in hand.text
