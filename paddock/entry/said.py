"""What is said about a field that can't be read."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import ParamSpec, TypeVar

_LONGEST = 24


@dataclass(frozen=True, slots=True)
class Wrong:
    """``field``: which part of the line; ``text``: as typed; ``sentence``: what is wrong and the mend."""

    field: str
    text: str
    sentence: str


class Misread(Exception):  # noqa: N818 - never leaves this package
    """Carries a ``Wrong`` up to the reader of the line."""

    def __init__(self, field: str, text: str, sentence: str) -> None:
        super().__init__(sentence)
        self.wrong = Wrong(field, text, sentence)


Q = ParamSpec("Q")
T = TypeVar("T")


def or_wrong(read: Callable[Q, T], *told: Q.args, **more: Q.kwargs) -> T | Wrong:
    """What was read, or what is wrong with it."""
    try:
        return read(*told, **more)
    except Misread as misread:
        return misread.wrong


def shown(text: str) -> str:
    """A typed piece as it is quoted back: no control characters, not longer than 16."""
    clean = "".join("?" if unicodedata.category(char).startswith("C") else char for char in text)
    return clean if len(clean) <= 16 else clean[:15] + "…"


def with_spaces(misread: Misread, word: str, reads: Callable[[str], object]) -> Misread:
    """The same refusal, or the mend where the word reads as two or three with a space between them.

    ``reads`` raises Misread for a piece that can't be read. Figures alone are never parted: nobody knows where.
    """
    if len(word) > _LONGEST or not any(char.isalpha() for char in word):
        return misread
    for count in (1, 2):
        for places in combinations(range(1, len(word)), count):
            pieces = [word[start:end] for start, end in pairwise((0, *places, len(word)))]
            if _all_read(pieces, reads):
                told = f"{shown(word)}: is a space missing? {' '.join(pieces)}"
                return Misread(misread.wrong.field, misread.wrong.text, told)
    return misread


def _all_read(pieces: Sequence[str], reads: Callable[[str], object]) -> bool:
    if any(len(piece) > 1 and piece[0] == "0" for piece in pieces):
        return False
    try:
        for piece in pieces:
            reads(piece)
    except Misread:
        return False
    return True


def whole(text: str) -> int | None:
    """A short run of plain digits as a number, else None (no other script's digits)."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 9 else None


# single words of a line: cones, missed gates, balance, a void run, the surface, mistake


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


def cones_of(word: str) -> int | None:
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


def misses_of(word: str) -> int | None:
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
