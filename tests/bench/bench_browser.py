"""First paint in a browser beside a terminal: ``python -m tests.bench.bench_browser``.

The bar: from the open connection to the event's name in the browser no more than twice the time from start to name
in a terminal. Medians of 5; needs /usr/bin/chromium.
"""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

from tests.browser.conftest import CHROMIUM, FLAGS

ROOT = Path(__file__).resolve().parents[2]
MARK = b"Two days"
REPEATS = 5


def in_a_terminal() -> float:
    """Milliseconds from start to the event's name."""
    start = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.environ.update(TERM="xterm-256color", COLUMNS="100", LINES="40")
        os.execv(sys.executable, [sys.executable, "-m", "paddock", f"{ROOT / 'example_event'}"])
    seen = b""
    while MARK not in seen and time.perf_counter() - start < 30:
        if select.select([terminal], [], [], 0.1)[0]:
            seen += os.read(terminal, 65536)
    taken = (time.perf_counter() - start) * 1000
    os.kill(child, 9)
    os.waitpid(child, 0)
    os.close(terminal)
    return taken


def in_a_browser(browser: object, address: str) -> tuple[float, float]:
    """Milliseconds from the address to the connection, and from there to the event's name."""
    page = browser.new_page(viewport={"width": 1000, "height": 800})  # type: ignore[attr-defined]
    found: dict[str, float] = {}

    def frame(data: object) -> None:
        if isinstance(data, bytes) and MARK in data:
            found.setdefault("name", time.perf_counter())

    def opened(socket: object) -> None:
        found["open"] = time.perf_counter()
        socket.on("framereceived", frame)  # type: ignore[attr-defined]

    page.on("websocket", opened)
    start = time.perf_counter()
    page.goto(address)
    while "name" not in found and time.perf_counter() - start < 30:
        page.wait_for_timeout(2)
    page.close()
    return (found["open"] - start) * 1000, (found["name"] - found["open"]) * 1000


def main() -> None:
    """Print the medians."""
    from playwright.sync_api import sync_playwright

    in_a_terminal()
    terminal = median(in_a_terminal() for _ in range(REPEATS))
    serve = [sys.executable, "-m", "paddock", "serve", f"{ROOT / 'example_event'}", "--port", "0"]
    with subprocess.Popen(serve, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process, sync_playwright() as running:
        assert process.stdout is not None
        address = process.stdout.readline().split()[1]
        browser = running.chromium.launch(executable_path=f"{CHROMIUM}", args=FLAGS)
        in_a_browser(browser, address)
        times = [in_a_browser(browser, address) for _ in range(REPEATS)]
        browser.close()
        process.terminate()
    connection, name = (median(column) for column in zip(*times, strict=True))
    print(f"terminal: start to name {terminal:.0f} ms")
    print(f"browser: address to connection {connection:.0f} ms, connection to name {name:.0f} ms")
    print(f"bar 2.0, ratio {name / terminal:.2f}: {'kept' if name <= 2 * terminal else 'broken'}")


if __name__ == "__main__":
    main()
