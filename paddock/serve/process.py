"""One process of the program for one open page, started without a shell and ended with it."""

from __future__ import annotations

import asyncio
import contextlib
import os
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

import paddock
from paddock.store.personal import TAB_VARIABLE, is_tab

SECRET_VARIABLE = "PADDOCK_PASSPHRASE"
_GRACE_S = 2.0


class AppProcess(AppService):
    """``argv`` is run as it is; nothing in it is read by a shell. ``tab``: the browser's, for what is half typed."""

    def __init__(
        self,
        argv: Sequence[str],
        *,
        write_bytes: Callable[[bytes], Awaitable[None]],
        write_str: Callable[[str], Awaitable[None]],
        close: Callable[[], Awaitable[None]],
        download_manager: DownloadManager,
        tab: str | None = None,
    ) -> None:
        super().__init__(
            argv[0], write_bytes=write_bytes, write_str=write_str, close=close, download_manager=download_manager
        )
        self.argv = tuple(argv)
        self.tab = tab if is_tab(tab) else None

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        """The program's own place first on the path; the passphrase is nobody else's."""
        found = super()._build_environment(width, height)
        found.pop(SECRET_VARIABLE, None)
        found["TEXTUAL_DRIVER"] = "paddock.tui.page_driver:PageDriver"
        found["COLORTERM"] = "truecolor"
        if self.tab is not None:
            found[TAB_VARIABLE] = self.tab
        home = f"{Path(paddock.__file__).resolve().parents[1]}"
        found["PYTHONPATH"] = os.pathsep.join([home, *filter(None, [found.get("PYTHONPATH")])])
        return found

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        environment = self._build_environment(width, height)
        process = await asyncio.create_subprocess_exec(
            *self.argv, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment
        )
        self._process = process
        self._stdin = process.stdin
        return process

    async def run(self) -> None:
        """Pass on what the program draws; when it ends, the page is told."""
        await super().run()
        with contextlib.suppress(Exception):
            await self.remote_close()

    async def stop(self) -> None:
        """Ask it to end, then make it."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(super().stop(), _GRACE_S)
        if self._process is not None:
            await _ended(self._process)
            self._process._transport.close()  # type: ignore[attr-defined]  # else its pipes stay open: nobody reads on


async def _ended(process: Process) -> None:
    for end in (process.terminate, process.kill):
        if process.returncode is not None:
            return
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(process.wait(), _GRACE_S)
            return
        with contextlib.suppress(ProcessLookupError):
            end()
    await process.wait()


@dataclass(frozen=True, slots=True)
class TapKey:
    """``label`` stands on the button, ``name`` is read out."""

    label: str
    name: str
    send: str


def _plain(letters: str) -> tuple[TapKey, ...]:
    return tuple(TapKey(letter, letter, letter) for letter in letters)


KEYS: tuple[tuple[TapKey, ...], ...] = (
    (
        TapKey("all", "all actions", "\x10"),
        TapKey("back", "back", "\x1b"),
        TapKey("⇤", "field before", "\x1b[Z"),
        TapKey("⇥", "next field", "\t"),
        TapKey("↑", "up", "\x1b[A"),
        TapKey("↓", "down", "\x1b[B"),
        TapKey("←", "left", "\x1b[D"),
        TapKey("→", "right", "\x1b[C"),
        TapKey("⏎", "enter", "\r"),
    ),
    (*_plain("1234567890"), TapKey("⌫", "delete", "\x7f")),
    (
        *_plain("uom+.-"),
        TapKey("space", "space", " "),
        TapKey("miss", "missed gate", " miss"),
        TapKey("dnf", "did not finish", " dnf"),
        TapKey("☀", "sun or night", "\x1bOQ"),
    ),
)
"""Rows of the bar; the first is always shown, the others are what a run is typed with."""
