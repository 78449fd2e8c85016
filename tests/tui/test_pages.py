"""Standings, notes, changes, weather, the pad and the first page."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from paddock.store.personal import remember
from paddock.tui.app import PaddockApp
from tests.small import NOW, small_event
from tests.tui.pilot import Hand, driving


async def test_a_rivals_run_as_heard(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s9 45500 1")
        assert "9 Piet Anselm Rook ASH" in hand.told
        await hand.press("enter")
        assert hand.told.startswith("saved: run 5 of 9: 45.500+1")
        assert "2,5,9,45.5,1" in hand.file("times.csv").replace("45.500", "45.5")


async def test_an_unknown_number_makes_an_entrant(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s999 51000 r1")
        assert "999 is new" in hand.told
        await hand.press("enter")
        assert "new entrant" in hand.told
        assert "\n999," in hand.file("entrants.csv")
        await hand.press("z")
        assert "\n999," not in hand.file("entrants.csv")


async def test_a_rivals_line_in_doubt_stays(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("s")
        for text in ("9 4613", "9", "46.512 1", "9 46512 40", "[R] 46512"):
            hand.page.tell("")
            hand.page.put(text)
            await hand.press("enter")
            assert hand.told.startswith("! "), text
            assert hand.page.entry.value == text


async def test_tables_days_and_classes(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("s")
        assert "ASH: Saloons on street" in hand.text
        await hand.press("left")
        assert "raw: everybody on raw totals" in hand.text
        await hand.press("left")
        assert "index: everybody on index times; in total" in hand.text
        await hand.press("j")
        assert "only ASH" in hand.text
        await hand.press("right_square_bracket")
        assert "day 1 alone" in hand.text


async def test_following_a_rival(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("s", "down", "o")
        assert "= 9 Piet Anselm Rook" in hand.text
        assert "ahead of you" in hand.text
        await hand.press("enter")
        assert hand.page.entry.value == "9 "


async def test_a_note_with_its_topic(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("ntyres: [R] grains, 10% worse")
        await hand.press("enter")
        assert ',2,4,13:08:00,tyres,"[R] grains, 10% worse"' in hand.file("notes.csv")
        assert "[R] grains" in hand.text


async def test_notes_are_searched(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("n", "ctrl+s")
        await hand.type("buzz")
        assert "notes: 2 with buzz" in hand.text
        assert "day 2 run 4 12:50 with the run of 7: no buzz; cone in the long left" in hand.text
        await hand.press("enter")
        assert hand.page.entry.value == "buzz"


async def test_notes_of_the_events_beside(tmp_path: Path) -> None:
    small_event(tmp_path / "other")
    async with driving(tmp_path) as hand:
        await hand.press("n", "ctrl+o", "ctrl+s")
        await hand.type("shield bolt")
        await hand.press("pagedown")
        assert "Two days on the fairground: 1" in hand.text


async def test_a_change_is_asked_for(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("carear bar")
        await hand.press("enter", "enter")
        await hand.type("wet, 1 hole softer")
        await hand.press("enter")
        assert "the rear bar has holes 1-1 to 3-3, left first" in hand.told
        await hand.press("escape")
        await hand.type("3-3")
        await hand.press("enter")
        await hand.type("too lazy in the slalom")
        await hand.press("enter", "enter", "enter")
        row = hand.file("changes.csv").splitlines()[-1]
        assert ",2,5,13:08:00,7,test,rear_bar,rear bar,2-1,3-3,too lazy in the slalom" in row
        await hand.press("h")
        assert "rear bar 3-3*" in hand.text


async def test_after_the_last_run_a_change_is_asked_for_its_first_run(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        event = hand.folder / "event.toml"
        event.write_text(event.read_text().replace("runs_per_day = 5", "runs_per_day = 4"))
        hand.page.desk.open_session.poll()
        await hand.type("carear bar")
        await hand.press("enter", "enter")
        await hand.type("3-3")
        await hand.press("enter", "enter", "enter", "enter")
        assert hand.page.label == "first run with it"
        assert "1 to 4; Enter takes 5, after the runs of this day" in hand.page.entry.placeholder
        await hand.type("6")
        await hand.press("enter")
        assert "the run it was first driven in is wanted, 1 to 5" in hand.told
        await hand.press("escape")
        await hand.type("3")
        await hand.press("enter")
        row = hand.file("changes.csv").splitlines()[-1]
        assert ",2,3,,7,test,rear_bar,rear bar,2-1,3-3" in row, "no time of day: it was not made now"


async def test_backspace_goes_back_a_question(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("carear bar")
        await hand.press("enter", "enter", "backspace")
        assert hand.page.label == "from"
        assert hand.page.entry.value == "2-1"


async def test_stepping_back_eats_no_letter_and_a_red_word_goes(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("carear bar")
        await hand.press("enter", "enter", "backspace", "backspace")
        assert (hand.page.label, hand.page.entry.value) == ("what", "rear bar")
        assert "Enter keeps it" in hand.told
        await hand.press("enter", "enter")
        assert hand.page.label == "to"
        await hand.press("backspace")
        await hand.type("x")
        await hand.press("backspace", "backspace")
        assert hand.page.entry.value == "2-"
        assert hand.told == ""


@pytest.mark.parametrize("keys", [("ctrl+g",), ("escape", "escape")])
async def test_a_form_is_left_at_once_and_taken_up_again(tmp_path: Path, keys: tuple[str, ...]) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("changes.csv")
        await hand.type("carear bar")
        await hand.press("enter", "enter")
        assert "leave the form" in hand.text
        await hand.type("3-")
        await hand.press(*keys)
        assert hand.page.writing is False
        assert hand.told.startswith("left; the answers wait")
        assert "leave the form" not in hand.text
        await hand.press("h", "c")
        await hand.settle()
        await hand.type("a")
        assert hand.page.label == "to"
        assert hand.page.entry.value == ("3-" if keys == ("ctrl+g",) else "")
        assert "from: 2-1" in hand.text
        assert hand.file("changes.csv") == before


async def test_a_form_of_other_questions_begins_anew(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s")
        await hand.press("down", "a")
        await hand.type("X")
        await hand.press("enter", "ctrl+g", "down", "a")
        assert hand.page.label == "7 driver"
        assert hand.page.entry.value == ""


async def test_words_under_the_line_go_with_the_page(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "z", "y")
        assert hand.told.startswith("done again")
        await hand.press("s", "h")
        assert hand.told == ""


async def test_a_time_with_too_few_decimals_is_asked_about(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s9 45,98 1")
        await hand.press("enter")
        assert hand.told.startswith("! ")
        assert "write it like 46.512" in hand.told
        assert hand.page.entry.value == "9 45,98 1"


async def test_a_change_is_decided_and_taken_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("c", "down", "down", "down", "enter")
        await hand.type("k")
        await hand.press("enter")
        assert "saved: keep: rear tyre pressure" in hand.told
        assert hand.file("changes.csv").count(",keep") == 4
        await hand.press("enter")
        await hand.type("back")
        await hand.press("enter")
        row = hand.file("changes.csv").splitlines()[-1].split(",")
        assert row[7:10] == ["rear tyre pressure", "39", "40"]
        await hand.press("z")
        assert hand.file("changes.csv").count(",keep") == 4


async def test_a_decision_in_doubt_is_asked_again(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("c", "down", "enter")
        await hand.type("maybe")
        await hand.press("enter")
        assert "keep, revert, back, open" in hand.told
        assert hand.page.entry.value == "maybe"


async def test_weather_on_a_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("wdamp 19 24")
        await hand.press("enter")
        assert "2,13:08,19,24,,,damp" in hand.file("weather.csv")
        assert "damp, air 19" in hand.text
        await hand.type("21 h60")
        assert hand.told == "! Enter saves it, in place of air 19 of the same minute"
        await hand.press("enter")
        assert hand.told == "saved: weather: 21 h60, in place of air 19 of the same minute"
        assert "2,13:08,21,24,60,,damp" in hand.file("weather.csv")
        await hand.press("backspace")
        await hand.type("20 air wet")
        assert hand.told == "! Enter logs the weather, in place of air 21, surface damp of the same minute"
        await hand.press("enter")
        assert hand.told == "saved: weather: 20 air wet, in place of air 21, surface damp of the same minute"
        await hand.press("ctrl+z", "ctrl+z")
        assert "2,13:08,19,24,,,damp" in hand.file("weather.csv")


async def test_a_run_by_taps(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 30)) as hand:
        await hand.press("i")
        for tap in ("lean(0,-1)", "lean(0,-1)", "slip(False)", *(f"digit({d})" for d in "45912"), "cone(1)"):
            await hand.app.run_tap(tap)
        assert hand.page.entry.value == "u1 - - ok 45912 +1"
        await hand.app.run_tap("save")
        assert "2,5,7,45.912,1" in hand.file("times.csv")


async def test_a_tap_on_the_screen_finds_its_piece(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 30)) as hand:
        await hand.press("i")
        lines = hand.text.splitlines()
        row = next(at for at, item in enumerate(lines) if "[ 1 ]" in item)
        await hand.pilot.click(offset=(lines[row].index("[ 4 ]") + 2, row))
        await hand.dealt_with()
        assert hand.page.entry.value == "4"


async def test_a_draft_waits_where_it_was_left(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("s")
        await hand.type("9 455")
        await hand.app.go("home")
        await hand.dealt_with()
        await hand.press("s")
        assert hand.page.entry.value == "9 455"


async def test_without_a_folder_it_offers_what_there_is(tmp_path: Path) -> None:
    old = tmp_path / "old"
    old.mkdir()
    (old / "event.toml").write_text('name = "Old"\n', "utf-8")
    remember(old)
    app = PaddockApp(None, now=lambda: NOW)
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, tmp_path / "new")
        await hand.settle()
        assert "1  old" in hand.text
        assert "try the example" in hand.text
        await hand.press("a")
        hand.page.put(str(tmp_path / "new"))
        await hand.press("enter")
        await hand.type("2026-13-40")
        await hand.press("enter")
        assert "write the days as" in hand.told
        hand.page.put("2026-06-14")
        await hand.press("enter", "enter")
        await hand.type("7")
        await hand.press("enter")
        await hand.settle()
        await hand.open()
        assert hand.page.NAME == "home"
        assert "new" in hand.text
        await hand.type("45912")
        await hand.press("enter")
        assert "1,1,7,45.912" in hand.file("times.csv")


async def test_the_example_is_tried_on_a_copy(tmp_path: Path) -> None:
    app = PaddockApp(None, now=lambda: NOW)
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, tmp_path)
        await hand.settle()
        await hand.press("t")
        await hand.settle()
        await hand.open()
        assert hand.text.startswith(" day ")
        assert app.desk is not None
        assert app.desk.folder.is_relative_to(tmp_path)


async def test_a_folder_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    (tmp_path / "event").mkdir()
    async with driving(tmp_path) as hand:
        assert hand.page.NAME == "welcome"
        assert "event.toml" in hand.told


def test_days_are_read_or_asked_about() -> None:
    from paddock.entry.event import read_days

    assert read_days("2026-06-13, 2026-06-14") == (date(2026, 6, 13), date(2026, 6, 14))
    for text in ("", "tomorrow", "2026-06-14 2026-06-13", "2026-06-14 2026-06-14"):
        with pytest.raises(ValueError, match="day"):
            read_days(text)


async def test_a_new_entrant_is_completed(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s999 51000 r1")
        await hand.press("enter", "left", "left")
        hand.page.grid.go_to("999")  # type: ignore[attr-defined]
        await hand.press("a")
        await hand.type("[R] O'Dell")
        await hand.press("enter")
        await hand.type("nope")
        await hand.press("enter")
        assert "no such class" in hand.told
        hand.page.put("oak")
        await hand.press("enter", "enter")
        assert "999,[R] O'Dell,,OAK" in hand.file("entrants.csv")


async def test_a_word_for_no_time_may_begin_a_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("dnf")
        await hand.press("enter")
        assert "2,5,7,,,,dnf" in hand.file("times.csv")


async def test_a_rerun_does_not_use_up_the_run(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("rre")
        await hand.press("enter")
        assert "run 5 of 5" in hand.text
        await hand.type("45912")
        await hand.press("enter")
        rows = [row for row in hand.file("times.csv").splitlines() if row.startswith("2,5,7")]
        assert [row.split(",")[6] for row in rows] == ["rerun", ""]
        assert "45.912" in hand.text


async def test_what_is_wrong_is_told(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "times.csv"
        path.write_text(hand.file("times.csv") + "2,5,9,46.5.1,,,,,\n", "utf-8")
        await hand.app.pass_time()
        assert "1 fault in the files" in hand.text
        await hand.press("exclamation_mark")
        assert "times.csv:" in hand.text
        assert "46.5.1" in hand.text


async def test_the_event_is_saved_elsewhere(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("exclamation_mark", "a")
        hand.page.put(str(tmp_path / "stick" / "event"))
        await hand.press("enter")
        assert "saved to" in hand.told
        await hand.press("h")
        await hand.type("45912")
        await hand.press("enter")
        assert "2,5,7,45.912" in (tmp_path / "stick" / "event" / "times.csv").read_text("utf-8")
        assert "2,5,7,45.912" not in hand.file("times.csv")
