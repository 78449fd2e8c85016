"""A bare Textual app in place of the program: it says what it was given, and echoes."""

from __future__ import annotations

import os
import sys

from textual.app import App, ComposeResult
from textual.widgets import Input, Static


class StandIn(App[None]):
    """Shows its arguments, whether the passphrase leaked, and every submitted text."""

    ENABLE_COMMAND_PALETTE = False

    def compose(self) -> ComposeResult:
        """One line and an input."""
        leaked = "LEAKED" if "PADDOCK_PASSPHRASE" in os.environ else "kept"
        yield Static(f"ready {sys.argv[1:]} {leaked}", id="said", markup=False)
        yield Input(id="typed")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Echo."""
        self.query_one("#said", Static).update(f"got {event.value}")


if __name__ == "__main__":
    StandIn().run()
