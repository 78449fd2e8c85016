"""Work ticked and logged, checklists ticked, from the keys."""

from __future__ import annotations

from pathlib import Path

from paddock.engine.clock import as_of
from paddock.engine.pressure.moment import moment_of
from paddock.tui.screens.work import WorkPage
from paddock.tui.widgets.grid import Grid
from tests.tui.pilot import Hand, driving


async def test_due_work_is_ticked_and_undone(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        await hand.settle()
        assert "left rear heat shield bolt again" in hand.text
        hand.page.query_one(Grid).go_to("wd4qq")
        await hand.settle()
        assert "25 N·m" in hand.text
        await hand.press("enter")
        assert (
            "wd4qq,day 2 12:36,left rear heat shield bolt again,was found loose,after run 5,25,day 2 13:08"
            in hand.file("worklist.csv")
        )
        await hand.press("z")
        assert "after run 5,25,,new washer under it" in hand.file("worklist.csv")


async def test_a_noise_is_logged_in_a_few_words(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        await hand.settle()
        await hand.type("fbuzz")
        await hand.press("enter")
        await hand.type("left front")
        await hand.press("enter", "enter")
        row = hand.file("worklist.csv").splitlines()[-1]
        assert "find the buzz: left front,run 4,before next run" in row
        assert "find the buzz: left front" in hand.text


async def test_what_was_found_closes_the_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        await hand.settle()
        await hand.type("otight as it should be")
        await hand.press("enter")
        assert "day 2 13:08,tight as it should be" in hand.file("worklist.csv").replace(":00,", ",")


async def test_a_typed_line_is_new_work(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        await hand.settle()
        await hand.type("1 litre of oil")
        await hand.press("enter")
        assert "1 litre of oil" in hand.file("worklist.csv").splitlines()[-1]


async def test_checklists_are_ticked_and_turned(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("l")
        await hand.settle()
        assert "missed last time" in hand.text
        await hand.press("right", "enter")
        assert hand.file("ticks.csv").splitlines()[-1].startswith("inspection,")
        assert hand.file("ticks.csv").splitlines()[-1].endswith(",2,13:08")


async def test_an_event_without_lists_says_what_to_do(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "checklist.toml").unlink()
        hand.page.desk.open_session.poll()
        await hand.press("l")
        await hand.settle()
        assert "Make checklist.toml" in hand.text


UNSAFE = "2,5,7,13:00,no,vibration,,,0,0,0,0,dry,\n"


async def _with_vibration(hand: Hand) -> None:
    log = hand.folder / "runs.csv"
    log.write_text(log.read_text(encoding="utf-8") + UNSAFE, encoding="utf-8")
    hand.page.desk.open_session.poll()
    await hand.press("k")
    await hand.settle()
    assert "stop and look: vibration" in hand.text
    assert isinstance(hand.page, WorkPage)
    hand.page.grid.go_to("unsafe-2-5-7")


async def test_what_was_found_on_a_line_nobody_wrote_down_is_written_with_it(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _with_vibration(hand)
        await hand.type("oa weight lost")
        await hand.press("enter")
        row = hand.file("worklist.csv").splitlines()[-1]
        assert row.startswith("unsafe-2-5-7,day 2 run 5,stop and look: vibration,")
        assert row.endswith(",day 2 13:08,a weight lost")
        await hand.press("z")
        assert "unsafe-2-5-7" not in hand.file("worklist.csv")


async def test_a_fault_ticked_from_the_day_before_frees_the_advice(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _with_vibration(hand)
        desk = hand.page.desk
        desk.day = 1
        assert moment_of(desk.event, "7", as_of(desk.event, desk.now())).name == "unsafe"
        await hand.press("enter")
        assert hand.file("worklist.csv").splitlines()[-1].rstrip(",").endswith(",day 2 13:08")
        assert moment_of(desk.event, "7", as_of(desk.event, desk.now())).name != "unsafe"


async def test_one_enter_too_many_after_a_fault_ticks_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        await hand.settle()
        await hand.type("fbuzz")
        await hand.press("enter", "enter", "enter")
        before = hand.file("worklist.csv")
        assert "find the buzz" in before.splitlines()[-1]
        await hand.press("enter")
        assert hand.file("worklist.csv") == before
        assert "Enter again ticks find the buzz" in hand.told
        await hand.press("enter")
        assert hand.file("worklist.csv") != before
        assert "find the buzz" in hand.file("worklist.csv").splitlines()[-1]
        assert "day 2 13:08" in hand.file("worklist.csv").splitlines()[-1].split("find the buzz")[1]
