"""The chance to lead class and index with the runs left: as things stand, after a safe run, after a push."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from paddock import words
from paddock.errors import PaddockError
from paddock.tui.paint import TextLine, line, rule, wrapped
from paddock.tui.reader import ReaderPage, table_lines

if TYPE_CHECKING:
    from paddock.tui.desk import Desk
    from paddock.views.chances import ChanceTable

__all__ = ["ChancesPage"]


class ChancesPage(ReaderPage):
    """Both tables beside each other."""

    NAME: ClassVar[str] = "chances"
    PLACEHOLDER: ClassVar[str] = "with how many runs left? type 2"
    HINTS: ClassVar[tuple[str, ...]] = ("go.standings", "go.home")
    HELP: ClassVar[str] = """
The chance that nobody is ahead of you when the runs left are driven, in your class and on index. A safe run is driven
to be clean, a push for the time; below stand the rivals likeliest to end ahead, how the chance would change if
something about you were different, and everything it rests on. The gap so far is parted into pace and luck.

Type a number of runs and press Enter to ask with so many left; Enter on the empty line goes back to the event's own.
A chance is no promise: two times in five happens twice in five.
"""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._left: int | None = None
        self._seen: tuple[tuple[int, str, int | None], tuple[ChanceTable, ...]] | None = None

    def _tables(self) -> tuple[ChanceTable, ...]:
        """Worked out once for each version of the event."""
        from paddock.views.chances import chance_tables

        key = (self.desk.open_session.version, self.desk.number, self._left)
        if self._seen is None or self._seen[0] != key:
            self._seen = (key, chance_tables(self.desk.event, self.desk.number, self._left))
        return self._seen[1]

    def leaf_lines(self, width: int) -> list[TextLine]:
        """Class and index side by side, then what each rests on."""
        try:
            tables = self._tables()
        except PaddockError as error:
            return wrapped(f"{error}: name your numbers under [mine] in event.toml", width, "warn")
        head = line((f" {self.desk.number} ", "hand", "switch_entry"), f" the chance to lead{_left(tables)}")
        return [head, *_chances(tables, width), *_rivals(tables, width), *_other(tables, width), *_rests(tables, width)]

    def accept(self, text: str) -> None:
        """So many runs left."""
        if not (text.isascii() and text.isdecimal() and len(text) <= 2):
            self.tell(f"{text}: how many runs have you left? write 2", loud=True)
            return
        self._left = int(text)
        self.clear()
        self.turn_to(0)
        self.tell(f"asked with {words.plural(self._left, 'run')} left; Enter goes back to what the event says")

    def accept_empty(self) -> None:
        """As the event says."""
        self._left = None
        self.tell("")
        self.refresh_page()


def _left(tables: Sequence[ChanceTable]) -> str:
    known = {words.plural(found.runs_left, "run") for found in tables if not found.why}
    return f", {' or '.join(sorted(known))} left" if known else ""


def _side_by_side(
    tables: Sequence[ChanceTable], rows: Sequence[tuple[tuple[str, str], ...]], width: int
) -> list[TextLine]:  # fmt: skip
    """One row for each thing said of any table, one column for each table that says something."""
    labels = dict.fromkeys(label for said in rows for label, _ in said)
    names = [found.name.removeprefix("class ") for found in tables]
    cells = [(label, *(dict(said).get(label, "-") for said in rows)) for label in labels]
    if max(map(len, labels), default=0) + sum(len(name) + 2 for name in names) <= width:
        return table_lines(cells, width, ("", *names), frozenset((1,)))
    lines: list[TextLine] = []
    for label, *said in cells:
        each = "   ".join(f"{name} {chance}" for name, chance in zip(names, said, strict=True))
        lines += [*wrapped(label, width), line(f"  {each}")]
    return lines


def _chances(tables: Sequence[ChanceTable], width: int) -> list[TextLine]:
    known = [found for found in tables if not found.why]
    lines = _side_by_side(known, [found.rows for found in known], width)
    for found in tables:
        lines += wrapped(f"{found.name}: can't tell: {found.why}", width) if found.why else []
        lines += wrapped(f"{found.name}: {found.luck}", width) if found.luck else []
    return lines


def _rivals(tables: Sequence[ChanceTable], width: int) -> list[TextLine]:
    if not any(found.rivals for found in tables):
        return []
    known = [found for found in tables if found.rivals]
    return [rule("ends ahead of me", width), *_side_by_side(known, [found.rivals for found in known], width)]


def _other(tables: Sequence[ChanceTable], width: int) -> list[TextLine]:
    known = [found for found in tables if found.other]
    if not known:
        return []
    return [rule("to lead, if it were different", width), *_side_by_side(known, [item.other for item in known], width)]


def _rests(tables: Sequence[ChanceTable], width: int) -> list[TextLine]:
    """What is common is said once."""
    said = dict.fromkeys(text for found in tables for text in found.rests)
    lines = [rule("it rests on", width)] if said else []
    for text in said:
        of = [found.name for found in tables if text in found.rests]
        name = f"{of[0]}: " if len(of) == 1 and len([found for found in tables if found.rests]) > 1 else ""
        lines += wrapped(f"- {name}{text}", width, "", "  ")
    return lines
