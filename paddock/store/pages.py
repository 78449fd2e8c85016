"""The tables of a saved or pasted page. The parser is lxml's; scripts, styles and forms' menus are dropped."""

from __future__ import annotations

import re
from itertools import islice

from lxml import etree, html

from paddock.model.rows import CellGrid
from paddock.store.plaintext import text_grids

_DROPPED = ("script", "style", "noscript", "template", "select", "svg", "head", "iframe", "object")
_DECLARED = re.compile(r"^\s*<\?xml[^>]*\?>")
_SPAN_LIMIT = 200
_TABLE_LIMIT = 300
_CELL_LIMIT = 1_000_000
_BREAKS = ("br", "p", "div", "li")


def page_grids(text: str) -> list[CellGrid]:
    """The tables of a page with two rows and two columns or more; where it has none, those of its plain text."""
    root = _root(text)
    if root is None:
        return []
    title = _line("".join(root.xpath("//title[1]//text()")))
    etree.strip_elements(root, etree.Comment, *_DROPPED, with_tail=False)
    _part(root)
    tables = islice(root.iter("table"), _TABLE_LIMIT)
    grids = [grid for table in tables if (grid := _grid(table, title)) is not None]
    if grids:
        return grids
    return [
        CellGrid(grid.rows, grid.lines, grid.name, title)
        for block in root.iter("pre")
        for grid in text_grids("".join(block.itertext()))
    ]


def _root(text: str) -> html.HtmlElement | None:
    parser = html.HTMLParser(encoding="utf-8", no_network=True, remove_pis=True, huge_tree=False)
    data = _DECLARED.sub("", text.removeprefix("\ufeff").replace("\x00", "")).encode("utf-8", "replace")
    try:
        return html.document_fromstring(data, parser=parser)
    except (etree.ParserError, etree.XMLSyntaxError, ValueError, AssertionError):
        return None


def _line(text: str) -> str:
    return " ".join(text.split())


def _part(root: html.HtmlElement) -> None:
    """Where the page would break a line, the text gets a space."""
    for item in root.iter(*_BREAKS):
        item.tail = f" {item.tail or ''}"
        if item.tag != "br":
            item.text = f" {item.text or ''}"


def _text(cell: html.HtmlElement) -> str:
    """A cell's own text; a table inside it speaks for itself."""
    if len(cell) == 0:
        return _line(cell.text or "")
    if next(cell.iter("table"), None) is None:
        return _line("".join(cell.itertext()))
    depth = sum(1 for _ in cell.iterancestors("table"))
    return _line("".join(cell.xpath(f".//text()[count(ancestor::table) = {depth}]")))


def _own_rows(table: html.HtmlElement) -> list[html.HtmlElement]:
    return [row for row in table.iter("tr") if next(row.iterancestors("table"), None) is table]


def _span(cell: html.HtmlElement, name: str) -> int:
    text = (cell.get(name) or "1").strip()
    return min(max(int(text), 1), _SPAN_LIMIT) if text.isascii() and text.isdigit() and len(text) < 6 else 1


def _grid(table: html.HtmlElement, title: str) -> CellGrid | None:
    rows: list[list[str]] = []
    size = 0
    hanging: dict[int, tuple[int, str]] = {}
    for row in _own_rows(table):
        cells, hanging = _row(row, hanging)
        rows.append(cells)
        size += len(cells)
        if size > _CELL_LIMIT:
            return None
    kept = [(line, cells) for line, cells in enumerate(rows, 1) if any(cells)]
    if sum(1 for _, cells in kept if len(set(filter(None, cells))) > 1) < 2:
        return None
    return CellGrid.of([cells for _, cells in kept], [line for line, _ in kept], _name(table), title)


def _row(row: html.HtmlElement, hanging: dict[int, tuple[int, str]]) -> tuple[list[str], dict[int, tuple[int, str]]]:
    """The cells of a row with the ones hanging from above, and what hangs into the next."""
    cells: list[str] = []
    below = {at: (left - 1, text) for at, (left, text) in hanging.items() if left > 1}
    waiting = dict(hanging)

    def take_hanging() -> None:
        while len(cells) in waiting:
            cells.append(waiting.pop(len(cells))[1])

    for cell in row.iterchildren("td", "th"):
        take_hanging()
        text, deep = _text(cell), _span(cell, "rowspan")
        for _ in range(_span(cell, "colspan")):
            if deep > 1:
                below[len(cells)] = (deep - 1, text)
            cells.append(text)
    take_hanging()
    return cells, below


def _name(table: html.HtmlElement) -> str:
    caption = next(table.iterchildren("caption"), None)
    if caption is not None and _text(caption):
        return _text(caption)
    found = table.xpath("preceding::*[self::h1 or self::h2 or self::h3 or self::h4 or self::h5 or self::h6][1]")
    return _text(found[0]) if found else ""
