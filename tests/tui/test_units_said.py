"""Where the event's unit is kPa or bar, no page and no verb says psi."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.tui.rooms import ROOMS
from tests.tui.pilot import driving

EXAMPLE = Path(__file__).resolve().parents[2] / "example_event"
VERBS = (
    ("next", "--number", "58", "--why"), ("next", "--number", "12", "--why"), ("tyres",), ("check",),
    ("gap", "--number", "58"), ("standings",), ("effect", "--change", "p9c4r"), ("chances", "--number", "58"),
)  # fmt: skip


def other(folder: Path, unit: str) -> Path:
    """The example, kept in another unit."""
    shutil.copytree(EXAMPLE, folder)
    settings = folder / "event.toml"
    settings.write_text(settings.read_text("utf-8").replace("\nname", f'\npressure_unit = "{unit}"\nname', 1), "utf-8")
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
    main(["air", "--gauge", "230", "--unit", unit if unit == "kpa" else "kpa", "--temp-c", "25", "--to-temp-c", "5"])
    out = capsys.readouterr().out
    assert label in out
    assert not said_psi(out)
    assert not said_psi(page.with_suffix(".txt").read_text("utf-8"))
    html = page.read_text("utf-8")
    assert f"Pressures, {label}" in html or f"Pressures, {unit}" in html
    assert not said_psi(re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL))


async def test_no_page_says_psi(tmp_path: Path) -> None:
    """But the car's values, whose keys bear their unit in the file."""
    async with driving(tmp_path, (120, 100), source=other(tmp_path / "made", "bar")) as hand:
        for room in ROOMS:
            await hand.app.go(room.name)
            await hand.settle()
            assert room.name == hand.page.NAME
            assert room.name == "car" or not said_psi(hand.text), room.name
            if room.name == "pressures":
                assert "bar" in hand.text
                for _ in range(4):
                    await hand.press("m")
                    assert not said_psi(hand.text)
