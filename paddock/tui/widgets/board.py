"""A board of painted lines: shown whole, repainted only where a line changed, tapped by tag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.color import Color
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from paddock.clean import clean
from paddock.pages.document import TextLine
from paddock.render.pieces import cut, width_of


@dataclass(frozen=True, slots=True)
class _Role:
    """``color``, ``back``: the theme's variable for letters and ground, blank for the widget's own."""

    color: str = ""
    back: str = ""
    bold: bool = False
    reverse: bool = False


# no component classes: a page has some fifty of them in its boards, and each costs a walk through all of the style
_ROLES = {
    "strong": _Role(bold=True),
    "quiet": _Role("quiet"),
    "warn": _Role("warning", bold=True),
    "head": _Role("primary"),
    "band": _Role("band-text", "band", bold=True),
    "key": _Role("primary", bold=True),
    "hand": _Role(reverse=True),
}


class Painted(ScrollView, can_focus=False):
    """Base of the board and the table: roles to styles, tags to taps."""

    DEFAULT_CSS = "Painted { background: $background; color: $foreground; scrollbar-size: 1 1; }"

    def __init__(self, *, name_id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=name_id, classes=classes)
        self._styles: dict[str, Style] = {}

    def notify_style_update(self) -> None:
        """The theme or a class changed: look the styles up again."""
        self._styles.clear()
        super().notify_style_update()

    def style_of(self, role: str) -> Style:
        """The style of a role under the present theme."""
        found = self._styles.get(role)
        if found is None:
            found = self.rich_style + self._of_theme(_ROLES[role]) if role else self.rich_style
            self._styles[role] = found
        return found

    def _of_theme(self, role: _Role) -> Style:
        colours = self.app.theme_variables
        front, back = (Color.parse(colours[name]).rich_color if name else None for name in (role.color, role.back))
        return Style(color=front, bgcolor=back, bold=role.bold or None, reverse=role.reverse or None)

    def strip_of(self, pieces: TextLine, width: int, over: str = "") -> Strip:
        """A line of exactly ``width`` cells; ``over``: a role laid over the whole line."""
        above = self.style_of(over) if over else None
        segments = []
        for text, role, tag in pieces:
            style = self.style_of(role)
            if above is not None:
                style = style + Style(reverse=True, bold=True)
            segments.append(Segment(clean(text), style + Style(meta={"tag": tag}) if tag else style))
        last = pieces[-1].role if pieces and pieces[-1].role == "band" else ""
        fill = self.style_of(last) + Style(reverse=True) if above is not None else self.style_of(last)
        return Strip(segments).adjust_cell_length(width, fill)


class Board(Painted):
    """Lines of text; longer than the room, it scrolls."""

    DEFAULT_CSS = "Board { height: 1fr; overflow-x: hidden; overflow-y: auto; }"

    @dataclass
    class Tapped(Message):
        """A piece with a tag was tapped."""

        board: Board
        tag: str

        @property
        def control(self) -> Board:
            """The board, for selectors."""
            return self.board

    def __init__(
        self, lines: Sequence[TextLine] = (), *, name_id: str | None = None, classes: str | None = None
    ) -> None:
        super().__init__(name_id=name_id, classes=classes)
        self._lines: tuple[TextLine, ...] = tuple(lines)

    @property
    def lines(self) -> tuple[TextLine, ...]:
        """What is shown."""
        return self._lines

    def show(self, lines: Sequence[TextLine]) -> None:
        """Show ``lines``; only the lines that differ are painted again."""
        old, self._lines = self._lines, tuple(lines)
        if self._reshaped(old):
            self._measure()
            self.refresh(layout=True)
            return
        if len(old) != len(self._lines):
            self._measure()
            self.refresh()
            return
        for y, (was, now) in enumerate(zip(old, self._lines, strict=True)):
            if was != now:
                self.refresh_lines(y)

    def _reshaped(self, old: tuple[TextLine, ...]) -> bool:
        """The room the board asks for changed."""
        height, width = self.styles.height, self.styles.width
        if height is not None and height.is_auto and len(old) != len(self._lines):
            return True
        return width is not None and width.is_auto and _widest(old) != _widest(self._lines)

    def _measure(self) -> None:
        """Lines alone: nothing scrolls sideways, and a width that follows the window's would paint a second time."""
        self.virtual_size = Size(1, len(self._lines))

    def on_mount(self) -> None:
        """Take the first measure."""
        self._measure()

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """As many rows as there are lines."""
        return len(self._lines)

    def get_content_width(self, container: Size, viewport: Size) -> int:  # noqa: ARG002
        """As wide as the widest line."""
        return _widest(self._lines)

    def render_line(self, y: int) -> Strip:
        """One line of the screen."""
        at = y + self.scroll_offset.y
        pieces = self._lines[at] if at < len(self._lines) else ()
        room = self.scrollable_content_region.width
        return self.strip_of(pieces if width_of(pieces) <= room else cut(pieces, room), self.size.width)

    def on_click(self, event: events.Click) -> None:
        """A tap on a tagged piece."""
        tag = event.style.meta.get("tag", "")
        if tag:
            event.stop()
            self.post_message(self.Tapped(self, tag))


def _widest(lines: Sequence[TextLine]) -> int:
    return max((width_of(item) for item in lines), default=0)
