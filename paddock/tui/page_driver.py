"""The screens as a server's page: what the library's driver leaves open when a page floods or its server is gone."""

from __future__ import annotations

import asyncio
import contextlib
import os
import threading
from typing import TYPE_CHECKING

from textual.drivers.web_driver import WebDriver
from textual.message import Message
from textual.messages import ExitApp

if TYPE_CHECKING:
    from typing import Any

_AT_ONCE = 200
"""Events handed to the app before it is waited for; more is a flood, and stays in the page's own pipe."""
_GRACE_S = 10.0
_LOOK_S = 0.02


class PageDriver(WebDriver):
    """Ends with its server, and takes in no more than the app works off."""

    def __init__(self, app: Any, **more: Any) -> None:
        super().__init__(app, **more)
        del self._write  # the library's stands in its way; this class's own does it
        self._handed = 0

    def _write(self, data: bytes) -> int:  # type: ignore[override]
        """A server that is gone reads nothing: the input says so too, and ends the app."""
        with contextlib.suppress(BrokenPipeError):
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(self.fileno, rest) :]
        return len(data)

    def send_message(self, message: Message) -> None:
        """Hands an event to the app; every so many are waited for, so that memory stays flat."""
        super().send_message(message)
        self._handed += 1
        if self._handed % _AT_ONCE == 0 and threading.current_thread() is self._key_thread:
            self._wait_for_app()

    def _wait_for_app(self) -> None:
        """Until the app and what has the focus have worked off their events, or the app ends."""
        met = threading.Event()
        with contextlib.suppress(RuntimeError):  # the loop is closed: the app has ended
            self._loop.call_soon_threadsafe(met.set)
        while not self.exit_event.wait(_LOOK_S):
            focused = self._app.focused
            waiting = self._app.message_queue_size + (0 if focused is None else focused.message_queue_size)
            if met.is_set() and waiting < _AT_ONCE:
                return

    def run_input_thread(self) -> None:
        """Until the input ends: asked to by the app, or because nobody is at its other end any more."""
        super().run_input_thread()
        if self.exit_event.is_set():
            return
        last = threading.Timer(_GRACE_S, os._exit, (3,))  # what hangs is ended all the same
        last.daemon = True
        last.start()
        with contextlib.suppress(RuntimeError):
            asyncio.run_coroutine_threadsafe(self._app._post_message(ExitApp()), self._loop)
