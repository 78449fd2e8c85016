"""My runs of a day with what they are worth and how they differ."""

from __future__ import annotations

from dataclasses import dataclass, replace

from paddock.engine.scoring.plain import run_lines, scored_runs
from paddock.engine.scoring.tables import RunLine
from paddock.model.event import Event
from paddock.model.rows import RunRow


@dataclass(frozen=True, slots=True)
class MyRun:
    """One run. Differences of totals in ms, negative is faster; None: nothing to compare with.

    ``worked_off``: when the work for what was not safe was done, "" = it isn't.
    ``scored`` None: logged without a time yet. ``log`` None: only the time is known.
    """

    run: int
    scored: RunLine | None
    log: RunRow | None
    to_previous_ms: int | None = None
    to_best_ms: int | None = None
    worked_off: str = ""

    @property
    def counts(self) -> bool:
        """It is in the day's score."""
        return self.scored is not None and self.scored.counts

    @property
    def balance(self) -> tuple[int | None, int | None, int | None]:
        """Entry, middle, exit."""
        return (self.log.entry, self.log.mid, self.log.exit) if self.log else (None, None, None)


def my_runs(event: Event, number: str, day: int) -> tuple[MyRun, ...]:
    """Every run of the number on the day, in order; the best is the best before each run.

    What was felt has one row a run: it is of the try that stands, once that is driven.
    """
    scored = scored_runs(event, [number]).get(number, [])
    lines = run_lines(event, [day], "raw", scored)
    logs = {row.run: row for row in event.of(RunRow) if row.number == number and row.day == day}
    found: list[MyRun] = []
    totals: list[int] = []
    driven = {line.run for line in lines if line.status != "rerun"}
    for line in lines:
        total = _total(line, event, day)
        again = line.status == "rerun" and line.run in driven
        found.append(_run(line, None if again else logs.get(line.run), totals, total))
        totals += [] if total is None else [total]
    seen = {line.run for line in lines}
    found += [MyRun(run, None, log) for run, log in logs.items() if run not in seen]
    return tuple(sorted((_off(event, item) for item in found), key=lambda item: item.run))


def _off(event: Event, run: MyRun) -> MyRun:
    log = run.log
    if log is None or not log.unsafe:
        return run
    from paddock.engine.pressure.cautions import worked_off
    from paddock.engine.pressure.timeline import TimedRun

    done = worked_off(event, TimedRun(log.day, log.run, log.number, log), log.unsafe)
    return replace(run, worked_off=done or "")


def _total(line: RunLine, event: Event, day: int) -> int | None:
    """What the run is compared by: its total; of practice, which has none, time and cones."""
    if line.status != "practice" or not event.settings.is_practice(day) or line.raw_ms is None or line.misses:
        return line.total_ms
    return line.raw_ms + (line.cones or 0) * event.settings.rules.cone_ms


def _run(line: RunLine, log: RunRow | None, totals: list[int], total: int | None) -> MyRun:
    if total is None or not totals:
        return MyRun(line.run, line, log)
    return MyRun(line.run, line, log, total - totals[-1], total - min(totals))
