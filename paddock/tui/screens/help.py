"""Help over a page: what it is for and its keys. Any key closes it, and a digit is not lost."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen

from paddock.pages.document import TextLine
from paddock.render.pieces import fit, line, rule, wrapped
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.tui.page import Page


# help over a page: what it is for and its keys. Any key closes it, and a digit is not lost


NAMED = re.compile(r"\{([a-z_.]+)\}")
"""A binding's id in the words of a help."""

EMPTY = "On the empty line a letter or sign that is a command acts at once; whatever is none begins the line."
BEGUN = "Once the line holds anything, every key that writes a sign is text; Space begins a line that starts otherwise."
WORDED = "On this page every sign is text from the first on; only {app.actions} is a command on the empty line."
WAYS = (
    "Escape, or Backspace on the empty line, goes one step back; {any.undo} takes the last entry back; {app.actions} "
    "finds any action by its words."
)
"""The grammar of keys, as docs/keys.md has it too."""


def help_lines(page: Page, width: int) -> list[TextLine]:
    """The page's words, then a row for each key that does something there."""
    lines: list[TextLine] = [rule(f"help: {page.NAME}", width)]
    for sentence in (WORDED,) if page.takes_words else (EMPTY, BEGUN):
        lines += wrapped(_keyed(page, sentence), width, "quiet")
    lines += [*wrapped(_keyed(page, WAYS), width, "quiet"), ()]
    for paragraph in help_text(page).strip().split("\n\n"):
        lines += [*wrapped(paragraph, width), ()]
    seen: dict[str, list[str]] = {}
    words: dict[str, str] = {}
    for key, found in page.active_bindings.items():
        name = found.binding.id
        if name is None:
            continue
        keys_of = seen.setdefault(name, [])
        if page.acts(key, found):
            keys_of.append(page.app.get_key_display(found.binding.with_key(key)))
        words[name] = found.binding.tooltip or found.binding.description
    for name in sorted(
        (name for name in seen if seen[name]),
        key=lambda item: (item.startswith(("any.", "app.", "go.")), item.startswith("app.")),
    ):
        keys = " ".join(seen[name])
        first, *more = wrapped(words[name], max(10, width - 15))
        lines.append((*line((fit(keys, 13), "key"), "  "), *first))
        lines += [(*line(" " * 15), *rest) for rest in more]
    return [*lines, (), line(("Any key goes back. Up and down move this text.", "quiet"))]


def help_text(page: Page) -> str:
    """The page's words, with the key that does it now where they name a binding, as ``{any.undo}``."""
    return _keyed(page, page.HELP)


def _keyed(page: Page, words: str) -> str:
    keys: dict[str, str] = {}
    for key, found in sorted(page.active_bindings.items(), key=lambda item: not page.acts(*item)):
        keys.setdefault(found.binding.id or "", page.app.get_key_display(found.binding.with_key(key)))
    return NAMED.sub(lambda named: keys.get(named[1], named[1]), words)


class HelpDialog(ModalScreen[None]):
    """The help of one page."""

    CSS = "HelpDialog { background: $background; } HelpDialog Board { height: 1fr; padding: 0 1; }"

    def __init__(self, page: Page) -> None:
        super().__init__()
        self._page = page

    def compose(self) -> ComposeResult:
        """One board."""
        yield Board(name_id="help")

    def on_resize(self, event: events.Resize) -> None:
        """Lay the text out."""
        self.query_one(Board).show(help_lines(self._page, max(20, event.size.width - 3)))

    async def on_key(self, event: events.Key) -> None:
        """Move the text, or close and hand a digit on; a letter would do something nobody looks at."""
        event.stop()
        board = self.query_one(Board)
        moves = {"up": -1, "down": 1, "pageup": -10, "pagedown": 10}
        if event.key in moves:
            board.scroll_relative(y=moves[event.key], animate=False)
            return
        self.dismiss()
        if event.is_printable and (event.character or "").isdecimal():
            await self._page.take_key(event)

    def on_click(self) -> None:
        """A tap closes it."""
        self.dismiss()
