"""The web server: pages, the gate in front of them, a process of the program behind each."""

from __future__ import annotations

import asyncio
import contextlib
import json
import ssl
import weakref
from collections import Counter
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aiohttp import WSCloseCode, WSMsgType, web
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from textual_serve.app_service import AppService
from textual_serve.server import Server

from paddock.serve.guard import (
    HEADERS,
    PassphraseGate,
    code_svg,
    content_policy,
    host_allowed,
    is_loopback,
    origin_allowed,
    reachable,
    url,
)
from paddock.serve.process import KEYS, AppProcess

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


COOKIE = "paddock"
MAX_PAGES = 8
"""Pages open at once; each is a process of 70 to 130 MB."""
_HERE = Path(__file__).parent
_MAX_MESSAGE = 1 << 20
_MAX_FORM = 4096
_LOOK_S = 1.0
_HEARTBEAT_S = 15.0
_FREE = ("/own/", "/enter")
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


@dataclass(frozen=True, slots=True)
class ServedPlace:
    """Where it listens. ``names``: further names a request may call it by (a web server in front)."""

    host: str = "127.0.0.1"
    port: int = 8000
    names: frozenset[str] = frozenset()
    secure: ssl.SSLContext | None = None

    @property
    def local(self) -> bool:
        """This machine only."""
        return is_loopback(self.host)


class ScreenServer(Server):
    """Serves ``argv``'s screens. The library draws the terminal and carries the bytes; the rest is ours."""

    def __init__(self, argv: Sequence[str], place: ServedPlace, gate: PassphraseGate, title: str) -> None:
        super().__init__(argv[0], host=place.host, port=place.port, title=title)
        self.argv, self.place, self.gate = tuple(argv), place, gate
        self._sockets: weakref.WeakSet[web.WebSocketResponse] = weakref.WeakSet()
        self._open = 0
        self._crowd: Crowd | None = None
        self._pages = Environment(
            loader=FileSystemLoader(_HERE / "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
        )

    async def _make_app(self) -> web.Application:
        app = web.Application(middlewares=[self._guarded], client_max_size=_MAX_FORM)
        app.add_routes(
            [
                web.get("/", self.handle_index),
                web.get("/ws", self.handle_websocket, name="websocket"),
                web.get("/setup", self.handle_setup),
                web.get("/download/{key}", self.handle_download),
                web.post("/enter", self.handle_enter),
                web.static("/static", self.statics_path),
                web.static("/own", _HERE / "static"),
            ]
        )
        app.on_response_prepare.append(self._headers)
        app.on_shutdown.append(self.on_shutdown)
        return app

    async def _headers(self, request: web.Request, response: web.StreamResponse) -> None:
        response.headers.update(HEADERS)
        response.headers["Content-Security-Policy"] = content_policy(request.host if self._host_ok(request) else "")

    def _host_ok(self, request: web.Request) -> bool:
        return host_allowed(request.headers.get("Host", ""), _local_address(request), self.place.names)

    @web.middleware
    async def _guarded(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        if not self._host_ok(request):
            raise web.HTTPForbidden(text="refused: this name is not this machine's (see --allow-name)")
        asks_to_act = request.method != "GET" or request.path == "/ws"
        if asks_to_act and not origin_allowed(request.headers.get("Origin"), request.headers.get("Host", "")):
            raise web.HTTPForbidden(text="refused: the request comes from another page")
        if not self._is_in(request) and not request.path.startswith(_FREE):
            if request.path != "/":
                raise web.HTTPUnauthorized(text="refused: the passphrase first")
            return self._enter_page(request)
        if self._crowd is not None and self._is_in(request):
            self._crowd.let_in(request.protocol)
        return await handler(request)

    def _is_in(self, request: web.Request) -> bool:
        return self.gate.knows(request.cookies.get(COOKIE))

    def _page(self, name: str, status: int = 200, **values: Any) -> web.Response:
        text = self._pages.get_template(name).render(title=self.title, **values)
        return web.Response(text=text, content_type="text/html", status=status)

    def _enter_page(self, request: web.Request, message: str = "", status: int = 401) -> web.Response:
        return self._page("enter.html", status, message=message, secure=self.place.secure or _on_this(request))

    async def handle_enter(self, request: web.Request) -> web.Response:
        """The passphrase from the form; a cookie for who has it, a pause for who guesses."""
        sender = request.remote or ""
        wait = self.gate.limit.wait_s(sender)
        if wait > 0:
            page = self._enter_page(request, f"Too many wrong ones: wait {wait:.0f} s", 429)
            page.headers["Retry-After"] = f"{wait:.0f}"
            return page
        token = self.gate.enter(await _given(request), sender)
        if token is None:
            return self._enter_page(request, "Not the passphrase")
        answer = web.Response(status=303, headers={"Location": "./"})
        answer.set_cookie(COOKIE, token, httponly=True, samesite="Strict", secure=self.place.secure is not None)
        return answer

    async def handle_index(self, request: web.Request) -> web.Response:
        """The terminal with its keys."""
        asked = request.query.get("fontsize", "16")
        size = int(asked) if asked.isascii() and asked.isdigit() and 6 <= int(asked[:3]) <= 60 else 16
        return self._page("terminal.html", font_size=size, keys=KEYS)

    async def handle_setup(self, request: web.Request) -> web.Response:
        """The address for another device, as a code to scan."""
        port = _port(request, self.place.port)
        found = [url(name, port, self.place.secure is not None) for name in reachable(self.place.host)]
        addresses = [{"url": item, "svg": code_svg(item)} for item in found]
        return self._page(
            "setup.html", addresses=addresses, local=self.place.local, secure=self.place.secure, port=port
        )

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """One page, one process; both end together."""
        if self._open >= MAX_PAGES:
            raise web.HTTPServiceUnavailable(text=f"refused: {MAX_PAGES} pages are open, close one")
        self._open += 1
        try:
            return await self._screens(request)
        finally:
            self._open -= 1

    async def _screens(self, request: web.Request) -> web.WebSocketResponse:
        socket = web.WebSocketResponse(heartbeat=_HEARTBEAT_S, max_msg_size=_MAX_MESSAGE)
        await socket.prepare(request)
        self._sockets.add(socket)

        async def close() -> None:
            await socket.close()

        process = AppProcess(
            self.argv, write_bytes=socket.send_bytes, write_str=socket.send_str, close=close,
            download_manager=self.download_manager, tab=request.query.get("tab"),
        )  # fmt: skip
        try:
            await process.start(_cells(request.query.get("width"), 80), _cells(request.query.get("height"), 24))
            await self._process_messages(socket, process)
        finally:
            await process.stop()
            await close()
        return socket

    async def _process_messages(self, websocket: web.WebSocketResponse, app_service: AppService) -> None:
        """What the page sends; what makes no sense is passed over."""
        async for message in websocket:
            if message.type == WSMsgType.TEXT:
                kind, value = _understood(message.data)
                if kind == "ping":
                    await websocket.send_json(["pong", value])
                elif not await _taken(websocket, _passed_on(app_service, kind, value)):
                    return

    async def on_shutdown(self, _app: web.Application) -> None:
        """Close every page, so that every process saves and ends."""
        for socket in set(self._sockets):
            with contextlib.suppress(ConnectionError, RuntimeError):
                await socket.close(code=WSCloseCode.GOING_AWAY, message=b"the server has stopped")

    async def run_until(self, stop: asyncio.Event, started: Callable[[int], None]) -> None:
        """Serve until ``stop``; ``started`` gets the port. Raises OSError where it can't listen."""
        runner = CrowdRunner(
            await self._make_app(), access_log=None, shutdown_timeout=10, keepalive_timeout=IDLE_S, lingering_time=1.0
        )
        await runner.setup()
        self._crowd = runner.server if isinstance(runner.server, Crowd) else None
        try:
            site = web.TCPSite(runner, self.place.host, self.place.port, ssl_context=self.place.secure)
            await site.start()
            started(runner.addresses[0][1])
            await stop.wait()
        finally:
            await runner.cleanup()


async def _passed_on(app: AppService, kind: str, value: Any) -> None:
    if kind == "stdin" and isinstance(value, str):
        await app.send_bytes(value.encode("utf-8", "replace"))
    elif kind == "resize" and isinstance(value, dict):
        await app.set_terminal_size(_cells(value.get("width"), 80), _cells(value.get("height"), 24))
    elif kind in {"blur", "focus"}:
        await (app.blur() if kind == "blur" else app.focus())


async def _taken(socket: web.WebSocketResponse, passing: Coroutine[Any, Any, None]) -> bool:
    """Whether the program took it before the page was left: a page that floods is not waited for when it is gone."""
    task = asyncio.create_task(passing)
    while not (await asyncio.wait({task}, timeout=_LOOK_S))[0]:
        if socket.closed:
            task.cancel()
            return False
    task.result()
    return True


async def _given(request: web.Request) -> str:
    """The form's passphrase; empty where the form can't be read."""
    try:
        async with asyncio.timeout(IDLE_S):
            found = (await request.post()).get("passphrase", "")
    except (ValueError, LookupError, TimeoutError):
        return ""
    return found if isinstance(found, str) else ""


def _understood(text: str) -> tuple[str, Any]:
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        return "", None
    if not (isinstance(message, list) and message and isinstance(message[0], str)):
        return "", None
    return message[0], message[1] if len(message) > 1 else None


def _cells(value: object, default: int) -> int:
    """A number of columns or lines a terminal can have."""
    text = f"{value}"
    return min(max(int(text[:6]), 1), 1000) if text.isascii() and text.isdigit() else default


def _sockname(request: web.Request) -> tuple[Any, ...]:
    found = request.transport.get_extra_info("sockname") if request.transport else None
    return found if isinstance(found, tuple) else ("", 0)


def _local_address(request: web.Request) -> str:
    """The address the other side connected to."""
    return f"{_sockname(request)[0]}".removeprefix("::ffff:")


def _port(request: web.Request, default: int) -> int:
    return int(_sockname(request)[1]) or default


def _on_this(request: web.Request) -> bool:
    return is_loopback(_local_address(request))
