"""A bare Textual app in place of the program: it says what it was given, and echoes."""

from __future__ import annotations

import os
import sys

from textual import events
from textual.app import App, ComposeResult
from textual.widgets import Input, Static


class StandIn(App[None]):
    """Shows its arguments, whether the passphrase leaked, every submitted text, keys, taps and swipes."""

    ENABLE_COMMAND_PALETTE = False
    CSS = "#tap { height: 3; }"

    def compose(self) -> ComposeResult:
        """An input, and lines that say what came."""
        leaked = "LEAKED" if "PADDOCK_PASSPHRASE" in os.environ else "kept"
        yield Input(id="typed")
        yield Static(f"ready {sys.argv[1:]} {leaked}", id="said", markup=False)
        yield Static("tap here", id="tap")
        yield Static("", id="swiped")
        yield Static("", id="size")
        self.swiped = 0

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Echo."""
        self.query_one("#said", Static).update(f"got {event.value}")

    def on_input_changed(self, event: Input.Changed) -> None:
        """What stands in the input."""
        self.query_one("#tap", Static).update(f"holds {event.value}")

    def on_click(self, event: events.Click) -> None:
        """Where it was tapped."""
        if event.widget is not None and event.widget.id == "tap":
            event.widget.update("tapped")  # type: ignore[attr-defined]

    def on_mouse_scroll_down(self) -> None:
        """A swipe up."""
        self._swipe(1)

    def on_mouse_scroll_up(self) -> None:
        """A swipe down."""
        self._swipe(-1)

    def _swipe(self, by: int) -> None:
        self.swiped += by
        self.query_one("#swiped", Static).update(f"swiped {self.swiped}")

    def on_resize(self, event: events.Resize) -> None:
        """How many cells there are."""
        self.query_one("#size", Static).update(f"cells {event.size.width}x{event.size.height}")

    def key_escape(self) -> None:
        """The key that leads back."""
        self.query_one("#said", Static).update("back was pressed")


if __name__ == "__main__":
    StandIn().run()
