"""A rival's run as the loudspeaker gives it: ``23 55732 1`` is number, time, cones."""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.entry import marks
from paddock.entry.said import Misread, Wrong, shown
from paddock.entry.times import time_ms

_NUMBER = re.compile(r"[0-9A-Za-z]{1,4}")
_RUN = re.compile(r"r(?:un)?(\d{1,3})", re.ASCII)


@dataclass(frozen=True, slots=True)
class RivalLine:
    """``run`` None: the number's next run. ``time_ms`` None only with a ``status``."""

    number: str
    time_ms: int | None = None
    cones: int | None = None
    misses: int | None = None
    status: str | None = None
    run: int | None = None


def read_rival(text: str, decimals: int) -> RivalLine | Wrong:
    """The line, or the first field that can't be read."""
    try:
        return _line(text.split(), decimals)
    except Misread as misread:
        return misread.wrong


def _line(parts: list[str], decimals: int) -> RivalLine:
    if not parts:
        raise Misread("number", "", "number, time and cones, like 23 55732 1")
    if _NUMBER.fullmatch(parts[0]) is None:
        raise Misread("number", parts[0], f"{shown(parts[0])} is no car number: the number comes first")
    said: dict[str, int | str] = {}
    for word in parts[1:]:
        for name, value in _named(word.lower(), said, decimals).items():
            if name in said:
                raise Misread(name, word, f"{shown(word)}: that is there twice")
            said[name] = value
    if "time_ms" not in said and "status" not in said:
        raise Misread("time", "", f"number {parts[0]}: and the time? or dnf, dns, re")
    if said.get("status") == "dns" and "time_ms" in said:
        raise Misread("time", "", "a run not started has no time")
    return RivalLine(parts[0], **said)  # type: ignore[arg-type]


def _named(word: str, said: dict[str, int | str], decimals: int) -> dict[str, int | str]:
    if status := marks.status_word(word):
        return {"status": status}
    if found := _RUN.fullmatch(word):
        if int(found[1]) < 1:
            raise Misread("run", word, "runs count from 1")
        return {"run": int(found[1])}
    if (count := marks.misses(word)) is not None:
        return {"misses": count}
    if (count := marks.cones(word)) is not None:
        return {"cones": count}
    return _time_or_cones(word, said, decimals)


def _time_or_cones(word: str, said: dict[str, int | str], decimals: int) -> dict[str, int | str]:
    time, plus, tail = word.partition("+")
    if "time_ms" in said and not plus:
        if not (word.isascii() and word.isdecimal()):
            raise Misread("cones", word, f"{shown(word)} is no count of cones")
        return {"cones": marks.cones(f"+{word}") or 0}
    found: dict[str, int | str] = {"time_ms": time_ms(time, decimals)}
    if plus:
        found["cones"] = marks.cones(f"+{tail}") or 0
    return found
