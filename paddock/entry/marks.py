"""Single words of a line: cones, missed gates, balance, a void run, the surface, mistake."""

from __future__ import annotations

import re

from paddock.entry.said import Misread, shown

MOST_CONES = 20
"""More on one run is a slip of the finger (a bound of this program, no source)."""

STATUS = {
    "dnf": "dnf", "dns": "dns", "dsq": "dsq", "re": "rerun", "rerun": "rerun", "re-run": "rerun",
    "practice": "practice", "off": "dnf",
}  # fmt: skip
SURFACES = ("dry", "drying", "damp", "wet", "standing")
YESNO = {"m": True, "mistake": True, "ok": False, "clean": False}

_CONES = re.compile(r"\+(\d*)", re.ASCII)
_MISSES = re.compile(r"(?:miss|gate)(?:es|s)?(\d*)|(\d+)(?:miss|gate)(?:es|s)?", re.ASCII)
_BALANCE = re.compile(r"(?:[uo]\d|0|-)+", re.ASCII)
_ONE = re.compile(r"[uo]\d|0|-", re.ASCII)


def cones(word: str) -> int | None:
    """``+2`` gives 2; None where the word is about something else."""
    found = _CONES.fullmatch(word)
    if found is None:
        if word.startswith("+"):
            raise Misread("cones", word, f"{shown(word)} is no count of cones: write +1")
        return None
    if not found[1]:
        raise Misread("cones", word, "how many cones? write +1")
    return _most(word, found[1])


def _most(word: str, digits: str) -> int:
    if len(digits) > 3 or int(digits) > MOST_CONES:
        raise Misread("cones", word, f"{shown(word)} is more cones than a run has: up to {MOST_CONES} are taken")
    return int(digits)


def misses(word: str) -> int | None:
    """``miss`` gives 1, ``miss2`` or ``2miss`` 2 missed gates; None where it is another word."""
    found = _MISSES.fullmatch(word)
    if found is None:
        return None
    digits = found[1] or found[2] or "1"
    if len(digits) > 2 or int(digits) > MOST_CONES:
        raise Misread("gates", word, f"{shown(word)} is more gates than can be missed")
    return int(digits)


def balances(word: str) -> tuple[int | None, ...] | None:
    """``u2``, ``0``, ``o1`` or several run together (``u20o1``); ``-`` leaves a phase out."""
    if _BALANCE.fullmatch(word) is None:
        if word[:1] in "uo" and word[1:2].isdecimal():
            raise Misread("balance", word, f"{shown(word)} is no balance: write u1 to u3, 0, or o1 to o3")
        return None
    return tuple(_balance(word, piece) for piece in _ONE.findall(word))


def _balance(word: str, piece: str) -> int | None:
    if piece == "-":
        return None
    size = int(piece[-1])
    if size > 3 or (size == 0 and len(piece) == 2):
        raise Misread("balance", word, f"{piece} is no balance: write u1 to u3, 0, or o1 to o3")
    return -size if piece[0] == "u" else size


def status_word(word: str) -> str | None:
    """The status a word stands for, None where it is another word."""
    return STATUS.get(word)
