"""The chance to lead in words: class and index side by side, with what they rest on and how such answers did before."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from paddock.engine.field.chances import Chances, TableChance, chances
from paddock.engine.field.hindsight import COLD, HOT, NEXT_RUN, STEP, TREAD, UNITS, WIDE_FROM, ForecastRecord
from paddock.errors import PaddockError
from paddock.model.event import Event
from paddock.model.units import pressure_label, said_in
from paddock.pages.document import Block, Column, Document, Heading, PageTable, Piece, TableRow, Words, words
from paddock.pages.verdict_words import assumption_words
from paddock.words import plural, seconds

IF_DIFFERENT = {
    "quicker": "0.1 s quicker", "slower": "0.1 s slower", "wider": "spread x 1.5", "cones": "twice the cones",
}  # fmt: skip
"""How the engine's changed assumptions are told; short, so that both tables fit forty columns."""

_Named = Sequence[tuple[str, TableChance]]


def chances_page(found: Chances, records: Sequence[ForecastRecord] = (), practice: str = "") -> Document:
    """The whole answer. ``records``: how my chances to lead did before, none: not asked for; ``practice``: which days
    don't count."""
    both = ((f"class {found.class_name}" if found.class_name else "class", found.class_), ("index", found.index))
    known = [(name, table) for name, table in both if table.p_lead is not None]
    left = sorted({plural(table.runs_left, "run") for _, table in known})
    head = f" the chance to lead{', ' + ' or '.join(left) + ' left' if left else ''}"
    blocks: list[Block] = [words(Piece(f" {found.number} ", "hand", "switch_entry"), head)]
    if practice:
        blocks.append(words((practice, "strong"), hang=2))
        if not known:
            return Document("chances", tuple(blocks))
    if known:
        blocks.append(_side_by_side(known, _chances))
    if any(table.runs_left and not table.evidence for _, table in known):
        blocks.append(words("a safe run or a push next: no evidence that it changes anything", hang=2))
    for name, table in both:
        if table.p_lead is None:
            blocks.append(words(f"{name}: can't tell: {assumption_words(table)[0]}", hang=2))
        elif luck_words(table):
            blocks.append(words(f"{name}: {luck_words(table)}", hang=2))
    if any(table.rivals for _, table in known):
        blocks += [Heading("ends ahead of me"), _side_by_side(known, _rivals)]
    if any(table.sensitivity for _, table in known):
        blocks += [Heading("to lead, if I were different"), _side_by_side(known, _different)]
    blocks += _record(records) + _rests(known)
    return Document("chances", tuple(blocks))


def lead_words(event: Event, number: str) -> dict[str, str]:
    """``37 % to lead`` by table (a class's code, or ``index``), only while a run is left and it can be told.

    ``those in`` where somebody has no time yet: who may still come is in no answer.
    """
    try:
        found = chances(event, number)
    except PaddockError:
        return {}
    tables = {found.class_name or "": found.class_, "index": found.index}
    return {
        name: f"{share(table.p_lead)} to lead{' those in' if table.rests and table.rests.unseen else ''}"
        for name, table in tables.items()
        if table.p_lead is not None and table.runs_left
    }


def share(value: float | None) -> str:
    """``39 %``; a chance that isn't sure is never shown as 0 or 100."""
    if value is None:
        return "-"
    return "under 1 %" if 0 < value < 0.01 else "over 99 %" if 0.99 < value < 1 else f"{100 * value:.0f} %"


def luck_words(found: TableChance) -> str:
    """How much of the present gap is pace and how much luck; "" where that can't be told."""
    luck = found.luck
    if luck is None:
        return ""
    gap, pace = luck.gap_ms, round(luck.pace_ms)
    return (
        f"{luck.number} is {seconds(abs(gap))} {'ahead' if gap > 0 else 'behind'}: by pace alone you would be "
        f"{seconds(abs(pace))} {'behind' if pace > 0 else 'ahead'}; luck and cones "
        f"{'cost' if gap > pace else 'gave'} you {seconds(abs(gap - pace))}"
    )


def _side_by_side(known: _Named, rows_of: Callable[[TableChance], Sequence[tuple[str, str]]]) -> PageTable:
    """A row for each thing said of any table, a column for each table."""
    told = [dict(rows_of(table)) for _, table in known]
    labels = dict.fromkeys(label for rows in told for label in rows)
    columns = (Column(""), *(Column(name.removeprefix("class "), figures=True) for name, _ in known))
    return PageTable(columns, tuple(TableRow((label, *(rows.get(label, "-") for rows in told))) for label in labels))


def _chances(found: TableChance) -> list[tuple[str, str]]:
    rows = [("as driven", share(found.p_lead))]
    if found.p_range is not None and found.p_range[1] - found.p_range[0] >= 0.02:
        low, high = (f"{100 * value:.0f}" for value in found.p_range)
        rows.append(("as my pace may be", f"{low}-{high} %"))
    if found.runs_left and found.evidence:
        level = " (level)" if found.level else ""
        rows.append((f"safe run next{level}", share(found.p_lead_if_banked)))
        rows.append((f"push next{level}", share(found.p_lead_if_pushed)))
    return rows


def _rivals(found: TableChance) -> list[tuple[str, str]]:
    return [(item.number, share(item.p_ahead)) for item in found.rivals]


def _different(found: TableChance) -> list[tuple[str, str]]:
    return [(IF_DIFFERENT[item.what], share(item.p_lead)) for item in found.sensitivity]


def _record(records: Sequence[ForecastRecord]) -> list[Block]:
    known = [item for item in records if item.n and item.brier is not None and item.brier_base is not None]
    if not known:
        return []
    lines = [
        f"chance to {item.kind}: {plural(item.n, 'answer')} of mine held against what came: Brier {item.brier:.2f}, "
        f"always saying how often it comes {item.brier_base:.2f}"
        for item in known
    ]
    return [Heading("how such answers did"), *(words(line, hang=2) for line in lines)]


def _rests(known: _Named) -> list[Block]:
    """What is common is said once."""
    said = dict.fromkeys(text for _, table in known for text in assumption_words(table))
    lines: list[Words] = []
    for text in said:
        of = [name for name, table in known if text in assumption_words(table)]
        name = f"{of[0]}: " if len(of) == 1 and len(known) > 1 else ""
        lines.append(words(f"{name}{text}", bullet="- "))
    return [Heading("it rests on"), *lines] if lines else []


def hindsight_page(records: Sequence[ForecastRecord], events: int, unit: str = "psi") -> Document:
    """Figures with their ranges, pressures in ``unit``; then chances with their Brier scores, then what follows."""
    asked = sum(item.n for item in records)
    head = f"{plural(events, 'event')} replayed, {plural(asked, 'answer')} held against what came"
    figures = [item for item in records if UNITS[item.kind]]
    chances = [item for item in records if not UNITS[item.kind]]
    return Document(
        "hindsight",
        (
            words((head, "strong")),
            _figures(figures, unit),
            _before(chances),
            *_follows(figures),
            words((_HOW, "quiet")),
        ),
    )


_HOW = (
    "Every question was asked as of then: after each run of mine the next time, the course's step and my chances; "
    "before each run what the axles would read after it, where a range is given; before each depth reading what it "
    "would be. A range should hold what came four times in five. A Brier score is the mean square of chance less "
    "outcome, and should be under its base, that of always saying how often it comes."
)


def off_words(record: ForecastRecord, pressures: str = "psi") -> str:
    """``0.31 s``, ``0.4 psi``, ``0.12 mm``; a dash where nothing was asked."""
    if record.median_error is None:
        return "-"
    unit = UNITS[record.kind]
    if unit == "psi":
        return said_in(f"{record.median_error:.2f} psi", pressures)
    return f"{record.median_error / 1000:.2f} s" if unit == "ms" else f"{record.median_error:.2f} {unit}"


_ASKED = {
    NEXT_RUN: "my next run", STEP: "course's step", COLD: "first run {}", HOT: "later run {}", TREAD: "tread depth",
}  # fmt: skip
"""Short, so that the table fits forty columns."""


def _figures(records: Sequence[ForecastRecord], unit: str) -> PageTable:
    columns = (
        Column("asked", most=24), Column("answers", figures=True, drop=1), Column("off", figures=True),
        Column("inside", figures=True),
    )  # fmt: skip
    rows = tuple(
        TableRow(
            (
                _ASKED[item.kind].format(pressure_label(unit)),
                f"{item.n}",
                off_words(item, unit),
                "-" if item.inside80 is None else f"{100 * item.inside80:.0f} %",
            )
        )
        for item in records
    )
    return PageTable(columns, rows)


def _before(records: Sequence[ForecastRecord]) -> PageTable:
    names = ("chance to", "answers", "Brier", "base", "reliability", "resolution")
    columns = tuple(Column(name, figures=at > 0, drop=max(0, at - 3)) for at, name in enumerate(names))
    rows = tuple(
        TableRow((item.kind, f"{item.n}", *("-" if value is None else f"{value:.3f}" for value in
             (item.brier, item.brier_base, item.reliability, item.resolution))))
        for item in records
    )  # fmt: skip
    return PageTable(columns, rows, empty="no chance could be held against an outcome yet")


_USED = {
    NEXT_RUN: "; chances and verdicts are reckoned with that",
    COLD: "; the cold plan of paddock next is told with that",
}


def _follows(records: Sequence[ForecastRecord]) -> list[Words]:
    said = []
    for item in records:
        if item.wider > 1.0:
            used = _USED.get(item.kind, "")
            said.append(words(f"{item.kind}: ranges were too narrow, take them {item.wider:.1f} times as wide{used}."))
    few = [item.kind for item in records if 0 < item.n < WIDE_FROM]
    if few:
        said.append(words(f"too few answers to call a range wide or narrow: {', '.join(few)}"))
    return said
