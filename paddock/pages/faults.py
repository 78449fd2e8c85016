"""What is wrong, the most pressing first: entries not saved, entries put aside, faults and doubts in the files."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.errors import Problem
from paddock.model.event import Event
from paddock.pages.document import Block, Document, Heading, words
from paddock.words import plural


def unlisted_words(event: Event) -> str:
    """Why nothing of a number can be told, "" where it can."""
    why = event.unlisted
    return f"{why.file} {why.message}. Until then no entrant is known and nothing is worked out." if why else ""


def unread_words(event: Event, file: str, what: str) -> str:
    """What of a file is not shown, "" where all of it is. ``what``: a row of it, ``note``."""
    found = [item for item in event.problems if item.file == file and item.level == "fault"]
    if not found:
        return ""
    why = f"{found[0].at_line}: {found[0].message}"
    if file not in event.tables:
        return f"no {what} can be read: {file}{why}"
    several = len(found) > 1
    are, more = ("are", "; ! lists the others") if several else ("is", "")
    return f"{plural(len(found), 'row')} of {file} {are} out{why}{more}"


def faults_page(unsaved: Sequence[str], outside: Sequence[str], problems: Sequence[Problem]) -> Document:
    """``unsaved``: labels of entries; ``outside``: what came from outside and waits to be looked at."""
    parts = (
        ("not saved yet", "strong", unsaved),
        ("from outside, ' shows it", "", outside),
        ("faults in the files", "", [str(item) for item in problems if item.level == "fault"]),
        ("in doubt", "", [str(item) for item in problems if item.level == "warning"]),
    )
    blocks: list[Block] = []
    for title, role, texts in parts:
        blocks += [Heading(f"{title}: {len(texts)}")] if texts else []
        blocks += [words((text, role), hang=2) for text in texts]
    return Document("faults", tuple(blocks) or (Heading("nothing is wrong"),))
