"""A page whose slow work is done beside the screens, one piece at a time, with words on how far it has come."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

from paddock.errors import PaddockError
from paddock.tui.asking import AskingPage

if TYPE_CHECKING:
    from paddock.tui.desk import Desk


TellJob = Callable[[str], None]
Job = Callable[[TellJob], str]
"""Slow work: hears where to tell what it does, gives a sentence (more lines: what belongs to it)."""


class JobPage(AskingPage):
    """Base. :meth:`start` begins; :meth:`job_moved` and :meth:`job_done` show it."""

    @dataclass
    class Step(Message):
        """What is being done now."""

        text: str

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.busy = ""

    def start(self, name: str, what: str, job: Job) -> None:
        """Do ``job`` in a thread; ``what``: a word for it. Refused, with a word, while another is being done."""
        if self.busy:
            self.tell(f"one moment: {self.busy} is still being done")
            return
        self.busy = what
        self.run_worker(self._work(name, what, job), group="jobs")
        self.job_moved()

    async def _work(self, name: str, what: str, job: Job) -> None:
        def told(part: str) -> None:
            self.post_message(self.Step(f"{what}: {part}"))

        try:
            said = await asyncio.to_thread(job, told)
        except PaddockError as error:
            self.busy = ""
            self.refresh_page()
            self.tell(str(error), loud=True)
            return
        self.busy = ""
        self.job_done(name, said)
        self.tell("done: " + said.splitlines()[0])

    def on_job_page_step(self, event: Step) -> None:
        """How far it has come."""
        event.stop()
        if self.busy:
            self.busy = event.text
            self.job_moved()

    def job_moved(self) -> None:
        """Show :attr:`busy`."""

    def job_done(self, name: str, said: str) -> None:
        """A job ended well."""
