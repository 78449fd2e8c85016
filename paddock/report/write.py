"""The debrief written: the page, and the short text beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from paddock.errors import UsageError
from paddock.model.event import Event

__all__ = ["debrief_path", "write_debrief"]


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
    from paddock.report.build import build
    from paddock.report.html import page
    from paddock.report.plain import summary
    from paddock.store.archive import write_whole

    report = build(event, named, told)
    told("writing")
    text = target.with_suffix(".txt")
    write_whole(target, page(report).encode())
    write_whole(text, summary(report).encode())
    return target, text
