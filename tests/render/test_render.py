"""A Document laid out: nothing is wider than it may be, no figure is cut, no text is lost, nothing is markup."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import html5lib
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from rich.cells import cell_len

from paddock.pages.document import Column, Document, Heading, PageTable, Piece, Plot, Ranges, Series, TableRow, words
from paddock.render.debrief import fragment
from paddock.render.lines import lines, text
from paddock.render.pieces import folded
from paddock.render.plots import plot_lines, range_lines
from paddock.render.svg import plot_svg, ranges_svg, ticks

COLUMNS = (
    Column("no", figures=True),
    Column("driver", most=20),
    Column("class", drop=2, most=8),
    Column("score", figures=True),
    Column("to first", figures=True, drop=1),
)
TABLE = PageTable(
    COLUMNS,
    (
        TableRow(("7", "Ada Birkett", "ELM", "92.722", ""), tag="open('7')", mine=True),
        TableRow(("115", "Xeno of the very long name indeed", "OAK", "192.836", "+100.114")),
    ),
    caption="ELM",
)
HOSTILE = Document("x", (Heading("<b>[red]\x1b[2J"), words("<script>alert(1)</script> [/b]"), TABLE))


def plain(laid: list[tuple[Piece, ...]]) -> list[str]:
    return ["".join(piece.text for piece in line) for line in laid]


@given(st.integers(20, 140))
def test_no_line_is_wider_than_its_room_and_no_figure_is_cut(width: int) -> None:
    laid = plain(lines(Document("t", (TABLE,)), width))
    assert all(cell_len(line) <= width for line in laid)
    whole = {"7", "115", "92.722", "192.836", "+100.114"}
    for token in re.findall(r"[+\d.]+", " ".join(laid)):
        assert token in whole


def test_the_last_column_to_go_is_dropped_first() -> None:
    narrow, wide = plain(lines(Document("t", (TABLE,)), 30)), plain(lines(Document("t", (TABLE,)), 80))
    assert "ELM" in narrow[0]
    assert "class" not in narrow[1]
    assert "score" in narrow[1]
    assert "class" in wide[1]
    assert "to first" in wide[1]


def test_a_row_carries_its_action_on_every_piece() -> None:
    row = lines(Document("t", (TABLE,)), 80)[2]
    assert {piece.tag for piece in row} == {"open('7')"}
    assert {piece.role for piece in row} == {"strong"}


@example("a" + "漢" * 9, 8, 0)
@given(st.text(alphabet="ab é漢\t\u202e-", max_size=120), st.integers(8, 60), st.integers(0, 4))
def test_folding_loses_no_letter_and_fits(sentence: str, width: int, hang: int) -> None:
    made = plain(folded((Piece(sentence[:40]), Piece(sentence[40:], "strong")), width, hang))
    letters = "".join(sentence.replace("\u202e", " ").split())
    assert "".join("".join(made).split()) == letters
    assert all(cell_len(line) <= width for line in made)


def test_text_is_cleaned_and_never_markup() -> None:
    laid = text(HOSTILE, 80)
    assert "\x1b" not in laid
    assert "[red]" in laid
    page = fragment(HOSTILE)
    assert "<script>" not in page
    parsed = html5lib.HTMLParser(strict=True).parseFragment(page)
    assert parsed is not None


def test_html_tables_have_captions_and_row_heads() -> None:
    page = fragment(Document("t", (TABLE,)))
    assert "<caption>ELM</caption>" in page
    assert '<th scope="row">Ada Birkett</th>' in page
    assert '<td class="figure" data-label="score">192.836</td>' in page


def test_bullets_stand_in_one_list() -> None:
    page = fragment(Document("t", (words("one", bullet="- "), words("two", bullet="- "), words("after"))))
    assert page == "<ul><li>one</li><li>two</li></ul>\n<p>after</p>"


def test_an_empty_table_says_what_to_do() -> None:
    empty = PageTable((Column("tyre"),), (), empty="no tyres yet: write tyres.csv")
    assert text(Document("t", (empty,)), 80) == "no tyres yet: write tyres.csv"


PLOT = Plot(
    (Series("mine", ((0, 30.0), (1, 31.5), (2, 33.0)), low=(29.5, None, 32.0), high=(30.5, None, 34.0)),
     Series("<theirs> & co", ((0, 32.0), (2, 32.0)))),
    "run", "psi", "pressure by run", places=("1", "2", "3"), levels=(("target", 32.5),), breaks=(1.5,),
)  # fmt: skip


def test_equal_steps_of_rows_stand_for_equal_values() -> None:
    picture = plain(plot_lines(PLOT, 80))
    labels = [(at, float(found[1])) for at, line in enumerate(picture) if (found := re.match(r" *(-?[\d.]+) │", line))]
    steps = {round((a[1] - b[1]) / (b[0] - a[0]), 9) for a, b in pairwise(labels)}
    assert len(labels) >= 5
    assert len(steps) == 1
    step = steps.pop()
    first = next(at for at in reversed(range(len(picture))) if picture[at].partition("│")[2].startswith("●"))
    top_row, top_value = labels[0]
    assert abs(top_value - (first - top_row) * step - 30.0) <= step / 2 + 1e-9


@given(
    st.lists(st.floats(-1e4, 1e4, allow_nan=False), min_size=1, max_size=9),
    st.floats(0, 50, allow_nan=False),
    st.integers(36, 120),
)
def test_every_point_has_its_place_on_the_picture(values: list[float], least: float, width: int) -> None:
    series = Series("v", tuple((float(at), value) for at, value in enumerate(values)))
    picture = plain(plot_lines(Plot((series,), "run", "s", "", least=least), width))
    assert all(cell_len(line) <= width for line in picture)
    drawn = [at for at, line in enumerate(picture) if any("\u2800" < sign <= "\u28ff" for sign in line)]
    assert drawn
    assert len(set(values)) == 1 or len(drawn) > 1 or max(values) - min(values) < least


def test_a_flat_line_looks_flat() -> None:
    flat = Plot((Series("v", ((0, 10.0), (1, 10.001))),), "run", "s", "", least=1.0)
    rows = {at for at, line in enumerate(plain(plot_lines(flat, 60))) if line.partition("│")[2].strip()}
    assert len(rows) == 1


def test_svg_is_xml_with_its_names_as_text_and_no_style() -> None:
    for picture in (plot_svg(PLOT), ranges_svg(Ranges(("a < b", "c"), ((-0.3, -0.1, 0.1), (0.0, 0.2, 0.4)), "s", "x"))):
        tree = ElementTree.fromstring(picture)
        assert tree.get("aria-label")
        assert "style=" not in picture
        assert "script" not in picture
    assert "&lt;theirs&gt; &amp; co" in plot_svg(PLOT)


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5), st.integers(2, 9))
def test_ticks_are_round_even_and_inside(low: float, span: float, most: int) -> None:
    found = ticks(low, low + span, most)
    assert len(found) <= most
    assert all(low - span * 1e-6 <= value <= low + span * (1 + 1e-6) for value in found)


def test_a_range_is_drawn_where_it_lies() -> None:
    made = plain(range_lines(Ranges(("bar", "rear pressure"), ((-0.4, -0.2, 0.0), (0.0, 0.2, 0.4)), "s", ""), 60))
    assert made[0].index("●") < made[1].index("●")
    assert made[0].index("├") < made[0].index("●") < made[0].index("┤")


@pytest.mark.parametrize("width", [20, 40])
def test_a_heading_rules_the_whole_width(width: int) -> None:
    assert cell_len(plain(lines(Document("t", (Heading("tyres"),)), width))[0]) == width


HOSTILE_LABELS = [
    "$\\frac{1}{0}$", "<script>alert(1)</script>", "]]><x>", "a & b", "ü ß 漢", "x" * 200, "", "%s {0}", "&#x41;",
    "it's \"quoted\"",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE_LABELS)
def test_labels_in_a_picture_are_shown_as_they_are(name: str) -> None:
    line = Plot((Series(name, ((0, 1.0), (1, 2.0))),), name, name, name, places=("a", name), levels=((name, 1.5),))
    for svg in (plot_svg(line), ranges_svg(Ranges((name,), ((0.0, 1.0, 2.0),), name, name))):
        tree = ElementTree.fromstring(svg)
        assert not [item for item in tree.iter() if item.tag.endswith("script")]
        assert name[:30] in "".join(tree.itertext())


def test_names_that_end_at_one_point_do_not_lie_on_each_other() -> None:
    four = tuple(Series(name, ((0, 30.0), (1, 31.0))) for name in ("LF", "RF", "LR", "RR"))
    svg = plot_svg(Plot(four, "run", "psi", "", places=("a", "b")))
    heights = sorted(float(found) for found in re.findall(r'y="([0-9.]+)"[^>]*>(?:LF|RF|LR|RR)<', svg))
    assert len(heights) == 4
    assert all(later - earlier >= 8 for earlier, later in pairwise(heights))


def test_no_two_lines_look_alike_without_colour() -> None:
    five = tuple(Series(f"s{at}", ((0, float(at)), (1, at + 1.0))) for at in range(5))
    svg = plot_svg(Plot(five, "run", "s", ""))
    looks = re.findall(r'class="line"( stroke-dasharray="[^"]*")?/>(<(?:circle|rect|path)[^>]*class="[^"]*")', svg)
    shapes = {(dash, re.sub(r"[\d.]+", "", mark)) for dash, mark in looks}
    assert len(shapes) == 5
    assert not re.search(r"#[0-9a-fA-F]{3,6}\b", svg)
