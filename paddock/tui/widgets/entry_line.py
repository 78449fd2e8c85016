"""The one line everything is typed into: one row high, its cursor still, a label before it."""

from __future__ import annotations

from dataclasses import dataclass

from textual import events
from textual.message import Message
from textual.widgets import Input

MOST_LETTERS = 4000
"""Letters of a line; a page of notes has fewer. A megabyte pasted by mistake would stand still for minutes."""


class EntryLine(Input):
    """One row. The page hands it every key, so no character is lost to a change of focus.

    ``whole``: several pasted lines are handed on.
    """

    DEFAULT_CSS = """
    EntryLine, EntryLine:focus {
        height: 1; width: 1fr; padding: 0; border: none; background: $panel; color: $foreground; text-style: bold;
        & > .input--placeholder { color: $quiet; text-style: none; }
    }
    """

    @dataclass
    class Pasted(Message):
        """Several lines were pasted into a line that takes them whole."""

        entry: EntryLine
        text: str

    @dataclass
    class TooLong(Message):
        """More was typed or pasted than a line takes; nothing of it is in."""

        entry: EntryLine

    def __init__(self, placeholder: str = "", *, name_id: str | None = None) -> None:
        super().__init__(
            placeholder=placeholder, compact=True, select_on_focus=False, id=name_id, max_length=MOST_LETTERS
        )
        self.cursor_blink = False
        self.whole = False

    def _on_paste(self, event: events.Paste) -> None:
        """Several lines are handed on where they are wanted whole; else the first of them is taken."""
        if self.whole and len(event.text.strip().splitlines()) > 1:
            event.stop()
            event.prevent_default()
            self.post_message(self.Pasted(self, event.text))

    def restricted(self) -> None:
        """Too much at once: said, for a note cut short without a word would be lost."""
        self.post_message(self.TooLong(self))

    def check_consume_key(self, key: str, character: str | None) -> bool:  # noqa: ARG002
        """Text once the line has begun; what may begin it is the page's to say."""
        return character is not None and character.isprintable() and bool(self.value)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """On an empty line the arrows and the like are the page's."""
        return super().check_action(action, parameters) if self.value else False

    def put(self, text: str) -> None:
        """Replace the text, cursor at its end."""
        self.value = text
        self.cursor_position = len(text)
