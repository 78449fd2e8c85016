"""A real headless browser, where there is one; elsewhere these tests skip and say so."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyte
import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, WebSocket

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
_UNKNOWN_TO_PYTE = re.compile(rb"\x1b\[[<>=][0-9;]*[a-zA-Z]|\x1b\[\?[0-9;]*\$p|\x1b\[\?[0-9;]*u|\x1bP[^\x1b]*\x1b\\")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium without a window."""
    if not CHROMIUM.exists():
        pytest.skip(f"no {CHROMIUM}: install Debian's chromium to run the browser tests")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as running:
        found = running.chromium.launch(executable_path=f"{CHROMIUM}", args=FLAGS)
        yield found
        found.close()


class Watched:
    """A page that shows a terminal: every request it made, every complaint, and what its screen says."""

    def __init__(self, page: Page, columns: int = 200, lines: int = 100) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.ByteStream(self.screen)
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("pageerror", lambda error: self.complaints.append(f"{error}"))
        page.on("console", self._console)
        page.on("websocket", self._opened)

    def _console(self, message: Any) -> None:
        of_the_machine = ("GL Driver", "task queue exceeded")  # no graphics card; a crowded processor
        if message.type in {"error", "warning"} and not any(words in message.text for words in of_the_machine):
            self.complaints.append(message.text)

    def _opened(self, socket: WebSocket) -> None:
        """The screen is what the newest connection painted: one that is given up may still send."""
        self.screen.reset()
        self._newest = socket
        socket.on("framereceived", lambda data: self._frame(data) if socket is self._newest else None)

    def _frame(self, data: str | bytes) -> None:
        if isinstance(data, bytes):
            self._stream.feed(_UNKNOWN_TO_PYTE.sub(b"", data))

    @property
    def text(self) -> str:
        """The screen as plain lines."""
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def wait(self, wanted: str | Callable[[str], bool], seconds: float = 20) -> str:
        """The screen once it holds ``wanted``."""
        fits = wanted if callable(wanted) else lambda text: wanted in text
        for _ in range(int(seconds * 50)):
            if fits(self.text):
                return self.text
            self.page.wait_for_timeout(20)
        raise AssertionError(f"never came: {wanted!r}\n{self.text}")

    def tap_key(self, name: str) -> None:
        """Tap a key of the bar by its label or its spoken name."""
        self.page.get_by_role("button", name=name, exact=True).tap()

    def tap_text(self, text: str) -> None:
        """Tap where ``text`` stands on the screen."""
        lines = self.screen.display
        line = next(at for at, found in enumerate(lines) if text in found)
        box = self.page.locator(".xterm-screen").bounding_box()
        size = self.page.evaluate("() => ({...window.paddockSize})")
        assert box is not None
        wide, high = box["width"] / size["width"], box["height"] / size["height"]
        column = lines[line].index(text)
        self.page.touchscreen.tap(box["x"] + (column + 0.5) * wide, box["y"] + (line + 0.5) * high)


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Callable[..., Watched]]:
    """A page as on a tablet or phone: touch, no keyboard, no network but this machine."""
    contexts = []

    def make(width: int = 820, height: int = 1100, touch: bool = True) -> Watched:
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=touch, is_mobile=touch)
        contexts.append(context)
        return Watched(context.new_page())

    yield make
    for context in contexts:
        context.close()
