"""What was changed, whether it was the change, and what stays in doubt."""

from __future__ import annotations

from paddock.engine.car.setup_sheet import SetupSheet, changes_of, sheet
from paddock.engine.field.effect import Effect
from paddock.engine.field.verdict import judge_all
from paddock.engine.share.names import Names
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.pages.debrief.parts import Figure, Section, grid
from paddock.pages.document import PageTable, Ranges
from paddock.words import plural

_DOUBT = (
    "One event cannot settle hundredths. The range holds the truth in 80 of 100 such cases; "
    "a verdict never rests on the decision that was taken."
)


def changes(event: Event, names: Names) -> Section | None:
    """Every change with its reason, then the verdict in words with its doubts."""
    rows = event.of(SetupChange)
    if not rows:
        return None
    undone = {row.undoes: row for row in rows if row.undoes}
    by_id = {row.id: row for row in rows}
    asked = [row for row in rows if row.undoes is None and row.kind != "repair"]
    judged = list(zip(asked, judge_all(event, asked), strict=True))
    said = [names.clean(effect.sentence) for _, effect in judged]
    table = grid(
        ("from", "entry", "what", "before", "after", "why", "expected", "then"),
        tuple(_row(names, row, undone.get(row.id), by_id.get(row.undoes or "")) for row in rows),
    )
    effects = [effect for _, effect in judged]
    doubts = _doubts([effect.controls for effect in effects])
    summary = tuple(names.clean(text) for text in _in_short(effects))
    return Section("Changes", doubts, _figure(names, effects), (table,), tuple(said), summary=summary)


def _in_short(effects: list[Effect]) -> list[str]:
    """What is said of each before its figures; those that can't be told are counted."""
    told = [effect.sentence for effect in effects if effect.verdict != "can't tell"]
    heads = [f"{text.partition(': ')[0]}." if ": " in text else text for text in told]
    rest = len(effects) - len(told)
    left = f"Can't tell about {'the other ' if heads else ''}{rest} of {plural(len(effects), 'change')}."
    return [*heads, *([left] if rest else [])]


def _row(names: Names, row: SetupChange, undo: SetupChange | None, undoes: SetupChange | None) -> tuple[str, ...]:
    then = {"keep": "kept", "revert": "to go back", None: "open"}[row.decision]
    if undoes is not None:
        then = f"takes back that of {_when(undoes)}"
    elif undo is not None:
        then = f"taken back at {_when(undo)}"
    texts = (row.item or row.setting, row.before, row.after, row.reason, row.expect)
    return (_when(row), row.number or "", *(names.clean(text) for text in texts), then)


def _when(row: SetupChange) -> str:
    return f"{row.day or '?'}.{row.run or '?'}"


def _doubts(controls: list[int]) -> tuple[str, ...]:
    if not controls:
        return ()
    least, most = min(controls), max(controls)
    told = plural(most, "other car") if least == most else f"{least} to {most} other cars"
    return (_DOUBT, f"{told} of each day {'tells' if most == 1 else 'tell'} the course.") if most else (_DOUBT,)


def _figure(names: Names, effects: list[Effect]) -> tuple[Figure, ...]:
    shown = [item for item in effects if item.extra_ms is not None and item.interval80_ms is not None]
    if not shown:
        return ()
    ranges = [_seconds(item) for item in shown]
    alt = names.clean(" ".join(item.sentence for item in shown))
    across = "← faster · seconds against the course · slower →"
    caption = "What each change gave beyond the course, with its range."
    return (
        Ranges(tuple(item.label for item in shown), tuple(ranges), across, f"Effect of each change. {alt}", caption),
    )


def _seconds(item: Effect) -> tuple[float, float, float]:
    low, high = item.interval80_ms or (0.0, 0.0)
    return low / 1000, (item.extra_ms or 0.0) / 1000, high / 1000


def set_up(event: Event, names: Names) -> Section | None:
    """Each car of mine: as it came, on the fastest run of each day, and now."""
    found: dict[str, SetupSheet] = {}
    for number in event.settings.mine.numbers:
        made = sheet(event, number)
        if made.lines and (made.car not in found or changes_of(event, number)):
            found.setdefault(made.car, made)
    if not found:
        return None
    return Section("Set-up", grids=tuple(_sheet_grid(names, item) for item in found.values()))


def _sheet_grid(names: Names, found: SetupSheet) -> PageTable:
    heads = ("setting", "as it came", *(f"day {item.day}, run {item.run}" for item in found.fastest), "now")
    rows = [
        tuple(names.clean(cell) or "-" for cell in (item.key.replace("_", " "), item.start, *item.at_fastest, item.now))
        for item in found.lines
    ]
    moved = frozenset(at for at, item in enumerate(found.lines) if len(set(item.history)) > 1)
    return grid(heads, tuple(rows), f"{found.car}: fastest run of each day; what moved stands out", strong=moved)
