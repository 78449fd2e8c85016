"""The chance to lead class and index with the runs left: as things stand, after a safe run, after a push."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar

from paddock import words
from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.pieces import wrapped
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.engine.field.chances import Chances
    from paddock.folders.seasons import OwnRecord
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
        self._record: tuple[str, OwnRecord] | None = None
        self._seen: tuple[tuple[int, str, int | None, bool], Chances] | None = None

    def show_event(self) -> None:
        """At once; how such answers did before, and what follows from it, as soon as it is replayed."""
        super().show_event()
        if self._known is None and self.desk.session is not None:
            self.run_worker(self._replay(self.desk.number), group="record", exclusive=True)

    async def _replay(self, number: str) -> None:
        from paddock.folders.seasons import OwnRecord, own_record_beside

        found = OwnRecord((), ())
        try:
            found = await asyncio.to_thread(own_record_beside, self.desk.folder, self.desk.event, number)
        except PaddockError as error:
            self.tell(str(error))
        if self.stands:
            self._record = (number, found)
            self.refresh_page()

    @property
    def _known(self) -> OwnRecord | None:
        """Of the number in hand."""
        return self._record[1] if self._record is not None and self._record[0] == self.desk.number else None

    def _chances(self) -> Chances:
        """Worked out once for each version of the event."""
        from paddock.engine.field.chances import chances

        known = self._known
        key = (self.desk.open_session.version, self.desk.number, self._left, known is not None)
        if self._seen is None or self._seen[0] != key:
            more = (known.season, known.records[0].wider) if known is not None and known.records else ()
            self._seen = (key, chances(self.desk.event, self.desk.number, self._left, *more))
        return self._seen[1]

    def leaf_lines(self, width: int) -> list[TextLine]:
        """Class and index side by side, then what each rests on."""
        from paddock.pages.chances import chances_page
        from paddock.pages.standings import practice_words
        from paddock.render.lines import lines

        try:
            records = self._known.records if self._known else ()
            return lines(chances_page(self._chances(), records, practice_words(self.desk.event, None)), width)
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
