"""Every key has a name and a tip, no two things on a page want the same one, and the docs list them all."""

from __future__ import annotations

import re
from collections import Counter
from importlib import import_module
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.keys import key_to_character

from paddock.store.personal import Personal
from paddock.tui.app import PaddockApp
from paddock.tui.page import Page
from paddock.tui.rooms import ROOMS
from paddock.tui.screens.help import NAMED, help_text
from paddock.tui.screens.welcome import WelcomePage
from tests.tui.keys_doc import DOC, SIGNS, document, own_bindings
from tests.tui.pilot import driving

PAGES: list[type[Page]] = [
    *(getattr(import_module(place), name) for place, name in (room.place.split(":") for room in ROOMS)),
    WelcomePage,
]


def _on_a_tablet(key: str) -> bool:
    """A letter, a digit or a sign: what any soft keyboard has."""
    character = key_to_character(key) or SIGNS.get(key, "")
    return bool(character) and character.isprintable()


@pytest.mark.parametrize("page", [*PAGES, PaddockApp], ids=lambda page: page.__name__)
def test_each_has_an_id_and_a_tip(page: type[Page] | type[PaddockApp]) -> None:
    for binding in own_bindings(page):
        assert binding.id, binding
        assert binding.tooltip, binding
        assert binding.description, binding


def test_ids_are_unique() -> None:
    ids = Counter(
        item.id for page in (Page, PaddockApp, *PAGES) for item in own_bindings(page)
    )  # fmt: skip
    assert not [name for name, count in ids.items() if count > 1]


def test_everything_can_be_reached_without_keys_a_tablet_lacks() -> None:
    """A letter, a sign, Enter or Backspace; where words are taken the palette has the rest.

    The arrows only move about, and a tap does that as well.
    """
    moving = {"step", "leaf", "edge", "turn"}
    for page in (Page, PaddockApp, *PAGES):
        for item in own_bindings(page):
            keys = item.key.split(",")
            by_palette = page is not PaddockApp and (getattr(page, "TAKES_WORDS", False) or item.id == "any.leave_form")
            spare = by_palette or item.action.split("(")[0] in moving
            spare = spare or item.id in ("any.back", "app.quit_now", "app.stop")
            assert spare or any(map(_on_a_tablet, keys)) or item.id in ("standings.next", "standings.before"), item


def test_the_table_in_the_docs_is_the_keys_there_are() -> None:
    assert Path(DOC).read_text("utf-8") == document(PAGES), "python -m tests.tui.keys_doc writes it anew"


def test_bindings_are_bindings() -> None:
    assert all(isinstance(item, Binding) for page in PAGES for item in own_bindings(page))


HELPED = [page for page in PAGES if page.HELP]
_TYPED = {"pressures": "absrf", "standings": "r", "weather": "ahpw", "home": "uomre", "heat": "a"}
"""Letters that a page's help shows as part of a typed line, not as keys."""


@pytest.mark.parametrize("page", HELPED, ids=lambda page: page.NAME)
def test_the_help_asks_the_bindings_for_their_keys(page: type[Page]) -> None:
    """Every name is a binding's, and no letter that is a key of the page stands there by itself."""
    keys = {key for item in own_bindings(page) for key in item.key.split(",")} | {"z", "y"}
    known = {item.id for item in (*own_bindings(Page), *own_bindings(page))}
    assert set(NAMED.findall(page.HELP)) <= known
    plain = NAMED.sub("…", page.HELP)
    alone = set(re.findall(r"(?<![\w'’.])([b-z])(?![\w'’.:=])", plain)) - set(_TYPED.get(page.NAME, ""))
    assert not alone & keys
    assert re.search(r"(?<!\w)a (?:asks|logs|opens|begins|types|writes)\b|after a\b(?= \()", plain) is None


async def test_the_help_shows_the_key_as_it_is_bound(tmp_path: Path) -> None:
    async with driving(tmp_path, personal=Personal(keys={"go.import": "f6", "import.day": "f7"})) as hand:
        await hand.press("f6")
        await hand.settle()
        found = " ".join(help_text(hand.page).split())
        assert "the next time it is f6, Enter, Enter" in found
        assert "f7 another day" in found
        assert "{" not in found
