"""A report as a short text to post."""

from __future__ import annotations

import textwrap

from paddock.render.clean import clean_lines
from paddock.report.build import Report
from paddock.report.parts import Section

__all__ = ["summary"]

WIDTH = 80


def summary(report: Report) -> str:
    """Title, facts, and the lines each part has for it."""
    head = [report.title, report.facts]
    parts = ["\n".join(_lines(section)) for section in report.sections if section.summary]
    return clean_lines("\n\n".join(["\n".join(part for part in head if part), *parts])) + "\n"


def _lines(section: Section) -> list[str]:
    lines = [section.title.upper()]
    for text in section.summary:
        lines += textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False)
    return lines
