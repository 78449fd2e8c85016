"""A page that asks one thing after another on its one line, one hand is enough; and work done beside the screen."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

from paddock.errors import PaddockError
from paddock.pages.document import TextLine
from paddock.render.pieces import cut, line
from paddock.tui.page import Page

if TYPE_CHECKING:
    from paddock.tui.desk import Desk


@dataclass(frozen=True, slots=True)
class Question:
    """``read``: text to value, ValueError's sentence on a fault; ``usual``: taken on an empty Enter ("" = none).

    ``needed``: an empty Enter with nothing usual ends the asking; ``whose``: words after the usual answer.
    """

    name: str
    label: str
    hint: str = ""
    usual: str = ""
    needed: bool = False
    read: Callable[[str], object] = str
    whose: str = ""


@dataclass(frozen=True, slots=True)
class Left:
    """A form left half answered. ``asked``: what was asked, so that it is only taken up by the same questions."""

    asked: tuple[tuple[str, str, str], ...]
    at: int
    answers: Mapping[str, object]
    texts: Mapping[str, str]
    line: str


def _asked(questions: Sequence[Question]) -> tuple[tuple[str, str, str], ...]:
    return tuple((item.name, item.label, item.usual) for item in questions)


def text(value: str) -> str:
    """Any words."""
    return value


def one_of(**words: str) -> Callable[[str], str]:
    """One of some words, or enough of its beginning."""

    def read(value: str) -> str:
        found = sorted({known for word, known in words.items() if word.startswith(value.lower())})
        if len(found) != 1:
            raise ValueError(f"{value!r}: write {', '.join(words)}")
        return found[0]

    return read


def kind_of_change() -> Question:
    """What a change is meant as; most are tests."""
    kinds = one_of(test="test", correction="correction", repair="repair")
    return Question("kind", "kind", "test, correction, repair", usual="test", read=kinds)


class AskingPage(Page):
    """Base: :meth:`ask` begins, :meth:`asked` gets the answers."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._questions: tuple[Question, ...] = ()
        self._answers: dict[str, object] = {}
        self._texts: dict[str, str] = {}
        self._at = 0
        self._shown = ""

    @property
    def in_form(self) -> bool:
        """Questions are being asked."""
        return self.asking is not None

    @property
    def asking(self) -> Question | None:
        """The question open now."""
        return self._questions[self._at] if self._at < len(self._questions) else None

    def ask(self, questions: Sequence[Question]) -> None:
        """Begin; letters are text until the last answer or Backspace on the first."""
        self._questions, self._answers, self._texts, self._at = tuple(questions), {}, {}, 0
        left = self.desk.forms.pop(self.NAME, None)
        if isinstance(left, Left) and left.asked == _asked(questions):
            self._at, self._answers, self._texts = left.at, dict(left.answers), dict(left.texts)
            self._put_question(left.line)
            self.tell("taken up where you left it; Backspace goes back a question")
        else:
            self._put_question()

    def left_answer(self, name: str) -> str:
        """What was answered to a question of the form left half answered; "" = nothing is left."""
        left = self.desk.forms.get(self.NAME)
        return left.texts.get(name, "") if isinstance(left, Left) else ""

    def _put_question(self, typed: str | None = None) -> None:
        """Ask; the line holds ``typed``, else what was answered here before."""
        question = self.asking
        if question is None:
            return
        self.hush()
        self.set_writing(True, question.label)
        self._shown = self._texts.get(question.name, "") if typed is None else typed
        self.put(self._shown)
        usual = (
            f"Enter takes {question.usual}{question.whose}"
            if question.usual
            else "Enter leaves it out"
            if not question.needed
            else ""
        )
        self.entry.placeholder = "; ".join(part for part in (question.hint, usual) if part)
        self.refresh_page()

    def asked_lines(self, width: int) -> list[TextLine]:
        """What is answered so far, for the page to show."""
        done = [item for item in self._questions[: self._at] if item.name in self._texts]
        return [cut(line((f"{item.label}: ", "quiet"), self._texts[item.name]), width) for item in done]

    def accept(self, value: str) -> None:
        """An answer, or a line outside of a question."""
        question = self.asking
        if question is None:
            self.accept_line(value)
            return
        try:
            found = question.read(value)
        except ValueError as error:
            self.tell(f"{error}; mend the line, Escape empties it", loud=True)
            return
        self._answer(question, found, value)

    def _answer(self, question: Question, found: object, shown: str) -> None:
        self._answers[question.name] = found
        self._texts[question.name] = shown
        self._next()

    def _next(self) -> None:
        self.clear()
        self.tell("")
        self._at += 1
        if self.asking is None:
            self._finish()
        else:
            self._put_question()

    def accept_empty(self) -> None:
        """Take the usual answer, leave the question out, or stop."""
        question = self.asking
        if question is None:
            self.accept_nothing()
        elif question.usual:
            self._answer(question, question.read(question.usual), question.usual)
        elif question.needed:
            self.stop_asking()
        else:
            self._answers.pop(question.name, None)
            self._texts.pop(question.name, None)
            self._next()

    def _finish(self) -> None:
        answers = dict(self._answers)
        self.stop_asking()
        self.asked(answers)

    def hush(self) -> None:
        """Take a warning away that is no longer so; other words stay."""
        if self.words.loud:
            self.tell("")

    def stop_asking(self) -> None:
        """No question is open any more."""
        self._questions, self._at = (), 0
        self.hush()
        self.entry.placeholder = self.PLACEHOLDER
        self.set_writing(False, "")
        self.refresh_page()

    def typed(self, text: str) -> None:  # noqa: ARG002
        """What was said of the line before it changed is no longer so."""
        self._shown = ""
        if self.asking is not None:
            self.tell("")

    def goes_back(self) -> bool:
        """An old answer put back in the line is not eaten by a second Backspace."""
        return super().goes_back() or (self.asking is not None and self.entry.value == self._shown)

    def action_back(self) -> None:
        """Back to the question before; before the first, stop."""
        if self.asking is None:
            super().action_back()
        elif self._at == 0:
            self.clear()
            self.stop_asking()
        else:
            self._at -= 1
            self._put_question()
            if self.entry.value:
                self.tell("Enter keeps it; type on to mend it, Escape empties the line, Backspace goes further back")

    def action_leave(self) -> None:
        """Empty the line; on the empty line leave the form."""
        if self.asking is None or self.entry.value:
            super().action_leave()
        else:
            self.action_leave_form()

    def action_leave_form(self) -> None:
        """Out of all the questions at once; what is answered is kept for the next time they are asked."""
        if self.asking is None:
            return
        kept = self._leave_it()
        self.clear()
        self.stop_asking()
        self.tell("left; the answers wait: begin again and they are there" if kept else "")

    def _leave_it(self) -> bool:
        line = self.entry.value
        if self._texts or (line and len(self._questions) > 1):
            asked = _asked(self._questions)
            self.desk.forms[self.NAME] = Left(asked, self._at, dict(self._answers), dict(self._texts), line)
        return self.NAME in self.desk.forms

    async def action_go(self, name: str) -> None:
        """Another page; a form half answered waits."""
        if self.asking is not None:
            self._leave_it()
        await super().action_go(name)

    def _hint_order(self, known: Iterable[str | None]) -> list[str]:
        """While asking the way out stands first."""
        order = super()._hint_order(known)
        return sorted(order, key=lambda name: name != "any.leave_form") if self.asking is not None else order

    def accept_line(self, value: str) -> None:
        """A line while nothing is asked."""

    def accept_nothing(self) -> None:
        """Enter while nothing is asked and nothing is typed."""

    def asked(self, answers: Mapping[str, object]) -> None:
        """All questions are answered; those left out aren't in ``answers``."""


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
