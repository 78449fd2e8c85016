"""Which requests are answered at all: Host and Origin, and the headers every answer carries.

A page from anywhere can make a browser send requests to this machine. It can't choose the Host of a name
it doesn't own, nor hide its Origin; both are held against the address that was really connected to.
"""

from __future__ import annotations

import io
import ipaddress
import socket
from collections.abc import Set
from urllib.parse import urlsplit

LOCAL_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


def content_policy(host: str) -> str:
    """Everything from here and nowhere else. The terminal's own styles are set by its script, hence inline."""
    return (
        "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
        f"img-src 'self' data:; connect-src 'self' ws://{host} wss://{host}; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    )


def name_of(host: str) -> str | None:
    """The name in a Host header, lower case, without port and brackets; None where it can't be one."""
    if not host or any(char in host for char in "/@\\?# \t'\";,"):
        return None
    try:
        found = urlsplit(f"//{host}")
        return found.hostname if found.port is None or found.port > 0 else None
    except ValueError:
        return None


def is_loopback(address: str) -> bool:
    """This machine only."""
    try:
        return ipaddress.ip_address(address.partition("%")[0]).is_loopback
    except ValueError:
        return address == "localhost"


def host_allowed(host: str, local_address: str, names: Set[str] = frozenset()) -> bool:
    """The Host names the address that was connected to (``local_address``), or one of ``names``."""
    name = name_of(host)
    if name is None:
        return False
    if name in names or name == local_address:
        return True
    return name in LOCAL_NAMES and is_loopback(local_address)


def origin_allowed(origin: str | None, host: str) -> bool:
    """The page that asks was served under the same Host; a missing Origin is no browser's."""
    return origin is not None and origin.lower() in {f"http://{host.lower()}", f"https://{host.lower()}"}


ANY = frozenset({"", "0.0.0.0", "::"})


def url(host: str, port: int, secure: bool) -> str:
    """An address to type; the usual port is left out."""
    name = f"[{host}]" if ":" in host else host
    usual = 443 if secure else 80
    return f"{'https' if secure else 'http'}://{name}" + ("/" if port == usual else f":{port}/")


def reachable(host: str) -> tuple[str, ...]:
    """The names under which ``host`` is reached: itself, or each address of this machine where it is any."""
    if host not in ANY:
        return ("127.0.0.1",) if host == "localhost" else (host,)
    found = dict.fromkeys([*_outward(), *_named()])
    return tuple(address for address in found if not is_loopback(address)) or ("127.0.0.1",)


def _outward() -> list[str]:
    """The address packets would leave from; nothing is sent (192.0.2.1 is kept for documents, RFC 5737)."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))
            return [probe.getsockname()[0]]
    except OSError:
        return []


def _named() -> list[str]:
    try:
        found = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    except OSError:
        return []
    return sorted(f"{item[4][0]}" for item in found)


def code_svg(text: str) -> str:
    """The code as SVG to stand in a page, black on white with its quiet zone."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m").save(out, kind="svg", scale=6, border=4, dark="#000", light="#fff", xmldecl=False)
    return out.getvalue().decode()


def code_text(text: str) -> str:
    """The code in letters for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, error="m").terminal(out, border=2, compact=True)
    return out.getvalue()
