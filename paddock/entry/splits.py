"""Marks read off one's own video, a run on one line: ``3 s 12.40 1 15.10 2 19.86 f 58.47``; a line of the course."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from paddock.entry.said import Misread, Wrong, or_wrong, shown

_TIME = re.compile(r"(?:(\d{1,2}):)?(\d{1,3})(?:[.,](\d{1,3}))?", re.ASCII)
_RUN = re.compile(r"(?:r|run)?(\d{1,3}):?", re.ASCII | re.IGNORECASE)
KINDS = ("slalom", "gate", "sweeper", "box", "turnaround", "straight", "finish")
"""Usual words for what an element is; any other may be written in course.csv."""


@dataclass(frozen=True, slots=True)
class MarksLine:
    """``run`` None: the run in hand. ``marks``: element to ms on the player's clock; ``s`` is 0, ``f`` is -1."""

    run: int | None
    marks: tuple[tuple[int, int], ...]


FINISH = -1


def read_marks(text: str) -> MarksLine | Wrong:
    """Pairs of a mark and the player's clock, a run before them where it is not the one in hand."""
    return or_wrong(_marks, text)


def _marks(text: str) -> MarksLine:
    words = re.sub(r"\b([sf])(?=\d)", r"\1 ", text.strip().lower()).split()
    run = None
    if len(words) % 2:
        found = _RUN.fullmatch(words[0])
        if found is None or not int(found[1]):
            raise Misread("run", words[0], f"{shown(words[0])}: begin with the run, then s 12.40 1 15.10 … f 58.47")
        run, words = int(found[1]), words[1:]
    elif len(words) > 1 and words[1] in ("s", "f"):
        raise Misread("marks", words[-1], f"{shown(words[-1])}: its time is missing, like {shown(words[-1])} 15.10")
    if len(words) < 4:
        raise Misread("marks", "", "a run's marks on one line: 3 s 12.40 1 15.10 2 19.86 f 58.47")
    marks = [(_mark(mark), _ms(at)) for mark, at in zip(words[::2], words[1::2], strict=True)]
    known = [mark for mark, _ in marks]
    twice = next((mark for mark in known if known.count(mark) > 1), None)
    if twice is not None:
        raise Misread("marks", "", f"{_name(twice)} is there twice")
    if not {0, FINISH} & set(known):
        raise Misread("marks", "", "s (the start) or f (the finish) must be there: the official time gives the other")
    order = sorted(marks, key=lambda pair: (pair[0] == FINISH, pair[0]))
    for (mark, at), (after, later) in pairwise(order):
        if later <= at:
            raise Misread("marks", "", f"{_name(after)} comes before {_name(mark)}: put one of the times right")
    return MarksLine(run, tuple(order))


def _mark(word: str) -> int:
    if word in ("s", "f"):
        return 0 if word == "s" else FINISH
    if not (word.isascii() and word.isdecimal() and 0 < int(word) < 100):
        raise Misread("marks", word, f"{shown(word)} is no mark: s, the element's number, or f")
    return int(word)


def _ms(word: str) -> int:
    found = _TIME.fullmatch(word)
    if found is None or (found[1] is not None and int(found[2]) > 59):
        raise Misread("marks", word, f"{shown(word)} is no time of a player: write 15.10 or 1:02.40")
    return (int(found[1] or 0) * 60 + int(found[2])) * 1000 + int((found[3] or "").ljust(3, "0"))


def _name(mark: int) -> str:
    return "the start" if mark == 0 else "the finish" if mark == FINISH else f"element {mark}"


@dataclass(frozen=True, slots=True)
class CourseLine:
    """What a line does to the course. ``at_ms``: put the mark on the line there; ``out``: take the element out;
    ``as_day``: the same course as on that day. ``kind``, ``name`` None: as they were."""

    element: int = 0
    kind: str | None = None
    name: str | None = None
    at_ms: int | None = None
    out: bool = False
    as_day: int | None = None


def read_course(text: str) -> CourseLine | Wrong:
    """``2 slalom the long one``, ``2 at 15.10``, ``2 out``, ``as 1``."""
    return or_wrong(_course, text)


def _course(text: str) -> CourseLine:
    words = text.split()
    low = [word.lower() for word in words]
    if len(low) == 2 and low[0] == "as" and low[1].isascii() and low[1].isdecimal() and len(low[1]) < 3:
        return CourseLine(as_day=int(low[1]))
    if not words or not (words[0].isascii() and words[0].isdecimal() and len(words[0]) < 3):
        raise Misread(
            "element", "", "begin with the element's number: 2 slalom at the wall, 2 at 15.10, 2 out, or as 1"
        )
    element = int(words[0])
    if low[1:] == ["out"]:
        return CourseLine(element, out=True)
    if len(low) == 3 and low[1] == "at":
        return CourseLine(element, at_ms=_ms(low[2]))
    if len(low) > 3 and low[1] == "at" and low[2][:1].isdecimal():
        raise Misread("element", "", f"one mark a line: {element} at 15.10")
    if len(words) == 1:
        raise Misread("element", "", f"element {element}: then its kind and name, like {element} slalom at the wall")
    kind = low[1] if low[1] in KINDS else None
    name = " ".join(words[2:] if kind else words[1:]) or None
    return CourseLine(element, kind, name)
