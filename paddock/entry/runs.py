"""One line is one run of mine: ``u2 0 o1 m 46512 +1``.

In any order: the balance at entry, middle, exit (and slalom); ``m`` for a mistake (``ok`` for none; a
balance without either says none); the time; ``+1`` cones; ``miss`` a gate; ``dnf``, ``dns``, ``dsq``,
``re`` (a re-run is given), ``practice``; the surface; ``r2`` for another run than the next one. An ``r`` may begin the
line (``r46512``, ``ru1``). After ``!`` what was seen, felt or heard that is not safe; after ``#`` a note.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from paddock import words
from paddock.entry.said import (
    SURFACES,
    YESNO,
    Misread,
    Wrong,
    balances,
    cones_of,
    misses_of,
    or_wrong,
    shown,
    status_word,
    with_spaces,
)

# a typed time: ``46.512``, ``46,512``, ``46512`` and ``1:02.345`` where times are printed to 3 decimals


LONGEST_MS = 600_000
"""Longer than ten minutes is no run here."""

_POINTED = re.compile(r"(?:(\d{1,2}):)?(\d{1,3})[.,](\d+)", re.ASCII)
_BARE = re.compile(r"(?:(\d{1,2}):)?(\d+)", re.ASCII)
_COUNT = {0: "no decimals", 1: "one decimal", 2: "two decimals", 3: "three decimals"}


def looks_like_time(word: str) -> bool:
    """A word that can only be meant as a time, well written or not."""
    return bool(word) and word[0] in "0123456789.,:" and len(word) > 1


def read_time(text: str, decimals: int) -> int | Wrong:
    """Whole milliseconds of a time typed for an event that prints ``decimals`` (0 to 3)."""
    return or_wrong(time_ms, text, decimals)


def time_ms(text: str, decimals: int) -> int:
    """As :func:`read_time`, raising ``Misread``."""
    word = text.strip()
    if found := _POINTED.fullmatch(word):
        minutes, seconds, part = found.groups()
    elif found := _BARE.fullmatch(word):
        minutes, seconds, part = _unpointed(word, found[1], found[2], decimals)
    else:
        raise _wrong(word, f"is no time: write it like {_sample(decimals)}")
    if len(part) != decimals:
        raise _wrong(word, f"has {_count(len(part))}, this event prints {_count(decimals)}: {_mend(decimals)}")
    return _checked(word, minutes, seconds, part)


def _unpointed(word: str, minutes: str | None, digits: str, decimals: int) -> tuple[str | None, str, str]:
    whole = len(digits) - decimals
    if whole == 2 or (minutes is None and whole == 3 and digits[0] == "1"):
        return minutes, digits[:whole], digits[whole:]
    near = _near(digits, decimals)
    raise _wrong(word, f"can be read in more than one way: write {near}")


def _near(digits: str, decimals: int) -> str:
    """Two ways the digits could be meant, pointed."""
    if decimals and len(digits) == decimals + 1:
        padded = f"{digits[:2]}.{digits[2:].ljust(decimals, '0')}"
        return f"{digits[:1]}.{digits[1:]} or {padded}" if len(digits) > 2 else f"it like {_sample(decimals)}"
    return f"it like {_sample(decimals)}"


def _checked(word: str, minutes: str | None, seconds: str, part: str) -> int:
    if minutes is not None and (int(seconds) > 59 or len(seconds) != 2):
        raise _wrong(word, "is no time: two digits, 00 to 59, stand after the colon")
    total = (int(minutes or 0) * 60 + int(seconds)) * 1000 + int(part.ljust(3, "0") or 0)
    if total == 0:
        raise _wrong(word, "is no time: leave it out if there is none")
    if total > LONGEST_MS:
        raise _wrong(word, "is over ten minutes: check the point")
    return total


def _wrong(word: str, says: str) -> Misread:
    return Misread("time", word, f"{shown(word)} {says}")


def _count(places: int) -> str:
    return _COUNT.get(places, f"{places} decimals")


def _sample(decimals: int) -> str:
    return "46" + (f".{'512'[:decimals]}" if decimals else "")


def _mend(decimals: int) -> str:
    return f"write it like {_sample(decimals)}"


# a rival's run as the loudspeaker gives it: ``23 55732 1`` is number, time, cones


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
    return or_wrong(_line, text.split(), decimals)


def _line(parts: list[str], decimals: int) -> RivalLine:
    if not parts:
        raise Misread("number", "", "number, time and cones, like 23 55732 1")
    if _NUMBER.fullmatch(parts[0]) is None:
        raise Misread("number", parts[0], f"{shown(parts[0])} is no car number: the number comes first")
    if _RUN.fullmatch(parts[0].lower()) and len(parts) > 2 and re.fullmatch(r"\d{1,3}", parts[1]):
        run, number, *rest = parts
        raise Misread("number", run, f"the number comes first: {' '.join([number, run, *rest])}")
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
    if status := status_word(word):
        return {"status": status}
    if found := _RUN.fullmatch(word):
        if int(found[1]) < 1:
            raise Misread("run", word, "runs count from 1")
        return {"run": int(found[1])}
    if (count := misses_of(word)) is not None:
        return {"misses": count}
    if (count := cones_of(word)) is not None:
        return {"cones": count}
    return _time_or_cones(word, said, decimals)


def _time_or_cones(word: str, said: dict[str, int | str], decimals: int) -> dict[str, int | str]:
    time, plus, tail = word.partition("+")
    if "time_ms" in said and not plus:
        if not (word.isascii() and word.isdecimal()):
            raise Misread("cones", word, f"{shown(word)} is no count of cones")
        return {"cones": cones_of(f"+{word}") or 0}
    found: dict[str, int | str] = {"time_ms": time_ms(time, decimals)}
    if plus:
        found["cones"] = cones_of(f"+{tail}") or 0
    return found


PHASES = ("entry", "mid", "exit", "slalom")
_RUN_WORD = re.compile(r"r(?:un)?(\d{1,3})", re.ASCII)
_LOST = re.compile(r"l(\d{1,2}(?:[.,]\d{1,3})?|[.,]\d{1,3})", re.ASCII)
_GLUED = re.compile(r"([\d.,:]+)(\+.*)", re.ASCII)
_BEGUN = re.compile(r"r(?=\d{4}|\d+[.,:]|[uomd0-]|re\b)", re.ASCII)
"""An ``r`` for run before what can be no run's number and no re-run."""
_ALL_GLUED = re.compile(r"((?:[uo]\d|0|-){2}[uo]\d)(\d[\d.,:]{3,}(?:\+.*)?)", re.ASCII)
"""Three phases, the last not neutral, and the time: nothing else it could be."""


@dataclass(frozen=True, slots=True)
class TypedRun:
    """None everywhere: not said. ``run`` None: the next run. Balance -3 understeer to +3 oversteer."""

    time_ms: int | None = None
    cones: int | None = None
    misses: int | None = None
    status: str | None = None
    entry: int | None = None
    mid: int | None = None
    exit: int | None = None
    slalom: int | None = None
    mistake: bool | None = None
    surface: str | None = None
    unsafe: str | None = None
    note: str | None = None
    run: int | None = None
    lost_s: float | None = None
    lost_where: str | None = None

    @property
    def timed(self) -> bool:
        """The line says how the run ended: a time, or a word for none."""
        return self.time_ms is not None or self.status is not None


@dataclass
class _Draft:
    decimals: int
    said: dict[str, object] = field(default_factory=dict)
    phases: list[int | None] = field(default_factory=list)

    def put(self, name: str, value: object, word: str, what: str) -> None:
        if name in self.said:
            raise Misread(name, word, f"{shown(word)}: {what} is there twice")
        self.said[name] = value


def read_run(text: str, decimals: int) -> TypedRun | Wrong:
    """The line, or the first field that can't be read. An empty line is ``Wrong``, too."""
    return or_wrong(_run_line, text, decimals)


def _run_line(text: str, decimals: int) -> TypedRun:
    draft = _Draft(decimals)
    plain = _tails(draft, text)
    begun = plain.lower().strip()
    for word in begun[1 if _BEGUN.match(begun) else 0 :].split():
        try:
            _take(draft, word)
        except Misread as misread:
            raise with_spaces(misread, word, lambda piece: _take(_Draft(decimals), piece)) from None
    _phases(draft)
    _whole(draft, text)
    return TypedRun(**draft.said)  # type: ignore[arg-type]


def _tails(draft: _Draft, text: str) -> str:
    """Takes ``! unsafe`` and ``# note`` off the end."""
    for sign, name in (("#", "note"), ("!", "unsafe")):
        text, found, tail = text.partition(sign)
        if found and not tail.strip():
            raise Misread(name, sign, f"nothing is written after {sign}")
        if found:
            draft.said[name] = tail.strip()
    return text


def _take(draft: _Draft, word: str) -> None:
    if glued := _ALL_GLUED.fullmatch(word):
        _take(draft, glued[1])
        word = glued[2]
    if glued := _GLUED.fullmatch(word):
        _take(draft, glued[1])
        word = glued[2]
    for reader in _READERS:
        if reader(draft, word):
            return
    raise Misread("line", word, f"{shown(word)} is not known here: time, +cones, u1 0 o1, m, dnf, dns, re, # note")


def _take_balance(draft: _Draft, word: str) -> bool:
    found = balances(word)
    if found is None:
        return False
    draft.phases.extend(found)
    return True


def _take_count(name: str, what: str, read: Callable[[str], int | None]) -> Callable[[_Draft, str], bool]:
    def take(draft: _Draft, word: str) -> bool:
        value = read(word)
        if value is None:
            return False
        draft.put(name, value, word, what)
        return True

    return take


def _take_word(draft: _Draft, word: str) -> bool:
    for name, what, value in (
        ("status", "the end of the run", status_word(word)),
        ("mistake", "the mistake", YESNO.get(word)),
        ("surface", "the surface", word if word in SURFACES else None),
    ):
        if value is not None:
            draft.put(name, value, word, what)
            return True
    return False


def _take_run(draft: _Draft, word: str) -> bool:
    found = _RUN_WORD.fullmatch(word)
    if found is None:
        return False
    if int(found[1]) < 1:
        raise Misread("run", word, "runs count from 1")
    draft.put("run", int(found[1]), word, "the run")
    return True


def _take_lost(draft: _Draft, word: str) -> bool:
    """``l0.3``: so many seconds lost, ``@5`` or ``@third_gate``: where; ``l0.3@5`` is both."""
    lost, at, where = word.partition("@")
    if not _LOST.fullmatch(lost) and (lost or not at):
        return False
    if at and not where:
        raise Misread("lost", word, "where was it lost? @5, or @third_gate")
    if lost:
        draft.put("lost_s", float(lost[1:].replace(",", ".")), word, "the time lost")
    if where:
        draft.put("lost_where", where.replace("_", " "), word, "where it was lost")
    return True


def _take_time(draft: _Draft, word: str) -> bool:
    if not looks_like_time(word):
        if word.isdecimal():
            raise Misread("time", word, f"{shown(word)} is too short for a time; cones are written +{shown(word)}")
        return False
    draft.put("time_ms", time_ms(word, draft.decimals), word, "the time")
    return True


_READERS: tuple[Callable[[_Draft, str], bool], ...] = (
    _take_balance,
    _take_count("cones", "cones", cones_of),
    _take_count("misses", "missed gates", misses_of),
    _take_word,
    _take_run,
    _take_lost,
    _take_time,
)


def _phases(draft: _Draft) -> None:
    if len(draft.phases) > len(PHASES):
        raise Misread("balance", "", "more than four phases: entry, middle, exit, slalom")
    felt = dict(zip(PHASES, draft.phases, strict=False))
    draft.said.update({name: value for name, value in felt.items() if value is not None})
    if any(value is not None for value in draft.phases):
        draft.said.setdefault("mistake", False)


def _whole(draft: _Draft, text: str) -> None:
    said = draft.said
    if not set(said) - {"run"}:
        raise Misread("line", text, "nothing to log yet: a time, a balance like u2 0 o1, or dnf")
    if "time_ms" not in said and ("cones" in said or "misses" in said) and "status" not in said:
        name = "cones" if "cones" in said else "misses"
        raise Misread("time", text, f"{'cones' if name == 'cones' else 'missed gates'} need the time they go with")
    if said.get("status") == "dns" and "time_ms" in said:
        raise Misread("time", text, "a run not started has no time")


def write_run(line: TypedRun, decimals: int) -> str:
    """The line in its shortest sure writing: ``read_run`` gives the same value back."""
    parts = [*_written_balance(line), *_written_result(line, decimals)]
    parts += [f"l{line.lost_s:g}"] if line.lost_s is not None and _LOST.fullmatch(f"l{line.lost_s:g}") else []
    parts += [f"@{'_'.join(line.lost_where.split())}"] if line.lost_where else []
    parts += [line.surface] if line.surface else []
    parts += [f"r{line.run}"] if line.run else []
    parts += [f"! {line.unsafe}"] if line.unsafe else []
    parts += [f"# {line.note}"] if line.note else []
    return " ".join(parts)


def _written_balance(line: TypedRun) -> list[str]:
    felt = [getattr(line, name) for name in PHASES]
    while felt and felt[-1] is None:
        felt.pop()
    mark = {True: ["m"], False: [] if felt else ["ok"], None: []}[line.mistake]
    return [words.balance(value) for value in felt] + mark


def _written_result(line: TypedRun, decimals: int) -> list[str]:
    parts = [] if line.time_ms is None else [words.seconds(line.time_ms, decimals)]
    parts += [f"+{line.cones}"] if line.cones else []
    parts += [f"miss{line.misses}"] if line.misses else []
    return parts + ([{"rerun": "re"}.get(line.status, line.status)] if line.status else [])
