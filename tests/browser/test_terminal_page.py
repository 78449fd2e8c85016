"""The terminal's page in a real browser, with a stand-in for the program."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.browser.conftest import Watched

ROOT = Path(__file__).resolve().parents[2]
SERVE = """
import asyncio, sys, time
from paddock.serve.guard import PassphraseGate
from paddock.serve.server import ScreenServer, ServedPlace
gate = PassphraseGate(sys.argv[1] or None, time.monotonic)
server = ScreenServer((sys.executable, "-P", sys.argv[2]), ServedPlace(port=0), gate, "Two days")
asyncio.run(server.run_until(asyncio.Event(), lambda port: print(port, flush=True)))
"""
RIGHT = "correct horse battery"


def _serve(passphrase: str) -> Iterator[str]:
    standin = ROOT / "tests" / "serve" / "standin.py"
    with subprocess.Popen(
        [sys.executable, "-c", SERVE, passphrase, f"{standin}"], cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        yield f"http://127.0.0.1:{int(process.stdout.readline())}/"
        process.terminate()


@pytest.fixture(scope="module")
def address(browser: object) -> Iterator[str]:
    assert browser
    yield from _serve("")


@pytest.fixture(scope="module")
def guarded(browser: object) -> Iterator[str]:
    assert browser
    yield from _serve(RIGHT)


Tablet = Callable[..., Watched]


def test_it_opens_focused_asks_nobody_else_and_breaks_no_policy(address: str, tablet: Tablet) -> None:
    seen = tablet(1000, 700, touch=False)
    seen.page.goto(address)
    seen.wait("ready")
    seen.page.keyboard.type("46.512")
    seen.page.keyboard.press("Enter")
    seen.wait("got 46.512")
    assert {url.split("/")[2] for url in seen.requests if not url.startswith("data:")} == {address.split("/")[2]}
    assert seen.complaints == []
    assert not seen.page.locator("#keys").is_visible()


def test_keys_to_tap_type_a_run(address: str, tablet: Tablet) -> None:
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    seen.tap_key("digits and letters")
    for key in (
        "u",
        "2",
        "space",
        "0",
        "space",
        "o",
        "1",
        "space",
        "4",
        "6",
        ".",
        "5",
        "1",
        "3",
        "delete",
        "2",
        "+",
        "1",
    ):
        seen.tap_key(key)
    seen.wait("holds u2 0 o1 46.512+1")
    seen.tap_key("enter")
    seen.wait("got u2 0 o1 46.512+1")
    assert seen.complaints == []


@pytest.mark.parametrize("name", ["all actions", "back", "field before", "next field", "up", "down", "left", "right"])
def test_every_key_of_the_first_row_is_there_and_large_enough(name: str, address: str, tablet: Tablet) -> None:
    """44 px: the least size of a target in WCAG 2.2, success criterion 2.5.5."""
    seen = tablet(412, 800)
    seen.page.goto(address)
    box = seen.page.get_by_role("button", name=name, exact=True).bounding_box()
    assert box is not None
    assert box["height"] >= 44
    assert 0 <= box["x"] < box["x"] + box["width"] <= 412


def test_back_and_swipes_and_taps_reach_the_program(address: str, tablet: Tablet) -> None:
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    seen.tap_text("tap here")
    seen.wait("tapped")
    seen.tap_key("back")
    seen.wait("back was pressed")
    _swipe(seen, 500, 300)
    seen.wait(lambda text: "swiped " in text and int(text.split("swiped ")[1].split()[0]) >= 5)
    before = int(seen.text.split("swiped ")[1].split()[0])
    _swipe(seen, 300, 700)
    seen.wait(lambda text: int(text.split("swiped ")[1].split()[0]) < before - 10)


def _swipe(seen: Watched, start: int, end: int) -> None:
    client = seen.page.context.new_cdp_session(seen.page)
    client.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": 200, "y": start}]})
    for step in range(1, 11):
        at = start + (end - start) * step / 10
        client.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": 200, "y": at}]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_a_phone_gets_a_grid_that_fits_it(address: str, tablet: Tablet) -> None:
    seen = tablet(412, 800)
    seen.page.goto(address)
    text = seen.wait("cells ")
    columns, lines = (int(part) for part in text.split("cells ")[1].split()[0].split("x"))
    assert 40 <= columns <= 52
    assert 30 <= lines <= 45
    seen.tap_key("digits and letters")
    seen.wait(lambda now: f"cells {columns}x{lines}" not in now)
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= 412


def test_the_devices_keyboard_stays_away_until_asked_for(address: str, tablet: Tablet) -> None:
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    field = seen.page.locator(".xterm-helper-textarea")
    seen.page.wait_for_function("document.querySelector('.xterm-helper-textarea').inputMode === 'none'")
    seen.tap_key("the device's own keyboard")
    assert field.get_attribute("inputmode") == "text"
    seen.page.keyboard.insert_text("45.9")
    seen.wait("holds 45.9")


def test_a_lost_connection_opens_again_by_itself(address: str, tablet: Tablet) -> None:
    """As after a sleep: closed without a word, and the server still there."""
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    tab = seen.page.evaluate("sessionStorage.getItem('paddock-tab')")
    assert re.fullmatch(r"[a-z0-9]{8,32}", tab)
    with seen.page.expect_websocket():
        seen.page.evaluate("window.paddockSocket.dispatchEvent(new CloseEvent('close', { code: 1006 }))")
    seen.wait("ready")
    assert seen.page.evaluate("sessionStorage.getItem('paddock-tab')") == tab


def test_one_that_no_longer_answers_is_opened_again_when_the_page_is_looked_at(address: str, tablet: Tablet) -> None:
    """Asleep, the connection died without anybody being told: it is open here and nothing comes back."""
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    with seen.page.expect_websocket():
        seen.page.evaluate("""() => {
            window.paddockSocket.send = () => {};
            document.dispatchEvent(new Event('visibilitychange'));
        }""")
    seen.wait("ready")


def test_a_program_left_on_purpose_stays_left_until_asked_for(address: str, tablet: Tablet) -> None:
    seen = tablet()
    seen.page.goto(address)
    seen.wait("ready")
    seen.page.keyboard.press("Control+q")
    seen.page.get_by_role("alert").wait_for(state="visible")
    seen.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert seen.page.get_by_role("alert").is_visible()
    with seen.page.expect_websocket():
        seen.page.get_by_role("button", name="Open again").tap()
    seen.wait("ready")


@pytest.mark.parametrize(("wide", "high"), [(412, 800), (360, 640), (800, 360), (740, 340)])
def test_every_key_is_44_px_both_ways_and_a_phone_on_its_side_keeps_its_height(
    wide: int, high: int, address: str, tablet: Tablet
) -> None:
    """44 px: WCAG 2.2, success criterion 2.5.5. On its side the screen still has 15 lines and more."""
    seen = tablet(wide, high)
    seen.page.goto(address)
    text = seen.wait("cells ")
    columns, lines = (int(part) for part in text.split("cells ")[1].split()[0].split("x"))
    assert lines >= 15
    assert columns >= 36
    for _ in range(2):
        boxes = seen.page.evaluate("""[...document.querySelectorAll('#keys button')].map(item => item.getBoundingClientRect())
            .filter(box => box.width).map(box => [box.left, box.top, box.width, box.height, box.right, box.bottom])""")
        assert len(boxes) >= 11
        assert all(box[2] >= 44 and box[3] >= 44 for box in boxes), boxes
        assert all(box[0] >= 0 and box[4] <= wide + 0.5 for box in boxes), boxes
        seen.tap_key("digits and letters")
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= wide


def test_the_passphrase_first_then_the_screens(guarded: str, tablet: Tablet) -> None:
    seen = tablet(412, 800)
    seen.page.goto(guarded)
    assert "not encrypted" not in seen.page.content()
    seen.page.get_by_label("Passphrase").fill("nearly the right one")
    seen.page.get_by_role("button", name="Open").tap()
    seen.page.get_by_text("Not the passphrase").wait_for()
    assert seen.requests[-1].startswith(guarded)
    seen.page.get_by_label("Passphrase").fill(RIGHT)
    seen.page.get_by_role("button", name="Open").tap()
    seen.wait("ready")
    seen.page.goto(f"{guarded}setup")
    assert seen.page.locator("svg").count() == 1


def test_another_page_in_the_same_browser_is_kept_out(address: str, guarded: str, tablet: Tablet) -> None:
    """A page of another origin opens a connection to the program: refused."""
    seen = tablet()
    seen.page.goto(f"{guarded}own/page.css")
    outcome = seen.page.evaluate(
        """(address) => new Promise((done) => {
            const socket = new WebSocket(address.replace("http", "ws") + "ws");
            socket.onopen = () => done("open");
            socket.onerror = () => done("refused");
        })""",
        address,
    )
    assert outcome == "refused"
