"""What a page may ask of the app: the only words between them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from textual.screen import Screen


class Doorman(Protocol):
    """The app as pages see it."""

    async def open_folder(self, folder: Path, told: str = "") -> None:
        """Show an event folder. ``told``: words for it once it is open."""

    async def run_key(self, key: str) -> bool:
        """Run what a key is bound to on the page in front; False where it is bound to nothing."""

    async def run_tap(self, action: str) -> None:
        """Run the action of a tapped key or piece."""

    async def go(self, name: str) -> None:
        """Put a page in front."""

    def switch_theme(self) -> None:
        """Night or sun."""

    def show_help(self, page: Screen[None]) -> None:
        """A page's help over it."""
