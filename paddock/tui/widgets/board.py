"""A board of painted lines: shown whole, repainted only where a line changed, tapped by tag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.strip import Strip

from paddock.pages.document import TextLine
from paddock.render.pieces import cut, width_of
from paddock.tui.widgets.painted import Painted


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
        self.virtual_size = Size(self.size.width, len(self._lines))

    def on_mount(self) -> None:
        """Take the first measure."""
        self._measure()

    def on_resize(self, _event: events.Resize) -> None:
        """Measure again: the width changed."""
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
