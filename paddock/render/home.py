"""The home page laid out for any width and height; what it says comes from ``pages.home``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from paddock import words
from paddock.model.units import pressure_label
from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import cut, fit, folded, line, rule, width_of, wrapped

if TYPE_CHECKING:
    from paddock.pages.gap import Find
    from paddock.pages.home import Home, ShownRun
    from paddock.store.glance import Glance


NARROW, WIDE = 60, 110
_LEFT = 66


def run_tag(run: int) -> str:
    """The action of a tap on a run's row."""
    return f"mend({run})"


def home_lines(home: Home, width: int, height: int = 0, picked: int | None = None) -> list[TextLine]:
    """The whole page. ``height`` 0: any; ``picked``: the run in hand.

    Where the room is too low the second due line, the changes on test and the older runs go first.
    """
    if width >= WIDE:
        roomy = _two_columns(home, width, picked, roomy=True)
        return roomy if not height or len(roomy) <= height else _two_columns(home, width, picked)
    spare = _stacked(home, width, picked, 2, 8)
    room = height - len(spare)
    if height and room > 0:
        whole = _stacked(home, width, picked, 2 + room, 8)
        return [*whole, *noted_lines(home, width)[: height - len(whole)]]
    if height and width >= NARROW and len(spare) > height:
        return _stacked(home, width, picked, 1 if len(spare) - height > 1 else 2, 5, tight=True)
    return spare


def _stacked(
    home: Home, width: int, picked: int | None, due: int, runs: int, tight: bool = False
) -> list[TextLine]:  # fmt: skip
    return [
        *_now(home, width),
        *(setting_lines(home, width) if width < NARROW else []),
        *_runs(home, width, picked, runs),
        *_finds(home, width),
        *car_lines(home, width, tight, roomy=width < NARROW),
        *(_due_whole(home, width) if width < NARROW else _due(home, width, due)),
    ]


def noted_lines(home: Home, width: int) -> list[TextLine]:
    """What was noted at the course's elements: for the way to the line, once all else has its room."""
    return [cut(line(("at ", "quiet"), text), width) for text in home.noted]


def _two_columns(home: Home, width: int, picked: int | None, roomy: bool = False) -> list[TextLine]:
    """``roomy``: every due job and the whole set-up, folded; else a line each."""
    room = width - _LEFT - 3
    left = [*_runs(home, _LEFT, picked, 8), (), *car_lines(home, _LEFT, False, roomy)]
    left += [(), *noted_lines(home, _LEFT)] if roomy and home.noted else []
    right = [*_finds(home, room), (), *(_due_whole(home, room) if roomy else _due(home, room, 6))]
    height = max(len(left), len(right))
    left += [()] * (height - len(left))
    right += [()] * (height - len(right))
    body = [(*_padded(one, _LEFT), Piece("   "), *two) for one, two in zip(left, right, strict=True)]
    return [*_now(home, width), (), *body]


def _padded(pieces: TextLine, width: int) -> TextLine:
    kept = cut(pieces, width)
    return (*kept, Piece(" " * max(0, width - width_of(kept))))


def _now(home: Home, width: int) -> list[TextLine]:
    if home.unlisted:
        return [tuple(piece._replace(tag="go('faults')") for piece in item)
                for item in wrapped(f"! {home.unlisted}", width, "warn")]  # fmt: skip
    if not home.number:
        return wrapped("Which car number is yours? Type it and press Enter.", width, "warn")
    mine = line((f" {home.number} ", "hand", "switch_entry"), f" {home.who}")
    other = line(("   e ", "key", "switch_entry"), (", ".join(home.others), "", "switch_entry")) if home.others else ()
    bell = line(("   bell ", "quiet", "bell"), (f"{home.bell} min", "", "bell")) if home.bell else ()
    outside = [tuple(piece._replace(tag="go('outside')") for piece in item)
               for item in wrapped(home.outside, width, "warn")] if home.outside else []  # fmt: skip
    return [cut((*mine, *other, *bell), width), *outside, *wrapped(home.next, width, "strong")]


# my runs


def _runs(home: Home, width: int, picked: int | None, most: int) -> list[TextLine]:
    wide = width >= 56
    head = (
        "─run── time ──────── total ── to last ── to best ─ balance " if wide else "─run─ time ─────── total ─ to best "
    )
    lines: list[TextLine] = [line((head + "─" * max(0, width - len(head)), "head"))]
    if not home.runs and not home.unlisted:
        lines.append(line("no run yet; type one like ", ("u1 0 o1 55487", "key")))
    for run in home.runs[-most:]:
        pieces = cut(_run_row(run, wide), width)
        role = "hand" if run.run == picked else ""
        lines.append(tuple(Piece(text, role or was, run_tag(run.run)) for text, was, _ in pieces))
    return lines + _to_begin(home, width)


def _run_row(run: ShownRun, wide: bool) -> TextLine:
    mark, role = ("*", "strong") if run.counts else (" ", "")
    if not wide:
        return line((f"{run.run:>3}{mark} {fit(run.time, 11)} {run.total:>7} {run.to_best:>9}", role))
    figures = f"{run.run:>3}{mark}  {fit(run.time, 12)} {run.total:>7} {run.to_last:>10} {run.to_best:>10}   "
    return line((figures, role), run.felt)


_KEYS = {"event": "@", "entrants": "_", "car": ";"}


def _to_begin(home: Home, width: int) -> list[TextLine]:
    """The pages that ask for what a new event still wants, one line or a line each."""
    rows = [
        line((_KEYS[page], "key", f"go('{page}')"), (f" {text}", "", f"go('{page}')")) for page, text in home.to_begin
    ]
    if not rows:
        return []
    whole = (Piece("to begin with: "), *(piece for row in rows for piece in (*row, Piece("  "))))[:-1]
    return [whole] if width_of(whole) <= width else [line("to begin with:"), *((Piece("  "), *row) for row in rows)]


# the car: four corners, the next pressures, the set-up in force


def car_lines(home: Home, width: int, tight: bool, roomy: bool = False) -> list[TextLine]:
    """The sketch with its answer beside it (under it where narrow), then the set-up.

    ``tight``: fewest rows; ``roomy``: the set-up in as many as it takes.
    """
    if home.elsewhere:
        head = rule(f"the car now, on {home.elsewhere}", width, "go('pressures')")
        return [head, *_setup(home, width, tight, roomy)]
    unit = pressure_label(home.unit)
    name = f"tyres, {unit}, {home.read}" if home.moment else f"tyres, {unit}"
    beside = len(name) + len(home.as_of) + 6 <= width
    head = rule(f"{name}; {home.as_of}" if home.as_of and beside else name, width, "go('pressures')")
    old = wrapped(home.as_of, width, "quiet") if home.as_of and not beside else []
    sketch = [_axle(home, "lf", "rf", "╭─╮"), _axle(home, "lr", "rr", "╰─╯")]
    aims = [_aim(home, "lf", "rf"), _aim(home, "lr", "rr")]
    rows = [(*one, *two) for one, two in zip(sketch, aims, strict=True)]
    if any(width_of(row) > width for row in rows):
        rows = [*_off_first(home, sketch, width), *_aims_under(home, width)]
    advice, setup = _advice(home, width, tight), _setup(home, width, tight, roomy)
    if width < NARROW:
        return [head, *old, *advice, *rows, *setup]
    return [head, *old, *rows, *advice, *setup]


def setting_lines(home: Home, width: int) -> list[TextLine]:
    """What to set, before anything else where the page is narrow; a tap opens the whole of it."""
    broken = wrapped(home.advice[0], width, "strong") if home.advice else []
    return [tuple(piece._replace(tag="go('advice')") for piece in item) for item in broken]


def _advice(home: Home, width: int, tight: bool) -> list[TextLine]:
    """What to set, then why; a tap opens the whole of it. ``tight``: a line each."""
    lines: list[TextLine] = []
    said = home.advice if width >= NARROW else home.advice[1:]
    for at, text in enumerate(said, len(home.advice) - len(said)):
        broken = wrapped(text, width, "" if at else "strong")
        lines += [cut(line((text, "" if at else "strong")), width)] if tight and len(broken) > 1 else broken
    return [tuple(piece._replace(tag="go('advice')") for piece in item) for item in lines]


def _axle(home: Home, left: str, right: str, car: str) -> TextLine:
    one, two = (words.reading(home.corners[corner], home.unit) for corner in (left, right))
    return line(f" {left.upper()} ", (f"{one:>5}", "strong"), f" {car} ", (f"{two:<5}", "strong"), f" {right.upper()}")


def _aim(home: Home, left: str, right: str) -> TextLine:
    moment = home.moment
    if moment is None or (moment.aim[left] is None and moment.aim[right] is None):
        return ()
    off = _off(home, left, right)
    return line(f"  {home.aim_is} {_aimed(home, left, right)}" + (f"  off {off}" if off else ""))


def _aimed(home: Home, left: str, right: str) -> str:
    """One figure where both sides have the same."""
    aims = [words.reading(home.moment.aim[corner] if home.moment else None, home.unit) for corner in (left, right)]
    return aims[0] + (f" {aims[1]}" if aims[1] != aims[0] else "")


def _off(home: Home, left: str, right: str) -> str:
    """How far both sides are from what is aimed at, "" = nothing to compare."""
    moment = home.moment
    if moment is None or moment.now is None:
        return ""
    now, aim = moment.now, moment.aim
    off = [
        None if (psi := now[corner]) is None or (wanted := aim[corner]) is None else psi - wanted
        for corner in (left, right)
    ]
    if all(value is None for value in off):
        return ""
    return " ".join(words.pressure_difference(value, home.unit) for value in off)


def _off_first(home: Home, sketch: Sequence[TextLine], width: int) -> list[TextLine]:
    """Little room: how far off beside the corners, without its word where even that is too much."""
    rows = []
    for axle, (left, right) in zip(sketch, (("lf", "rf"), ("lr", "rr")), strict=True):
        off = _off(home, left, right)
        named = (*axle, Piece(f"  off {off}"))
        rows.append(axle if not off else named if width_of(named) <= width else (*axle, Piece(f" {off}")))
    return rows


def _aims_under(home: Home, width: int) -> list[TextLine]:
    moment = home.moment
    if moment is None:
        return []
    front, rear = _aimed(home, "lf", "rf"), _aimed(home, "lr", "rr")
    return wrapped(f"{home.aim_is} {front} front, {rear} rear", width)


def _setup(home: Home, width: int, tight: bool, roomy: bool) -> list[TextLine]:
    pieces: list[Piece] = [Piece("set-up: ", "quiet", "go('changes')")]
    for item in home.setup:
        role = "strong" if item.changed else ""
        gap = "" if len(pieces) == 1 else "   "
        star = "*" if item.changed else ""
        pieces.append(Piece(f"{gap}{item.key.replace('_', ' ')} {item.value}{star}", role, "go('changes')"))
    lines = [cut(tuple(pieces), width)] if home.setup else []
    if roomy and home.setup:
        lines = _whole_pieces(pieces, width)
    tests = line(("on test: ", "quiet"), *((f"{text}  ", "strong", "go('changes')") for text in home.testing[-2:]))
    if home.testing and not (tight and width_of(tests) > width):
        lines.append(cut(tests, width))
    return lines[:1] if tight else lines


def _whole_pieces(pieces: Sequence[Piece], width: int) -> list[TextLine]:
    """Broken between settings only; further lines stand under the first setting."""
    inset = " " * width_of(pieces[:1])
    rows: list[list[Piece]] = [[pieces[0]]]
    for piece in pieces[1:]:
        if len(rows[-1]) > 1 and width_of([*rows[-1], piece]) > width:
            rows.append([Piece(inset)])
            piece = piece._replace(text=piece.text.lstrip())
        rows[-1].append(piece)
    return [tuple(row) for row in rows]


# what to find


def _finds(home: Home, width: int) -> list[TextLine]:
    fresh = f"to find; {home.fresh}" if home.fresh else "to find"
    lines = [rule(fit(fresh, min(len(fresh), width - 4)), width, "go('standings')")]
    if width < NARROW:
        lines[0] = rule("to find", width, "go('standings')")
    if not home.finds:
        lines.append(line("nothing to work out yet"))
    for item in home.finds:
        lines += _find_narrow(item, width) if width < NARROW else _find(item, width)
    return lines + (wrapped(home.fresh, width, "quiet") if width < NARROW else [])


def _find_narrow(item: Find, width: int) -> list[TextLine]:
    answer = "; ".join(part for part in (item.find, item.clean) if part)
    lines = [line((f"{item.table} {item.place}", "strong")), *wrapped(answer, width, "strong")]
    for text in (", ".join(item.around), item.waiting):
        lines += wrapped(text, width) if text else []
    return lines


def _find(item: Find, width: int) -> list[TextLine]:
    name = fit(item.table, max(6, len(item.table)))
    clean = line(f"; {item.clean}") if item.clean else ()
    first = (*line((name, "strong"), f" {item.place}: ", (item.find, "strong")), *clean)
    rest = "   ".join([*item.around, *([item.waiting] if item.waiting else [])])
    indent = " " * (len(name) + 1)
    lines = [first] if width_of(first) <= width else [first[:3], (Piece(indent), *line(item.clean))]
    return [*lines, *([cut(line(indent + rest), width)] if rest else [])]


# what is due


def _due(home: Home, width: int, most: int) -> list[TextLine]:
    lines = [
        cut(line(("now: " if now else "due: ", "strong"), (text, "strong" if now else "")), width)
        for now, text in home.due[:most]
    ]
    more = len(home.due) - most
    if more > 0 and lines:
        lines[-1] = (*cut(lines[-1], width - 12), *line((f"  and {more} more", "quiet")))
    return [*lines, *_faults(home, width)]


def _faults(home: Home, width: int) -> list[TextLine]:
    return [cut(line((home.faults, "warn", "go('faults')")), width)] if home.faults else []


def _due_whole(home: Home, width: int) -> list[TextLine]:
    """Every job, none cut."""
    lines = []
    for now, text in home.due:
        role = "strong" if now else ""
        lines += folded((Piece("now: " if now else "due: ", "strong"), Piece(text, role)), width, hang=5)
    return [*lines, *_faults(home, width)]


def glance_lines(found: Glance, day: int, width: int) -> list[TextLine]:
    """The first paint: my runs as the file has them, before anything is worked out."""
    lines: list[TextLine] = [line((f" {', '.join(found.numbers)} ", "hand")) if found.numbers else ()]
    lines.append(rule("my runs", width))
    runs = [run for run in found.runs if run.day in ("", str(day))] or list(found.runs)
    lines += [_glance_row(run.run, run.time, run.cones, run.status, run.number) for run in runs[-8:]]
    return lines


def _glance_row(*cells: str) -> TextLine:
    run, time, cones, status, number = cells
    struck = f"+{cones}" if cones.strip("0 ") else ""
    return line(f"{run:>3}   {fit(f'{time}{struck} {status}'.strip(), 16)} {number}")
