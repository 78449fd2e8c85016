"""The event's own page: every value and what it means, each rule worked on made-up runs, what a change does to the
standings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from paddock import words as say
from paddock.engine.check.figures import without_factor
from paddock.engine.scoring import plain
from paddock.engine.scoring.tables import Standing, Standings
from paddock.entry.codes import CodeTable
from paddock.entry.event import gauge_text, read_event_value, value_shown
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, Row, TimeRow
from paddock.model.settings import CHOICES, RULES, VALUES, WANTED, Settings
from paddock.model.units import Measured, parse_time_ms
from paddock.pages.document import Block, Column, Document, Heading, PageTable, Piece, words
from paddock.pages.document import TableRow as Line

LISTS = ("classes", "index", "gauges")


@dataclass(frozen=True, slots=True)
class EventLine:
    """One line of the page. ``id``: the dotted key, or ``class:ASH``, ``index:FIR``, ``gauge:pen``, ``car:58``.

    ``text``: as it is typed, blank: not in the file; ``wrong``: what the file's line has against it.
    """

    id: str
    label: str
    text: str
    measure: Measured
    wrong: str = ""
    missing: bool = False

    @property
    def item(self) -> str:
        """The code, gauge or number of a line of a list; blank for a value."""
        return self.id.partition(":")[2]

    @property
    def is_list(self) -> bool:
        """A list itself, which takes new lines."""
        return self.id in LISTS


def event_lines(event: Event) -> tuple[EventLine, ...]:
    """Every value in the order of need, the lines of each list under it."""
    settings, lines = event.settings, []
    said = {problem.message.partition(":")[0]: problem.message.partition(": ")[2]
            for problem in event.problems if problem.file == "event.toml"}  # fmt: skip
    for row in VALUES:
        held = _held(settings, row.key)
        text = (
            held if isinstance(held, str) and row.key in ("classes", "index", "gauges") else value_shown(row.key, held)
        )
        missing = not text and row.key in WANTED
        lines.append(EventLine(row.key, row.label, text, row, said.get(row.key, ""), missing))
        lines += _below(event, row)
    return tuple(lines)


def _held(settings: Settings, key: str) -> Any:
    if key == "classes":
        return say.plural(len(settings.classes), "class", "classes") if settings.classes else ""
    if key == "index":
        return say.plural(len(settings.index.factors), "factor") if settings.index.factors else ""
    if key == "gauges":
        return say.plural(len(settings.gauges), "gauge") if settings.gauges else ""
    node: Any = settings
    for name in key.split("."):
        node = getattr(node, name)
    return node


def _without_factor(event: Event, code: str) -> bool:
    """The class has no factor, and nobody is in it, or somebody whose own code has none either."""
    factors = event.settings.index.factors
    codes = [row.index or code for row in event.entrants if row.class_ == code]
    return any(own not in factors for own in codes or [code])


_NO_FACTOR = "no index factor, so its entrants get no index time: type it here, like 0.812"


def _below(event: Event, row: Measured) -> Iterator[EventLine]:
    settings = event.settings
    if row.key == "mine.numbers":
        for number in settings.mine.numbers:
            car = event.car_name_of(number) or ""
            yield EventLine(f"car:{number}", f"  car of {number}", car, _CAR, missing=not car)
    elif row.key == "classes":
        faulty = without_factor(event.entrants, settings)
        for item in settings.classes:
            factor = settings.index.factors.get(item.code)
            parts = (None if factor is None else str(factor), item.scored_by, item.name)
            text = " ".join(part for part in parts if part)
            wrong = _NO_FACTOR if item.code in faulty else ""
            wanted = item.scored_by == "index" and _without_factor(event, item.code)
            yield EventLine(f"class:{item.code}", f"  {item.code}", text, row, wrong, missing=wanted)
    elif row.key == "index":
        known = {item.code for item in settings.classes}
        for code, factor in settings.index.factors.items():
            if code not in known:
                yield EventLine(f"index:{code}", f"  {code}", str(factor), row)
    elif row.key == "gauges":
        for gauge in settings.gauges:
            text = gauge_text(gauge.step_psi, gauge.repeat_psi, gauge.offset_psi)
            yield EventLine(f"gauge:{gauge.id}", f"  {gauge.id}", text, row)


_CAR = Measured("Car", "", "Which car this entry drives: two entries may share one.",
                "Enter, then the name of a car, like estate; one that is not there yet is made.",
                "No pressures, tyres, torques or set-up for this entry.")  # fmt: skip


def event_table(lines: Sequence[EventLine]) -> PageTable:
    """A row a value; ``?`` stands before what is missing, ``!`` before what can't be."""
    columns = (Column(""), Column("what", most=24), Column("is", most=90), Column("", drop=1))
    return PageTable(columns, tuple(Line(_cells(line), line.id) for line in lines))


def _cells(line: EventLine) -> tuple[str | Piece, ...]:
    mark = "!" if line.wrong else "?" if line.missing else " "
    shown = Piece(line.text or "-", "" if line.text else "quiet")
    return (Piece(mark, "warn"), line.label, shown, line.measure.unit if ":" not in line.id else "")


def value_page(event: Event, line: EventLine) -> Document:
    """The line in hand in full: what it means, where to find it, what it can be, and a rule worked out."""
    row = line.measure
    unit = f", {row.unit}" if row.unit else ""
    head = (
        f"{line.label.strip()}{unit}. {row.meaning}" if ":" not in line.id else f"{line.label.strip()}: {row.meaning}"
    )
    blocks: list[Block] = [words((head, "strong"))]
    if line.wrong:
        blocks.append(words(("! ", "warn"), line.wrong))
    blocks.append(words(("How: ", "quiet"), _how(line)))
    blocks += _worked(event.settings, line.id) if line.id in RULES else _options(line.id)
    blocks.append(words(("Without it: ", "quiet"), row.without))
    if line.id == "name":
        blocks.append(words(("Its folder: ", "quiet"), event.name))
    return Document(line.id, tuple(blocks))


def _how(line: EventLine) -> str:
    kind, one, _ = line.id.partition(":")
    if not one:
        return line.measure.how
    return {
        "class": "Type a factor, index or raw, a name, or several of them; - takes the class out.",
        "index": "Type the factor; - takes it out.",
        "gauge": "Type step, repeatability and offset in psi, like 0.5 0.3 0.2; - takes it out.",
    }.get(kind, line.measure.how)


def _options(key: str) -> list[Block]:
    return [
        words((f" {word} ", "key", f"choose({word!r})"), f" {meaning}".rstrip())
        for word, meaning in CHOICES.get(key, ())
    ]


# rules worked out


_RUNS: Mapping[str, tuple[str, str]] = {
    "rules.cone_s": ("40.000+1 41.500", "41.800"),
    "rules.miss": ("40.000/1 49.000", "48.500"),
    "rules.miss_limit": ("40.000/2 57.500", "56.500"),
    "rules.count": ("41.000 40.200 40.900 39.900", "40.500 40.400 40.000 40.800"),
    "rules.days": ("40.000 | 41.000", "40.400 | 40.400"),
    "rules.index_on": ("40.000+1", "42.200"),
    "rules.index_rounding": ("40.128", "40.129"),
    "rules.ties": ("40.000 41.000", "40.000 40.500"),
}
"""Made-up runs of A and of B; ``|``: the next day, ``+1``: a cone, ``/1``: a missed gate. The index is 0.873."""
_FACTOR = Decimal("0.873")


def _worked(settings: Settings, key: str) -> list[Block]:
    """Each thing the rule can be, with what comes of it."""
    now = value_shown(key, _held(settings, key))
    if key == "rules.decimals":
        return [_choice(word, _typed(int(word)), word == now) for word, _ in CHOICES[key]]
    if key not in _RUNS:
        return []
    a, b = (_listed(text) for text in _RUNS[key])
    head = f"Made-up runs: A {a}; B {b}"
    blocks: list[Block] = [words((head, "quiet"))]
    options = dict(CHOICES.get(key, ()))
    if now not in options:
        options = {
            now: "",
            **{word: text for word, text in options.items() if not (key == "rules.miss" and word == "8")},
        }
    if key == "rules.miss_limit" and settings.rules.miss_ms is None:
        return [words("Only where a missed gate costs seconds; here it voids the run.")]
    for word, meaning in options.items():
        told = _outcome(settings, key, word)
        blocks.append(_choice(word, f"{meaning}: {told}" if meaning else told, word == now))
    return blocks


def _listed(text: str) -> str:
    days = (", ".join(_run_said(word) for word in day.split()) for day in text.split("|"))
    return ", the next day ".join(days)


def _run_said(word: str) -> str:
    time, _, misses = word.partition("/")
    return f"{time} with {say.plural(int(misses), 'gate')} missed" if misses else time


def _choice(word: str, told: str, now: bool) -> Block:
    return words((f" {word} ", "hand" if now else "key", f"choose({word!r})"), f" {told}".rstrip(), hang=2)


def _typed(decimals: int) -> str:
    """What is typed for 46.5 s, and how it is printed."""
    typed = "46512"[: 2 + decimals]
    return f"{typed} typed is {say.seconds(int(typed) * 10 ** (3 - decimals), decimals)}"


def _outcome(settings: Settings, key: str, word: str) -> str:
    """``A 42.000, B 41.800: B leads``."""
    name = key.removeprefix("rules.")
    rules = settings.rules.model_dump()
    rules |= {
        "count": "best",
        "days": "sum",
        "protest_min": None,
        "miss_limit": 0 if key == "rules.miss" else rules["miss_limit"],
    }
    rules[name] = read_event_value(key, word) if word else None
    by = "index" if name.startswith("index") else "raw"
    made = Settings.model_validate({
        "days": [date(2026, 5, 9) + timedelta(days=day) for day in range(2)], "rules": rules,
        "classes": [{"code": "A", "scored_by": by}], "index": {"factors": {"A": _FACTOR}},
    })  # fmt: skip
    times = tuple(row for number, text in zip("AB", _RUNS[key], strict=True) for row in _rows(number, text))
    tables: dict[str, tuple[Row, ...]] = {
        "entrants.csv": tuple(EntrantRow(number=number, class_="A") for number in "AB"), "times.csv": times,
    }  # fmt: skip
    table = plain.standings(Event("made up", made, tables), None).tables[0]
    scores = {row.number: row for row in table.rows}
    decimals = made.rules.decimals
    said = ", ".join(f"{number} {say.seconds(scores[number].score_ms, decimals)}" for number in "AB")
    first = [row.number for row in table.rows if row.rank == 1]
    return f"{said}: {'a tie' if len(first) > 1 else f'{first[0]} leads' if first else 'no score'}"


def _rows(number: str, text: str) -> Iterator[TimeRow]:
    for day, runs in enumerate(text.split("|"), 1):
        for run, word in enumerate(runs.split(), 1):
            time, _, misses = word.partition("/")
            time, _, cones = time.partition("+")
            yield TimeRow(day=day, run=run, number=number, time_ms=parse_time_ms(time),
                          cones=int(cones or 0), misses=int(misses or 0))  # fmt: skip


# a table to take in


def codes_page(table: CodeTable) -> Document:
    """A table of codes as it was understood, before it is taken in."""
    head = say.plural(len(table.lines), "code")
    columns = (Column("code"), Column("factor", figures=True), Column("ranked on"), Column("name", drop=1, most=40))
    rows = tuple(
        Line((line.code, "" if line.factor is None else str(line.factor), line.scored_by or "", line.name or ""))
        for line in table.lines
    )
    left = f"; {say.plural(len(table.unread), 'row')} not read: {table.unread[0]}" if table.unread else ""
    return Document("codes", (words((f"{head}{left}", "strong")), PageTable(columns, rows)))


# what a change does


def moved_page(before: Standings, after: Standings, mine: Sequence[str], decimals: int) -> Document | None:
    """How the standings would change, mine first; None: they would not."""
    told = [text for text in (_moved(table.name, before, after, mine, decimals) for table in after.tables) if text]
    gone = [table.name for table in before.tables if after.table(table.name) is None and table.leader]
    told += [f"{name}: this table goes" for name in gone]
    if not told:
        return None
    asked = words((" do it ", "hand", "take"), "  ", (" leave it ", "key", "leave"))
    return Document(
        "standings", (Heading("This changes the standings"), *(words(text, hang=2) for text in told), asked)
    )


_SHOWN = 4


def _moved(name: str, before: Standings, after: Standings, mine: Sequence[str], decimals: int) -> str:
    old, new = before.table(name), after.table(name)
    if new is None:
        return ""
    pairs = [(old.of(row.number) if old else None, row) for row in new.rows]
    changed = [(was, row) for was, row in pairs if was is None or (was.rank, was.score_ms) != (row.rank, row.score_ms)]
    changed = [(was, row) for was, row in changed if was is not None or row.rank is not None]
    ranked = [(was, row) for was, row in changed if was is None or was.rank != row.rank]
    ranked.sort(key=lambda pair: (pair[1].number not in mine, pair[1].rank or 10**6))
    if not changed:
        return ""
    if not ranked:
        own = next((pair for pair in changed if pair[1].number in mine), changed[0])
        was, row = own
        assert was is not None
        scores = f"{row.number} {say.seconds(was.score_ms, decimals)} to {say.seconds(row.score_ms, decimals)}"
        return f"{name}: nobody's place changes; {say.plural(len(changed), 'score')} do, {scores}"
    rest = f", and {len(ranked) - _SHOWN} more" if len(ranked) > _SHOWN else ""
    return f"{name}: " + ", ".join(_places(was, row) for was, row in ranked[:_SHOWN]) + rest


def _places(was: Standing | None, row: Standing) -> str:
    old = say.ordinal(was.rank) if was is not None and was.rank else "not ranked"
    return f"{row.number} {old} to {say.ordinal(row.rank) if row.rank else 'not ranked'}"
