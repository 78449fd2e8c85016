"""One import on its way: the source's tables, what the user said of them, the plan, and what came of it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.errors import PaddockError

if TYPE_CHECKING:
    from paddock.folders.importing import ImportPlan, ImportTold
    from paddock.model.rows import CellGrid
    from paddock.tui.desk import Desk


Reader = Callable[[], "Sequence[CellGrid]"]


class Bringing:
    """``plan`` None while nothing is understood; ``why`` what speaks against it, ""; ``done``: the plan carried out.

    Reading, understanding and writing are done beside the screen.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.begin()

    def begin(self) -> None:
        """No source yet."""
        self.tables: Sequence[CellGrid] = ()
        self.source: Path | None = None
        self.told: ImportTold | None = None
        self.plan: ImportPlan | None = None
        self.done: ImportPlan | None = None
        self.why = ""

    @property
    def choosing(self) -> bool:
        """No table is in hand."""
        return not self.tables and self.done is None

    async def read(self, read: Reader, source: Path | None, tell: Callable[[str], object]) -> None:
        """Another source. Raises PaddockError for one that holds no table; then all is as before."""
        tables = await asyncio.to_thread(read)
        self.begin()
        self.tables, self.source = tables, source
        await self.understand(None, tell)

    async def understand(self, told: ImportTold | None, tell: Callable[[str], object]) -> None:
        """Plan it anew with what the user says. ``tell``: called with the progress, in the screen's own thread."""
        from paddock.folders.importing import make_plan, refusal
        from paddock.pages.importing import on_screen

        loop, desk = asyncio.get_running_loop(), self.desk
        self.told = told

        def tick(done: int, total: int) -> None:
            loop.call_soon_threadsafe(tell, f"{done:,} of {total:,} rows understood …")

        work = partial(make_plan, desk.folder, desk.event, self.tables, told, desk.now(), tick)
        try:
            self.plan = await asyncio.to_thread(work)
        except PaddockError as error:
            self.why = on_screen(str(error))
        else:
            self.why = on_screen(refusal(self.plan) or "").removeprefix("nothing was brought in: ")

    async def bring_in(self) -> tuple[str, bool]:
        """Carry the plan out; words about it, and whether it is saved. Raises PaddockError, and all is as before."""
        from paddock.folders.importing import bring_in
        from paddock.store.nearby import keep_source

        plan, source = self.plan, self.source
        if plan is None or self.why:
            return self.why or "take a file first", False
        saved, done = await asyncio.to_thread(bring_in, self.desk.open_session, plan, self.desk.now())
        if source is not None:
            keep_source(self.desk.folder, source)
        self.begin()
        self.done = done
        if not saved.ok:
            return f"NOT SAVED yet, kept here: {saved.message}", False
        return "saved; one z takes all of it back", True


def of_file(path: Path) -> Sequence[CellGrid]:
    """The tables of a file."""
    from paddock.store.sources import read_source

    return read_source(path)


def of_text(text: str) -> Sequence[CellGrid]:
    """The tables of a pasted text."""
    from paddock.store.sources import read_source

    return read_source(text)


def clipboard() -> Sequence[CellGrid]:
    """What was copied last."""
    from paddock.store.machine import read_clipboard
    from paddock.store.sources import read_bytes

    return read_bytes(read_clipboard(), "the clipboard")
