"""Two themes of our own: ``night`` for the dark, ``sun`` for glare (black on white, heavy contrast)."""

from __future__ import annotations

from textual.theme import Theme

DEFAULTS = {"quiet": "#A9B4BE", "band": "#24303A", "band-text": "#FFFFFF"}
"""Our own variables, so that a theme without them still paints."""

NIGHT = Theme(
    name="night",
    primary="#8FC7FF",
    secondary="#C9D3DC",
    accent="#FFD479",
    warning="#FFD479",
    error="#FF9C8F",
    success="#C9D3DC",
    foreground="#F2F5F7",
    background="#0B0F12",
    surface="#0B0F12",
    panel="#18222A",
    dark=True,
    variables=DEFAULTS
    | {
        "input-cursor-background": "#FFD479",
        "input-cursor-foreground": "#0B0F12",
        "input-cursor-text-style": "none",
        "input-selection-background": "#35506A",
    },
)
SUN = Theme(
    name="sun",
    primary="#00308F",
    secondary="#000000",
    accent="#7A1F00",
    warning="#7A1F00",
    error="#8B0000",
    success="#000000",
    foreground="#000000",
    background="#FFFFFF",
    surface="#FFFFFF",
    panel="#E6E6E6",
    dark=False,
    text_alpha=1.0,
    variables={
        "quiet": "#333333",
        "band": "#000000",
        "band-text": "#FFFFFF",
        "input-cursor-background": "#000000",
        "input-cursor-foreground": "#FFFFFF",
        "input-cursor-text-style": "none",
        "input-selection-background": "#BBCCEE",
    },
)
THEMES = (NIGHT, SUN)


def other(name: str) -> str:
    """The theme to change to from ``name``."""
    return SUN.name if name == NIGHT.name else NIGHT.name
