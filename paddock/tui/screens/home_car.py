"""The car on the home page: four corners, the next pressures, the set-up in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock import words
from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import cut, line, rule, width_of, wrapped

if TYPE_CHECKING:
    from paddock.views.home import Home


_SIDE = 24
_OLD_MIN = 10.0
_NARROW = 60


def car_lines(home: Home, width: int, tight: bool) -> list[TextLine]:
    """The sketch with its answer beside it (under it where narrow), then the set-up. ``tight``: fewest rows."""
    name = f"tyres, {home.unit}, {_read(home)}" if home.moment else f"tyres, {home.unit}"
    beside = len(name) + len(home.as_of) + 6 <= width
    head = rule(f"{name}; {home.as_of}" if home.as_of and beside else name, width, "go('pressures')")
    old = wrapped(home.as_of, width, "quiet") if home.as_of and not beside else []
    sketch = [_axle(home, "lf", "rf", "╭─╮"), _axle(home, "lr", "rr", "╰─╯")]
    aims = [_aim(home, "lf", "rf"), _aim(home, "lr", "rr")]
    rows = [cut((*one, *two), width) for one, two in zip(sketch, aims, strict=True)]
    advice, setup = _advice(home, width, tight), _setup(home, width, tight)
    if width < _NARROW:
        return [head, *old, *advice, *rows, *setup]
    return [head, *old, *rows, *advice, *setup]


def setting_lines(home: Home, width: int) -> list[TextLine]:
    """What to set, before anything else where the page is narrow; a tap opens the whole of it."""
    broken = wrapped(home.advice[0], width, "strong") if home.advice else []
    return [tuple(piece._replace(tag="go('advice')") for piece in item) for item in broken]


def _read(home: Home) -> str:
    """What the sketch shows, in words."""
    moment = home.moment
    if moment is None or moment.now is None or moment.known.step is None:
        return "none read yet" if moment is None or moment.name == "before" else "nothing that counts now"
    reading = moment.known.step.reading
    run = f" run {reading.row.run}" if reading.row.run else ""
    minutes = moment.known.age_min
    age = f", {words.ago(minutes)}" if minutes is not None and minutes >= _OLD_MIN and not moment.known.rested else ""
    return f"{reading.moment}{run}{age}"


def _advice(home: Home, width: int, tight: bool) -> list[TextLine]:
    """What to set, then why; a tap opens the whole of it. ``tight``: a line each."""
    lines: list[TextLine] = []
    said = home.advice if width >= _NARROW else home.advice[1:]
    for at, text in enumerate(said, len(home.advice) - len(said)):
        broken = wrapped(text, width, "" if at else "strong")
        lines += [cut(line((text, "" if at else "strong")), width)] if tight and len(broken) > 1 else broken
    return [tuple(piece._replace(tag="go('advice')") for piece in item) for item in lines]


def _axle(home: Home, left: str, right: str, car: str) -> TextLine:
    now = home.moment.now.as_dict() if home.moment is not None and home.moment.now is not None else {}
    one, two = (words.reading(now.get(corner), home.unit) for corner in (left, right))
    return line(f" {left.upper()} ", (f"{one:>5}", "strong"), f" {car} ", (f"{two:<5}", "strong"), f" {right.upper()}")


def _aim(home: Home, left: str, right: str) -> TextLine:
    moment = home.moment
    if moment is None or (moment.aim[left] is None and moment.aim[right] is None):
        return ()
    aims = [words.reading(moment.aim[corner], home.unit) for corner in (left, right)]
    text = f"  {moment.aim_is} {aims[0]}" + (f" {aims[1]}" if aims[1] != aims[0] else "")
    now = moment.now
    off = [
        None if now is None or (psi := now[corner]) is None or (aim := moment.aim[corner]) is None else psi - aim
        for corner in (left, right)
    ]
    if any(value is not None for value in off):
        text += "  off " + " ".join(words.pressure_difference(value, home.unit) for value in off)
    return line(text)


def _setup(home: Home, width: int, tight: bool) -> list[TextLine]:
    pieces: list[Piece] = [Piece("set-up: ", "quiet", "go('changes')")]
    for item in home.setup:
        role = "strong" if item.changed else ""
        gap = "" if len(pieces) == 1 else "   "
        star = "*" if item.changed else ""
        pieces.append(Piece(f"{gap}{item.key.replace('_', ' ')} {item.value}{star}", role, "go('changes')"))
    lines = [cut(tuple(pieces), width)] if home.setup else []
    tests = line(("on test: ", "quiet"), *((f"{text}  ", "strong", "go('changes')") for text in home.testing[-2:]))
    if home.testing and not (tight and width_of(tests) > width):
        lines.append(cut(tests, width))
    return lines[:1] if tight else lines
