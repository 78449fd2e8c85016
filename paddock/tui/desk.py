"""What the pages share: the open event, the entry in hand, the clock, edits; and lines that wait for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

from paddock import words
from paddock.errors import PaddockError, RefusedError
from paddock.store.personal import Personal

if TYPE_CHECKING:
    from paddock.engine.scoring.gap import GapAnswer
    from paddock.folders.booking import SeasonBook
    from paddock.folders.merging import SecondCopy
    from paddock.model.edit import Edit
    from paddock.model.event import Event
    from paddock.pages.home import Home
    from paddock.pages.outside import OutsideItem
    from paddock.session import Session
    from paddock.tui.page import Page


@dataclass(frozen=True, slots=True)
class Done:
    """How an edit went. ``ok`` False: ``text`` says why; ``kept``: it is in memory and will be tried again."""

    ok: bool
    text: str
    kept: bool = True


@dataclass
class Desk:
    """One open event. ``session`` None: still opening. ``number``: my entry in hand.

    ``drafts``: half-typed lines by page; ``forms``: questions left half answered, by page.
    """

    folder: Path
    now: Callable[[], datetime]
    personal: Personal = field(default_factory=Personal)
    session: Session | None = None
    number: str = ""
    day: int = 1
    today: date | None = None
    drafts: dict[str, str] = field(default_factory=dict)
    followed: list[str] = field(default_factory=list)
    forms: dict[str, object] = field(default_factory=dict)
    lead_after_s: float | None = 1.0
    """The chance to lead is worked out beside home after so many seconds; None: never."""
    bell: int | None = None
    """Minutes before a run of mine at which a bell rings; 0: never; None: as the settings say."""
    rung: set[tuple[int, int, str]] = field(default_factory=set)
    first_home: tuple[tuple[int, str, int], Home] | None = None
    """Home as it was worked out while the event was opened, and of which state."""
    season_book: SeasonBook | None = None
    value_wanted: str = ""
    """What the next page begins at, once: a dotted key of the car or the event, a tyre."""
    pasted: str = ""
    """A table pasted where none is taken, for the page that brings results in, once."""

    copies: tuple[SecondCopy, ...] = ()
    """Second copies of the event, as they were looked for last."""
    _outside: tuple[object, tuple[OutsideItem, ...]] = (None, ())
    _known: frozenset[str] = frozenset()

    @property
    def event(self) -> Event:
        """The event as it is now. Raises RefusedError while it is still opening."""
        return self.open_session.event

    @property
    def open_session(self) -> Session:
        """The session. Raises RefusedError while it is still opening."""
        if self.session is None:
            raise RefusedError("the event is still opening: a moment")
        return self.session

    @property
    def state(self) -> tuple[int, str, int]:
        """What home is of: the event's version, my entry in hand, the day."""
        return self.open_session.version, self.number, self.day

    def take(self, session: Session) -> None:
        """The event is open: choose my first entry and today."""
        from paddock.engine.clock.when import day_in_hand

        self.session = session
        mine = session.event.settings.mine.numbers
        if self.number not in mine:
            self.number = mine[0] if mine else ""
        self.today = self.now().date()
        self.day = day_in_hand(session.event, self.today)

    def turn_day(self) -> None:
        """A night has passed with the program open: what is typed is of the new day of the event."""
        from paddock.engine.clock.when import day_in_hand

        before, self.today = self.today, self.now().date()
        if self.session is not None and before != self.today and self.today in self.event.settings.days:
            self.day = day_in_hand(self.event, self.today)

    @property
    def clock(self) -> str:
        """HH:MM:SS, as entries are stamped."""
        from paddock.engine.clock import entry_clock

        return entry_clock(self.event, self.day, self.now())

    @property
    def unit(self) -> str:
        """The event's pressure unit."""
        return self.event.settings.pressure_unit or "psi"

    @property
    def decimals(self) -> int:
        """Decimals of the event's printed times."""
        return self.event.settings.rules.decimals

    def switch_entry(self) -> str:
        """Take my next entry in hand (co-driver or second car); returns words."""
        mine = self.event.settings.mine.numbers
        if len(mine) < 2:
            return "only one entry of yours: add numbers on the event's page, @"
        at = mine.index(self.number) if self.number in mine else -1
        self.number = mine[(at + 1) % len(mine)]
        return f"now entering for {self.number}"

    @property
    def bell_min(self) -> int:
        """Minutes before a run of mine at which a bell rings; 0: never."""
        return self.personal.bell if self.bell is None else self.bell

    def ring(self) -> list[str]:
        """Words for each run of mine the bell rings for now, once a run."""
        self.turn_day()
        if self.session is None or not self.bell_min:
            return []
        from paddock.pages.home import due_bells

        found = {
            run: said for run, said in due_bells(self.event, self.now(), self.bell_min).items() if run not in self.rung
        }
        self.rung.update(found)
        return list(found.values())

    # what came from outside

    def outside(self) -> tuple[OutsideItem, ...]:
        """What other hands and merges brought in or left in conflict, not looked at yet."""
        from paddock.store.merge import CONFLICTS

        session = self.session
        if session is None or not (
            session.conflicts or session.outside or self.copies or (self.folder / CONFLICTS).is_file()
        ):
            return ()
        from paddock.folders.merging import open_conflicts

        of = (session.version, session.conflicts, session.outside, open_conflicts(self.folder), self.copies)
        if of != self._outside[0]:
            from paddock.pages.outside import outside_items

            items = outside_items(session.event, *of[1:], session.value_at)
            self._outside = (of, items)
        return self._outside[1]

    def fresh_outside(self) -> tuple[OutsideItem, ...]:
        """Those that were not there when it was asked last."""
        items = self.outside()
        fresh = tuple(item for item in items if item.id not in self._known)
        self._known = frozenset(item.id for item in items)
        return fresh

    def took_other(self, item: OutsideItem) -> None:
        """The other value stands now: mine is put aside no more, and a merge that keeps the choice says nothing new."""
        from paddock.store.merge import look_at

        if item.kind == "aside":
            self.leave_outside([item])
        for one in item.seen:
            if isinstance(one, tuple):
                look_at(self.folder, (*one[:3], one[4], one[3]))

    def leave_outside(self, items: Sequence[OutsideItem]) -> None:
        """Looked at, and to stay as it is."""
        from paddock.folders.merging import SecondCopy
        from paddock.store.merge import look_at

        for one in (one for item in items for one in item.seen):
            if isinstance(one, SecondCopy):
                look_at(self.folder, one.line)
                self.copies = tuple(copy for copy in self.copies if copy != one)
            elif isinstance(one, tuple):
                look_at(self.folder, one)
            else:
                self.open_session.let_be(one)

    def look_outside(self) -> tuple[OutsideItem, ...]:
        """Look for second copies anew; what is from outside since it was asked last."""
        if self.session is None:
            return ()
        self.look_for_copies()
        return self.fresh_outside()

    def look_for_copies(self) -> None:
        """Second copies that lie with the event now; those looked at with no more to say since are left out."""
        from paddock.folders.merging import open_copies

        self.copies = open_copies(self.folder)

    def join(self, item: OutsideItem) -> str:
        """A second copy joined into the open event; words about it. Raises UsageError, FolderError, SaveError."""
        from paddock.folders.merging import SecondCopy, merge_folders

        (copy,) = item.seen
        assert isinstance(copy, SecondCopy)
        merged = merge_folders(self.folder, self.folder if copy.file else copy.path, copies=bool(copy.file))
        self.open_session.poll()
        self.look_for_copies()
        self.fresh_outside()
        return f"joined: {merged.added} added, {merged.updated} changed, {words.plural(merged.conflicts, 'conflict')}"

    def gap(self) -> GapAnswer | None:
        """What the entry in hand must find on the day in hand; None where it isn't entered."""
        if not self.number or self.event.entrant(self.number) is None:
            return None
        return self.open_session.gap(self.number, self.day)

    def apply(self, edit: Edit, said: str, joins: bool = False) -> Done:
        """Do and save an edit; a refusal is words, an edit that couldn't be saved is kept.

        ``joins``: it is one with the edit before, for undo.
        """
        try:
            saved = self.open_session.apply(edit, joins)
        except PaddockError as error:
            return Done(False, str(error), kept=False)
        return Done(True, f"saved: {said}") if saved.ok else Done(False, f"NOT SAVED yet, kept here: {saved.message}")

    def undo(self) -> str:
        """Take the last edit back; words either way."""
        try:
            return f"undone: {self.open_session.undo()}{self._unsaved()}"
        except PaddockError as error:
            return str(error)

    def redo(self) -> str:
        """Do again what was undone; words either way."""
        try:
            return f"done again: {self.open_session.redo()}{self._unsaved()}"
        except PaddockError as error:
            return str(error)

    def _unsaved(self) -> str:
        return ", NOT SAVED yet, tried again" if self.open_session.unsaved else ""

    def saved_mark(self) -> str:
        """For the top line: what state the folder's copy is in."""
        if self.session is None:
            return "opening…"
        waiting, outside = len(self.session.unsaved), sum(item.waits for item in self.outside())
        if waiting:
            return f"{waiting} NOT SAVED"
        faults = sum(problem.level == "fault" for problem in self.session.event.problems)
        wrong = ([f"{outside} from outside"] if outside else []) + ([words.plural(faults, "fault")] if faults else [])
        return ", ".join(["saved", *wrong])


# what widgets tell their page


@dataclass
class TellPage(Message):
    """Words for the line under the entry. ``loud``: something is wrong or waits for an answer."""

    text: str
    loud: bool = False


class Waiting:
    """The lines that wait on one page, and what was half typed behind them."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._half = ""

    def __bool__(self) -> bool:
        return bool(self._lines)

    @property
    def parts(self) -> tuple[str, ...]:
        """Everything typed that is not taken yet."""
        return (*self._lines, self._half)

    def holds(self, page: Page) -> bool:
        """Lines wait on a page that is taken down when it is left: it stays, and says so."""
        if not self._lines or page.NAME == "home":
            return False
        page.tell("a line waits here, not taken yet: Enter takes it once the event is open", loud=True)
        return True

    def keep(self, text: str) -> str:
        """Keep a line; the words to tell."""
        self._lines.append(text)
        return f"still opening the event: {self._words()}, and is taken in a moment"

    def put_by(self, half: str) -> None:
        """What is being typed now, for when the lines before it are taken."""
        self._half = half

    def hand_over(self, page: Page, told: bool) -> None:
        """Give the page its lines; one that is refused stays in the line, and the rest wait behind it.

        ``told``: a line went before, and what was said of it is said again with the rest.
        """
        if not self._lines:
            return
        said, loud = ([page.words.said], page.words.loud) if told else ([], False)
        while self._lines and not page.entry.value:
            text = self._lines.pop(0)
            page.put(text)
            page.take(text)
            said.append(page.words.said)
            loud = loud or page.words.loud
        if self._lines:
            said.append(self._words())
        elif self._half and not page.entry.value:
            page.put(self._half)
            self._half = ""
        page.tell("; ".join(part for part in said if part), loud=loud)

    def _words(self) -> str:
        return "1 line waits" if len(self._lines) == 1 else f"{len(self._lines)} lines wait"
