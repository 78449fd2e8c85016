"""Short random ids, so that two devices never make the same one."""

from __future__ import annotations

import secrets

ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
"""No 0, 1, i, l, o: an id may be read aloud or copied by hand."""


def new_id(length: int = 8) -> str:
    """A random id of ``length`` letters and digits, starting with a letter so that no spreadsheet takes it for
    a number. Eight give 6e11 of them: among 10,000 rows the odds of two alike are 1 in 12,000."""
    first = secrets.choice(ALPHABET[8:])
    return first + "".join(secrets.choice(ALPHABET) for _ in range(length - 1))
