"""Who does not even ask: idle and dribbling connections, pages that flood, a server that is gone."""

from __future__ import annotations

import asyncio
import sys
from types import SimpleNamespace
from typing import Any

import pytest

from paddock.serve import process, server
from paddock.serve.process import AppProcess
from paddock.tui import page_driver
from tests.serve.test_server import RIGHT, STANDIN, _own, _screen, _serving


async def _connected(address: str) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    return await asyncio.open_connection("127.0.0.1", int(address.rsplit(":", 1)[1]))


async def test_idle_connections_keep_nobody_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """A laptop gives a program 256 open files: three hundred silent visitors used them all up."""
    monkeypatch.setattr(server, "CONNECTED", 6)
    async with _serving(RIGHT) as (session, address, _), asyncio.timeout(20):
        silent = [await _connected(address) for _ in range(12)]
        async with session.get(address) as answer:
            assert answer.status == 401
        assert [await reader.read() for reader, _ in silent[:6]] == [b""] * 6
        for _, writer in silent:
            writer.close()


async def test_who_is_in_is_not_pushed_out_by_strangers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "CONNECTED", 4)
    async with _serving(RIGHT) as (session, address, _), asyncio.timeout(30):
        await (await session.post(f"{address}/enter", data={"passphrase": RIGHT}, headers=_own(address))).read()
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as socket:
            await _screen(socket, "ready")
            silent = [await _connected(address) for _ in range(9)]
            assert await silent[0][0].read() == b""
            await socket.send_json(["stdin", "46.512\r"])
            await _screen(socket, "got 46.512")
            for _, writer in silent:
                writer.close()


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: a"])
async def test_who_never_finishes_asking_is_hung_up_on(monkeypatch: pytest.MonkeyPatch, said: bytes) -> None:
    monkeypatch.setattr(server, "IDLE_S", 0.1)
    async with _serving(RIGHT) as (_, address, _), asyncio.timeout(20):
        reader, writer = await _connected(address)
        writer.write(said)
        assert await reader.read() == b""
        writer.close()


async def test_a_form_that_never_ends_is_hung_up_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "IDLE_S", 0.1)
    async with _serving(RIGHT) as (_, address, _), asyncio.timeout(20):
        reader, writer = await _connected(address)
        head = "POST /enter HTTP/1.1\r\nHost: 127.0.0.1\r\nOrigin: http://127.0.0.1\r\nContent-Length: 4000\r\n"
        writer.write(f"{head}Content-Type: application/x-www-form-urlencoded\r\n\r\npass".encode())
        assert b"Not the passphrase" in await reader.read()
        writer.close()


async def test_a_page_that_floods_ends_when_it_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its program does not read: what was sent must not keep the page, nor the program, once nobody is there."""
    monkeypatch.setattr(server, "_LOOK_S", 0.05)
    monkeypatch.setattr(server, "_HEARTBEAT_S", 0.4)
    monkeypatch.setattr(process, "_GRACE_S", 0.2)
    deaf = "import time; print('__GANGLION__', flush=True); time.sleep(600)"
    async with _serving(argv=(sys.executable, "-c", deaf)) as (session, address, serving), asyncio.timeout(30):
        socket = await session.ws_connect(f"{address}/ws", headers=_own(address))
        assert serving._open == 1
        await socket.send_json(["stdin", "12 " * 300_000])
        assert socket._response.connection is not None
        assert socket._response.connection.transport is not None
        socket._response.connection.transport.abort()  # gone without a word
        while serving._open:
            await asyncio.sleep(0)


async def _standin() -> asyncio.subprocess.Process:
    made = AppProcess(STANDIN, write_bytes=_none, write_str=_none, close=_none, download_manager=None)  # type: ignore[arg-type]
    child = await made._open_app_process()
    assert child.stdout is not None
    assert await child.stdout.readline() == b"__GANGLION__\n"
    return child


async def _none(*_: Any) -> None:
    """Nobody listens."""


async def test_a_page_whose_server_was_killed_ends() -> None:
    async with asyncio.timeout(30):
        child = await _standin()
        assert child.stdin is not None
        child.stdin.close()
        assert child._transport is not None  # type: ignore[attr-defined]
        child._transport.get_pipe_transport(1).close()  # type: ignore[attr-defined]
        child._transport.get_pipe_transport(2).close()  # type: ignore[attr-defined]
        await child.wait()


async def test_a_flood_waits_until_the_app_has_worked_it_off() -> None:
    app = SimpleNamespace(message_queue_size=10_000, focused=None, _post_message=_none)
    driver = page_driver.PageDriver.__new__(page_driver.PageDriver)
    driver._app, driver._loop, driver.exit_event = app, asyncio.get_running_loop(), asyncio.Event()  # type: ignore[assignment]
    looks: list[float] = []

    def look(seconds: float) -> bool:
        looks.append(seconds)
        app.message_queue_size -= 1000
        return False

    driver.exit_event.wait = look  # type: ignore[assignment]
    await asyncio.to_thread(driver._wait_for_app)
    assert len(looks) >= 10
    assert app.message_queue_size < page_driver._AT_ONCE
