"""The runs a row holds, whether they stand side by side or one to a row."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from paddock.engine.results.cells import Result, read_count, read_penalty_ms, read_result, split_penalty, tidy
from paddock.engine.results.columnmap import ColumnMap
from paddock.engine.results.seen import Posted, Unread
from paddock.engine.results.vocabulary import status_of
from paddock.engine.results.who import Entry
from paddock.model.kinds import KINDS
from paddock.model.settings import Rules

_RUN = re.compile(r"\D*(\d{1,2})\D*")
_NOTHING = Result()


class RunReader:
    """Reads the runs of entries by one column map; ``says_cones``: a time without cones is a clean one."""

    def __init__(self, columns: ColumnMap, rules: Rules, day: int, says_cones: bool) -> None:
        self.columns = columns
        self.at = columns.columns
        self.rules = rules
        self.day = day
        self.says_cones = says_cones or any(role.startswith(("cones", "penalty")) for role in self.at)
        gates = ("misses", "penalty") if rules.miss_ms else ("misses",)
        self.says_misses = any(role.startswith(gates) for role in self.at)
        self._seen: dict[str, int] = {}

    def read(self, entry: Entry) -> Iterator[Posted | Unread]:
        """The runs of one row, and each cell that can't be read."""
        if self.columns.runs:
            for run in self.columns.runs:
                yield from self._run(entry, run, str(run))
        else:
            yield from self._row(entry)

    def _row(self, entry: Entry) -> Iterator[Posted | Unread]:
        if "run" not in self.at:
            run = self._seen[entry.number] = self._seen.get(entry.number, 0) + 1
        else:
            text = self._text(entry, "run")
            found = _RUN.fullmatch(text)
            if found is None or not int(found[1]):
                yield Unread(entry.line, f"number {entry.number}: {text!r} is no run number")
                return
            run = int(found[1])
        yield from self._run(entry, run, "")

    def _text(self, entry: Entry, role: str) -> str:
        index = self.at.get(role)
        return tidy(entry.cells[index]) if index is not None else ""

    def _run(self, entry: Entry, run: int, suffix: str) -> Iterator[Posted | Unread]:
        try:
            result = self._result(entry, suffix)
            if result is not None:
                yield self._posted(entry, run, result)
        except ValueError as error:
            yield Unread(entry.line, f"number {entry.number}, run {run}: {error}")

    def _result(self, entry: Entry, suffix: str) -> Result | None:
        role = f"run{suffix}" if suffix else "time"
        posted = read_result(self._text(entry, role), role in self.columns.ranks)
        total = None if posted else read_result(self._text(entry, f"total{suffix}"))
        result = self._with_status(posted or total or _NOTHING, self._text(entry, f"status{suffix}"))
        if result == _NOTHING:
            return None
        result = self._with_marks(result, entry, suffix)
        return self._less_penalties(result) if total and total.time_ms is not None else result

    def _with_status(self, result: Result, text: str) -> Result:
        status = status_of(text) if text else None
        return replace(result, status=status) if status else result

    def _with_marks(self, result: Result, entry: Entry, suffix: str) -> Result:
        text = self._text(entry, f"cones{suffix}")
        status = status_of(text) if text else None
        cones = result.cones if status or not text else read_count(text)
        misses = read_count(self._text(entry, f"misses{suffix}")) if f"misses{suffix}" in self.at else result.misses
        added = (
            read_penalty_ms(self._text(entry, f"penalty{suffix}")) if result.penalty_ms is None else result.penalty_ms
        )
        if added:
            more, gates = split_penalty(added, self.rules)
            cones, misses = (cones or 0) + more, ((misses or 0) + gates) or misses
        return replace(result, cones=cones, misses=misses, penalty_ms=None, status=result.status or status)

    def _less_penalties(self, result: Result) -> Result:
        added = (result.cones or 0) * self.rules.cone_ms + (result.misses or 0) * (self.rules.miss_ms or 0)
        left = (result.time_ms or 0) - added
        if left <= 0:
            raise ValueError(f"a total of {(result.time_ms or 0) / 1000:g} s is less than its penalties")
        return replace(result, time_ms=left)

    def _posted(self, entry: Entry, run: int, result: Result) -> Posted:
        timed = result.time_ms is not None
        return Posted(
            day=self._day(entry),
            run=run,
            number=entry.number,
            time_ms=result.time_ms,
            cones=0 if timed and self.says_cones and result.cones is None else result.cones,
            misses=0 if timed and self.says_misses and result.misses is None else result.misses,
            status=result.status,
            at=self._clock(entry),
            try_=self._text(entry, "try") or None,
            line=entry.line,
        )

    def _day(self, entry: Entry) -> int:
        text = self._text(entry, "day")
        if not text:
            return self.day
        if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 999):
            raise ValueError(f"{text!r} is no day: days count from 1")
        return int(text)

    def _clock(self, entry: Entry) -> str | None:
        text = self._text(entry, "at")
        return str(KINDS["clock"].read(text)) if text else None
