"""Values of the car typed, refused with a sentence, taken out, found; a car made from nothing."""

from __future__ import annotations

from pathlib import Path

from tests.tui.pilot import Hand, driving


async def at(hand: Hand, words: str) -> None:
    """Take a value in hand by its name."""
    await hand.press("semicolon", "slash")
    await hand.type(words)
    await hand.press("enter")
    await hand.settle()


async def test_a_value_is_typed_and_its_comment_stays(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "cg_height")
        assert "Height of the centre of gravity, mm. Above the ground, driver in." in hand.text
        assert "Without it: No load transfer" in hand.text
        await hand.type("525")
        await hand.press("enter")
        assert hand.told == "saved: saloon: cg_height_mm = 525"
        assert "cg_height_mm = 525        # guessed" in hand.file("cars/saloon.toml")
        await hand.press("z")
        assert "cg_height_mm = 530        # guessed" in hand.file("cars/saloon.toml")


async def test_units_are_taken_in(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "rear.track")
        await hand.type("59,5in")
        await hand.press("enter")
        assert "track_mm = 1511.3" in hand.file("cars/saloon.toml")
        await at(hand, "wheel_max")
        await hand.type("4 bar")
        await hand.press("enter")
        assert "wheel_max_psi = 58.015095" in hand.file("cars/saloon.toml")
        assert "wheel_max_bar" not in hand.file("cars/saloon.toml")


async def test_what_cant_be_gets_a_sentence_and_keeps_the_text(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "front_share")
        await hand.type("61")
        await hand.press("enter")
        assert "did you mean 61 %? write 0.61" in hand.told
        assert hand.page.entry.value == "61"
        row = hand.page.grid.picked  # type: ignore[attr-defined]
        await hand.press("up", "pagedown")
        assert "for the row in hand" in hand.told
        assert (hand.page.grid.picked, hand.page.entry.value) == (row, "61")  # type: ignore[attr-defined]
        await hand.type("%")
        await hand.press("enter")
        assert "front_share = 0.61\n" in hand.file("cars/saloon.toml")
        before = hand.file("cars/saloon.toml")
        await at(hand, "driven")
        await hand.press("enter")
        await hand.press(*["backspace"] * 5)
        await hand.type("both")
        await hand.press("enter")
        assert hand.told == "! 'both': write front, rear, all; mend the line, Escape empties it"
        assert hand.page.entry.value == "both"
        assert hand.file("cars/saloon.toml") == before


async def test_a_list_with_a_fault_is_saved_and_the_fault_told(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "gearbox.ratios")
        await hand.type("3.45 1.95 1.7 0,97 0.78")
        await hand.press("enter")
        assert "ratios = [3.45, 1.95, 1.7, 0.97, 0.78]" in hand.file("cars/saloon.toml")
        assert "but" not in hand.told
        await hand.type("3,60")
        await hand.press("enter")
        assert "may be one number or two" in hand.told
        await hand.press(*["backspace"] * 4)
        await hand.type("3.6 4.95")
        await hand.press("enter")
        assert hand.told.startswith("! saved: saloon: gearbox.ratios = 3.6 4.95; but ")


async def test_a_value_is_taken_out_and_found_again_as_missing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "rear.bar.mr")
        await hand.type("-")
        await hand.press("enter")
        assert hand.told == "saved: saloon: rear.bar.mr taken out"
        assert "\nmr = 0.62" not in hand.file("cars/saloon.toml")
        await hand.press("pagedown", "j")
        await hand.settle()
        assert "mr > " in hand.text
        assert "no wheel rate, roll stiffness or share without it" in hand.text.replace("\n  ", " ")


async def test_names_of_ones_own(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "fasteners")
        await hand.press("enter")
        await hand.type("caliper bolt = 75")
        await hand.press("enter")
        assert '"caliper bolt" = 75' in hand.file("cars/saloon.toml")
        await at(hand, "setup")
        await hand.press("enter")
        await hand.type("front_bar = 1-1")
        await hand.press("enter")
        assert 'front_bar = "1-1"' in hand.file("cars/saloon.toml")
        await hand.press("enter")
        await hand.type("nonsense")
        await hand.press("enter")
        assert "type name = value, like front_bar = 2-2" in hand.told


async def test_the_files_own_holes_are_shown(tmp_path: Path) -> None:
    """The change log moved the right hole to 1; the file still has 2."""
    async with driving(tmp_path) as hand:
        await at(hand, "rear.bar.right")
        await at(hand, "rear.bar.right")
        assert "Hole in use, right, rear 2 " in " ".join(hand.text.split())


async def test_from_the_bar_page_it_opens_at_the_missing_value(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "cars" / "saloon.toml"
        path.write_text(path.read_text("utf-8").replace("track_mm = 1525", ""), "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("b", "a")
        await hand.settle()
        assert hand.page.NAME == "car"
        assert "track_mm > " in hand.text
        assert "? rear.track_mm" in hand.text
        await hand.type("1525")
        await hand.press("enter", "b")
        await hand.settle()
        assert "front takes 50.1 %" in hand.text


async def test_a_car_is_made_from_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for path in (hand.folder / "cars").iterdir():
            path.unlink()
        event = hand.folder / "event.toml"
        event.write_text(event.read_text("utf-8").replace('cars = { "7" = "saloon", "24" = "coupe" }\n', ""), "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("b", "a")
        await hand.settle()
        assert "No car file for 7 yet" in hand.text
        await hand.press("enter")
        await hand.type("Old Blue")
        await hand.press("enter")
        assert 'name = "Old Blue"' in hand.file("cars/old-blue.toml")
        assert "old-blue" in hand.file("event.toml")
        await at(hand, "mass")
        await hand.type("1200")
        await hand.press("enter")
        assert "mass_kg = 1200" in hand.file("cars/old-blue.toml")
        await at(hand, "front.bar.diameter")
        await hand.type("22")
        await hand.press("enter")
        assert "diameter_mm = 22" in hand.file("cars/old-blue.toml")


async def test_targets_and_limits_come_first_and_say_what_they_are_for(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("semicolon", "down")
        assert "Hot target, front, psi." in hand.text
        assert "Can be: 8 to 100 psi" in hand.text
        assert "For: what to set after a run, and cold" in hand.text


async def test_a_new_car_takes_the_values_of_a_similar_one(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        old = hand.app.desk.event.cars["saloon"]  # type: ignore[union-attr]
        await hand.press("semicolon", "a")
        await hand.type("Spare")
        await hand.press("enter")
        await hand.type("sal")
        await hand.press("enter")
        event = hand.app.desk.event  # type: ignore[union-attr]
        assert event.car_name_of("7") == "spare"
        assert event.cars["spare"].model_copy(update={"name": old.name}) == old
        assert "[front.bar]" in hand.file("cars/spare.toml")
        await hand.press("z")
        assert not (hand.folder / "cars" / "spare.toml").exists()
