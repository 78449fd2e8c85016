"""The names the screens paint with."""

from __future__ import annotations

from paddock.pages.document import ROLES, Piece, TextLine
from paddock.render.clean import clean
from paddock.render.pieces import cut, fit, join, line, rule, spread, width_of, wrapped

__all__ = ["ROLES", "Piece", "TextLine", "clean", "cut", "fit", "join", "line", "rule", "spread", "width_of", "wrapped"]
