"""An entrant on one line: ``23 ASH Kim Dale``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from paddock.entry.said import shown

_NUMBER = re.compile(r"[0-9A-Za-z]{1,4}")
_CODE = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,7}")


@dataclass(frozen=True, slots=True)
class EntrantLine:
    """None: not said. ``new_class``: the code is no class of the event."""

    number: str
    class_: str | None = None
    driver: str | None = None
    new_class: bool = False


def read_entrant(text: str, classes: Sequence[str]) -> EntrantLine:
    """Number, then the class, then the driver; either may be left out. ValueError's sentence.

    A code of small letters counts where it is a class here; a code in capitals that is none is a new class.
    """
    words = text.split()
    if not words or _NUMBER.fullmatch(words[0]) is None or not any(char.isdigit() for char in words[0]):
        raise ValueError(f"{shown(words[0] if words else '')!r} is no car number: type 23 ASH Kim Dale")
    number, rest = words[0], words[1:]
    known = {code.casefold(): code for code in classes}
    class_, new = None, False
    if rest and rest[0].casefold() in known:
        class_, rest = known[rest[0].casefold()], rest[1:]
    elif rest and _CODE.fullmatch(rest[0]) and rest[0].casefold() not in ("index", "raw"):
        class_, rest, new = rest[0], rest[1:], True
    return EntrantLine(number, class_, " ".join(rest) or None, new)
