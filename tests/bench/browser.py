"""First paint through ``paddock serve``, as a page's own connection sees it, beside the same in a terminal."""

from __future__ import annotations

import asyncio
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter

import aiohttp

from tests.bench.report import Figure
from tests.bench.watched import ROOT, ended, plain_of, screens, shows_first


@contextmanager
def _served(folder: Path, home: Path) -> Iterator[str]:
    """The address of a server on a free port."""
    own = {name: f"{home / name}" for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME")}
    with subprocess.Popen(
        [sys.executable, "-m", "paddock", "serve", f"{folder}", "--port", "0"],
        cwd=ROOT, stdout=subprocess.PIPE, text=True, env={**os.environ, **own, "PYTHONPATH": f"{ROOT}"},
    ) as process:  # fmt: skip
        try:
            assert process.stdout is not None
            found = re.search(r"http://\S+", process.stdout.readline())
            assert found is not None
            yield found[0].rstrip("/")
        finally:
            process.terminate()


async def _opened(address: str) -> tuple[float, float]:
    """Milliseconds to the open connection, and to the event's name and my runs."""
    begin, seen, connected = perf_counter(), bytearray(), 0.0
    async with aiohttp.ClientSession() as session, session.ws_connect(
        f"{address}/ws?width=80&height=24", headers={"Origin": address}
    ) as socket:  # fmt: skip
        connected = perf_counter()
        async for message in socket:
            if isinstance(message.data, bytes):
                seen += message.data
            if shows_first(plain_of(bytes(seen))):
                return (connected - begin) * 1000, (perf_counter() - begin) * 1000
    raise TimeoutError(plain_of(bytes(seen))[-500:].decode(errors="replace"))


def figures(folder: Path, home: Path, rounds: int) -> Iterator[Figure]:
    """The time after the connection stands, beside the terminal's."""
    terminal, page, joined = [], [], []
    with _served(folder, home) as address:
        for _ in range(rounds + 1):
            with ended(screens(folder, home)) as at:
                terminal.append(at.when(shows_first) * 1000)
                at.quiet(0.2)
            connected, painted = asyncio.run(asyncio.wait_for(_opened(address), 30))
            joined.append(connected)
            page.append(painted - connected)
    yield Figure(
        "first paint in a browser's connection", median(page[1:]), "ms", median(terminal[1:]), "terminal", 2.0, "ratio"
    )
    yield Figure("  the connection itself", median(joined[1:]))
