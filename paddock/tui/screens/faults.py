"""What is wrong: entries not saved yet, entries put aside, faults in the files; and saving elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from textual.binding import Binding, BindingType

from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.lines import lines
from paddock.store.disk import typed
from paddock.tui.asking import AskingPage, Question
from paddock.tui.reader import ReaderPage


class FaultsPage(ReaderPage, AskingPage):
    """A faulty row never hides the good ones: it stays in its file, out of the tables, and is told here."""

    NAME: ClassVar[str] = "faults"
    PLACEHOLDER: ClassVar[str] = "a saves the whole event elsewhere"
    HINTS: ClassVar[tuple[str, ...]] = ("faults.elsewhere", "faults.retry", "go.home")
    HELP: ClassVar[str] = """
Entries that could not be saved wait here and are tried again every two seconds; {faults.retry} tries at once,
{faults.elsewhere} writes the whole event, with them in it, to another folder (a stick, say) and goes on there.

What came from outside and waits to be looked at is named here: an entry of yours that somebody else's was before, a
value in conflict, a second copy of the event. {go.outside} tells each in full and takes the other.

A fault in a file names the file and the line. Mend it with any editor, here and now: the page follows.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "elsewhere", "save elsewhere", id="faults.elsewhere", tooltip="Save the event to another folder"),
        Binding("j", "retry", "try again", id="faults.retry", tooltip="Try to save what is not saved yet"),
    ]

    def leaf_lines(self, width: int) -> list[TextLine]:
        """Everything that is wrong, the most pressing first."""
        from paddock.pages.faults import faults_page
        from paddock.pages.outside import waiting_lines

        session = self.desk.open_session
        unsaved = [getattr(edit, "label", "an entry") for edit in session.unsaved]
        page = faults_page(unsaved, waiting_lines(self.desk.outside()), session.event.problems)
        return [*lines(page, width), *self.asked_lines(width)]

    def action_retry(self) -> None:
        """Try to save now."""
        saved = self.desk.open_session.retry()
        self.refresh_page()
        self.tell(saved.message or "saved", loud=not saved.ok)

    def action_elsewhere(self) -> None:
        """Ask where to."""
        self.ask([Question("folder", "folder", "a new folder, like /media/stick/event", needed=True)])

    def asked(self, answers: Mapping[str, object]) -> None:
        """Write it there and go on there."""
        try:
            saved = self.desk.open_session.save_to(typed(str(answers["folder"])))
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        self.desk.folder = self.desk.open_session.path
        self.refresh_page()
        self.tell(saved.message, loud=not saved.ok)
