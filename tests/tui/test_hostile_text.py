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
    "\x9b31m", "[red]x[/]", "[/b]", "[@click=app.exit]x[/]", "<script>alert(1)</script>", "=1+cmd|' /C calc'!A0",
    "\u202eevil\u2066x", "👩‍👩‍👧‍👦🏁", "全角文字", "e\u0301" * 30, "\u2028x\u2029", "\ud7ff\ufffe", "%s{0}", "\u200b\u200f",
)  # fmt: skip
"""What the files may hold; below 32 nothing is text, and the file is refused."""
TURNS = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")


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
    people = "".join(
        f'{number},"{sign}",,ASH\n' for number, sign in zip((58, 12, 7, *range(100, 200)), HOSTILE, strict=False)
    )
    (folder / "entrants.csv").write_text(f"number,driver,car,class\n{people}", "utf-8")
    notes = "".join(f'n{at},1,line,"{sign}"\n' for at, sign in enumerate(HOSTILE))
    (folder / "notes.csv").write_text(f"id,day,topic,text\n{notes}", "utf-8")
    changes = "".join(f'x{at},1,1,58,test,"{sign}",1,2\n' for at, sign in enumerate(HOSTILE))
    (folder / "changes.csv").write_text(f"id,day,run,number,kind,item,before,after\n{changes}", "utf-8")
    async with driving(tmp_path, source=folder) as hand:
        for size in ((80, 40), (40, 40)):
            await hand.resize(*size)
            for room in ("home", "standings", "notes", "changes", "entrants"):
                await hand.app.go(room)
                await hand.settle()
                assert room == hand.page.NAME
                assert room == "home" or ("[/b]" in hand.text and "全角文字" in hand.text), hand.text
                for line in hand.text.splitlines():
                    assert cell_len(line) <= size[0], room
                    assert not [sign for sign in line if unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp")], room
                    assert not set(line) & TURNS, room
