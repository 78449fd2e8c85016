"""The debrief as one page that asks nobody for anything, and as a short text to post."""

from __future__ import annotations

import base64
import hashlib
import textwrap
from collections.abc import Callable, Iterable
from html import escape
from importlib.resources import files
from pathlib import Path

import paddock
from paddock.clean import clean, clean_lines
from paddock.errors import UsageError
from paddock.folders.seasons import earlier_events
from paddock.model.event import Event
from paddock.pages.debrief.build import Report, build
from paddock.pages.debrief.parts import Section
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
from paddock.store import archive

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


_POST_WIDTH = 80
POST_LETTERS = 1000
"""What most messages take; common practice, no source."""
_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{title}: debrief</title>
<link rel="icon" href="data:,">
<style>{style}</style>
</head>
<body>
<header>
<h1>{title}</h1>
{facts}{answers}</header>
<main>
{sections}
</main>
<footer>
<p>{named} Times in seconds; negative is faster. Made with paddock {version}.</p>
</footer>
</body>
</html>
"""


def page(report: Report) -> str:
    """The page; its policy allows the one style sheet by its hash and nothing else: no script, no outside address."""
    answers = "".join(f"<p>{escape(clean(text))}</p>" for text in report.answers)
    picture = fragment(Document("", (report.picture,))) if report.picture is not None else ""
    named = "Rivals stand with their names." if report.named else "Rivals stand under letters."
    sections = "\n".join(_section(item) for item in report.sections)
    answer = f'<div class="answer">{answers}</div>\n{picture}\n' if answers or picture else ""
    return bare_page(report.title, report.facts, answer, sections, named)


def bare_page(title: str, facts: str, answers: str, sections: str, named: str) -> str:
    """A page of HTML parts; ``title``, ``facts`` and ``named`` are plain text."""
    style = files("paddock.render").joinpath("static", "debrief.css").read_text("utf-8")
    return _PAGE.format(
        policy=escape(policy(style)),
        title=escape(clean(title)),
        style=style,
        facts=f"<p>{escape(clean(facts))}</p>\n" if facts else "",
        answers=answers,
        sections=sections,
        named=escape(clean(named)),
        version=paddock.__version__,
    )


def _section(section: Section) -> str:
    heading, *blocks = section.blocks
    inside = fragment(Document(section.title, tuple(blocks)))
    title = fragment(Document(section.title, (heading,)))
    if section.folded:
        return f"<section>\n<details><summary>{title}</summary>\n{inside}\n</details>\n</section>"
    return f"<section>\n{title}\n{inside}\n</section>"


def policy(style: str) -> str:
    """The content policy for a page with this style sheet."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"


def summary(report: Report) -> str:
    """A text to post that fits a message: title, facts, the answers of the day, then what each part has for it, as far
    as it fits into ``POST_LETTERS``. Where there are answers the results are in them."""
    told = {"Results"} if report.answers else set()
    head = "\n".join(part for part in (report.title, report.facts) if part)
    parts = ["\n".join(line for text in report.answers for line in _bullet(text))] if report.answers else []
    sections = [section for section in report.sections if section.summary and section.title not in told]
    said = {section.title: "\n".join(_to_post(section)) for section in sections}
    room, kept = POST_LETTERS - 1 - len("\n\n".join([head, *parts])), set[str]()
    for title in sorted(said, key=lambda title: _TURN.get(title, 1)):
        if len(said[title]) + 2 <= room or not (parts or kept):
            room -= len(said[title]) + 2
            kept.add(title)
    return clean_lines("\n\n".join([head, *parts, *(said[title] for title in said if title in kept)])) + "\n"


_TURN = {"Left out": 0, "Where the time went": 2}
"""What never falls out of a message, and what has its place there only where the rest leaves one."""


def _to_post(section: Section) -> list[str]:
    lines = [section.title.upper()]
    for text in section.summary:
        lines += _bullet(text)
    return lines


def _bullet(text: str) -> list[str]:
    return textwrap.wrap(text, _POST_WIDTH, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False)


def debrief_path(folder: Path) -> Path:
    """Where the page goes unless told otherwise: beside the folder."""
    home = folder.resolve()
    return home.parent / f"{home.name}-debrief.html"


def write_debrief(
    event: Event, folder: Path, target: Path, named: bool, told: Callable[[str], None] = lambda _: None
) -> tuple[Path, Path]:
    """Write the page to ``target`` and the text beside it with ``.txt``; both paths.

    ``told`` hears what is being done. Raises UsageError for a place that can't be meant, FolderError where it
    can't be written.
    """
    if target.suffix not in {".html", ".htm"}:
        raise UsageError(f"{target}: a page ends in .html")
    if target.resolve().is_relative_to(folder.resolve()):
        raise UsageError(f"{target} lies inside the event folder: name a place outside")
    report = build(event, named, told, earlier_events(folder, event))
    told("writing")
    text = target.with_suffix(".txt")
    archive.write_whole(target, page(report).encode())
    archive.write_whole(text, summary(report).encode())
    return target, text
