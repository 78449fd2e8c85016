"""A pilot of the screens on an event, at a frozen time; a screen as plain text."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from textual import events
from textual.drivers.headless_driver import HeadlessDriver
from textual.geometry import Size
from textual.keys import _character_to_key, key_to_character
from textual.pilot import Pilot
from textual.worker import WorkerCancelled

from paddock.session import Session
from paddock.store.personal import Personal
from paddock.tui.app import PaddockApp
from paddock.tui.page import Page
from tests.small import NOW, small_event

EXAMPLE = Path(__file__).parents[2] / "example_event"
EXAMPLE_NOW = datetime(2026, 10, 11, 12, 58)


@dataclass
class Hand:
    """A driver's hand on the keyboard. ``keys``: how many were pressed."""

    app: PaddockApp
    pilot: Pilot[None]
    folder: Path
    keys: int = 0

    async def press(self, *names: str) -> None:
        """Named keys, each dealt with before the next."""
        self.keys += len(names)
        for name in names:
            self.app.post_message(_key(name))
            await self.dealt_with()

    async def dealt_with(self) -> None:
        """Wait until every message is dealt with and painted: asks the queues, since idle time tells nothing in a crowd."""
        for _ in range(200):
            await self.pilot._wait_for_screen()
            screen = self.app.screen
            screen._on_timer_update()
            pumps = (self.app, *screen.walk_children(with_self=True))
            if all(pump._message_queue.empty() for pump in pumps):
                return
        raise AssertionError("messages never came to an end")

    async def type(self, text: str) -> None:
        """Characters, one key each."""
        await self.press(*("space" if char == " " else char for char in text))

    async def resize(self, width: int, height: int) -> None:
        """Another window, laid out."""
        size = Size(width, height)
        assert isinstance(self.app._driver, HeadlessDriver)
        self.app._driver._size = size
        self.app.post_message(events.Resize(size, size))
        await self.dealt_with()
        self.app._check_resize()  # the program itself waits a hundredth of a second for a hand that drags on
        await self.dealt_with()
        assert self.app.screen._compositor.size == size

    async def write(self, text: str) -> None:
        """Characters, one key each, as fast as they come: dealt with together."""
        self.keys += len(text)
        for char in text:
            self.app.post_message(_key("space" if char == " " else char))
        await self.dealt_with()

    async def settle(self) -> None:
        """Wait for what runs in the background, and for what it painted: it may have ended while we looked away.

        A worker that a newer one took the place of is no fault; a fault of the program is raised when it is left.
        """
        await self.dealt_with()
        while self.app.workers:
            with suppress(WorkerCancelled):
                await self.app.workers.wait_for_complete()
            await self.dealt_with()
        await self.dealt_with()

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


def _key(name: str) -> events.Key:
    """A key as the terminal would send it."""
    if len(name) == 1:
        return events.Key(_character_to_key(name), name)
    return events.Key(name, {"plus": "+", "minus": "-"}.get(name) or key_to_character(name))


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
    source: Path | None = None,
    clock: Callable[[], datetime] | None = None,
    lead_after_s: float | None = None,
) -> AsyncIterator[Hand]:
    """The program open on the small event, on what stands at ``event`` already, or on a copy of ``source``.

    Time passes only where a test says so: ``app.pass_time()``.
    """
    folder = tmp_path / "event"
    if source is not None:
        shutil.copytree(source, folder, ignore=shutil.ignore_patterns(".paddock"))
    elif not folder.exists():
        small_event(folder)
    app = PaddockApp(folder, now=clock or (lambda: now), personal=personal or Personal(), opener=opener,
                     lead_after_s=lead_after_s, every_s=None)  # fmt: skip
    async with app.run_test(size=size) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.open()
        yield hand
