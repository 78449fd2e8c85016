"""``docs/keys.md`` from the bindings themselves: ``python -m tests.tui.keys_doc``."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from textual.binding import Binding

from paddock.tui.app import PaddockApp
from paddock.tui.page import Page
from paddock.tui.rooms import ROOMS
from paddock.tui.screens.help import BEGUN, EMPTY

DOC = Path(__file__).parents[2] / "docs" / "keys.md"

_HEAD = """# Keys

One grammar holds on every page. {EMPTY}
{BEGUN} Digits, the point and, on home and the pad, `u` `o` `m` `d` `r` are never commands: an entry begins
with them.

| you want to | on the empty line | always |
|---|---|---|
| take the line; open what is in hand | `Enter` | `Enter` |
| go one step back | `Backspace` | `Escape`, which empties the line first |
| take the last entry back, or do it again | `z`, `y` | `Ctrl+Z`, `Ctrl+Y` |
| find any action by its words | `:` | `Ctrl+P` |
| see this page's help and keys | `?` | `F1` |
| go home | `h` | `Escape` until you are there |
| leave the program | `q` twice | `Ctrl+C` twice |

Where words are typed ({words}; every question and every search) every sign is text from the first on, and of
the first column `Enter`, `Backspace` and `:` are left. Every action can be tapped: in the bottom row, on the page, or
in the list that `:` opens.

What is entered while the event still opens waits, line by line, and is taken in its order.

Several lines pasted on home are entered in turn, each with its own undo; where one can't be read none is taken. Lists and
tables are pasted whole on `_`, `@`, `&` and the standings; words (a note, an answer) become one line; elsewhere it is said
that one line is typed at a time.

Any key can be another: the first column goes into `settings.toml` in your configuration folder
(`~/.config/paddock` on Linux, `~/Library/Application Support/paddock` on macOS, `%LOCALAPPDATA%\\paddock` on Windows).

```toml
theme = "sun"                      # or "night"
walk = ["lf", "rf", "rr", "lr"]    # how you walk round the car with the gauge
bell = 8                           # minutes before my run; left out or 0: no bell
[keys]
"any.undo" = "f8"
"go.pressures" = "p,1"             # two keys for one thing
```
"""
SIGNS = {
    "question_mark": "?", "colon": ":", "slash": "/", "plus": "+", "minus": "-", "equals_sign": "=",
    "left_square_bracket": "[", "right_square_bracket": "]", "comma": ",", "full_stop": ".",
    "asterisk": "*", "percent_sign": "%", "less_than_sign": "<",
    "greater_than_sign": ">", "ampersand": "&", "semicolon": ";", "exclamation_mark": "!", "backslash": "\\",
    "at": "@", "left_parenthesis": "(", "right_parenthesis": ")", "quotation_mark": '"', "space": "Space",
    "number_sign": "#", "dollar_sign": "$", "underscore": "_",
}  # fmt: skip


def own_bindings(page: type[Any]) -> list[Binding]:
    """The bindings a class declares itself."""
    return list(page.__dict__.get("BINDINGS", []))


def _keys(binding: Binding) -> str:
    return " ".join(f"`{SIGNS.get(key, key)}`" for key in binding.key.split(","))


def _table(bindings: Sequence[Binding]) -> str:
    rows = "".join(f"| `{item.id}` | {_keys(item)} | {item.tooltip} |\n" for item in bindings)
    return "| name | key | what it does |\n|---|---|---|\n" + rows


def document(pages: Sequence[type[Page]]) -> str:
    """The whole file."""
    words = ", ".join(page.NAME for page in pages if page.TAKES_WORDS)
    head = _HEAD.replace("{words}", words).replace("{EMPTY}", EMPTY).replace("{BEGUN}", BEGUN)
    parts = [head, "## Everywhere\n\n" + _table([*own_bindings(Page), *own_bindings(PaddockApp)])]
    for page in pages:
        if own_bindings(page):
            parts.append(f"## {page.NAME.capitalize()}\n\n" + _table(own_bindings(page)))
    return "\n".join(parts)


if __name__ == "__main__":
    from paddock.tui.screens.welcome import WelcomePage

    places = [room.place.split(":") for room in ROOMS]
    DOC.write_text(document([*(getattr(import_module(a), b) for a, b in places), WelcomePage]), "utf-8")
