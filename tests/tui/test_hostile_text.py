"""Names and notes made to break a screen: a megabyte pasted, escapes, markup, text that turns round, wide signs."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from rich.cells import cell_len
from textual import events

from paddock.tui.widgets.keys import MOST_LETTERS
from tests.tui.pilot import driving
from tests.tui.small import small_event

HOSTILE = (
    "\x1b[2J\x1b]0;owned\x07", "\x9b31m", "[red]x[/]", "[/b]", "[@click=app.exit]x[/]", "<script>alert(1)</script>", "=1+cmd|' /C calc'!A0",
    "\u202eevil\u2066x", "👩‍👩‍👧‍👦🏁", "全角文字", "e\u0301" * 30, "a\x00b", "\u2028x\u2029", "\ud7ff\ufffe", "%s{0}", "\u200b\u200f",
)  # fmt: skip


async def test_a_megabyte_pasted_is_refused_and_the_line_still_works(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small_event(tmp_path / "small")) as hand:
        hand.page.entry.post_message(events.Paste("12 abc" * 180_000))
        await hand.pilot.pause()
        assert hand.page.entry.value == ""
        assert f"{MOST_LETTERS:,} letters at most" in hand.text
        await hand.pilot.press("4", "6")
        assert hand.page.entry.value == "46"


async def test_no_name_or_note_reaches_the_screen_as_more_than_text(tmp_path: Path) -> None:
    """Every line fits its cells, no control character and no sign that turns the text round is drawn."""
    folder = small_event(tmp_path / "small")
    lines = (folder / "entrants.csv").read_text().splitlines()
    at = lines[0].split(",").index("driver")
    rows = [line.split(",") for line in lines[1:]]
    for place, cells in enumerate(rows):
        cells[at] = '"' + HOSTILE[place % len(HOSTILE)].replace("\x00", "").replace('"', "") + '"'
    text = "\n".join([lines[0], *(",".join(cells) for cells in rows)]) + "\n"
    (folder / "entrants.csv").write_bytes(text.encode("utf-8", "replace"))
    notes = "".join(f'n{at},1,line,"{sign}"\n' for at, sign in enumerate(HOSTILE) if "\x00" not in sign)
    (folder / "notes.csv").write_bytes(f"id,day,topic,text\n{notes}".encode("utf-8", "replace"))
    async with driving(tmp_path, source=folder) as hand:
        for size in ((80, 24), (40, 20)):
            await hand.resize(*size)
            for room in ("home", "standings", "notes", "changes", "entrants"):
                await hand.app.go(room)
                await hand.settle()
                assert room == hand.page.NAME
                for line in hand.text.splitlines():
                    assert cell_len(line) <= size[0], room
                    assert not [sign for sign in line if unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp")], room
                    assert not set(line) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
