"""A set of tyres added and corrected on the screens: prices, limits, date codes, depths; wrong ones are said and kept."""

from __future__ import annotations

from pathlib import Path

from tests.small import TYRES
from tests.tui.pilot import Hand, driving


async def field(hand: Hand, place: int) -> None:
    """The value in that place of the list."""
    await hand.press("pageup", "pageup", *["down"] * place)


async def test_a_set_is_added_with_its_price_and_limits_and_put_on(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t", "a")
        assert hand.page.NAME == "tyre"
        for typed in ("S1 N2 N3 N4", "", "dry", "205/50R16", "street", "926", "26", "4926", "0926", "18o"):
            if typed == "":
                assert "there is a tyre S1 already" in hand.told
                await hand.press("home", "delete", "delete")
                await hand.type("N1")
            await hand.type(typed)
            await hand.press("enter")
            if typed == "926":
                assert "three digits name no decade" in hand.told
                assert hand.page.entry.value == "926"
            if typed in ("926", "26", "4926"):
                await hand.press(*["backspace"] * len(typed))
        assert hand.told.startswith("! '18o' is no number")
        await hand.press("backspace")
        await hand.type("4")
        await hand.press("enter", "enter")
        assert "off the sidewall: a most, never a target" in hand.text
        await hand.type("440")
        await hand.press("enter")
        assert "440 psi can't be, 10 to 150 can" in hand.told
        await hand.press("backspace", "enter", "enter", "enter")
        await hand.type("9")
        await hand.press("enter")
        await hand.type("yes")
        before = hand.file("fitted.csv")
        await hand.press("enter")
        assert hand.told == "saved: 4 tyres: N1 N2 N3 N4, on from run 5"
        assert hand.file("tyres.csv").splitlines()[-4:] == [
            f"N{at},dry,205/50R16,street,0926,,184,0,,44,,9" for at in (1, 2, 3, 4)
        ]
        assert hand.file("tyres.csv").splitlines()[0].endswith(",min_cold_psi") is False
        assert hand.file("fitted.csv").removeprefix(before).splitlines() == [
            "2,5,7,lf,N1,", "2,5,7,rf,N2,", "2,5,7,lr,N3,", "2,5,7,rr,N4,",
        ]  # fmt: skip
        assert "week 9 of 2026, 0.3 years old" in hand.text
        await hand.press("z")
        assert hand.file("fitted.csv") == before
        assert hand.file("tyres.csv") == TYRES


async def test_values_go_to_the_set_or_to_one_tyre_and_say_what_they_mean(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t", "o")
        assert "S1, with set saloon A: S1 S2 S3 S4" in hand.text
        await field(hand, 6)
        assert "price > " in hand.text
        await hand.type("160,5")
        await hand.press("enter")
        assert hand.told == "saved: S1 S2 S3 S4: price 160.5"
        assert [row.split(",")[6] for row in hand.file("tyres.csv").splitlines()[1:5]] == ["160.5"] * 4
        await hand.press("m")
        assert "S1 alone, of set saloon A" in hand.text
        await hand.type("140")
        await hand.press("enter")
        assert [row.split(",")[6] for row in hand.file("tyres.csv").splitlines()[1:3]] == ["140", "160.5"]
        await hand.press("z", "z")
        assert hand.file("tyres.csv") == TYRES


async def test_a_limit_has_its_caution_and_takes_another_unit(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t", "o")
        await field(hand, 10)
        assert "never a target" in " ".join(hand.text.split())
        await hand.type("3bar")
        await hand.press("enter")
        assert hand.file("tyres.csv").splitlines()[1].split(",")[9] == "43.511321"
        await hand.press("up")
        await hand.type("26")
        await hand.press("enter")
        assert hand.file("tyres.csv").splitlines()[1].endswith(",26")
        assert hand.file("tyres.csv").splitlines()[0].endswith(",min_cold_psi")


async def test_a_reading_is_mended_and_a_name_goes_into_every_file(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t", "o")
        await field(hand, 13)
        assert "tread, day 1 > " in hand.text
        await hand.type("4.8 4.9")
        await hand.press("enter")
        assert "type three depths" in hand.told
        assert hand.page.entry.value == "4.8 4.9"
        await hand.type(" 3.6")
        await hand.press("enter")
        assert "1,S1,4.8,4.9,3.6\n" in hand.file("tread.csv")
        await hand.type("-")
        await hand.press("enter")
        assert "1,S1," not in hand.file("tread.csv")
        await field(hand, 0)
        await hand.type("-")
        await hand.press("enter")
        assert "S1 was fitted or measured here: it stays" in hand.told
        await hand.press("escape")
        await hand.type("LF9")
        await hand.press("enter")
        assert "1,1,7,lf,LF9," in hand.file("fitted.csv")
        assert "0,LF9,4.9,5.0,4.0" in hand.file("tread.csv")
        assert hand.page.NAME == "tyre"
        assert "LF9, with set saloon A" in hand.text
