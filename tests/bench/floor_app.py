"""The floor: the barest Textual app that could hold a page. Run by path; a marker says it is painted."""

from __future__ import annotations

import os

os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")

from textual.app import App, ComposeResult
from textual.binding import Binding
from textual.widgets import Footer, Header, Input


class Floor(App[None]):
    """Header, line, footer; the cursor still."""

    TITLE = "the floor is painted"
    BINDINGS = [Binding("f2", "app.bell", "nothing")]

    def compose(self) -> ComposeResult:
        """The three."""
        yield Header()
        line = Input(compact=True)
        line.cursor_blink = False
        yield line
        yield Footer()


if __name__ == "__main__":
    Floor().run()
