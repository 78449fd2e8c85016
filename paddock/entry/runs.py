"""One line is one run of mine: ``u2 0 o1 m 46512 +1``.

In any order: the balance at entry, middle, exit (and slalom); ``m`` for a mistake (``ok`` for none; a
balance without either says none); the time; ``+1`` cones; ``miss`` a gate; ``dnf``, ``dns``, ``dsq``,
``re`` (a re-run is given), ``practice``; the surface; ``r2`` for another run than the next one. After ``!``
what was seen, felt or heard that is not safe; after ``#`` a note.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, fields

from paddock import words
from paddock.entry import marks
from paddock.entry.said import Misread, Wrong, shown, with_spaces
from paddock.entry.times import looks_like_time, time_ms

PHASES = ("entry", "mid", "exit", "slalom")
_RUN = re.compile(r"r(?:un)?(\d{1,3})", re.ASCII)
_GLUED = re.compile(r"([\d.,:]+)(\+.*)", re.ASCII)
_ALL_GLUED = re.compile(r"((?:[uo]\d|0|-){2}[uo]\d)(\d[\d.,:]{3,}(?:\+.*)?)", re.ASCII)
"""Three phases, the last not neutral, and the time: nothing else it could be."""


@dataclass(frozen=True, slots=True)
class RunLine:
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


def read_run(text: str, decimals: int) -> RunLine | Wrong:
    """The line, or the first field that can't be read. An empty line is ``Wrong``, too."""
    try:
        return _line(text, decimals)
    except Misread as misread:
        return misread.wrong


def _line(text: str, decimals: int) -> RunLine:
    draft = _Draft(decimals)
    plain = _tails(draft, text)
    for word in plain.lower().split():
        try:
            _take(draft, word)
        except Misread as misread:
            raise with_spaces(misread, word, lambda piece: _take(_Draft(decimals), piece)) from None
    _phases(draft)
    _whole(draft, text)
    return RunLine(**draft.said)  # type: ignore[arg-type]


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
    found = marks.balances(word)
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
        ("status", "the end of the run", marks.status_word(word)),
        ("mistake", "the mistake", marks.YESNO.get(word)),
        ("surface", "the surface", word if word in marks.SURFACES else None),
    ):
        if value is not None:
            draft.put(name, value, word, what)
            return True
    return False


def _take_run(draft: _Draft, word: str) -> bool:
    found = _RUN.fullmatch(word)
    if found is None:
        return False
    if int(found[1]) < 1:
        raise Misread("run", word, "runs count from 1")
    draft.put("run", int(found[1]), word, "the run")
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
    _take_count("cones", "cones", marks.cones),
    _take_count("misses", "missed gates", marks.misses),
    _take_word,
    _take_run,
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


def write_run(line: RunLine, decimals: int) -> str:
    """The line in its shortest sure writing: ``read_run`` gives the same value back."""
    parts = [*_written_balance(line), *_written_result(line, decimals)]
    parts += [line.surface] if line.surface else []
    parts += [f"r{line.run}"] if line.run else []
    parts += [f"! {line.unsafe}"] if line.unsafe else []
    parts += [f"# {line.note}"] if line.note else []
    return " ".join(parts)


def _written_balance(line: RunLine) -> list[str]:
    felt = [getattr(line, name) for name in PHASES]
    while felt and felt[-1] is None:
        felt.pop()
    mark = {True: ["m"], False: [] if felt else ["ok"], None: []}[line.mistake]
    return [words.balance(value) for value in felt] + mark


def _written_result(line: RunLine, decimals: int) -> list[str]:
    parts = [] if line.time_ms is None else [words.seconds(line.time_ms, decimals)]
    parts += [f"+{line.cones}"] if line.cones else []
    parts += [f"miss{line.misses}"] if line.misses else []
    return parts + ([{"rerun": "re"}.get(line.status, line.status)] if line.status else [])


def said_fields(line: RunLine) -> dict[str, object]:
    """Only what the line says."""
    return {item.name: value for item in fields(line) if (value := getattr(line, item.name)) is not None}
