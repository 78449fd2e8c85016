"""A pilot of the screens on a copy of the example event, at a frozen time; a screen as plain text."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from textual.pilot import Pilot

from paddock.session import Session
from paddock.store.personal import Personal
from paddock.tui.app import PaddockApp
from paddock.tui.page import Page

EXAMPLE = Path(__file__).parents[2] / "example_event"
NOW = datetime(2026, 10, 11, 12, 58)


@dataclass
class Hand:
    """A driver's hand on the keyboard. ``keys``: how many were pressed."""

    app: PaddockApp
    pilot: Pilot[None]
    folder: Path
    keys: int = 0

    async def press(self, *names: str) -> None:
        """Named keys."""
        self.keys += len(names)
        await self.pilot.press(*names)

    async def type(self, text: str) -> None:
        """Characters, one key each."""
        await self.press(*("space" if char == " " else char for char in text))

    async def settle(self) -> None:
        """Wait for what runs in the background."""
        await self.pilot.pause()
        await self.app.workers.wait_for_complete()
        await self.pilot.pause()

    async def open(self) -> None:
        """Wait until the event is read, or the first page says why not."""
        for _ in range(200):
            await self.settle()
            desk = self.app.desk
            if self.page.NAME == "welcome" or (desk is not None and desk.session is not None):
                return
        raise AssertionError("the event never opened")

    @property
    def page(self) -> Page:
        """The page in front."""
        assert isinstance(self.app.screen, Page)
        return self.app.screen

    @property
    def text(self) -> str:
        """The screen as plain text."""
        return screen_text(self.app)

    @property
    def told(self) -> str:
        """The words under the line."""
        board = self.page.query_one("#echo")
        return " ".join("".join(piece.text for piece in item).strip() for item in board.lines)  # type: ignore[attr-defined]

    def file(self, name: str) -> str:
        """A file of the folder."""
        return (self.folder / name).read_text("utf-8")


def screen_text(app: PaddockApp) -> str:
    """Every row of the screen, trailing blanks off."""
    strips = app.screen._compositor.render_strips()
    return "\n".join(strip.text.rstrip() for strip in strips) + "\n"


@asynccontextmanager
async def driving(
    tmp_path: Path,
    size: tuple[int, int] = (80, 24),
    *,
    now: datetime = NOW,
    personal: Personal | None = None,
    opener: Callable[[Path], Session] = Session.open,
    source: Path = EXAMPLE,
    clock: Callable[[], datetime] | None = None,
) -> AsyncIterator[Hand]:
    """The program open on a copy of an event."""
    folder = tmp_path / "event"
    if not folder.exists():
        shutil.copytree(source, folder, ignore=shutil.ignore_patterns(".paddock"))
    app = PaddockApp(folder, now=clock or (lambda: now), personal=personal or Personal(), opener=opener)
    async with app.run_test(size=size) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.open()
        yield hand
