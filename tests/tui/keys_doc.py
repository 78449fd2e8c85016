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

DOC = Path(__file__).parents[2] / "docs" / "keys.md"

_HEAD = """# Keys

One grammar holds on every page:

- Once the line at the bottom holds anything, every key that writes a sign is text. `Enter` takes the line, `Esc` empties
  it, `Backspace` on the empty line goes one step back.
- On a page that takes figures letters and signs are commands while the line is empty. A digit begins an entry, and so do
  a few letters there: {begins}. A letter or sign that is no command on the page begins the line as well.
- On a page that takes words ({words}; the car's page while there is no car; every question and every search) each
  sign is text from the first on. Commands are `Enter`, the arrows, `Esc`, `Ctrl` with a letter, and `:`.

What is entered while the event still opens waits, line by line, and is taken in its order. Everything can be tapped, and
`:` (or `Ctrl+P`) finds any action by its words. `q` twice leaves; where words are taken `Ctrl+C` twice.

Any key can be another: the first column goes into `settings.toml` in your configuration folder
(`~/.config/paddock` on Linux, `~/Library/Application Support/paddock` on macOS, `%LOCALAPPDATA%\\paddock` on Windows).

```toml
theme = "sun"                      # or "night"
walk = ["lf", "rf", "rr", "lr"]    # how you walk round the car with the gauge
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
    "at": "@", "number_sign": "#", "dollar_sign": "$", "underscore": "_",
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
    begins = "; ".join(f"{page.NAME} {' '.join(f'`{sign}`' for sign in page.BEGINS)}" for page in pages if page.BEGINS)
    head = _HEAD.replace("{begins}", begins).replace("{words}", words)
    parts = [head, "## Everywhere\n\n" + _table([*own_bindings(Page), *own_bindings(PaddockApp)])]
    for page in pages:
        if own_bindings(page):
            parts.append(f"## {page.NAME.capitalize()}\n\n" + _table(own_bindings(page)))
    return "\n".join(parts)


if __name__ == "__main__":
    from paddock.tui.screens.welcome import WelcomePage

    places = [room.place.split(":") for room in ROOMS]
    DOC.write_text(document([*(getattr(import_module(a), b) for a, b in places), WelcomePage]), "utf-8")
