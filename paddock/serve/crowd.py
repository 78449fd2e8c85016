"""Who is connected: so many at once, and no longer without asking for something than a person could notice."""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any

from aiohttp import web

CONNECTED = 64
"""Connections at once. A browser opens up to six; a common machine gives a program 256 open files."""
IDLE_S = 10.0
"""Seconds for a whole request to come in, and between two of them."""


class Crowd(web.Server):
    """Where one too many comes, the oldest of those who are not let in goes, of the address that has most of them.
    So idle connections keep nobody out, and strangers end nobody's page."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._waiting: dict[web.RequestHandler, str] = {}
        self._let_in: set[web.RequestHandler] = set()

    def connection_made(self, handler: web.RequestHandler, transport: asyncio.Transport) -> None:
        """One more, perhaps in another's place."""
        super().connection_made(handler, transport)
        peer = transport.get_extra_info("peername")
        self._waiting[handler] = f"{peer[0]}" if peer else ""
        if len(self._waiting) + len(self._let_in) > CONNECTED:
            self._make_room()

    def connection_lost(self, handler: web.RequestHandler, exc: BaseException | None = None) -> None:
        """One less."""
        self._waiting.pop(handler, None)
        self._let_in.discard(handler)
        super().connection_lost(handler, exc)

    def let_in(self, handler: web.RequestHandler) -> None:
        """This one has the passphrase, or needs none: no stranger takes its place."""
        if self._waiting.pop(handler, None) is not None:
            self._let_in.add(handler)

    def _make_room(self) -> None:
        crowded = Counter(self._waiting.values()).most_common(1)[0][0]
        oldest = next(handler for handler, peer in self._waiting.items() if peer == crowded)
        del self._waiting[oldest]
        oldest.force_close()


class CrowdRunner(web.AppRunner):
    """The library's runner over a crowd."""

    async def _make_server(self) -> Crowd:
        made = await super()._make_server()
        return Crowd(made.request_handler, request_factory=made.request_factory, **self._kwargs)
