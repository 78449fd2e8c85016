"""Where the event's unit is kPa or bar, no page and no verb says psi."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.tui.pilot import driving
from tests.tui.quay import COLD, RAN, quay

HOT = "1,1,26,after,09:02:00,36.5,36.5,46,46,18,dial\n"
LOG = "1,1,26,09:00:00,no,0,0,0,dry\n"
PAGES = ("home", "pressures", "advice", "heat", "sheet", "tyres", "event", "work")
VERBS = (
    ("next", "--number", "26", "--why"), ("next", "--number", "26", "--altitude-m", "640", "--air-c", "8"), ("tyres",),
    ("check",), ("gap", "--number", "26"),
)  # fmt: skip


def other(folder: Path, unit: str) -> Path:
    """A small event with readings, kept in another unit."""
    settings = quay(folder, RAN, COLD + HOT, LOG) / "event.toml"
    settings.write_text(f'pressure_unit = "{unit}"\n' + settings.read_text("utf-8"), "utf-8")
    return folder


def said_psi(text: str) -> list[str]:
    """Lines that say psi; keys that are named so (``front_psi``) are no words."""
    return [line for line in text.splitlines() if re.search(r"\bpsi\b", line)]


@pytest.mark.parametrize(("unit", "label"), [("kpa", "kPa"), ("bar", "bar")])
def test_no_verb_says_psi(tmp_path: Path, capsys: pytest.CaptureFixture[str], unit: str, label: str) -> None:
    folder = other(tmp_path / "event", unit)
    for verb, *more in VERBS:
        main([verb, f"{folder}", *more])
    page = tmp_path / "page.html"
    main(["debrief", f"{folder}", "--out", f"{page}"])
    main(["hindsight", f"{tmp_path}"])
    main(["air", "--gauge", "230", "--unit", unit if unit == "kpa" else "kpa", "--temp-c", "25", "--to-temp-c", "5"])
    out = capsys.readouterr().out
    assert label in out
    assert not said_psi(out)
    assert not said_psi(page.with_suffix(".txt").read_text("utf-8"))
    html = page.read_text("utf-8")
    assert f"Pressures, {label}" in html or f"Pressures, {unit}" in html
    assert not said_psi(re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL))


async def test_no_page_says_psi(tmp_path: Path) -> None:
    """The car's values are not among them: their keys bear their unit in the file."""
    async with driving(tmp_path, (120, 100), source=other(tmp_path / "made", "bar")) as hand:
        for room in PAGES:
            await hand.app.go(room)
            await hand.settle()
            assert room == hand.page.NAME
            assert not said_psi(hand.text), room
            if room == "pressures":
                assert "bar" in hand.text
                for _ in range(4):
                    await hand.press("m")
                    assert not said_psi(hand.text)
