"""The chance to lead class and index with the runs left: as things stand, after a safe run, after a push."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from paddock import words
from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.pieces import wrapped
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.engine.field.chances import Chances
    from paddock.tui.desk import Desk


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
        self._seen: tuple[tuple[int, str, int | None], Chances] | None = None

    def _chances(self) -> Chances:
        """Worked out once for each version of the event."""
        from paddock.engine.field.chances import chances

        key = (self.desk.open_session.version, self.desk.number, self._left)
        if self._seen is None or self._seen[0] != key:
            self._seen = (key, chances(self.desk.event, self.desk.number, self._left))
        return self._seen[1]

    def leaf_lines(self, width: int) -> list[TextLine]:
        """Class and index side by side, then what each rests on."""
        from paddock.pages.chances import chances_page
        from paddock.pages.standings import practice_words
        from paddock.render.lines import lines

        try:
            return lines(chances_page(self._chances(), practice=practice_words(self.desk.event, None)), width)
        except PaddockError as error:
            return wrapped(f"{error}: type your numbers on the event's page, @", width, "warn")

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
