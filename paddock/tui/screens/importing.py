"""Bring in posted results: choose a file, see what was understood, change the mapping, accept with one key."""

from __future__ import annotations

import os
from collections.abc import Coroutine, Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.widget import Widget

from paddock.errors import PaddockError, UsageError
from paddock.render.lines import lines
from paddock.store.disk import typed
from paddock.tui.bringing import Bringing, Reader, clipboard, of_file, of_text
from paddock.tui.reader import ReaderPage
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.folders.importing import ImportTold
    from paddock.pages.document import Document, TextLine
    from paddock.store.nearby import Near
    from paddock.tui.desk import Desk


_SHOWN = "Enter, or Backspace to choose again"


class ImportPage(ReaderPage):
    """The files near the event; then the preview of one; then what came of it."""

    NAME: ClassVar[str] = "import"
    PLACEHOLDER: ClassVar[str] = "Enter takes the file in hand; a types a path; paste a table"
    HINTS: ClassVar[tuple[str, ...]] = (
        "import.type", "import.clipboard", "import.columns", "import.table", "import.day", "any.undo", "go.standings",
    )  # fmt: skip
    HELP: ClassVar[str] = """
Take a file with up, down and Enter, or type its path after {import.type} (the list follows what you type), or paste a
copied table into the line, or take the clipboard with {import.clipboard}. A CSV of any making, a saved page or text
copied from either will do.

You then see what was understood: which column is what, the first rows, what could not be read and why, and where my
own runs are posted otherwise than I logged them, with the minutes left to protest. Enter brings it in; one {any.undo}
takes all of it back. {import.columns} changes the columns (number=No,run1=Run 1 by header or by place from 1),
{import.table} takes another table of the file, {import.day} another day. What was confirmed once is remembered: the
next time it is {go.import}, Enter, Enter.
"""
    DEFAULT_CSS = """
    ImportPage #pair { height: 1fr; layout: vertical; }
    ImportPage #pair #leaf { height: 1fr; }
    ImportPage #pair Grid { height: auto; max-height: 60%; }
    ImportPage #pair.-whole Grid { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "type", "type a path", id="import.type", tooltip="Type the path of a file"),
        Binding("r", "clipboard", "clipboard", id="import.clipboard", tooltip="Take the table that was copied last"),
        Binding("m", "columns", "columns", id="import.columns", tooltip="Say which column is what"),
        Binding("o", "table", "other table", id="import.table", tooltip="Another table of the source"),
        Binding("j", "day", "day", id="import.day", tooltip="The day the times are of"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.hand = Bringing(desk)
        self._near: tuple[Near, ...] = ()
        self._mapping = self._busy = False

    def body(self) -> Iterable[Widget]:
        """The files, and the page."""
        yield Container(Grid(name_id="files"), Board(name_id="leaf"), id="pair")

    @property
    def grid(self) -> Grid:
        """The files."""
        return self.query_one("#files", Grid)

    # showing

    def show_event(self) -> None:
        """Files, preview or report."""
        if self.desk.pasted:
            text, self.desk.pasted = self.desk.pasted, ""
            self.call_after_refresh(self._read, partial(of_text, text), None)
        listing = self.hand.choosing
        self.entry.placeholder = self.PLACEHOLDER if listing else _SHOWN
        self.query_one("#pair").set_class(not listing, "-whole")
        if listing:
            self._list(self.entry.value)
        self.board.show(self.leaf_lines(self.columns))

    def _list(self, text: str) -> None:
        from paddock.pages.importing import files_table
        from paddock.store.nearby import completions

        self._near = completions(self.desk.folder, text.strip())
        self.grid.show_table(files_table(self._near))
        if self.grid.picked is None and self._near:
            self.grid.go_to(str(self._near[0].path))

    def leaf_lines(self, width: int) -> list[TextLine]:
        """What is in hand."""
        return lines(self._page(), width)

    def _page(self) -> Document:
        from paddock.pages import importing

        hand = self.hand
        if hand.done is not None:
            return importing.done_page(hand.done, self.desk.gap())
        if hand.plan is not None:
            return importing.preview_page(hand.plan, hand.why)
        return importing.raw_page(hand.tables[0], hand.why) if hand.tables else importing.start_page(bool(self._near))

    # reading a source

    def typed(self, text: str) -> None:
        """The list follows the line."""
        if self.desk.session is not None and self.hand.choosing:
            self._list(text)

    def accept(self, text: str) -> None:
        """A path, or columns."""
        if self._mapping and self.hand.tables:
            self._say_columns(text)
        elif text.startswith(("http://", "https://")):
            self.tell("nothing is fetched: save the page and take its file, or paste the copied table", loud=True)
        elif self.hand.choosing:
            try:
                self._choose(self._typed_file(text))
            except UsageError as error:
                self.tell(str(error), loud=True)
        else:
            self.tell("Enter on the empty line brings in; m changes the columns", loud=True)

    def _typed_file(self, text: str) -> Near | Path:
        """The path as typed where there is such a file, else the row in hand."""
        base = self.desk.folder
        path = typed(text)
        found = [place / path for place in (base, base.resolve().parent, Path()) if os.path.isfile(place / path)]
        picked = next((item for item in self._near if str(item.path) == self.grid.picked), None)
        return found[0] if found else picked or base / path

    def accept_empty(self) -> None:
        """Take the file in hand, bring in what is shown, or choose anew."""
        if self.hand.done is not None:
            self._begin()
        elif self.hand.plan is not None:
            self._work(self._bringing_in())
        elif not self.hand.tables:
            picked = next((item for item in self._near if str(item.path) == self.grid.picked), None)
            self._choose(picked) if picked else self.tell("a types a path; or paste a copied table into the line")

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap takes the file."""
        event.stop()
        self.accept_empty()

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """Nothing more to show."""
        event.stop()

    def pasted(self, text: str) -> None:
        """A whole table."""
        self._read(partial(of_text, text), None)

    def action_type(self) -> None:
        """Letters are a path now."""
        self._begin()
        self.set_writing(True, "file")

    def action_clipboard(self) -> None:
        """What was copied last."""
        self._read(clipboard, None)

    def _choose(self, found: Near | Path) -> None:
        if not isinstance(found, Path) and found.folder:
            self.put(found.name)
            self.typed(found.name)
            return
        path = found if isinstance(found, Path) else found.path
        self._read(partial(of_file, path), path)

    def _work(self, work: Coroutine[Any, Any, None]) -> None:
        """One thing after another, beside the screen; what is asked meanwhile is passed over."""
        if self._busy:
            work.close()
            self.tell("a moment: the last thing asked is still being done")
            return
        self._busy = True
        self.run_worker(self._minded(work), group="import")

    async def _minded(self, work: Coroutine[Any, Any, None]) -> None:
        try:
            await work
        except PaddockError as error:
            self.tell(str(error), loud=True)
        finally:
            self._busy = False

    def _read(self, read: Reader, source: Path | None) -> None:
        self.clear()
        self._stop_mapping()
        self._work(self._reading(read, source))

    async def _reading(self, read: Reader, source: Path | None) -> None:
        self.tell("reading …")
        await self.hand.read(read, source, self.tell)
        self._planned()

    async def _understanding(self, told: ImportTold) -> None:
        await self.hand.understand(told, self.tell)
        self._planned()

    def _planned(self) -> None:
        self.board.scroll_to(y=0, animate=False)
        self.refresh_page()
        why = self.hand.why
        self.tell(why or "Enter brings it in", loud=bool(why))

    async def _bringing_in(self) -> None:
        self.tell("bringing it in …")
        said, ok = await self.hand.bring_in()
        self.refresh_page()
        self.tell(said, loud=not ok)

    # changing what it is

    def action_columns(self) -> None:
        """The columns into the line, to be changed."""
        if not self.hand.tables:
            self.tell("take a file first")
            return
        self._mapping = True
        self.set_writing(True, "columns")
        self.put(self.hand.plan.columns.text() if self.hand.plan is not None else "")

    def _say_columns(self, text: str) -> None:
        from paddock.folders.importing import ImportTold
        from paddock.pages.importing import told_columns

        self._stop_mapping()
        self.clear()
        self._work(self._understanding(told_columns(self.hand.told or ImportTold(), text)))

    def _stop_mapping(self) -> None:
        self._mapping = False
        if self.writing:
            self.set_writing(False, "")

    def stopped_writing(self) -> None:
        """Neither path nor columns any more."""
        self._stop_mapping()
        self.refresh_page()

    def action_table(self) -> None:
        """Another table."""
        from paddock.folders.importing import ImportTold
        from paddock.pages.importing import next_table

        hand = self.hand
        if hand.plan is None or len(hand.tables) < 2:
            self.tell("there is no other table")
            return
        self._work(self._understanding(next_table(hand.told or ImportTold(), hand.plan.place, len(hand.tables))))

    def action_day(self) -> None:
        """Another day; said once, it also says that the table is of this event."""
        from paddock.folders.importing import ImportTold
        from paddock.pages.importing import next_day

        hand = self.hand
        if hand.plan is None:
            self.tell("take a file first")
            return
        self._work(self._understanding(next_day(hand.told or ImportTold(), hand.plan.understood.day, self.desk.event)))

    def action_take(self) -> None:
        """A tap on what Enter does."""
        self.accept_empty()

    def _begin(self) -> None:
        """Choose anew."""
        self.hand.begin()
        self.tell("")
        self.refresh_page()

    # going about

    def action_undo(self) -> None:
        """Take the import back, and choose anew."""
        super().action_undo()
        if self.hand.done is not None:
            self.hand.begin()
            self.refresh_page()

    def action_leave(self) -> None:
        """A step back: the line, the preview, the list, home."""
        if self.entry.value or self.writing:
            super().action_leave()
        elif not self.hand.choosing:
            self._begin()
        else:
            super().action_leave()

    def action_step(self, by: int) -> None:
        """A file, or a line."""
        if self.hand.choosing:
            self.grid.move(by)
        else:
            super().action_step(by)
