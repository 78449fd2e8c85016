"""The page that closes a day, laid out in rows and lines; questions and plan come from ``views.after``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.pages.document import TextLine
from paddock.render.pieces import line, wrapped
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.model.event import Event


DONE, LEFT = "x", "."


@dataclass
class Made:
    """What was written. ``there``: what lies beside the folder; ``said``: how it went; ``folder``: the next event."""

    there: frozenset[str] = frozenset()
    said: dict[str, str] = field(default_factory=dict)
    folder: Path | None = None

    def look(self, home: Path) -> None:
        """See what lies beside the folder."""
        self.there = frozenset(name for name, path in _files(home).items() if path.is_file())


def _files(home: Path) -> dict[str, Path]:
    names = {"page": f"{home.name}-debrief.html", "share": f"{home.name}-shared.zip", "zip": f"{home.name}.zip"}
    return {name: home.parent / file for name, file in names.items()}


def columns(width: int) -> list[Col]:
    """Mark, word, the rest of the line."""
    return [Col("", 1, stays=True), Col("", 8, stays=True), Col("x is done, . is left", max(10, width - 12))]


def rows_of(event: Event, made: Made, named: bool) -> list[tuple[str, Cells]]:
    """One row for each thing that closes a day."""
    from paddock.views.after import asked

    rows: list[tuple[str, Cells]] = [
        (item.topic, (DONE if item.answer else LEFT, item.name, item.answer or item.text)) for item in asked(event)
    ]
    rows.append(("plan", _plan(event)))
    for name, word, said in (
        ("page", "debrief", f"a page to keep and a text to post, rivals by {'name' if named else 'letter'}"),
        ("share", "to share", "a zip without rivals' names"),
        ("zip", "to keep", "a zip of the whole folder as it is"),
    ):
        rows.append((name, (DONE if name in made.there else LEFT, word, said)))
    rows.append(("next", (DONE if made.folder else LEFT, "next", "the next event's folder, made from this one")))
    if made.folder is not None:
        rows.append(("open", ("", "open", f"{made.folder.name}: Enter goes there")))
    return rows


def _plan(event: Event) -> Cells:
    from paddock.views.after import plan_now

    test, expect, written = plan_now(event)
    if not test:
        return (LEFT, "plan", "one thing to test next time, and what is expected of it")
    said = test + (f"; expect {expect}" if expect else "")
    return (DONE if written else LEFT, "plan", said if written else f"proposed: {said}")


def lines_under(picked: str, event: Event, home: Path, made: Made, named: bool, width: int) -> list[TextLine]:
    """The line in hand in full: the question, or what Enter does and how it went."""
    said = made.said.get("next" if picked == "open" else picked)
    if said:
        first, *rest = said.splitlines()
        return [*wrapped(first, width, "strong"), *(row for text in rest for row in _item(text, width))]
    told: dict[str, Callable[[], list[TextLine]]] = {
        "plan": lambda: _plan_under(event, width),
        "page": lambda: _page_under(home, made, named, width),
        "share": lambda: _zip_under("share", "Only the files an event is made of, rivals' names put out of them.", home,
                                    made, width),
        "zip": lambda: _zip_under("zip", "Every file as it is, names and all, with checksums.", home, made, width),
        "next": lambda: wrapped("Enter asks for its folder, days, place and forecast. Cars as they stand, tyres with "
                                "their runs, open work, rules and the plan are carried; nothing here changes.", width),
    }  # fmt: skip
    return told.get(picked, lambda: _question_under(picked, event, width))()


def _item(text: str, width: int) -> list[TextLine]:
    loud = text.startswith("! ")
    return wrapped(f"- {text.removeprefix('! ')}" if not loud else text, width, "warn" if loud else "", "  ")


def _question_under(topic: str, event: Event, width: int) -> list[TextLine]:
    from paddock.views.after import asked

    found = next((item for item in asked(event) if item.topic == topic), None)
    if found is None:
        return []
    return [*wrapped(found.text, width, "strong"), *(wrapped(found.answer, width) if found.answer else [])]


def _plan_under(event: Event, width: int) -> list[TextLine]:
    from paddock.views.after import plan_now

    test, expect, written = plan_now(event)
    lines = wrapped("What is the one thing to test next time, and what is expected of it?", width, "strong")
    if not test:
        return lines
    lines += wrapped(f"{'test' if written else 'proposed, from the test still open'}: {test}", width)
    return [*lines, *(wrapped(f"expected: {expect}", width) if expect else [])]


def _page_under(home: Path, made: Made, named: bool, width: int) -> list[TextLine]:
    path = _files(home)["page"]
    lines = wrapped(f"{_again('page', made)} {path.name} beside the folder, and the same as .txt.", width)
    return [
        *lines,
        *wrapped(f"Rivals by {'name' if named else 'letter'}; j changes that.", width),
        *_where(path, width),
    ]


def _zip_under(name: str, what: str, home: Path, made: Made, width: int) -> list[TextLine]:
    path = _files(home)[name]
    return [*wrapped(f"{_again(name, made)} {path.name}. {what}", width), *_where(path, width)]


def _again(name: str, made: Made) -> str:
    return "Enter writes anew" if name in made.there else "Enter writes"


def _where(path: Path, width: int) -> list[TextLine]:
    return [line(("in", "quiet")), *wrapped(f"{path.parent}", width, "quiet")]
