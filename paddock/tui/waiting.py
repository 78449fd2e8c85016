"""Lines entered before the event is open: kept as lines, and taken in their order once it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from paddock.tui.page import Page


# what widgets tell their page


@dataclass
class TellPage(Message):
    """Words for the line under the entry. ``loud``: something is wrong or waits for an answer."""

    text: str
    loud: bool = False


class Waiting:
    """The lines that wait on one page, and what was half typed behind them."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._half = ""

    def __bool__(self) -> bool:
        return bool(self._lines)

    @property
    def parts(self) -> tuple[str, ...]:
        """Everything typed that is not taken yet."""
        return (*self._lines, self._half)

    def keep(self, text: str) -> str:
        """Keep a line; the words to tell."""
        self._lines.append(text)
        return f"still opening the event: {self._words()}, and is taken in a moment"

    def put_by(self, half: str) -> None:
        """What is being typed now, for when the lines before it are taken."""
        self._half = half

    def hand_over(self, page: Page, told: bool) -> None:
        """Give the page its lines; one that is refused stays in the line, and the rest wait behind it.

        ``told``: a line went before, and what was said of it is said again with the rest.
        """
        if not self._lines:
            return
        said, loud = ([page.words.said], page.words.loud) if told else ([], False)
        while self._lines and not page.entry.value:
            text = self._lines.pop(0)
            page.put(text)
            page.take(text)
            said.append(page.words.said)
            loud = loud or page.words.loud
        if self._lines:
            said.append(self._words())
        elif self._half and not page.entry.value:
            page.put(self._half)
            self._half = ""
        page.tell("; ".join(part for part in said if part), loud=loud)

    def _words(self) -> str:
        return "1 line waits" if len(self._lines) == 1 else f"{len(self._lines)} lines wait"
