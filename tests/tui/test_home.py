"""The page between two runs, and logging a run on it."""

from __future__ import annotations

from pathlib import Path

from textual import events

from paddock.serve.process import KEYS
from paddock.store.personal import Personal, read_personal
from tests.tui.pilot import driving


async def test_the_page_answers_on_one_screen(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for words in ("run 5 of 5", "to find", "ASH", "index", "LF", "hot target", "set-up", "due:", "saved"):
            assert words in hand.text
        assert hand.page.query_one("#home").max_scroll_y == 0


async def test_pressures_stand_in_the_order_they_are_typed(tmp_path: Path) -> None:
    async with driving(tmp_path, personal=Personal(walk=("rr", "lr", "lf", "rf"))) as hand:
        line = next(line for line in hand.text.splitlines() if line.startswith("set now: "))
        assert [word for word in line.split() if word.isalpha() and word.isupper()] == ["RR", "LR", "LF", "RF"]
        assert "rear pressure" not in hand.text
        assert "after run 4, 15 min ago" in hand.text
        await hand.press("p")
        await hand.settle()
        assert "rr lr lf rf, like" in hand.text


async def test_another_day_shows_nothing_that_is_of_now(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for size in ((80, 24), (40, 40), (120, 40)):
            await hand.resize(*size)
            await hand.press("left_square_bracket")
            assert "the car now, on day 2" in hand.text
            assert "set now" not in hand.text
            assert "after run 4" not in hand.text
            await hand.press("right_square_bracket")
            assert "the car now" not in hand.text
            assert "tyres, psi" in hand.text


async def test_a_placeholder_without_room_ends_with_an_ellipsis(tmp_path: Path) -> None:
    async with driving(tmp_path, (40, 20)) as hand:
        hand.page.entry.placeholder = "the first words, and more of them than fit"
        hand.page.entry.refresh()
        await hand.dealt_with()
        row = next(line for line in hand.text.splitlines() if "the first words" in line)
        assert row.rstrip().endswith("…")


async def test_the_day_done(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("u1 0 0 45912")
        await hand.press("enter")
        await hand.settle()
        assert "all 5 runs done" in hand.text
        assert "day done >" in hand.text
        assert "run 6" not in hand.text
        assert "no run is left; 9 has a run left" in hand.text


async def test_faults_stand_in_the_top_line_of_every_page(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "pressures.csv"
        path.write_text(path.read_text("utf-8") + "2,5,7,after,13:07,rubbish\n", "utf-8")
        assert hand.app.desk is not None
        assert hand.app.desk.open_session.poll()
        for key in "pskh":
            await hand.press(key)
            await hand.settle()
            assert "saved, 1 fault" in hand.text.splitlines()[0]


async def test_without_the_list_of_entrants_nothing_is_worked_out(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path, session = hand.folder / "entrants.csv", hand.app.desk.open_session  # type: ignore[union-attr]
        sound = path.read_text("utf-8")
        path.write_text(sound, "utf-16")
        assert session.poll()
        before = hand.file("times.csv")
        for key, wrong in (("_", "Nobody is entered"), ("p", "expected"), ("v", "No entry of yours"), ("h", "run ")):
            await hand.press(key)
            await hand.settle()
            said = " ".join(hand.text.split())
            assert "entrants.csv is UTF-16 text: save it again as UTF-8" in said, key
            assert wrong not in said
            assert "not entered yet" not in said
            assert "saved, 1 fault" in said
        await hand.type("u1 0 0 45912")
        await hand.press("enter")
        assert "entrants.csv is UTF-16 text" in hand.text.splitlines()[-2] + hand.text.splitlines()[-3]
        assert hand.file("times.csv") == before
        await hand.press(*["backspace"] * 13, "p")
        path.write_text(sound, "utf-8")
        assert session.poll()
        hand.app.screen.refresh_page()  # type: ignore[attr-defined]
        await hand.settle()
        assert "UTF-16" not in hand.text
        assert "lf" in hand.text.lower()


async def test_what_was_not_safe_is_marked_until_it_is_worked_off(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        assert "worked off: buzz" in hand.text
        assert "NOT SAFE" not in hand.text
        await hand.type("u1 0 0 45912 ! smoke")
        await hand.press("enter")
        assert "NOT SAFE: smoke" in hand.text


async def test_pasted_lines_are_entered_in_turn_and_taken_back_one_by_one(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        names = ("times.csv", "runs.csv", "pressures.csv")
        before = [hand.file(name) for name in names]
        await hand.type("r5 ")
        hand.page.entry.post_message(events.Paste("u1 0 0 45912\n\nr6 o1 0 0 46100 +1\r\n335 340 305 305\n"))
        await hand.dealt_with()
        assert hand.told.startswith("3 lines entered, z takes back one: saved: run 5: entry")
        assert hand.page.entry.value == ""
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert "2,6,7,46.100,1" in hand.file("times.csv")
        await hand.press("z")
        assert hand.file("pressures.csv") == before[2]
        assert "2,6,7,46.100,1" in hand.file("times.csv")
        await hand.press("z", "z")
        assert [hand.file(name) for name in names] == before


async def test_where_one_pasted_line_cant_be_read_none_is_taken(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv"), hand.file("runs.csv")
        hand.page.entry.post_message(events.Paste("u1 0 0 45912\nNo\tDriver\n23\tKim"))
        await hand.dealt_with()
        assert hand.told.startswith("! none of the 3 lines is taken (a table of results goes to &); line 2: no is")
        assert (hand.file("times.csv"), hand.file("runs.csv")) == before


async def test_lines_pasted_where_one_is_typed_are_not_lost_silently(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("k")
        hand.page.entry.post_message(events.Paste("one\ntwo"))
        await hand.dealt_with()
        assert hand.told == "! 2 lines were pasted, one is typed here at a time: none is taken"
        await hand.press("n")
        hand.page.entry.post_message(events.Paste("\nthe wind turns\nat the last box\n"))
        await hand.dealt_with()
        assert hand.page.entry.value == "the wind turns at the last box"


async def test_a_run_typed_in_one_go_is_in_the_files(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("u20o1 45912")
        assert "run 5" in hand.told
        await hand.press("enter")
        assert hand.told.startswith("saved: run 5")
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert "2,5,7,13:08:00,no,,,,-2,0,1" in hand.file("runs.csv")
        assert "45.912" in hand.text


async def test_a_line_in_doubt_stays_with_a_sentence(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        for text in ("4613", "46,13", "46.1.3", "+1", "45912 +40", "u9 45912", "[R] O'Dell"):
            hand.page.tell("")
            hand.page.put(text)
            await hand.press("enter")
            assert hand.told.startswith("! "), text
            assert hand.page.entry.value == text
            assert hand.app.focused is hand.page.entry
            assert hand.file("times.csv") == before


async def test_half_a_record_is_kept_and_completed(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("r")
        hand.page.put("r5 u1 0 0")
        await hand.press("enter")
        assert "2,5,7" in hand.file("runs.csv")
        assert "2,5,7" not in hand.file("times.csv")
        assert "no time" in hand.text
        await hand.type("45912")
        await hand.press("enter")
        assert "2,5,7,45.912" in hand.file("times.csv")


async def test_undo_and_redo(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "z")
        assert "undone" in hand.told
        assert "2,5,7" not in hand.file("times.csv")
        await hand.press("y")
        assert "done again" in hand.told
        assert "2,5,7,45.912" in hand.file("times.csv")


async def test_a_logged_run_is_opened_and_mended(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("up", "enter")
        assert hand.page.entry.value == "o1 o1 0 o1 46.098 +1 l0.1 @long_left dry # no buzz; cone in the long left"
        hand.page.put("o1 o1 0 o1 46.098 dry # no buzz")
        await hand.press("enter")
        assert ",no buzz\n" in hand.file("runs.csv")
        assert "2,4,7,46.098,," in hand.file("times.csv")
        assert hand.told.startswith("saved")


async def test_mending_is_left_without_a_trace(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        await hand.press("up", "enter", "escape")
        assert "mend run 4 > Escape leaves it as it was" in hand.text
        await hand.press("escape")
        assert "run 5 >" in hand.text
        assert "Escape leaves" not in hand.text
        await hand.type("45912")
        await hand.press("enter")
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert hand.file("times.csv").startswith(before)


async def test_a_second_entry_is_one_key_away(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("e")
        assert "now entering for 24" in hand.told
        await hand.type("46512 +1")
        await hand.press("enter")
        assert ",24,46.512,1" in hand.file("times.csv")


async def test_other_hands_are_taken_in(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "times.csv"
        path.write_text(hand.file("times.csv") + "2,5,7,45.001,0,0,,13:07:00,\n", "utf-8")
        await hand.app.pass_time()
        await hand.dealt_with()
        assert "45.001" in hand.text


async def test_a_name_with_brackets_is_shown_as_it_is(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "entrants.csv"
        path.write_text(hand.file("entrants.csv").replace("Ilka Norrby", "[R] O'Dell [/b]"), "utf-8")
        await hand.app.pass_time()
        await hand.dealt_with()
        assert "[R] O'Dell [/b]" in hand.text


async def test_too_small_is_said_and_nothing_typed_is_lost(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("459")
        await hand.resize(30, 8)
        await hand.dealt_with()
        assert "30x8" in hand.text
        assert "LF" not in hand.text
        await hand.resize(40, 20)
        await hand.dealt_with()
        assert "459" in hand.text


async def test_keys_are_the_users_own(tmp_path: Path) -> None:
    async with driving(tmp_path, personal=Personal(keys={"any.undo": "ctrl+u", "go.pressures": "k"})) as hand:
        await hand.press("k")
        assert hand.page.NAME == "pressures"
        await hand.press("h")
        await hand.type("45912")
        await hand.press("enter", "ctrl+u")
        assert "undone" in hand.told


async def test_themes_change_in_one_key_and_are_kept(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        assert hand.app.theme == "night"
        await hand.press("x")
        assert hand.app.theme == "sun"
    assert read_personal().theme == "sun"


async def test_help_lists_every_key_and_gives_a_digit_back(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 80)) as hand:
        await hand.press("question_mark")
        assert "Log a run" in hand.text
        assert "Take the last entry back" in hand.text
        await hand.press("4")
        await hand.dealt_with()
        assert hand.page.entry.value == "4"


async def test_every_action_is_in_the_palette(tmp_path: Path) -> None:
    from paddock.tui.palette import Actions

    async with driving(tmp_path) as hand:
        wanted = {found.binding.tooltip for found in hand.page.active_bindings.values() if found.binding.id}
        provider = Actions(hand.page)
        found = [hit.text async for hit in provider.discover()]
        missing = [tip for tip in wanted if tip and not any(tip in (text or "") for text in found)]
        assert missing == ["Find any action by name"]


async def test_the_palette_runs_what_it_finds(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "colon")
        await hand.type("undo")
        await hand.settle()
        await hand.press("enter")
        await hand.settle()
        assert "2,5,7" not in hand.file("times.csv")


async def test_leaving_takes_two_presses(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("q")
        assert "again" in hand.told
        await hand.press("e", "q")
        assert "again" in hand.told
        assert hand.app.is_running
        await hand.press("q")
    assert hand.app.return_code == 0


async def test_my_number_is_asked_for_where_it_is_not_known(tmp_path: Path) -> None:
    from datetime import date

    from paddock.folders.starting import new_event

    new_event(tmp_path / "event", "Fresh", [date(2026, 6, 14)], [])
    async with driving(tmp_path) as hand:
        assert "Which car number" in hand.text
        await hand.type("46.512")
        await hand.press("enter")
        assert hand.told.startswith("! a car number")
        hand.page.put("7 24")
        await hand.press("enter")
        assert 'numbers = ["7", "24"]' in hand.file("event.toml")
        assert "\n7," in hand.file("entrants.csv")
        await hand.type("45912")
        await hand.press("enter")
        assert "1,1,7,45.912" in hand.file("times.csv")


async def test_a_letter_typed_over_the_help_does_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("45912")
        await hand.press("enter", "question_mark", "z")
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert hand.page.NAME == "home"


async def test_a_run_that_is_there_is_not_replaced_without_a_word(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("r3 46512")
        old = next(line.split(",")[3] for line in hand.file("times.csv").splitlines() if line.startswith("2,3,7,"))
        assert hand.told == f"! Enter logs run 3: 46.512, replaces {old}"
        await hand.press("enter")
        assert hand.told.startswith(f"saved: run 3: 46.512, replaces {old}")


async def test_a_first_result_replaces_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("46512")
        assert "replaces" not in hand.told
        await hand.press("escape")
        await hand.type("r3 u2 0 o1")
        assert "replaces" not in hand.told
        await hand.press("escape")
        await hand.type("r3 re")
        assert "replaces" not in hand.told


async def test_a_rivals_run_that_is_there_is_not_replaced_without_a_word(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        old = next(line.split(",") for line in hand.file("times.csv").splitlines() if line.startswith("2,1,9,"))
        await hand.type("s9 45500 r1")
        assert f"Enter takes it as run 1, replaces {old[3]}" in hand.told
        await hand.press("escape")
        await hand.type("9 45500")
        assert "replaces" not in hand.told


async def test_the_key_that_begins_a_run_is_also_the_r_of_what_is_typed(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("re")
        assert hand.told.startswith("Enter logs run 5: ")
        await hand.press("escape", "escape")
        await hand.type("r0 0 0 46512")
        assert "entry neutral" in hand.told or "entry 0" in hand.told
        await hand.press("escape", "escape", "enter")
        await hand.type("3 46512")
        assert "too short" in hand.told


async def test_any_word_of_an_action_finds_it(tmp_path: Path) -> None:
    from paddock.tui.palette import Actions

    async with driving(tmp_path) as hand:
        found = [hit async for hit in Actions(hand.page).search("theme")]
        best = max(found, key=lambda hit: hit.score)
        assert (best.text or "").startswith("sun/night")
        await hand.press("colon")
        await hand.settle()
        assert hand.app.screen.query_one("SearchIcon").display is False


async def test_the_words_of_the_bar_of_keys_go_on_any_line(tmp_path: Path) -> None:
    keys = {key.label: key.send for row in KEYS for key in row}
    async with driving(tmp_path) as hand:
        await hand.type("46512" + keys["miss"])
        assert "1 missed gate" in hand.told
        await hand.press("f2")
        assert hand.page.entry.value == "46512 miss"
        assert hand.app.theme == "sun"
        await hand.press("escape")
        await hand.type(keys["dnf"])
        await hand.press("enter")
        assert hand.told.startswith("saved: run 5: dnf")


async def test_due_work_takes_the_room_there_is(tmp_path: Path) -> None:
    async with driving(tmp_path, size=(80, 50)) as hand:
        assert len(hand.page._home.due) > 2  # type: ignore[attr-defined]
        assert " more" not in hand.text


async def test_at_forty_columns_the_setting_stands_on_the_first_page(tmp_path: Path) -> None:
    async with driving(tmp_path, (40, 20)) as hand:
        assert "set now: LF 35.5→31.3" in hand.text
        assert hand.page.query_one("#home").scroll_y == 0


async def test_every_due_job_is_whole_where_there_is_room_or_the_page_scrolls(tmp_path: Path) -> None:
    for size in ((40, 60), (120, 40)):
        async with driving(tmp_path / f"{size[0]}", size) as hand:
            shown = " ".join(hand.text.split())
            for _, job in hand.page._home.due:  # type: ignore[attr-defined]
                assert all(word in shown for word in job.split())
            assert "off " in shown
