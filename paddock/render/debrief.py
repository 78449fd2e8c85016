"""The debrief as one page that asks nobody for anything, and as a short text to post."""

from __future__ import annotations

import base64
import hashlib
import textwrap
from collections.abc import Callable
from html import escape
from importlib.resources import files
from pathlib import Path

import paddock
from paddock.clean import clean, clean_lines
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.pages.debrief.build import Report, build
from paddock.pages.debrief.parts import Section
from paddock.pages.document import Document
from paddock.render.html import fragment
from paddock.store import archive

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
    style = files("paddock.render").joinpath("static", "debrief.css").read_text("utf-8")
    answers = "".join(f"<p>{escape(clean(text))}</p>" for text in report.answers)
    picture = fragment(Document("", (report.picture,))) if report.picture is not None else ""
    return _PAGE.format(
        policy=escape(policy(style)),
        title=escape(clean(report.title)),
        style=style,
        facts=f"<p>{escape(clean(report.facts))}</p>\n" if report.facts else "",
        answers=f'<div class="answer">{answers}</div>\n{picture}\n' if answers or picture else "",
        sections="\n".join(_section(item) for item in report.sections),
        named="Rivals stand with their names." if report.named else "Rivals stand under letters.",
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
    """A text to post that fits a message: title, facts, the answers of the day, then what each part has for it, as long
    as it fits into ``POST_LETTERS``. Where there are answers the results are in them."""
    told = {"Results"} if report.answers else set()
    head = "\n".join(part for part in (report.title, report.facts) if part)
    parts = ["\n".join(line for text in report.answers for line in _bullet(text))] if report.answers else []
    parts += [
        "\n".join(_to_post(section)) for section in report.sections if section.summary and section.title not in told
    ]
    made = head
    for part in parts:
        if len(made) + len(part) + 3 <= POST_LETTERS or made == head:
            made += f"\n\n{part}"
    return clean_lines(made) + "\n"


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
    report = build(event, named, told)
    told("writing")
    text = target.with_suffix(".txt")
    archive.write_whole(target, page(report).encode())
    archive.write_whole(text, summary(report).encode())
    return target, text
