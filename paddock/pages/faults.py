"""What is wrong, the most pressing first: entries not saved, entries put aside, faults and doubts in the files."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.errors import Problem
from paddock.model.event import Event
from paddock.pages.document import Block, Document, Heading, words


def unlisted_words(event: Event) -> str:
    """Why nothing of a number can be told, "" where it can."""
    why = event.unlisted
    return f"{why.file} {why.message}. Until then no entrant is known and nothing is worked out." if why else ""


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
