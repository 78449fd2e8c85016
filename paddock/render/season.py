"""The season as one page that asks nobody for anything: points, what is to come, and what the year taught."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from paddock.errors import UsageError
from paddock.folders.seasons import SeasonView
from paddock.pages.document import Document, Heading
from paddock.pages.season import points_page, to_come_page
from paddock.render.debrief import bare_page, fragment
from paddock.store import archive


def season_html(view: SeasonView, year: Document, today: date) -> str:
    """The page, its plots inline."""
    parts = (("Points", points_page(view)), ("To come", to_come_page(view, today)), ("The year", year))
    sections = "\n".join(
        f"<section>\n{fragment(Document(title, (Heading(title), *found.blocks)))}\n</section>" for title, found in parts
    )
    facts = f"{len(view.events)} events read, {len(view.held)} with results"
    return bare_page(f"{view.name}: the season", facts, "", sections, "Rivals stand with their names.")


def write_season(view: SeasonView, year: Document, today: date, target: Path) -> Path:
    """Write the page to ``target``. Raises UsageError for a place that can't be meant, FolderError for no writing."""
    if target.suffix not in {".html", ".htm"}:
        raise UsageError(f"{target}: a page ends in .html")
    archive.write_whole(target, season_html(view, year, today).encode())
    return target
