"""A scrolling widget painted line by line from pieces with roles; the style of a role is looked up once."""

from __future__ import annotations

from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.scroll_view import ScrollView
from textual.strip import Strip

from paddock.clean import clean
from paddock.pages.document import TextLine


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
