"""The leaves of the season page laid out in lines; what they say comes from ``views.season``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from paddock.tui.paint import Piece, TextLine, line, rule, wrapped
from paddock.tui.reader import table_lines
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.views.season import Booked, PointsShown, SeasonShown
    from paddock.views.season_rows import RowLine

__all__ = ["none_here", "open_leaf", "points_leaf", "row_cells", "row_columns", "row_whole"]

_WRITE = (
    "[points]", "by_place = [10, 8, 6, 5, 4, 3, 2, 1]", 'tables = ["class", "index"]', "[drops]", "worst = 1",
    "[[events]]", 'name = "Autumn"', "days = [2026-10-03]", "fee = 62.50", "closes = 2026-09-20",
)  # fmt: skip
"""A season.toml to begin with."""
_COLUMNS = {
    "runs": (
        ("date", 0, 10), ("event", 110, 22), ("day", 60, 3), ("run", 0, 5), ("no", 60, 4), ("result", 0, 14),
        ("total", 60, 9), ("index", 95, 9), ("balance", 70, 8), ("surface", 110, 8), ("note", 110, 40),
    ),
    "changes": (
        ("date", 60, 10), ("event", 100, 22), ("day", 60, 3), ("run", 60, 3), ("change", 0, 18), ("from", 0, 8),
        ("to", 0, 8), ("decided", 44, 10), ("expected", 100, 40),
    ),
    "tyres": (
        ("tyre", 0, 8), ("date", 0, 10), ("event", 70, 26), ("runs", 0, 4), ("before", 0, 6), ("mm in/mid/out", 60, 13),
    ),
}  # fmt: skip
"""Of each leaf: column, the width of the screen from which it is shown, its own greatest width."""
_RIGHT = frozenset({"day", "run", "no", "total", "index", "runs", "before"})
_STAYS = frozenset({"date", "change", "tyre"})
_NONE = {
    "runs": "no run of mine in these events yet: name your numbers under [mine] in event.toml, and log a run on home",
    "changes": "no change in these events yet: c and then a logs one",
    "tyres": "no tyre in these events yet: t shows the tyres of this one",
}


# points, and what is still open


def points_leaf(shown: SeasonShown, width: int) -> list[TextLine]:
    """The tables with my rows and what is around them; what was left out is named first."""
    lines = [*wrapped(shown.head, width, "strong"), *_left_out(shown.left_out, width)]
    if not shown.ruled:
        return [*lines, *_unruled(width)]
    if not shown.points:
        lines += wrapped("no event of the season has a result yet", width)
    for found in shown.points:
        lines += [rule(f"{found.name}: {found.counted}", width), *_table(found, width)]
    return lines


def _left_out(problems: Sequence[str], width: int) -> list[TextLine]:
    return [piece for text in problems for piece in wrapped(f"! {text}", width, "warn", "  ")]


def _unruled(width: int) -> list[TextLine]:
    said = (
        "There is no season.toml beside this event's folder, so no points are added up; runs, changes and tyres of "
        "the events there stand on the other leaves. Write one, like"
    )
    end = "and open this page again. docs/methods/season.md has every key."
    return [*wrapped(said, width), (), *(line(f"  {text}") for text in _WRITE), (), *wrapped(end, width, "quiet")]


def _table(found: PointsShown, width: int) -> list[TextLine]:
    head = ("", "", "driver", "number", "points", "counted")
    if width < 60:
        rows = [(mark, place, driver, points) for mark, place, driver, _, points, _ in found.rows]
        lines = _marked(rows, ("", "", "driver", "points"), width, frozenset({1}))
    else:
        lines = _marked(found.rows, head, width, frozenset({1, 3, 4}))
    for driver, events in found.mine:
        lines += [(), line((f"{driver}, event by event", "strong"))]
        lines += table_lines(events, width, ("event", "place", "score", "points"), frozenset({1, 2}))
    return lines


def _marked(
    rows: Sequence[Sequence[str]], head: Sequence[str], width: int, right: frozenset[int]
) -> list[TextLine]:  # fmt: skip
    """My rows begin with > and stand out."""
    lines = table_lines(rows, width, head, right)
    return [tuple(Piece(piece.text, "strong") for piece in item) if item[0].text[:1] == ">" else item for item in lines]


def open_leaf(shown: SeasonShown, width: int) -> list[TextLine]:
    """What each event left could change, then the booked events and their fees."""
    if not shown.ruled:
        return _unruled(width)
    lines: list[TextLine] = []
    for head, stakes in shown.open:
        lines += wrapped(head, width, "strong")
        for event, said in stakes:
            lines += [line("  ", *pieces) for pieces in wrapped(f"{event}: {said}", width - 2)]
        lines.append(())
    if not shown.open:
        lines += wrapped("nothing is left to win or lose: write the events to come under [[events]]", width)
    return [*lines, *_bookings(shown.booked, shown.fees, width)]


def _bookings(booked: Sequence[Booked], fees: str, width: int) -> list[TextLine]:
    if not booked:
        return []
    lines = [rule("booked events", width)]
    if width >= 70:
        rows = [(item.name, item.days, item.state, item.fee, item.closes) for item in booked]
        lines += table_lines(rows, width, ("event", "days", "", "fee", "entries"), frozenset({3}))
    else:
        for item in booked:
            said = ", ".join(part for part in (item.days, item.state, item.fee, item.closes) if part)
            lines += [*wrapped(item.name, width, "strong"), *(line("  ", *row) for row in wrapped(said, width - 2))]
    return [*lines, *(wrapped(fees, width, "strong") if fees else [])]


# runs, changes, tyres


def row_columns(leaf: str, width: int) -> list[Col]:
    """The columns there is room for."""
    return [
        Col(name, right=name in _RIGHT, stays=name in _STAYS, most=most)
        for name, least, most in _COLUMNS[leaf] if width >= least
    ]  # fmt: skip


def row_cells(found: RowLine, columns: Sequence[Col]) -> Cells:
    """The cells of a row."""
    return tuple(found.cells[col.title] for col in columns)


def row_whole(found: RowLine | None, columns: Sequence[Col], width: int) -> list[TextLine]:
    """What the columns leave out of the row in hand."""
    if found is None:
        return []
    seen = {col.title for col in columns if len(found.cells[col.title]) <= col.most}
    rest = [(name, text) for name, text in found.cells.items() if text and text != "-" and name not in seen]
    said = [f"{label} {text}".strip() for label, text in (*rest, *found.more)]
    return wrapped("; ".join(said), width, "quiet") if said else []


def none_here(leaf: str, wanted: str, width: int) -> list[TextLine]:
    """Why a leaf has no row."""
    return wrapped(f"nothing here has {wanted}: Enter shows all again" if wanted else _NONE[leaf], width)
