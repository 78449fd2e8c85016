"""What may reach a terminal: the one place where text of names, values and files is made harmless.

Needs nothing that has to be installed: the doorway says with it what is missing.
"""

from __future__ import annotations

import re
import unicodedata

_UNSEEN = {"Cc", "Cf", "Zl", "Zp", "Cs"}
_JSON = re.compile("[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def clean(text: str) -> str:
    """Text without control and direction characters: no cell can move the cursor or turn the line round."""
    if text.isprintable():
        return text
    return "".join(" " if unicodedata.category(char) in _UNSEEN else char for char in text)


def clean_lines(text: str) -> str:
    """The same for text of several lines."""
    return "\n".join(map(clean, text.split("\n")))


def clean_json(text: str) -> str:
    """JSON that says the same and is harmless to look at: what the writer leaves as it is goes into escapes."""
    return _JSON.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
