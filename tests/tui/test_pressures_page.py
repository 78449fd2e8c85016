"""Four readings, typed or stepped: which they are stands first, and what nobody read is never saved."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path

import pytest

from paddock.store.personal import Personal
from tests.tui.pilot import Hand, driving
from tests.tui.quay import COLD, RAN, quay

HOT = "1,1,26,after,09:02:00,36.5,36.5,46,46,18,dial\n"
LOG = "1,1,26,09:00:00,no,0,0,0,dry\n"


@asynccontextmanager
async def gauging(
    tmp_path: Path, times: str = RAN, pressures: str = COLD, runs: str = LOG, at: str = "09:04",
    size: tuple[int, int] = (80, 24), personal: Personal | None = None,
) -> AsyncIterator[Hand]:  # fmt: skip
    """The program open at a time of the morning."""
    source = quay(tmp_path / "made", times, pressures, runs)
    now = datetime.fromisoformat(f"2026-05-09T{at}")
    async with driving(tmp_path, size, now=now, source=source, personal=personal) as hand:
        yield hand


def first(hand: Hand) -> str:
    """The page's first line."""
    return hand.text.splitlines()[1].strip()


def last(hand: Hand) -> list[str]:
    return hand.file("pressures.csv").splitlines()[-1].split(",")


@pytest.mark.parametrize(
    ("made", "line"),
    [
        ({"times": "", "pressures": "", "runs": ""}, "cold, at 12 °C"),
        ({}, "after run 1"),
        ({"times": "", "runs": ""}, "set, as advised: Enter logs it"),
        ({"pressures": COLD + HOT}, "set, as advised: Enter logs it"),
        ({"pressures": COLD + HOT.replace("36.5,36.5,46,46", "34,34,44,44")}, "after run 2, not typed yet"),
        ({"pressures": COLD + HOT, "at": "10:30"}, "cold, at 18 °C"),
    ],
)
async def test_the_first_line_says_which_reading_is_taken(tmp_path: Path, made: dict[str, str], line: str) -> None:
    async with gauging(tmp_path, **made) as hand:  # type: ignore[arg-type]
        await hand.press("p")
        assert line in first(hand)
        await hand.press("m")
        assert line not in first(hand)


async def test_four_on_one_line_in_at_most_sixteen_keys(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.type("p345350410415")
        assert "off +0.5" in hand.text
        await hand.press("enter")
        await hand.settle()
        assert hand.keys <= 16
        assert hand.page.NAME == "home"
        assert hand.told == "saved: 4 readings after run 1"
        assert last(hand)[:9] == ["1", "1", "26", "after", "09:04:00", "34.5", "35", "41.5", "41"]


async def test_set_as_advised_in_five_keys(tmp_path: Path) -> None:
    async with gauging(tmp_path, pressures=COLD + HOT) as hand:
        await hand.press("p", "enter")
        await hand.settle()
        assert hand.keys <= 5
        assert hand.page.NAME == "home"
        row = last(hand)
        assert row[:5] == ["1", "1", "26", "set", "09:02:00"]
        assert [float(cell) for cell in row[5:9]] == pytest.approx([34.0, 34.0, 44.0, 44.0])
        assert "nothing to set" in hand.text


async def test_enter_alone_saves_no_figure_that_nobody_read(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("p", *["enter"] * 4)
        assert "is not read yet" in hand.told
        await hand.press("m", *["enter"] * 4, "m", *["enter"] * 4)
        assert hand.file("pressures.csv") == before


async def test_a_corner_that_reads_as_expected_takes_one_key(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.press("p", "o", "o")
        row = last(hand)
        assert row[:4] == ["1", "1", "26", "after"]
        assert all(float(cell) % 0.5 == 0.0 for cell in row[5:7])
        assert row[7:9] == ["", ""]
        await hand.press("enter")
        assert "o where it reads that" in hand.told
        assert last(hand) == row


async def test_stepped_from_what_is_expected(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.press("p")
        await hand.press("minus", "minus", "enter", "plus", "enter")
        row = last(hand)
        assert row[:5] == ["1", "1", "26", "after", "09:04:00"]
        assert (float(row[5]) % 0.5, float(row[6]) - float(row[5])) == (0.0, 1.5)
        assert row[7:9] == ["", ""]


async def test_a_gauge_before_the_typing_is_the_run_not_typed_yet(tmp_path: Path) -> None:
    cold_set = COLD.replace(",cold,07:45:00,30,30,39,39", ",set,07:50:00,30.8,30.8,40.2,40.2")
    async with gauging(tmp_path, times="", runs="", pressures=COLD + cold_set) as hand:
        await hand.press("p")
        assert "after run 1, not typed yet" in first(hand)
        await hand.type("365365460460")
        await hand.press("enter")
        await hand.settle()
        assert last(hand)[:4] == ["1", "1", "26", "after"]
        assert "set now: LF 36.5→31.7" in hand.text, "no clock tells when it goes again: taken as soon"
        await hand.type("u1 0 0 46500")
        await hand.press("enter")
        await hand.settle()
        assert "set now: LF 36.5→34.0" in hand.text


async def test_each_reading_is_saved_as_it_is_accepted(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.press("p")
        await hand.type("345")
        await hand.press("enter")
        assert last(hand)[5:9] == ["34.5", "", "", ""]
        await hand.type("350")
        await hand.press("enter")
        assert last(hand)[5:9] == ["34.5", "35", "", ""]


async def test_the_walk_round_the_car_is_ones_own(tmp_path: Path) -> None:
    async with gauging(tmp_path, personal=Personal(walk=("rr", "rf", "lf", "lr"))) as hand:
        await hand.type("p41 35 34 42")
        await hand.press("enter")
        await hand.settle()
        assert last(hand)[5:9] == ["34", "35", "42", "41"]


async def test_over_the_cold_maximum_it_warns_and_says_why(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.type("p34 35 62 62 t40")
        assert "cold maximum" in hand.text
        assert "parked at" in hand.text
        assert "maker" in hand.text


async def test_a_reading_in_doubt_keeps_the_line(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.type("p3450 35")
        await hand.press("enter")
        assert hand.told.startswith("! 3450")
        assert hand.page.entry.value == "3450 35"
        assert hand.file("pressures.csv") == before


async def test_the_reading_can_be_named_on_the_line(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.press("p")
        await hand.type("30 30 30 30 b")
        await hand.press("enter")
        await hand.settle()
        assert last(hand)[3] == "before"


async def test_a_tap_steps_and_accepts(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.press("p")
        await hand.app.run_tap("bump('rf',1)")
        await hand.app.run_tap("take('rf')")
        row = last(hand)
        assert (row[5], row[7:9]) == ("", ["", ""])
        assert float(row[6]) > 0


async def test_the_tread_is_logged_by_corner_or_axle(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        await hand.type("pjf past rr 41 45 52 on")
        await hand.press("enter")
        assert "saved: tread after run 1: LF, RF, RR" in hand.told
        assert "1,1,26,lf," in hand.file("treadtemps.csv")
        assert "1,1,26,rr,41,45,52,on" in hand.file("treadtemps.csv")
        await hand.press("j")
        await hand.type("lf 41 45")
        await hand.press("enter")
        assert "three temperatures" in hand.told


async def test_one_undo_takes_back_the_four_of_a_visit(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("p")
        for text in ("345", "350", "410", "415"):
            await hand.type(text)
            await hand.press("enter")
        await hand.settle()
        assert hand.told == "saved: 4 readings after run 1"
        taken = hand.file("pressures.csv")
        await hand.press("z")
        assert hand.told == "undone: 4 readings after run 1"
        assert hand.file("pressures.csv") == before
        await hand.press("y")
        assert hand.told == "done again: 4 readings after run 1"
        assert hand.file("pressures.csv") == taken


async def test_undone_on_the_page_the_readings_begin_anew(tmp_path: Path) -> None:
    async with gauging(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("p")
        await hand.type("340")
        await hand.press("enter", "z")
        assert hand.file("pressures.csv") == before
        await hand.type("345")
        await hand.press("enter")
        assert last(hand)[5:9] == ["34.5", "", "", ""]
        await hand.press("z")
        assert hand.file("pressures.csv") == before


async def test_a_second_reading_of_an_odd_corner_is_kept_apart_by_its_second(tmp_path: Path) -> None:
    odd = HOT.replace("36.5,36.5,46,46", "34,43,44,44")
    async with gauging(tmp_path, pressures=COLD + odd) as hand:
        assert "read the four corners" in hand.text
        await hand.press("p")
        assert "after run 1" in first(hand)
        await hand.type("340430440440")
        await hand.press("enter")
        await hand.settle()
        assert "STOP" in hand.text
        assert len(hand.file("pressures.csv").splitlines()) == 4


async def test_at_forty_columns_the_setting_stands_on_the_first_page(tmp_path: Path) -> None:
    async with gauging(tmp_path, pressures=COLD + HOT, size=(40, 20)) as hand:
        assert "set now: LF 36.5→34.0" in hand.text
        await hand.press("p")
        assert "set, as advised" in first(hand)
        assert "34.0" in hand.text
        assert "44.0" in hand.text


@pytest.mark.parametrize(("width", "sample"), [(80, "rr rf lf lr, like 345"), (40, "like 345 350 410 415")])
async def test_the_sample_on_the_line_is_whole_at_any_width(tmp_path: Path, width: int, sample: str) -> None:
    async with gauging(tmp_path, size=(width, 24), personal=Personal(walk=("rr", "rf", "lf", "lr"))) as hand:
        await hand.press("p")
        await hand.settle()
        assert sample in hand.text.splitlines()[-3] + hand.text.splitlines()[-2] + hand.text.splitlines()[-4]


@pytest.mark.parametrize("columns", [40, 46])
async def test_in_a_narrow_window_everything_on_the_page_is_whole(tmp_path: Path, columns: int) -> None:
    """Which reading, the key that changes it, and what each figure means."""
    for at, made in enumerate(({"times": "", "runs": "", "pressures": ""}, {}, {"pressures": COLD + HOT})):
        async with gauging(tmp_path / f"{at}", size=(columns, 24), **made) as hand:  # type: ignore[arg-type]
            await hand.press("p")
            await hand.settle()
            body = hand.text.splitlines()[1:-3]
            assert "…" not in "\n".join(body)
            assert any("m other" in text for text in body[:2])
            assert sum("at 27 °C" in text for text in body) in {0, 4}
