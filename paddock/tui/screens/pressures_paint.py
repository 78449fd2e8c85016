"""The pressures page in lines: four corners with steppers to tap, as the car stands or one under another."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from paddock import words
from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import cut, fit, line, rule, width_of, wrapped

if TYPE_CHECKING:
    from paddock.pages.pressing import CornerNow


def corner_lines(
    corners: Mapping[str, CornerNow], walk: tuple[str, ...], hand: str | None, unit: str, width: int
) -> list[TextLine]:
    """All four; ``hand``: the corner to be read next, marked with an arrow."""
    if width < 60:
        lines = [item for corner in walk for item in _small(corners[corner], hand, unit, width)]
    else:
        lines = _car(corners, walk, hand, unit, width)
    return lines + _warnings(list(corners.values()), width)


def _warnings(corners: list[CornerNow], width: int) -> list[TextLine]:
    """Each thing to beware of once, with the corners it is about."""
    about: dict[str, list[str]] = {}
    for item in corners:
        if item.over:
            about.setdefault(item.over, []).append(item.corner.upper())
    lines = [row for over, names in about.items() for row in wrapped(f"! {' '.join(names)} {over}", width, "warn")]
    return (
        [*lines, *wrapped("What the tyre and its maker say goes before any figure here.", width, "quiet")]
        if lines
        else []
    )


def _car(
    corners: Mapping[str, CornerNow], walk: tuple[str, ...], hand: str | None, unit: str, width: int
) -> list[TextLine]:  # fmt: skip
    half = (width - 7) // 2
    lines: list[TextLine] = [rule(f"in the order {' '.join(item.upper() for item in walk)}", width)]
    for left, right, car in (("lf", "rf", "╭───╮"), ("lr", "rr", "╰───╯")):
        one, two = corners[left], corners[right]
        lines.append(_beside(_stepper(one, hand, unit), _stepper(two, hand, unit), car, half))
        middle = "│   │"
        for a, b in zip(_meaning(one, unit), _meaning(two, unit), strict=True):
            lines.append(_beside(a, b, middle if car[0] == "╭" else "     ", half))
    return lines


def _beside(one: TextLine, two: TextLine, middle: str, half: int) -> TextLine:
    left = cut(one, half)
    return (*left, Piece(" " * (half - width_of(left))), Piece(f" {middle} "), *cut(two, half))


def _stepper(item: CornerNow, hand: str | None, unit: str) -> TextLine:
    name = item.corner
    arrow = ">" if name == hand else " "
    reading = f" {words.reading(item.psi, unit):>5} "
    role = "hand" if name == hand else "strong" if item.given else "quiet"
    mark = "  " if item.given else " ?"
    return line(
        f" {arrow} {name.upper()}  ", (" - ", "key", f"bump('{name}',-1)"), (reading, role, f"take('{name}')"),
        (" + ", "key", f"bump('{name}',1)"), mark,
    )  # fmt: skip


def _meaning(item: CornerNow, unit: str) -> tuple[TextLine, TextLine]:
    known = item.target_psi is not None
    target = f"{item.aim} {words.reading(item.target_psi, unit)}" if known else f"no {item.aim} known"
    off = f", off {words.pressure_difference(item.off_psi, unit)}" if item.off_psi is not None else ""
    gain = f"since cold {words.pressure_difference(item.gain_psi, unit)}" if item.gain_psi is not None else ""
    cold = f"parked cold {words.reading(item.cold_psi, unit)}" if item.cold_psi is not None else ""
    return line((f"   {target}{off}", "")), line((f"   {', '.join(text for text in (gain, cold) if text)}", "quiet"))


def _small(item: CornerNow, hand: str | None, unit: str, width: int) -> list[TextLine]:
    first, second = _meaning(item, unit)
    return [cut(_stepper(item, hand, unit), width), line((fit(first[0].text + second[0].text, width), "quiet"))]
