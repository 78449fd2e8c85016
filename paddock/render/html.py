"""A Document as a fragment of HTML: texts escaped, tables with captions and row heads, plots as inline SVG."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from paddock.clean import clean
from paddock.pages.document import (
    Block,
    Cell,
    Document,
    Heading,
    PageTable,
    Plot,
    Ranges,
    Sketch,
    TableRow,
    TextLine,
    Words,
)
from paddock.render.pieces import text_of
from paddock.render.svg import NARROW, plot_svg, ranges_svg, sketch_svg

_LEVELS = {1: "h2", 2: "h3"}
_ROLES = {"strong": "b", "warn": "b"}
BESIDE = 4
"""Columns that have room beside each other on a phone held upright."""


def fragment(document: Document) -> str:
    """The blocks as HTML, one after another; bulleted lines in a list."""
    return "\n".join(_all(document.blocks))


def _all(blocks: Iterable[Block]) -> Iterable[str]:
    bullets: list[str] = []
    for block in blocks:
        if isinstance(block, Words) and block.bullet:
            bullets.append(f"<li>{_pieces(block.pieces)}</li>")
            continue
        if bullets:
            yield f"<ul>{''.join(bullets)}</ul>"
            bullets = []
        yield block_html(block)
    if bullets:
        yield f"<ul>{''.join(bullets)}</ul>"


def block_html(block: Block) -> str:
    """One block."""
    if isinstance(block, Heading):
        name = _LEVELS.get(block.level, "h4")
        return f"<{name}>{_text(block.text)}</{name}>"
    if isinstance(block, Words):
        return f"<p>{_pieces(block.pieces)}</p>"
    if isinstance(block, Plot):
        return _figure(plot_svg(block) + plot_svg(block, NARROW), block.caption)
    if isinstance(block, Ranges):
        return _figure(ranges_svg(block) + ranges_svg(block, NARROW), block.caption)
    if isinstance(block, Sketch):
        return _figure(sketch_svg(block) + sketch_svg(block, NARROW), block.caption)
    return table_html(block)


def _figure(svg: str, caption: str) -> str:
    words = f"<figcaption>{_text(caption)}</figcaption>" if caption else ""
    return f"<figure>{svg}{words}</figure>" if svg else ""


def table_html(table: PageTable) -> str:
    """A table that scrolls within itself where it is wide; the first column of words names the row.

    One of more than ``BESIDE`` columns says beside each cell what it is, for where a row has no room on one line.
    """
    if not table.rows:
        return f"<p>{_text(table.empty)}</p>" if table.empty else ""
    shown = [at for at in range(len(table.columns)) if any(text_of(row.cells[at]).strip() for row in table.rows)]
    named = next((at for at in shown if not table.columns[at].figures and table.columns[at].title), -1)
    caption = f"<caption>{_text(table.caption)}</caption>" if table.caption else ""
    head = "".join(f'<th scope="col"{_right(table, at)}>{_text(table.columns[at].title)}</th>' for at in shown)
    many = len(shown) > BESIDE
    body = "".join(_row(table, row, shown, named, many) for row in table.rows)
    heads = f"<thead><tr>{head}</tr></thead>" if any(table.columns[at].title for at in shown) else ""
    label = escape(clean(table.caption or " ".join(table.columns[at].title for at in shown)))
    opening = f'<div class="wide{" many" if many else ""}" tabindex="0" role="region" aria-label="{label}">'
    return f"{opening}<table>{caption}{heads}<tbody>{body}</tbody></table></div>"


def _row(table: PageTable, row: TableRow, shown: list[int], named: int, many: bool) -> str:
    cells = []
    for at in shown:
        name, scope = ("th", ' scope="row"') if at == named else ("td", "")
        title = table.columns[at].title if many and at != named and text_of(row.cells[at]).strip() else ""
        label = f' data-label="{escape(clean(title))}"' if title else ""
        cells.append(f"<{name}{scope}{_right(table, at)}{label}>{_cell(row.cells[at])}</{name}>")
    mine = ' class="mine"' if row.mine else ""
    return f"<tr{mine}>{''.join(cells)}</tr>"


def _right(table: PageTable, at: int) -> str:
    return ' class="figure"' if table.columns[at].figures else ""


def _cell(cell: Cell) -> str:
    return _text(cell) if isinstance(cell, str) else _pieces((cell,))


def _pieces(pieces: TextLine) -> str:
    made = []
    for text, role, _ in pieces:
        name = _ROLES.get(role, "")
        made.append(f"<{name}>{_text(text)}</{name}>" if name else _text(text))
    return "".join(made)


def _text(text: str) -> str:
    return escape(clean(text))
