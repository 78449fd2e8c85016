"""``paddock serve``: the screens in a browser, on this machine only unless asked."""

from __future__ import annotations

import getpass
import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.commands.common import Answer, add_folder
from paddock.errors import FolderError, UsageError

if TYPE_CHECKING:
    import ssl

    from paddock.serve.server import ScreenServer, ServedPlace

HELP = "Show the screens of an event folder in a browser: on this machine, or with a passphrase on others."
EXAMPLES = (
    "paddock serve example_event",
    "paddock serve example_event --host 0.0.0.0",
    "paddock serve example_event --host 0.0.0.0 --cert own.crt --key own.key",
)
_UNENCRYPTED = (
    "Not encrypted: anybody on the same network can read along, the passphrase too. "
    "Use a hotspot of your own, or see --cert; /setup says how else."
)


def configure(parser: ArgumentParser) -> None:
    """The folder, where to listen, who may come in."""
    add_folder(parser)
    parser.add_argument("--host", default="127.0.0.1", metavar="H", help="address to listen on (default: %(default)s)")
    parser.add_argument("--port", type=int, default=8000, metavar="P", help="port (default: 8000; 0: any free one)")
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE", help="its first line is the passphrase")
    parser.add_argument("--cert", type=Path, metavar="FILE", help="certificate, to encrypt the connection")
    parser.add_argument("--key", type=Path, metavar="FILE", help="the certificate's private key")
    parser.add_argument(
        "--allow-name", action="append", default=[], metavar="NAME", help="a name of a web server in front of this one"
    )


def run(args: Namespace) -> Answer:
    """Serve until Ctrl+C or a signal to end."""
    if args.json:
        raise UsageError("serve has no JSON: it shows screens")
    server = _server(args)
    import asyncio

    try:
        asyncio.run(_until_stopped(server))
    except OSError as error:
        raise UsageError(f"can't listen on {args.host} port {args.port}: {error.strerror or error}") from error
    return Answer({}, lambda: "stopped")


def _server(args: Namespace) -> ScreenServer:
    if not args.folder.is_dir():
        raise FolderError(f"{args.folder}: there is no such folder")
    if not 0 <= args.port <= 65535:
        raise UsageError(f"port {args.port} is none: 1 to 65535, or 0 for any free one")
    import time

    from paddock.serve.guard import PassphraseGate
    from paddock.serve.server import ScreenServer, ServedPlace

    names = frozenset(name.lower() for name in args.allow_name)
    place = ServedPlace(args.host, args.port, names, _encryption(args))
    argv = (sys.executable, "-P", "-m", "paddock", f"{args.folder.resolve()}")
    return ScreenServer(
        argv, place, PassphraseGate(_passphrase(args, place), time.monotonic), args.folder.resolve().name
    )


def _encryption(args: Namespace) -> ssl.SSLContext | None:
    if (args.cert is None) != (args.key is None):
        raise UsageError("--cert and --key go together")
    if args.cert is None:
        return None
    import ssl

    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    try:
        context.load_cert_chain(args.cert, args.key)
    except OSError as error:  # ssl.SSLError is one
        raise UsageError(f"{args.cert} and {args.key} can't be used: {error.strerror or error}") from error
    return context


def _passphrase(args: Namespace, place: ServedPlace) -> str | None:
    """From the file, the environment, or asked for; None where none is needed. Raises UsageError."""
    from paddock.serve.process import SECRET_VARIABLE

    if args.passphrase_file is not None:
        return _first_line(args.passphrase_file)
    given = os.environ.get(SECRET_VARIABLE)
    if given:
        return given
    if place.local and not place.names:
        return None
    if not sys.stdin.isatty():
        raise UsageError(
            f"other devices need a passphrase: put it in a file for --passphrase-file, or in {SECRET_VARIABLE}"
        )
    return _asked(getpass.getpass, print)


def _first_line(path: Path) -> str:
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise FolderError(f"{path} can't be read: {getattr(error, 'strerror', None) or error}") from error
    return lines[0].strip() if lines else ""


def _asked(ask: Callable[[str], str], say: Callable[[str], None]) -> str:
    from paddock.serve.guard import made_up

    given = ask("Passphrase for other devices (blank: make one up): ").strip()
    if not given:
        given = made_up()
        say(f"Passphrase: {given}")
    return given


async def _until_stopped(server: ScreenServer) -> None:
    import asyncio
    import contextlib
    import signal

    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    with contextlib.suppress(NotImplementedError):  # Windows has no such handlers; Ctrl+C still ends it
        for name in (signal.SIGINT, signal.SIGTERM, *([signal.SIGHUP] if hasattr(signal, "SIGHUP") else [])):
            loop.add_signal_handler(name, stop.set)
    await server.run_until(stop, lambda port: _say_where(server, port))


def _say_where(server: ScreenServer, port: int) -> None:
    from paddock.serve.guard import code_text, reachable, url

    place = server.place
    found = [url(name, port, place.secure is not None) for name in reachable(place.host)]
    for address in found:
        print(f"Open {address}", flush=True)
    if not place.local:
        print(code_text(found[0]))
        if place.secure is None:
            print(_UNENCRYPTED)
    print("Stop with Ctrl+C.", flush=True)
