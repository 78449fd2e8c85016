"""A figure is whole or absent: on every page, at every width, beside a scrollbar, and where a line is cut."""

from __future__ import annotations

import re
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from paddock.pages.document import Piece
from paddock.render.pieces import cut, fit
from paddock.tui.rooms import ROOMS
from tests.tui.pilot import driving
from tests.tui.small import small_event

_FIGURE = re.compile(r"\d+(?:[.,:]\d+)*")


@given(
    st.lists(st.sampled_from(["56.066", "1:51.020", "+0.114", "44", "Orla", "(2.35)", "-12", "a46.1b"]), min_size=1),
    st.integers(0, 60),
)
def test_a_cut_text_has_whole_figures(words: list[str], width: int) -> None:
    text = " ".join(words)
    known = set(_FIGURE.findall(text))
    for shown in (fit(text, width), "".join(piece.text for piece in cut((Piece(text),), width))):
        assert set(_FIGURE.findall(shown)) <= known
        assert len(shown) <= width


def _figures(text: str) -> set[str]:
    return set(_FIGURE.findall(text))


def _cut(shown: set[str], known: set[str]) -> set[str]:
    """Figures that are the beginning or the end of a known one, and no figure of their own."""
    return {
        figure for figure in shown - known
        if len(figure) > 1 and any(whole.startswith(figure) or whole.endswith(figure) for whole in known)
    }  # fmt: skip


async def test_no_page_cuts_a_figure_at_any_width(tmp_path: Path) -> None:
    """Against the same page with all the room it could want; low windows bring the scrollbar out."""
    folder = small_event(tmp_path / "small")
    rows = [f"1,3,{number},{46_000 + 137 * number}" for number in range(100, 140)]
    more = "".join(f"{row[:-3]}.{row[-3:]},1,10:40:00\n" for row in rows)
    (folder / "times.csv").write_text((folder / "times.csv").read_text("utf-8") + more, "utf-8")
    entrants = "".join(f"{number},Driver {number},,ASH\n" for number in range(100, 140))
    (folder / "entrants.csv").write_text((folder / "entrants.csv").read_text("utf-8") + entrants, "utf-8")
    async with driving(tmp_path, (220, 120), source=folder) as hand:
        for room in ROOMS:
            await hand.resize(220, 120)
            await hand.app.go(room.name)
            await hand.settle()
            assert room.name == hand.page.NAME
            known = _figures(hand.text)
            for width in (36, 43, 52, 61, 80, 101, 130):
                await hand.resize(width, 16)
                await hand.settle()
                shown = _figures("\n".join(hand.text.splitlines()[1:]))
                assert not _cut(shown, known), (room.name, width, hand.text)
