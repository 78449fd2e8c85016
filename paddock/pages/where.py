"""Where the time went, as a page: the answer, the table with its bars, my other runs; a track as it was taken in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from paddock.engine.where.answer import BEST, ElementDelta, KindDelta, WhereAnswer
from paddock.engine.where.placed import PlacedRun, sketch
from paddock.folders.tracking import Brought, placed_run, track_of
from paddock.model.event import Event
from paddock.model.rows import CourseRow, SplitRow
from paddock.pages.document import (
    Block,
    Column,
    Document,
    Heading,
    PageTable,
    Ranges,
    Sketch,
    TableRow,
    paragraphs,
    words,
)  # fmt: skip
from paddock.words import hundredths, plural, seconds

BAR = 5
"""Cells of a bar to either side."""
_LEAST_MS = 100
"""What the longest bar stands for at least: nothing is drawn for next to nothing."""


def where_page(found: WhereAnswer, *more: Block) -> Document:
    """The answer first; ``more``: stands after the table."""
    return Document("where", (*answer_lines(found), _table(found), *more, *_over(found)))


def against_words(found: WhereAnswer) -> str:
    """What my run is held against."""
    if found.against == BEST:
        return "the best of each element"
    whose, _, run = found.against.rpartition("run ")
    day, _, run = run.partition(".")
    of_day = "" if int(day) == found.day else f" of day {day}"
    return f"{whose}run {run}{of_day}"


def answer_lines(found: WhereAnswer) -> tuple[Block, ...]:
    """The largest losses that are sure, the sum, and what the best parts together would be."""
    lost = sorted((item for item in found.elements if item.verdict == "lost"), key=lambda item: -item.delta_ms)
    gained = sorted((item for item in found.elements if item.verdict == "gained"), key=lambda item: item.delta_ms)
    head = f"run {found.run} of day {found.day} ({seconds(found.official_ms)}) against {against_words(found)}: "
    said = [head + f"{hundredths(found.official_delta_ms)} s"]
    if lost:
        said.append("lost: " + ", ".join(f"{item.name} {hundredths(item.delta_ms)}" for item in lost[:3]))
    if gained:
        said.append("gained: " + ", ".join(f"{item.name} {hundredths(item.delta_ms)}" for item in gained[:3]))
    if not lost and not gained:
        said.append("no element differs by more than its range: can't tell where")
    return (words((said[0], "strong"), hang=2), *paragraphs(said[1:]))


def bar(delta_ms: int, most_ms: int) -> str:
    """A bar from the middle: to the right lost, to the left gained."""
    size = round(abs(delta_ms) / most_ms * BAR) if most_ms else 0
    left = "◄" + "━" * (size - 1) if delta_ms < 0 and size else ""
    right = "━" * (size - 1) + "►" if delta_ms > 0 and size else ""
    return f"{left:>{BAR}}│{right:<{BAR}}"


def _table(found: WhereAnswer) -> PageTable:
    most = max(_LEAST_MS, *(abs(item.delta_ms) for item in found.elements))
    columns = (
        Column("element", most=22), Column("kind", drop=4), Column("mine", figures=True, drop=5),
        Column("theirs", figures=True, drop=5), Column("delta", figures=True), Column("±", figures=True),
        Column("gain │ lost", drop=1), Column("", drop=3),
    )  # fmt: skip
    rows = [
        TableRow(
            (item.name, item.kind, _short(item.mine_ms), _short(item.theirs_ms), hundredths(item.delta_ms),
             f"{item.error_ms / 1000:.2f}", bar(item.delta_ms, most), _said(item)),
            id=f"{item.element}", mine=item.verdict == "lost",
        )
        for item in found.elements
    ]  # fmt: skip
    total = sum(item.mine_ms for item in found.elements), sum(item.theirs_ms for item in found.elements)
    rows.append(TableRow(("together", "", _short(total[0]), _short(total[1]), hundredths(found.sum_ms), "", "", "")))
    return PageTable(columns, tuple(rows))


def _short(ms: int) -> str:
    return f"{ms / 1000:.2f}"


def _said(item: ElementDelta) -> str:
    return "" if item.verdict == "can't tell" else item.verdict


def _over(found: WhereAnswer) -> tuple[Block, ...]:
    """The same over my runs of the day, and the best parts together."""
    if found.runs < 2:
        return ()
    columns = (
        Column("element", most=24), Column("lost on average", figures=True), Column("varies", figures=True),
        Column("lost in", figures=True),
    )  # fmt: skip
    rows = tuple(
        TableRow((item.name, hundredths(item.mean_lost_ms), "-" if item.sd_ms is None else f"{item.sd_ms / 1000:.2f}",
             f"{item.lost_in} of {item.runs}"))
        for item in found.over_runs
    )  # fmt: skip
    return (
        Heading(f"over {plural(found.runs, 'run')} of the day, against {against_words(found)}"),
        *paragraphs([text for text in (always(found), varies(found), together(found)) if text]),
        PageTable(columns, rows),
    )


def always(found: WhereAnswer) -> str:
    """The element lost in every run, or in all but the one it is held against."""
    least = found.runs - (1 if found.against == BEST else 0)
    often = [item for item in found.over_runs if item.runs == found.runs and item.lost_in >= max(2, least)]
    if not often:
        return ""
    worst = max(often, key=lambda item: item.mean_lost_ms)
    every = "in every run but the best of it" if found.against == BEST else "every time"
    return f"lost {every}: {worst.name}, {hundredths(worst.mean_lost_ms)} s on average"


def varies(found: WhereAnswer) -> str:
    """The element that differs most from run to run."""
    known = [(item.sd_ms, item) for item in found.over_runs if item.sd_ms]
    if not known:
        return ""
    spread, most = max(known, key=lambda pair: pair[0])
    return f"varies most: {most.name}, by {spread / 1000:.2f} s from run to run"


def together(found: WhereAnswer) -> str:
    """The best elements together, and what they are without the luck of being picked."""
    off = found.best_elements_unbiased_ms - found.best_elements_ms
    said = f"best elements together: {seconds(found.best_elements_ms)}, in no one run"
    if off >= 5:
        said += (f"; {seconds(found.best_elements_unbiased_ms)} with the bias of picking the best of "
                 f"{found.runs} taken off")  # fmt: skip
    return said


def sketch_of(placed: PlacedRun, official_ms: int) -> Sketch:
    """The line a run drove from above, its marks by their numbers."""
    marks = tuple((gate.x_m, gate.y_m, f"{gate.element}") for gate in placed.line.gates)
    caption = "the line driven, north up; figures are the marks"
    return Sketch(sketch(placed, official_ms / 1000), marks, "The line driven, seen from above.", caption)


def sketch_of_run(folder: Path, event: Event, key: tuple[int, int, str], official_ms: int) -> Sketch | None:
    """:func:`sketch_of` the run of a day, run and number, its track read from the folder; None where it has none."""
    placed = placed_run(folder, event, key)
    return None if placed is None else sketch_of(placed, official_ms)


def line_waits(event: Event, folder: Path, day: int, number: str) -> str:
    """What my tracks without splits wait for; blank where none does."""
    split = {(row.day, row.run, row.number) for row in event.of(SplitRow)}
    mine = {(row.day, row.run, row.number) for row in event.times if (row.day, row.number) == (day, number)}
    runs = [key[1] for key in sorted(mine - split) if track_of(folder, key) is not None]
    if not runs:
        return ""
    named = ", ".join(map(str, runs))
    return (f"The track of run {named} is in and waits for the course: name its elements on the course page and put "
            "their marks on the line.")  # fmt: skip


def ranges_of(found: WhereAnswer) -> Ranges:
    """Each element's delta with its 80 % range about nought."""
    parts = tuple(
        ((item.delta_ms - item.error_ms) / 1000, item.delta_ms / 1000, (item.delta_ms + item.error_ms) / 1000)
        for item in found.elements
    )
    told = "; ".join(
        f"{item.name} {hundredths(item.delta_ms)} ± {item.error_ms / 1000:.2f} s" for item in found.elements
    )
    return Ranges(
        tuple(item.name for item in found.elements), parts, "s, left of nought gained, right of it lost",
        f"Time lost by element against {against_words(found)}. {told}", "By element, with its 80 % range.",
    )  # fmt: skip


def course_page(course: Sequence[CourseRow], day: int, line: str, runs: int, *more: Block) -> Document:
    """The elements in the order driven. ``line``: whose track the marks are put on, "" where there is none."""
    columns = (Column("", figures=True), Column("element", most=26), Column("kind"), Column("on the line"))
    rows = tuple(
        TableRow((f"{row.element}", row.name or "", row.kind or "", "yes" if row.lat is not None else "-"),
            id=f"{row.element}")
        for row in course
    )  # fmt: skip
    empty = ("No element yet. Type the first in the order driven, like 1 slalom at the wall; the last one is the "
             "finish: 6 finish. Or type a run's marks on the where page: they begin the course.")  # fmt: skip
    elements = plural(len([row for row in course if row.element]), "element")
    said = [f"marks go on the track of {line}: 2 at 15.10 puts mark 2 where it was after 15.10 s"] if line else []
    if line and course:
        said += [_MOVES if any(row.element == 0 and row.lat is not None for row in course) else _LAUNCH]
    said += [_MEANT] if course else []
    head = words((f"day {day}: {elements}, {plural(runs, 'run')} with splits", "strong"))
    return Document("course", (head, PageTable(columns, rows, empty=empty), *paragraphs(said, "quiet"), *more))


_MOVES = "0 at 0.40 puts start and finish 0.40 s further on"
_LAUNCH = (
    "The first mark puts start and finish there too: where the track launched, and its official time later. Is the "
    "clock started after a run-up, 0 at 2.40 first puts both 2.40 s further on; else every mark is off."
)

_MEANT = ("A mark is passed when the front axle passes its cone; the same cone every time, or the splits drift. An "
          "element's time is from the mark before it to its own.")  # fmt: skip


def kind_words(found: Sequence[KindDelta]) -> tuple[str, ...]:
    """By kind of element: what is more than its range, and what can't be told."""
    lines = []
    words_of = {"gained": "gained", "lost": "lost", "can't tell": "can't tell, for the runs' own scatter"}
    for verdict, text in words_of.items():
        kinds = [item for item in found if item.verdict == verdict]
        if kinds:
            each = (f"{item.kind} {hundredths(item.delta_ms)} ± {item.error_ms / 1000:.2f}" for item in kinds)
            lines.append(f"{text}: {', '.join(each)}")
    if found:
        lines.append(f"from splits of {plural(found[0].without, 'run')} without and {found[0].having} with it")
    return tuple(lines)


def replaced_words(brought: Brought) -> str:
    """What stood there before."""
    return f"replaced: {', '.join(brought.replaced)}; undo brings back what was there"


def track_page(brought: Brought) -> Document:
    """What the file was, how it fits the official time, and how many splits it gave."""
    placed = brought.placed
    rate = f"{placed.hz:.0f} a second" if placed.hz >= 1 else f"one every {1 / placed.hz:.0f} s" if placed.hz else ""
    kind = "a phone" if placed.phone else "a receiver"
    speed = "with speed" if placed.has_speed else "without speed"
    said = [f"{brought.file}: {plural(placed.fixes, 'fix', 'fixes')} of the run, {rate}, {speed}, taken as {kind}"]
    if placed.skipped:
        said.append(f"{plural(placed.skipped, 'fix', 'fixes')} or sentences could not be used and were skipped")
    if placed.length_s is not None:
        said.append(f"start to finish {placed.length_s:.2f} s, the official time {brought.official_s:.3f}")
    said.append(f"{plural(brought.written, 'split')} written to splits.csv" if brought.written else "no split written")
    if brought.replaced:
        said.append(replaced_words(brought))
    if brought.again:
        said.append(f"worked out again on the new line: {plural(len(brought.again), 'other track')}")
    return Document("track", (*paragraphs(said), *(words((f"! {text}", "warn"), hang=2) for text in brought.doubts)))
