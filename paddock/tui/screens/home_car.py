"""The car on the home page: four corners, the next pressures, the set-up in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock import words
from paddock.tui.paint import Piece, TextLine, cut, line, rule, width_of, wrapped

if TYPE_CHECKING:
    from paddock.views.home import Home

__all__ = ["car_lines"]

_SIDE = 24


def car_lines(home: Home, width: int, tight: bool) -> list[TextLine]:
    """The sketch with its answer beside it (under it where narrow), then the set-up. ``tight``: fewest rows."""
    found = home.readings
    when = "none yet" if found.moment is None else found.moment + (f" run {found.run}" if found.run else "")
    name = f"tyres, {home.unit}, {when}"
    beside = len(name) + len(home.old) + 6 <= width
    head = rule(f"{name}; {home.old}" if home.old and beside else name, width, "go('pressures')")
    old = wrapped(f"! {home.old}", width, "warn") if home.old and not beside else []
    sketch = [_axle(home, "lf", "rf", "╭─╮"), _axle(home, "lr", "rr", "╰─╯")]
    aims = [_aim(home, "lf", "rf"), _aim(home, "lr", "rr")]
    rows = [cut((*one, *two), width) for one, two in zip(sketch, aims, strict=True)]
    return [head, *old, *rows, *_advice(home, width, tight), *_setup(home, width, tight)]


def _advice(home: Home, width: int, tight: bool) -> list[TextLine]:
    """What to set, then why; a tap opens the whole of it. ``tight``: a line each."""
    lines: list[TextLine] = []
    for at, text in enumerate(home.advice):
        broken = wrapped(text, width, "" if at else "strong")
        lines += [cut(line((text, "" if at else "strong")), width)] if tight and len(broken) > 1 else broken
    return [tuple(piece._replace(tag="go('advice')") for piece in item) for item in lines]


def _axle(home: Home, left: str, right: str, car: str) -> TextLine:
    one, two = home.readings.of(left), home.readings.of(right)
    return line(
        f" {left.upper()} ", (f"{words.reading(one.psi, home.unit):>5}", "strong"), f" {car} ",
        (f"{words.reading(two.psi, home.unit):<5}", "strong"), f" {right.upper()}",
    )  # fmt: skip


def _aim(home: Home, left: str, right: str) -> TextLine:
    one, two = home.readings.of(left), home.readings.of(right)
    if one.target_psi is None:
        return ()
    text = f"  {home.readings.cold or 'hot target'} {words.reading(one.target_psi, home.unit)}"
    if one.off_psi is not None or two.off_psi is not None:
        off = (words.pressure_difference(item.off_psi, home.unit) for item in (one, two))
        text += "  off " + " ".join(off)
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
