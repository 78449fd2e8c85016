"""Text made to fit a terminal: whole words go to the next line, set in by two more."""

from __future__ import annotations

from rich.cells import cell_len


def fitted(text: str, width: int | None = None) -> str:
    """Every line at most ``width`` cells (None: the terminal's), unless one word alone is wider: a path stays whole."""
    from paddock.render.lines import terminal_width

    room = terminal_width() if width is None else width
    return "\n".join(part for line in text.split("\n") for part in _folded(line, room))


def _folded(line: str, room: int) -> list[str]:
    if cell_len(line) <= room:
        return [line]
    inset = " " * (len(line) - len(line.lstrip(" ")))
    made, now = [], inset
    for word in line.split():
        apart = " " if now.strip() else ""
        if now.strip() and cell_len(now) + 1 + cell_len(word) > room:
            made.append(now)
            now, apart = inset + "  ", ""
        now += apart + word
    return [*made, now]
