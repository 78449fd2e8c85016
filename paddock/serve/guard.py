"""Who is let in: which requests are answered at all, by Host and Origin; their headers; and the passphrase.

A page from anywhere can make a browser send requests to this machine. It can't choose the Host of a name
it doesn't own, nor hide its Origin; both are held against the address that was really connected to.
"""

from __future__ import annotations

import hashlib
import hmac
import io
import ipaddress
import secrets
import socket
from collections.abc import Callable, Set
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from paddock.errors import UsageError

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


LEAST = 12
"""Fewest characters of a passphrase."""
_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"
_DAY_S = 24 * 3600.0
_MAX_TOKENS = 64


def made_up() -> str:
    """A random passphrase easy to read out: four groups of four, 80 bits."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(4))


@dataclass
class Limit:
    """Wrong guesses: ``free`` without waiting, then a pause that doubles up to ``longest_s``.

    Each sender has a count of its own; all together may be wrong ``free * 10`` times before everybody waits,
    since a sender can change address. ``clock``: seconds that only rise.
    """

    clock: Callable[[], float]
    free: int = 5
    pause_s: float = 30.0
    longest_s: float = 900.0
    _wrong: dict[str, tuple[int, float]] = field(default_factory=dict)

    def wait_s(self, sender: str) -> float:
        """Seconds until this sender may guess again; 0: now."""
        now = self.clock()
        return max(self._until(sender, self.free), self._until("", self.free * 10), now) - now

    def wrong(self, sender: str) -> None:
        """A wrong guess."""
        now = self.clock()
        self._wrong = {key: item for key, item in self._wrong.items() if now - item[1] < self.longest_s * 2}
        for key in (sender, ""):
            self._wrong[key] = (self._wrong.get(key, (0, now))[0] + 1, now)

    def right(self, sender: str) -> None:
        """The right one: the sender's count starts anew."""
        self._wrong.pop(sender, None)

    def _until(self, key: str, free: int) -> float:
        count, last = self._wrong.get(key, (0, 0.0))
        if count < free:
            return 0.0
        return last + min(self.pause_s * 2.0 ** min(count - free, 30), self.longest_s)


class PassphraseGate:
    """Who is in. ``passphrase`` None: everybody, which is only for this machine itself."""

    def __init__(self, passphrase: str | None, clock: Callable[[], float]) -> None:
        if passphrase is not None and len(passphrase) < LEAST:
            raise UsageError(f"the passphrase is too short: {LEAST} characters at least")
        self._secret = None if passphrase is None else _digest(passphrase)
        self._clock = clock
        self._tokens: dict[bytes, float] = {}
        self.limit = Limit(clock)

    @property
    def is_open(self) -> bool:
        """No passphrase is asked for."""
        return self._secret is None

    def enter(self, passphrase: str, sender: str) -> str | None:
        """A new token, None where the passphrase is wrong or it is too early for another guess."""
        if self._secret is None or self.limit.wait_s(sender) > 0:
            return None
        if not hmac.compare_digest(_digest(passphrase), self._secret):
            self.limit.wrong(sender)
            return None
        self.limit.right(sender)
        token = secrets.token_urlsafe(32)
        self._tokens[_digest(token)] = self._clock()
        while len(self._tokens) > _MAX_TOKENS:
            del self._tokens[next(iter(self._tokens))]
        return token

    def knows(self, token: str | None) -> bool:
        """The token was given out here within the last day."""
        if self.is_open:
            return True
        given = self._tokens.get(_digest(token or ""))
        return given is not None and self._clock() - given < _DAY_S


def _digest(text: str) -> bytes:
    """Equal lengths for the comparison; strength is the passphrase's own, guesses are counted."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()
