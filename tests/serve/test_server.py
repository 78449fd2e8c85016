# ruff: noqa: SIM117
"""The server on a real socket of this machine, with a stand-in for the program."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import Any

import aiohttp
import html5lib
import pytest

from paddock.serve import process
from paddock.serve.guard import PassphraseGate
from paddock.serve.server import COOKIE, MAX_PAGES, ScreenServer, ServedPlace

RIGHT = "correct horse battery"
STANDIN = (sys.executable, "-P", f"{Path(__file__).with_name('standin.py')}")
Serving = Callable[..., AbstractAsyncContextManager[tuple[aiohttp.ClientSession, str, ScreenServer]]]


@asynccontextmanager
async def _serving(
    passphrase: str | None = None, argv: tuple[str, ...] = STANDIN, **place: Any
) -> AsyncIterator[tuple[aiohttp.ClientSession, str, ScreenServer]]:
    server = ScreenServer(argv, ServedPlace(port=0, **place), PassphraseGate(passphrase, lambda: 0.0), "The <day>")
    stop, port = asyncio.Event(), asyncio.get_running_loop().create_future()
    task = asyncio.create_task(server.run_until(stop, port.set_result))
    await asyncio.wait({port, task}, return_when=asyncio.FIRST_COMPLETED)
    address = f"http://127.0.0.1:{port.result()}"
    try:
        async with aiohttp.ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True)) as session:
            yield session, address, server
    finally:
        stop.set()
        await task


async def _screen(socket: aiohttp.ClientWebSocketResponse, wanted: str) -> str:
    """What was drawn until ``wanted`` came."""
    seen = ""
    async with asyncio.timeout(20):
        async for message in socket:
            if message.type == aiohttp.WSMsgType.BINARY:
                seen += message.data.decode("utf-8", "replace")
            if wanted in seen:
                return seen
    raise AssertionError(f"closed before {wanted!r} came: {seen[-300:]!r}")


def _own(address: str) -> dict[str, str]:
    return {"Origin": address}


async def test_the_page_stands_alone_and_is_sound_html() -> None:
    async with _serving() as (session, address, _), session.get(address) as answer:
        text = await answer.text()
        assert answer.status == 200
        assert "'unsafe-eval'" not in answer.headers["Content-Security-Policy"]
        assert answer.headers["X-Frame-Options"] == "DENY"
        assert answer.headers["Cache-Control"] == "no-store"
    html5lib.HTMLParser(strict=True).parse(text)
    assert "http://" not in text
    assert "https://" not in text
    assert 'name="viewport"' in text
    assert "The &lt;day&gt;" in text


@pytest.mark.parametrize(
    "path",
    ["/static/js/textual.js", "/static/css/xterm.css", "/static/fonts/RobotoMono-VariableFont_wght.ttf",
     "/own/terminal.js", "/own/terminal.css", "/own/page.css"],
)  # fmt: skip
async def test_every_asset_is_local(path: str) -> None:
    async with _serving() as (session, address, _), session.get(address + path) as answer:
        assert answer.status == 200


@pytest.mark.parametrize("path", ["/static/", "/own/", "/own/../server.py", "/own/%2e%2e/server.py", "/etc/passwd"])
async def test_folders_and_other_files_are_not_shown(path: str) -> None:
    async with _serving() as (session, address, _), session.get(address + path) as answer:
        assert answer.status in {403, 404}


async def test_typing_goes_in_and_the_screen_comes_out() -> None:
    async with _serving(argv=(*STANDIN, "a b; echo $HOME")) as (session, address, _):
        async with session.ws_connect(f"{address}/ws?width=90&height=20", headers=_own(address)) as socket:
            await _screen(socket, "ready ['a b; echo $HOME'] kept")
            for odd in (
                "not json",
                "[]",
                "{}",
                '["stdin", 7]',
                '["resize", {"width": "x"}]',
                '["nonsense"]',
                "[" * 5000,
            ):
                await socket.send_str(odd)
            await socket.send_json(["resize", {"width": 60, "height": 15}])
            await socket.send_json(["stdin", "46.512\r"])
            await _screen(socket, "got 46.512")


async def test_the_passphrase_is_not_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PADDOCK_PASSPHRASE", RIGHT)
    async with _serving() as (session, address, _):
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as socket:
            assert "LEAKED" not in await _screen(socket, "kept")


async def test_closing_the_page_ends_the_program() -> None:
    async with _serving() as (session, address, server):
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as socket:
            await _screen(socket, "ready")
            assert server._open == 1
        async with asyncio.timeout(10):
            while server._open:
                await asyncio.sleep(0)


async def test_when_the_program_ends_the_page_is_told() -> None:
    async with _serving(argv=(sys.executable, "-c", "pass")) as (session, address, _):
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as socket, asyncio.timeout(20):
            assert (await socket.receive()).type in {aiohttp.WSMsgType.CLOSE, aiohttp.WSMsgType.CLOSED}


async def test_a_program_that_will_not_end_is_made_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(process, "_GRACE_S", 0.2)
    deaf = (
        "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
        "print('__GANGLION__', flush=True); time.sleep(600)"
    )
    async with _serving(argv=(sys.executable, "-c", deaf)) as (session, address, server):
        async with session.ws_connect(f"{address}/ws", headers=_own(address)):
            pass
        async with asyncio.timeout(20):
            while server._open:
                await asyncio.sleep(0)


async def test_only_so_many_pages() -> None:
    async with _serving(argv=(sys.executable, "-c", "input()")) as (session, address, server):
        server._open = MAX_PAGES
        with pytest.raises(aiohttp.WSServerHandshakeError) as caught:
            await session.ws_connect(f"{address}/ws", headers=_own(address))
        assert caught.value.status == 503
        server._open = 0


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {},
        {"Origin": "null"},
        {"Host": "evil.example", "Origin": "http://evil.example"},
    ],
)
async def test_another_page_cannot_drive_the_program(headers: dict[str, str]) -> None:
    """A web page opened in a browser on this machine, or a name turned to 127.0.0.1."""
    async with _serving() as (session, address, _):
        with pytest.raises(aiohttp.WSServerHandshakeError) as caught:
            await session.ws_connect(f"{address}/ws", headers=headers)
        assert caught.value.status == 403


async def test_a_foreign_name_gets_nothing_at_all() -> None:
    async with _serving() as (session, address, _):
        async with session.get(address, headers={"Host": "evil.example"}) as answer:
            assert answer.status == 403
        async with session.get(address, headers={"Host": "localhost"}) as answer:
            assert answer.status == 200


async def test_a_name_in_front_is_allowed_when_named() -> None:
    async with _serving(RIGHT, names=frozenset({"day.example"})) as (session, address, _):
        async with session.get(address, headers={"Host": "day.example"}) as answer:
            assert answer.status == 401


async def test_nothing_opens_before_the_passphrase() -> None:
    async with _serving(RIGHT) as (session, address, _):
        async with session.get(address) as answer:
            assert answer.status == 401
            text = await answer.text()
            html5lib.HTMLParser(strict=True).parse(text)
            assert "xterm" not in text
        for path in ("/setup", "/static/js/textual.js", "/download/x", "/ws"):
            async with session.get(address + path, headers=_own(address)) as answer:
                assert answer.status == 401
        with pytest.raises(aiohttp.WSServerHandshakeError):
            await session.ws_connect(f"{address}/ws", headers=_own(address))


async def test_the_passphrase_opens_and_the_cookie_is_for_this_server_alone() -> None:
    async with _serving(RIGHT) as (session, address, _):
        async with session.post(f"{address}/enter", data={"passphrase": RIGHT}, headers=_own(address),
                                allow_redirects=False) as answer:  # fmt: skip
            assert answer.status == 303
            cookie = answer.headers["Set-Cookie"]
        assert cookie.startswith(f"{COOKIE}=")
        assert "HttpOnly" in cookie
        assert "SameSite=Strict" in cookie
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as socket:
            await _screen(socket, "ready")


async def test_a_wrong_passphrase_a_hundred_times() -> None:
    async with _serving(RIGHT) as (session, address, _):
        codes = []
        for _ in range(100):
            async with session.post(f"{address}/enter", data={"passphrase": "wrong"}, headers=_own(address)) as answer:
                codes.append(answer.status)
        assert codes == [401] * 5 + [429] * 95
        async with session.post(f"{address}/enter", data={"passphrase": RIGHT}, headers=_own(address)) as answer:
            assert answer.status == 429
            assert answer.headers["Retry-After"] == "30"


@pytest.mark.parametrize("body", [b"x" * 100_000, b"", b"passphrase=", b"\xff\xfe"])
async def test_odd_forms_do_not_open(body: bytes) -> None:
    async with _serving(RIGHT) as (session, address, _):
        headers = {**_own(address), "Content-Type": "application/x-www-form-urlencoded"}
        async with session.post(f"{address}/enter", data=body, headers=headers) as answer:
            assert answer.status in {400, 401, 413}


async def test_the_form_sent_by_another_page_is_refused() -> None:
    async with _serving(RIGHT) as (session, address, _):
        for headers in ({"Origin": "http://evil.example"}, {}):
            async with session.post(f"{address}/enter", data={"passphrase": RIGHT}, headers=headers) as answer:
                assert answer.status == 403


async def test_the_setup_page_shows_the_address_as_a_code() -> None:
    async with _serving() as (session, address, _), session.get(f"{address}/setup") as answer:
        text = await answer.text()
    html5lib.HTMLParser(strict=True).parse(text)
    assert f"{address}/" in text
    assert "<svg" in text


@pytest.mark.parametrize("size", ["", "-1", "x", "9999999", "1e3", "６０"])
async def test_a_font_size_that_cannot_be_is_the_usual_one(size: str) -> None:
    async with _serving() as (session, address, _), session.get(address, params={"fontsize": size}) as answer:
        assert 'data-font-size="16"' in await answer.text()


async def test_stopping_ends_every_page(tmp_path: Path) -> None:
    marker = tmp_path / "ended"
    code = f"import sys; print('__GANGLION__', flush=True); sys.stdin.buffer.read(1); open({os.fspath(marker)!r}, 'w')"
    async with _serving(argv=(sys.executable, "-c", code)) as (session, address, _):
        socket = await session.ws_connect(f"{address}/ws", headers=_own(address))
        await socket.send_str(json.dumps(["ping", "1"]))
        assert json.loads((await socket.receive()).data) == ["pong", "1"]
    assert marker.exists()
