"""The passphrase: compared in constant time, guessed slowly, then remembered by a random token."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

from paddock.errors import UsageError

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
