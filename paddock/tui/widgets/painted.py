"""A scrolling widget painted line by line from pieces with roles; the style of a role is looked up once."""

from __future__ import annotations

from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.scroll_view import ScrollView
from textual.strip import Strip

from paddock.clean import clean
from paddock.pages.document import ROLES, TextLine


class Painted(ScrollView, can_focus=False):
    """Base of the board and the table: roles to styles, tags to taps."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"role--{role}" for role in ROLES}
    DEFAULT_CSS = """
    Painted {
        background: $background; color: $foreground; scrollbar-size: 1 1;
        & > .role--strong { text-style: bold; }
        & > .role--quiet { color: $quiet; }
        & > .role--warn { color: $warning; text-style: bold; }
        & > .role--head { color: $primary; }
        & > .role--band { background: $band; color: $band-text; text-style: bold; }
        & > .role--key { color: $primary; text-style: bold; }
        & > .role--hand { text-style: reverse; }
    }
    """

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
            found = self.rich_style + self.get_component_rich_style(f"role--{role}") if role else self.rich_style
            self._styles[role] = found
        return found

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
