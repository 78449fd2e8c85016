"""The words under the line: what an entry would mean, how it went, what is wrong."""

from __future__ import annotations

from paddock.pages.document import Piece
from paddock.render.pieces import wrapped
from paddock.tui.widgets.board import Board

_MOST_ROWS = 3


class Echo(Board):
    """One sentence, wrapped. A loud one begins with a mark, so that no colour is needed to see it."""

    DEFAULT_CSS = "Echo { height: auto; min-height: 1; max-height: 3; }"

    def __init__(self, *, name_id: str | None = None) -> None:
        super().__init__(name_id=name_id)
        self.said = ""
        self.loud = False
        self.stays = False
        """Nothing takes the words away but other words, or the next thing typed or done."""

    def tell(self, text: str, loud: bool = False, stays: bool = False) -> None:
        """Say ``text``; no text takes away what doesn't stay."""
        if not text and self.stays:
            return
        self.said, self.loud, self.stays = text, loud, stays
        width = max(20, self.screen.size.width - 1)
        role = "warn" if loud else "quiet"
        self.show(
            [(Piece(" "), *pieces) for pieces in wrapped(f"! {text}" if loud else text, width, role)[:_MOST_ROWS]]
        )
