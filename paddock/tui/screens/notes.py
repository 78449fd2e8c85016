"""Notes: written on one line, searched as you type, over the events beside this one too."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.pages.document import TextLine
from paddock.render.lines import lines
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.model.rows import NoteRow
    from paddock.tui.desk import Desk


class NotesPage(ReaderPage):
    """A list to read, and a line that takes words: a note, or what is searched for."""

    NAME: ClassVar[str] = "notes"
    PLACEHOLDER: ClassVar[str] = "like tyres: left front grains"
    TAKES_WORDS: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("any.back", "notes.search", "notes.beside", "any.undo")
    HELP: ClassVar[str] = """
Type a note, Enter saves it: it is stamped with the time and the run just done. A first word with a colon is its topic:
tyres: left front grains. An element of the day's course does as well, by number or name: 4: brake at the paint, or
last box: wait; it is shown on the course and where pages beside that element, and before the run.
A note typed with a run stands here too, at its time; it is mended on the run.
Backspace on the empty line goes home, {any.undo} takes the last entry back.

{notes.search} searches as you type, words in any order, and ends the search again; {notes.beside} takes in the events
that lie beside this one.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "search", "search", id="notes.search", tooltip="Search the notes, or write again"),
        Binding("ctrl+o", "beside", "other events", id="notes.beside", tooltip="Search the events beside this one too"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._searching = False
        self._beside = False
        self._others: tuple[tuple[str, tuple[NoteRow, ...]], ...] | None = None

    def on_mount(self) -> None:
        """Ready for words."""
        super().on_mount()
        self.set_label("note")

    # showing

    def leaf_lines(self, width: int) -> list[TextLine]:
        """The notes, newest first."""
        from paddock.pages.notes import notes_page

        wanted = self.entry.value if self._searching else ""
        page = notes_page(self.desk.event, wanted, (self._others or ()) if self._beside else None)
        return lines(page, width)

    # writing and searching

    def typed(self, text: str) -> None:
        """The list follows a search."""
        if self._searching and self.desk.session is not None:
            self.show_event()
        elif text:
            self.tell("Enter saves the note")

    def accept(self, text: str) -> None:
        """Save the note; a search stays."""
        if self._searching:
            return
        from paddock.actions.notes import add_note

        desk = self.desk
        edit = add_note(desk.event, desk.number, desk.day, desk.clock, text)
        done = desk.apply(edit, edit.label if edit.label.startswith("note at ") else "note")
        if done.kept:
            self.clear()
            self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def accept_empty(self) -> None:
        """Nothing to save."""
        if not self._searching:
            self.tell("type a note, Enter saves it; Esc goes home")

    def action_search(self) -> None:
        """What is typed is looked for; once more: it is a note again, and what stands in the line stays."""
        if self._searching:
            self.set_writing(False)
            self.stopped_writing()
            return
        self._searching = True
        self.entry.placeholder = "words of a note"
        self.set_writing(True, "search")
        self.show_event() if self.desk.session is not None else None
        self.tell("the list follows what you type; Backspace on the empty line ends the search")

    def stopped_writing(self) -> None:
        """Commands again."""
        self._searching = False
        self.entry.placeholder = self.PLACEHOLDER
        self.set_label("note")
        self.refresh_page()
        self.tell("")

    def action_beside(self) -> None:
        """Take in the events beside this one, or leave them out again."""
        self._beside = not self._beside
        if self._beside and self._others is None:
            from paddock.folders.starting import notes_beside

            self._others = notes_beside(self.desk.folder)
        self.refresh_page()
