"""The list of all actions: of the page in front first, then of the program, found by plain words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, Any, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider

from paddock.tui.page import Page

if TYPE_CHECKING:
    from paddock.tui.doorman import Doorman

_COMMON = ("go.", "any.", "app.")
"""What every page has stands after the page's own."""
_WAITS = "go.outside"
"""Stands first while something waits there to be looked at."""


def _place(name: str, waiting: str) -> int:
    return 0 if waiting and name == _WAITS else 2 if name.startswith(_COMMON) else 1


class Actions(Provider):
    """Bindings that act now, each once, with the key that does the same."""

    def _actions(self) -> Iterator[tuple[str, Any]]:
        from paddock.pages.outside import outside_words

        app, doorman = self.app, cast("Doorman", self.app)
        page = self.screen
        seen: dict[str, tuple[str, Any]] = {}
        for key, found in page.active_bindings.items():
            acts = key if not isinstance(page, Page) or page.acts(key, found) else ""
            if found.binding.id is not None and not seen.get(found.binding.id, ("", None))[0]:
                seen[found.binding.id] = (acts, found)
        waiting = outside_words(page.desk.outside()) if isinstance(page, Page) else ""
        for key, found in sorted(seen.values(), key=lambda item: _place(item[1].binding.id or "", waiting)):
            binding = found.binding
            if binding.action == "command_palette":
                continue
            words = f"{binding.description}: {binding.tooltip}"
            shown = f"{words} ({app.get_key_display(binding.with_key(key))})" if key else words
            shown = f"{shown} {waiting}" if waiting and binding.id == _WAITS else shown
            action = binding.action if found.node is self.screen else f"app.{binding.action}"
            yield shown, partial(app.call_later, doorman.run_tap, action)

    async def discover(self) -> Hits:
        """Everything, before a word is typed."""
        for words, run in self._actions():
            yield DiscoveryHit(words, run, text=words)

    async def search(self, query: str) -> Hits:
        """What matches the words typed."""
        matcher = self.matcher(query)
        for words, run in self._actions():
            score = matcher.match(words) + _words_held(query, words)
            if score > 0:
                yield Hit(score, matcher.highlight(words), run, text=words)


def _words_held(query: str, words: str) -> float:
    """10 where the words begin so, 5 where every word asked for begins a word of theirs, else 0."""
    text = words.casefold()
    if text.startswith(query.casefold()):
        return 10.0
    known = text.replace(":", " ").replace("(", " ").replace("/", " ").replace(",", " ").split()
    asked = query.casefold().split()
    return 5.0 if asked and all(any(word.startswith(part) for word in known) for part in asked) else 0.0
