"""What a hostile browser tries: a cookie of its own choosing, frames too big, a hundred pages, and where a secret shows."""

from __future__ import annotations

import asyncio
import contextlib
import os
import subprocess
import sys
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import Request, urlopen

import aiohttp
import pytest

from paddock.serve import process, server
from paddock.serve.server import COOKIE, MAX_PAGES
from tests.serve.test_server import RIGHT, _own, _screen, _serving
from tests.store.folders import small_folder


async def test_a_cookie_chosen_by_somebody_else_never_opens() -> None:
    """Session fixation: what stood in the browser before the passphrase is worth nothing after it."""
    chosen = "x" * 43
    async with _serving(RIGHT) as (session, address, _):
        own = {**_own(address), "Cookie": f"{COOKIE}={chosen}"}
        async with session.post(
            f"{address}/enter", data={"passphrase": RIGHT}, headers=own, allow_redirects=False
        ) as answer:
            given = answer.cookies[COOKIE].value
            assert RIGHT not in answer.headers["Location"]
        assert given != chosen
        async with aiohttp.ClientSession() as other:
            async with other.get(address, headers={"Cookie": f"{COOKIE}={chosen}"}) as answer:
                assert answer.status == 401
            async with other.get(address, headers={"Cookie": f"{COOKIE}={given}"}) as answer:
                assert answer.status == 200


async def test_a_frame_too_big_ends_its_own_page_alone() -> None:
    async with _serving() as (session, address, serving), asyncio.timeout(60):
        async with session.ws_connect(f"{address}/ws", headers=_own(address)) as good:
            await _screen(good, "ready")
            async with session.ws_connect(f"{address}/ws", headers=_own(address)) as bad:
                await bad.send_str("x" * (2 << 20))
                while (await bad.receive()).type not in {aiohttp.WSMsgType.CLOSE, aiohttp.WSMsgType.CLOSED}:
                    pass
                assert bad.close_code == aiohttp.WSCloseCode.MESSAGE_TOO_BIG
            await good.send_json(["stdin", "46.512\r"])
            await _screen(good, "got 46.512")
        while serving._open:
            await asyncio.sleep(0)


async def test_a_hundred_at_once_are_answered_and_none_is_left_over() -> None:
    waiting = "import sys; print('__GANGLION__', flush=True); sys.stdin.buffer.read()"
    async with (
        _serving(argv=(sys.executable, "-I", "-S", "-c", waiting)) as (session, address, serving),
        asyncio.timeout(120),
    ):

        async def page() -> int:
            try:
                async with session.ws_connect(f"{address}/ws", headers=_own(address)):
                    return 101
            except aiohttp.WSServerHandshakeError as refused:
                return refused.status
            except aiohttp.ClientConnectionError:
                return 0  # pushed out by the next

        opened = await asyncio.gather(*(page() for _ in range(100)))
        assert opened.count(101) >= MAX_PAGES
        assert set(opened) <= {0, 101, 503}
        while serving._open:
            await asyncio.sleep(0)
        async with session.get(address) as answer:
            assert answer.status == 200


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="looks into /proc")
def test_the_passphrase_is_in_no_process_list_and_in_nothing_that_is_said(tmp_path: Path) -> None:
    folder, secret = small_folder(tmp_path / "event"), tmp_path / "secret"
    secret.write_text(RIGHT + "\n")
    command = [sys.executable, "-m", "paddock", "serve", str(folder), "--port", "0", "--passphrase-file", str(secret)]
    command += ["--log", str(tmp_path / "log.txt")]
    env = {**os.environ, "XDG_STATE_HOME": str(tmp_path / "state")}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env) as serving:
        assert serving.stdout is not None
        first = serving.stdout.readline()
        address = first.split()[1].rstrip("/")
        for given in (RIGHT, f"not {RIGHT}"):
            asked = Request(f"{address}/enter", urlencode({"passphrase": given}).encode(), {"Origin": address})
            with contextlib.suppress(HTTPError):
                urlopen(asked).close()
        words = Path(f"/proc/{serving.pid}/cmdline").read_bytes() + Path(f"/proc/{serving.pid}/environ").read_bytes()
        serving.terminate()
        said = first + serving.stdout.read()
    assert "Open http://127.0.0.1" in said
    assert (tmp_path / "log.txt").stat().st_size > 0
    assert RIGHT not in said
    assert RIGHT.encode() not in words
    kept = [path for path in tmp_path.rglob("*") if path.is_file() and path != secret]
    assert not [path for path in kept if RIGHT.encode() in path.read_bytes()]


async def test_who_never_reads_makes_the_program_wait_and_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is drawn is held back at its source, not heaped up here; who answers no heartbeat is gone."""
    monkeypatch.setattr(server, "_HEARTBEAT_S", 0.3)
    monkeypatch.setattr(process, "_GRACE_S", 0.2)
    flood = "import sys; out = sys.stdout.buffer; out.write(b'__GANGLION__\\n')\nwhile 1: out.write(b'D\\0\\1\\0\\0' + b'x' * 65536)"
    async with _serving(argv=(sys.executable, "-I", "-S", "-c", flood)) as (_, address, serving), asyncio.timeout(60):
        _, writer = await asyncio.open_connection("127.0.0.1", int(address.rsplit(":", 1)[1]), limit=1024)
        asks = {"Host": address[7:], "Origin": address, "Upgrade": "websocket", "Connection": "Upgrade"}
        asks |= {"Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "MDAwMDAwMDAwMDAwMDAwMA=="}
        head = "".join(f"{name}: {value}\r\n" for name, value in asks.items())
        writer.write(f"GET /ws HTTP/1.1\r\n{head}\r\n".encode())
        while not serving._open:
            await asyncio.sleep(0)
        before = _memory_kb()
        while serving._open:
            await asyncio.sleep(0.01)
        assert _memory_kb() - before < 30_000
        writer.close()


def _memory_kb() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4


async def test_a_passphrase_in_an_address_opens_nothing() -> None:
    """An address is kept by browsers, servers in front and logs: it is never one, and never asked for there."""
    async with _serving(RIGHT) as (session, address, _):
        for way in (f"/?passphrase={RIGHT}", f"/enter?passphrase={RIGHT}", f"/ws?passphrase={RIGHT}"):
            async with session.get(address + way, headers=_own(address)) as answer:
                assert answer.status in {401, 405}
                assert COOKIE not in answer.cookies
                assert RIGHT not in await answer.text()
        async with session.post(f"{address}/enter?passphrase={RIGHT}", headers=_own(address)) as answer:
            assert answer.status == 401
        async with session.get(address) as answer:
            assert '<form method="post" action="enter">' in await answer.text()
        async with session.post(f"{address}/enter", data={"passphrase": RIGHT}, headers=_own(address)) as answer:
            assert RIGHT not in f"{answer.url}"
        async with session.get(f"{address}/setup") as answer:
            assert RIGHT not in await answer.text()
