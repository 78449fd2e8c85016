"""Which requests are answered at all: Host and Origin, and the headers every answer carries.

A page from anywhere can make a browser send requests to this machine. It can't choose the Host of a name
it doesn't own, nor hide its Origin; both are held against the address that was really connected to.
"""

from __future__ import annotations

import ipaddress
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
