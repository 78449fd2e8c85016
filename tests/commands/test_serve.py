"""``paddock serve`` from the command line: what it refuses, what it says, that it ends."""

from __future__ import annotations

import io
import os
import shutil
import signal
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.commands import serve
from tests.seasonfiles import write_event

ROOT = Path(__file__).resolve().parents[2]
RIGHT = "correct horse battery"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_event(tmp_path / "day", {"26": ("46.512",)})


@contextmanager
def _started(*words: str, **environment: str) -> Iterator[tuple[subprocess.Popen[str], list[str]]]:
    """The command in a process of its own, and its lines up to the last it says on starting."""
    with subprocess.Popen(
        [sys.executable, "-m", "paddock", "serve", *words], cwd=ROOT, env=os.environ | environment, text=True,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        lines: list[str] = []
        for line in process.stdout:
            lines.append(line.rstrip())
            if line.startswith("Stop"):
                break
        try:
            yield process, lines
        finally:
            process.kill()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["{tmp}/none"], 3, "there is no such folder"),
        (["{folder}", "--port", "70000"], 2, "port 70000"),
        (["{folder}", "--host", "0.0.0.0", "--port", "0"], 2, "need a passphrase"),
        (["{folder}", "--allow-name", "day.example", "--port", "0"], 2, "need a passphrase"),
        (["{folder}", "--passphrase-file", "{tmp}/none"], 3, "can't be read"),
        (["{folder}", "--passphrase-file", "{tmp}/short"], 2, "too short"),
        (["{folder}", "--passphrase-file", "{tmp}/empty"], 2, "too short"),
        (["{folder}", "--cert", "{tmp}/none"], 2, "go together"),
        (["{folder}", "--cert", "{tmp}/none", "--key", "{tmp}/none"], 2, "can't be used"),
        (["{folder}", "--host", "203.0.113.9", "--passphrase-file", "{tmp}/good"], 2, "can't listen"),
        (["{folder}", "--json"], 2, "no JSON"),
    ],
)
def test_refusals(
    words: list[str], code: int, said: str, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.delenv("PADDOCK_PASSPHRASE", raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    for name, text in (("short", "abc"), ("empty", ""), ("good", RIGHT)):
        (tmp_path / name).write_text(text)
    assert main(["serve", *(word.format(folder=folder, tmp=tmp_path) for word in words)]) == code
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_it_says_where_serves_and_ends_on_a_signal(folder: Path) -> None:
    with _started(f"{folder}", "--port", "0") as (process, lines):
        assert lines[-1] == "Stop with Ctrl+C."
        address = lines[0].removeprefix("Open ")
        assert address.startswith("http://127.0.0.1:")
        with urllib.request.urlopen(address, timeout=10) as answer:
            assert b"terminal" in answer.read()
        process.send_signal(signal.SIGTERM)
        out, err = process.communicate(timeout=20)
        assert (process.returncode, out.strip(), err) == (0, "stopped", "")


def test_for_other_devices_it_shows_a_code_and_says_what_is_not_encrypted(folder: Path) -> None:
    with _started(f"{folder}", "--port", "0", "--host", "0.0.0.0", PADDOCK_PASSPHRASE=RIGHT) as (_, lines):
        text = "\n".join(lines)
    assert "Not encrypted" in text
    assert "▄" in text
    assert RIGHT not in text


def test_a_taken_port_is_said(folder: Path) -> None:
    with _started(f"{folder}", "--port", "0") as (_, lines):
        port = lines[0].rstrip("/").rpartition(":")[2]
        again = subprocess.run(
            [sys.executable, "-m", "paddock", "serve", f"{folder}", "--port", port], cwd=ROOT, capture_output=True,
            text=True, check=False, timeout=30,
        )  # fmt: skip
    assert again.returncode == 2
    assert "can't listen" in again.stderr


@pytest.mark.skipif(not shutil.which("openssl"), reason="openssl, to make a certificate, is not installed")
def test_with_a_certificate_it_is_encrypted(folder: Path, tmp_path: Path) -> None:
    cert, key = tmp_path / "own.crt", tmp_path / "own.key"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext",
         "subjectAltName=IP:127.0.0.1", "-keyout", f"{key}", "-out", f"{cert}"], check=True, capture_output=True,
    )  # fmt: skip
    with _started(f"{folder}", "--port", "0", "--cert", f"{cert}", "--key", f"{key}") as (_, lines):
        address = lines[0].removeprefix("Open ")
        assert address.startswith("https://127.0.0.1:")
        context = ssl.create_default_context(cafile=f"{cert}")
        with urllib.request.urlopen(address, timeout=10, context=context) as answer:
            assert answer.status == 200


def test_asked_for_a_passphrase_blank_makes_one_up() -> None:
    said: list[str] = []
    made = serve._asked(lambda _: "  ", said.append)
    assert said == [f"Passphrase: {made}"]
    assert serve._asked(lambda _: RIGHT, said.append) == RIGHT
    assert len(said) == 1


def test_without_the_extra_it_says_what_to_install(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in [name for name in sys.modules if name.startswith("paddock.serve.server")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "textual_serve", None)
    monkeypatch.setitem(sys.modules, "textual_serve.server", None)
    monkeypatch.setitem(sys.modules, "textual_serve.app_service", None)
    assert main(["serve", f"{folder}"]) == 2
    assert "pip install '.[web]'" in capsys.readouterr().err
