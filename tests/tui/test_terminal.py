"""The program in a real terminal, end to end."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.small import small_event
from tests.tui.terminal import Terminal, opened

_LEFT = b"\x1b[?1049l"
_CURSOR = b"\x1b[?25h"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_event(tmp_path / "event")


def _restored(terminal: Terminal) -> bool:
    return _LEFT in terminal.raw and _CURSOR in terminal.raw[terminal.raw.rindex(_LEFT) :]


def test_a_day_from_the_keyboard(tmp_path: Path, folder: Path) -> None:
    with opened(folder, tmp_path) as terminal:
        terminal.until("to find")
        terminal.send("u20o1 45912\r")
        terminal.until("saved: run")
        terminal.send("p345350410415\r")
        terminal.until("4 readings")
        terminal.send("s9 45500 1\r")
        terminal.until("of 9: 45.500+1")
        terminal.send("zh")
        terminal.until("to find")
        terminal.send("qq")
        assert terminal.finish() == 0
        assert _restored(terminal)
    times = (folder / "times.csv").read_text("utf-8")
    assert ",7,45.912" in times
    assert ",9,45.5" not in times
    assert "34.5,35,41.5,41" in (folder / "pressures.csv").read_text("utf-8")


@pytest.mark.parametrize("enter", ["\r", "\n"])
def test_keys_typed_before_it_is_up_are_not_lost(tmp_path: Path, folder: Path, enter: str) -> None:
    with opened(folder, tmp_path) as terminal:
        terminal.until(lambda: b"\x1b[?1049h" in terminal.raw)
        terminal.send("45912" + enter)
        terminal.until("saved: run")
        terminal.send("qq")
        assert terminal.finish() == 0
    assert ",7,45.912" in (folder / "times.csv").read_text("utf-8")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_restores_the_terminal(tmp_path: Path, folder: Path, number: signal.Signals) -> None:
    with opened(folder, tmp_path) as terminal:
        terminal.until("to find")
        terminal.send("459")
        terminal.until("459")
        terminal.signal(number)
        assert terminal.finish() == 128 + number
        assert _restored(terminal)


def test_a_fault_of_the_program_keeps_what_was_half_typed(tmp_path: Path, folder: Path) -> None:
    code = (
        "import paddock.tui.screens.home as home\n"
        "def broken(self, text): raise ZeroDivisionError('told secret')\n"
        "home.HomePage.accept = broken\n"
    )
    with opened(folder, tmp_path, code=code) as terminal:
        terminal.until("to find")
        terminal.send("45912 +1\r")
        assert terminal.finish() != 0
        assert _restored(terminal)
        terminal.until("a fault in the program itself")
        assert "Traceback" not in terminal.text
    note = (tmp_path / "XDG_STATE_HOME" / "paddock" / "last-fault.txt").read_text("utf-8")
    assert "half typed on home: 45912 +1" in note
    assert "ZeroDivisionError" in note


def test_without_colours_no_colour_is_written(tmp_path: Path, folder: Path) -> None:
    with opened(folder, tmp_path, NO_COLOR="1") as terminal:
        terminal.until("to find")
        terminal.send("qq")
        terminal.finish()
    greys = {(r, g, b) for r, g, b in _colours(bytes(terminal.raw)) if not r == g == b}
    assert greys == set()


def _colours(raw: bytes) -> set[tuple[int, int, int]]:
    import re

    return {
        (int(r), int(g), int(b)) for r, g, b in re.findall(rb"[34]8;2;(\d+);(\d+);(\d+)", raw)
    }  # fmt: skip


def test_resizing(tmp_path: Path, folder: Path) -> None:
    with opened(folder, tmp_path) as terminal:
        terminal.until("to find")
        terminal.resize(40, 20)
        terminal.until(lambda: "help" in terminal.screen.display[19])
        terminal.resize(120, 40)
        terminal.until(lambda: "help" in terminal.screen.display[39])
        terminal.send("qq")
        assert terminal.finish() == 0
