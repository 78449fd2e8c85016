"""Pictures: the same for the same figures, told apart without colour, and nothing in a label is obeyed."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from paddock.report.plots import STYLES, Line, bars_svg, lines_svg

HOSTILE = [
    "$\\frac{1}{0}$", "<script>alert(1)</script>", "]]><x>", "a & b", "ü ß 漢", "\u202eabc", "x" * 200, "", "%s {0}",
    "&#x41;", "it's \"quoted\"",
]  # fmt: skip


def _texts(svg: str) -> str:
    return "".join(ET.fromstring(svg).itertext())


def _sample() -> str:
    return lines_svg(
        ["1.1", "1.2", "2.1"], [Line("31", [46.5, None, 46.1]), Line("fastest", [46.0, 45.9, 45.8], [45, 45, 45], [47, 47, 47])],
        "total, s", {"target": 46.0}, breaks=[2],
    )  # fmt: skip


def test_the_same_figures_give_the_same_picture() -> None:
    assert _sample() == _sample()


def test_a_picture_stands_alone_and_runs_nothing() -> None:
    svg = _sample()
    root = ET.fromstring(svg)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert not [item for item in root.iter() if item.tag.endswith(("script", "foreignObject", "image"))]
    found = {value for item in root.iter() for name, value in item.attrib.items() if name.endswith("href")}
    assert all(value.startswith("#") for value in found)


def test_every_colour_is_a_grey() -> None:
    many = lines_svg(["a", "b"], [Line(f"{at}", [at, at + 1.0]) for at in range(len(STYLES) + 1)], "s")
    colours = re.findall(r"#([0-9a-fA-F]{6})", _sample() + many + bars_svg(["a"], [(-0.1, 0.0, 0.2)], "s"))
    assert colours
    assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)


def test_no_two_lines_look_alike_without_colour() -> None:
    looks = {(style["linestyle"], style["marker"], style.get("markerfacecolor")) for style in STYLES}
    assert len(looks) == len(STYLES)


def test_the_words_stand_in_the_picture_as_text() -> None:
    text = _texts(_sample())
    for word in ("31", "fastest", "total, s", "target", "1.1", "2.1"):
        assert word in text


@pytest.mark.parametrize("name", HOSTILE)
def test_labels_are_shown_as_they_are(name: str) -> None:
    for svg in (
        lines_svg(["a", name], [Line(name, [1.0, 2.0])], name, {name: 1.5}),
        bars_svg([name], [(0, 1, 2)], name),
    ):
        assert not [item for item in ET.fromstring(svg).iter() if item.tag.endswith("script")]
        shown = name if len(name) <= 48 else name[:40]
        assert shown in _texts(svg)


def test_lines_without_a_value_are_left_out() -> None:
    text = _texts(lines_svg(["a", "b"], [Line("gone", [None, None]), Line("here", [None, 1.0])], "s"))
    assert "gone" not in text
    assert "here" in text


def test_names_that_end_at_one_point_do_not_lie_on_each_other() -> None:
    svg = lines_svg(["a", "b"], [Line(name, [30.0, 31.0]) for name in ("LF", "RF", "LR", "RR")], "psi")
    heights = sorted(float(found) for found in re.findall(r'y="([0-9.]+)"[^>]*>(?:LF|RF|LR|RR)<', svg))
    assert len(heights) == 4
    assert all(later - earlier >= 8 for earlier, later in pairwise(heights))
