"""The line typed into, the words under it, and the keys of the page on one or two rows, each one a thing to tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from textual import events
from textual.geometry import Size
from textual.keys import key_to_character
from textual.message import Message
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widgets import Input

from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import fit, width_of, wrapped
from paddock.tui.desk import TellPage
from paddock.tui.widgets.board import Board

# the words under the line: what an entry would mean, how it went, what is wrong


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


@dataclass(frozen=True, slots=True)
class KeyHint:
    """A key, what it does in a word or two, and the action a tap runs."""

    key: str
    word: str
    action: str


def _pieces(hint: KeyHint) -> TextLine:
    return (Piece(hint.key, "key", hint.action), Piece(f" {hint.word}", "", hint.action))


def key_lines(hints: Sequence[KeyHint], last: Sequence[KeyHint], width: int) -> TextLine:
    """As many of ``hints`` as fit before ``last``, which always stand."""
    tail = [piece for hint in last for piece in (Piece("  "), *_pieces(hint))]
    room = width - width_of(tail)
    shown: list[Piece] = []
    for hint in hints:
        pieces = ((Piece("  "),) if shown else ()) + _pieces(hint)
        if width_of(shown) + width_of(pieces) > room:
            break
        shown += pieces
    return (*shown, *(tail if shown else tail[1:]))


class KeyRow(Board):
    """The bottom row."""

    DEFAULT_CSS = "KeyRow { height: 1; background: $panel; overflow: hidden; }"

    def __init__(self) -> None:
        super().__init__(name_id="keys")
        self._hints: tuple[Sequence[KeyHint], Sequence[KeyHint]] = ((), ())

    def tell(self, hints: Sequence[KeyHint], last: Sequence[KeyHint]) -> None:
        """Show these keys."""
        self._hints = (hints, last)
        self._lay()

    def _lay(self) -> None:
        if self.size.width:
            self.show([key_lines(*self._hints, self.size.width)])

    def watch_size(self, _size: Size) -> None:
        """Lay the keys out again."""
        self._lay()

    def on_resize(self, _event: object) -> None:
        """Lay the keys out again."""
        self._lay()


MOST_LETTERS = 4000
"""Letters of a line; a page of notes has fewer. A megabyte pasted by mistake would stand still for minutes."""


class EntryLine(Input):
    """One row. The page hands it every key, so no character is lost to a change of focus."""

    DEFAULT_CSS = """
    EntryLine, EntryLine:focus {
        height: 1; width: 1fr; padding: 0; border: none; background: $panel; color: $foreground; text-style: bold;
        & > .input--placeholder { color: $quiet; text-style: none; }
    }
    """

    virtual_size = Reactive(Size(0, 0))
    """How long the text is moves nothing beside it: no letter lays the page out anew."""

    @dataclass
    class Pasted(Message):
        """Several lines were pasted: none of it is in the line."""

        text: str

    def __init__(self, placeholder: str = "", *, name_id: str | None = None) -> None:
        super().__init__(
            placeholder=placeholder, compact=True, select_on_focus=False, id=name_id, max_length=MOST_LETTERS
        )
        self.cursor_blink = False

    def _on_paste(self, event: events.Paste) -> None:
        """Several lines are the page's to take; one is text of the line, whatever breaks stand round it."""
        if len(event.text.strip().splitlines()) > 1:
            event.stop()
            event.prevent_default()
            self.post_message(self.Pasted(event.text))
        else:
            event.text = event.text.strip("\r\n")

    def restricted(self) -> None:
        """Too much at once: said, for a note cut short without a word would be lost."""
        told = f"a line holds {MOST_LETTERS:,} letters at most: nothing of that is taken"
        self.post_message(TellPage(told, loud=True))

    def check_consume_key(self, key: str, character: str | None) -> bool:  # noqa: ARG002
        """Text once the line has begun; what may begin it is the page's to say."""
        return character is not None and character.isprintable() and bool(self.value)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """On an empty line the arrows and the like are the page's."""
        return super().check_action(action, parameters) if self.value else False

    def render_line(self, y: int) -> Strip:
        """A placeholder with no room to be whole ends with an ellipsis."""
        whole, room = self.placeholder, self.scrollable_content_region.width
        if self.value or cell_len(whole) <= room:
            return super().render_line(y)
        self.set_reactive(Input.placeholder, fit(whole, room))
        try:
            return super().render_line(y)
        finally:
            self.set_reactive(Input.placeholder, whole)

    def put(self, text: str) -> None:
        """Replace the text, cursor at its end."""
        self.value = text
        self.cursor_position = len(text)


TEXT_HINTS = (KeyHint("Enter", "take", "enter"), KeyHint("Backspace", "back", "back"))
BEGUN_HINTS = (TEXT_HINTS[0], KeyHint("Escape", "empty", "leave"))
"""What a finger needs where words are typed, and once the line has begun."""
_SIGNS = {"at": "@", "underscore": "_", "slash": "/", "backslash": "\\", "plus": "+", "minus": "-"}
"""Signs whose key the library names otherwise than the sign, and doesn't find again."""


def letter_of(key: str) -> str | None:
    """The sign a key types; None: it types none."""
    return key if len(key) == 1 else _SIGNS.get(key) or key_to_character(key)
