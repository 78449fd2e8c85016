"""Verdicts, figures, course, next test and season on the screen."""

from __future__ import annotations

import re
from pathlib import Path

from tests.small import FILES, small_event
from tests.tui.pilot import Hand, driving


async def _open(hand: Hand) -> None:
    await hand.press("greater_than_sign")
    await hand.settle()


def words(hand: Hand) -> str:
    """The screen without its line breaks."""
    return " ".join(hand.text.split())


async def test_the_list_has_a_verdict_for_each_change(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        await _open(hand)
        assert re.search(r"rear bar hole 2-2 to 2-1 (leans helped|can't tell) \d\d % keep", words(hand))
        assert re.search(r"front bar hole 2-2 to 1-1 can't tell (\d\d %|-) open", words(hand))
        assert "is a repair: nothing to test" in words(hand)


async def test_enter_opens_every_figure_and_backspace_goes_back(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 60)) as hand:
        await _open(hand)
        await hand.press("down", "down", "down", "down", "enter")
        assert "the field " in words(hand)
        assert "how far such changes usually go 0." in words(hand)
        assert re.search(r"who tells the course: \d+, \d+", words(hand))
        assert "decision: keep (yours; the verdict doesn't make it)" in words(hand)
        await hand.press("backspace")
        assert "Enter every figure" in words(hand)
        await hand.press("backspace")
        await hand.settle()
        assert hand.page.NAME == "home"


async def test_the_course_says_whether_it_was_me(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 60)) as hand:
        await _open(hand)
        await hand.press("right", "right")
        assert "you did what everyone did; run 3 between is marked a mistake" in words(hand)
        assert "better than everyone" not in words(hand)
        assert re.search(r"1 to 2 [+-]0\.\d\d [+-]0\.\d\d to [+-]0\.\d\d \d+", words(hand))
        assert " group B" in hand.text


async def test_runs_left_are_laid_out_for_the_next_test(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("down")
        await hand.type("4")
        await hand.press("enter")
        assert "runs 6 to 9: new-old-old-new" in words(hand)
        assert "run 7 old: 2-2" in words(hand)
        await hand.type("4a")
        await hand.press("enter")
        assert hand.told.startswith("!")


async def test_the_season_takes_the_events_beside_this_one(tmp_path: Path) -> None:
    small_event(tmp_path / "another", {"entrants.csv": FILES["entrants.csv"] + "99,Guest,van,ELM,,front,street,,\n"})
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("left", "left")
        await hand.settle()
        assert "2 events in the folder above this one" in words(hand)
        assert "rear bar hole 2-2 to 2-1" in hand.text
        assert "one differs from another by" in words(hand)


async def test_alone_it_says_how_a_season_is_made(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("left", "left")
        await hand.settle()
        assert "put event folders beside each other" in words(hand)


async def test_without_a_change_it_says_what_to_do(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "changes.csv").write_text("id,day,run,number,item\n")
        hand.page.desk.open_session.poll()
        await _open(hand)
        assert "No change to judge yet" in words(hand)
        await hand.press("right")
        assert "No change to judge yet" in words(hand)
        await hand.press("right", "right")
        assert "No change is logged yet. What a test could tell here" in words(hand)
        assert re.search(r"a pressure, 2 psi \S.* 0\.10 s \d+ %", words(hand))
        before = words(hand)
        await hand.type("8")
        await hand.press("enter")
        assert words(hand) != before, "eight runs tell more than those the event has left"


async def test_a_decision_changes_no_verdict(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        await _open(hand)
        before = re.search(r"rear bar hole 2-2 to 2-1 (.*? \d\d %) keep", words(hand))
        assert before is not None
        text = hand.file("changes.csv").replace('a quarter second",,keep', 'a quarter second",,revert')
        (hand.folder / "changes.csv").write_text(text)
        hand.page.desk.open_session.poll()
        hand.page.refresh_page()
        assert f"rear bar hole 2-2 to 2-1 {before[1]} revert" in words(hand)


async def test_at_forty_columns_changes_of_one_item_are_told_apart(tmp_path: Path) -> None:
    """Three turns of one bar, cut to the same words, still have their run and what they went to."""
    head = "id,day,run,number,kind,item,before,after"
    rows = [f"x{run},2,{run},7,test,front anti-roll bar hole,{a},{b}" for run, a, b in
            ((2, "2-2", "1-1"), (3, "1-1", "3-3"), (4, "3-3", "2-2"))]  # fmt: skip
    async with driving(tmp_path, (40, 30)) as hand:
        (hand.folder / "changes.csv").write_text("\n".join([head, *rows]) + "\n")
        hand.page.desk.open_session.poll()
        await _open(hand)
        shown = [row for row in hand.text.splitlines() if re.match(r".?\s*2\.[234] ", row)]
        assert len(shown) == 3
        assert [row.split()[0] for row in shown] == ["2.4", "2.3", "2.2"]
        assert all(end in row for row, end in zip(shown, ("to 2-2", "to 3-3", "to 1-1"), strict=True))


async def test_the_season_shows_what_was_found_beside_what_is_believed(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 60)) as hand:
        await _open(hand)
        await hand.press("left", "left")
        await hand.settle()
        assert "time against hot pressure" in words(hand)
        assert re.search(r"a usual run's scatter 0\.30 s 0\.\d\d s \d days", words(hand))
        assert re.search(r"own cones weigh against 3\.7 runs too few 0 drivers", words(hand))
        assert "not bracketed yet" in words(hand) or "nothing yet: from 6 dry runs" in words(hand)


async def test_before_a_test_it_says_how_likely_it_is_to_tell(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 60)) as hand:
        await _open(hand)
        await hand.press("down", "right", "right", "right")
        assert re.search(r"Nothing you can do today finds 0\.\d\d s", words(hand))
        assert re.search(r"8 runs, next day \d+ \d+ % \d+ %", words(hand))


async def test_the_record_replays_the_events(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        await _open(hand)
        await hand.press("left")
        await hand.settle()
        assert re.search(r"1 event replayed, \d+ answers held against what came", words(hand))
        assert re.search(r"my next run +\d+ +\d\.\d\d s +\d+ %", hand.text)
        assert re.search(r"first run psi +\d+ +\d\.\d\d psi +\d+ %", hand.text)
