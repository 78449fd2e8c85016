"""A page that asks one thing after another on its one line: no focus to lose, one hand is enough."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from paddock.tui.page import Page
from paddock.tui.paint import TextLine, cut, line

if TYPE_CHECKING:
    from paddock.tui.desk import Desk

__all__ = ["AskingPage", "Question", "one_of", "text"]


@dataclass(frozen=True, slots=True)
class Question:
    """``read``: text to value, ValueError's sentence on a fault; ``usual``: taken on an empty Enter ("" = none).

    ``needed``: an empty Enter with nothing usual ends the asking.
    """

    name: str
    label: str
    hint: str = ""
    usual: str = ""
    needed: bool = False
    read: Callable[[str], object] = str


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


class AskingPage(Page):
    """Base: :meth:`ask` begins, :meth:`asked` gets the answers."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._questions: tuple[Question, ...] = ()
        self._answers: dict[str, object] = {}
        self._texts: dict[str, str] = {}
        self._at = 0

    @property
    def asking(self) -> Question | None:
        """The question open now."""
        return self._questions[self._at] if self._at < len(self._questions) else None

    def ask(self, questions: Sequence[Question]) -> None:
        """Begin; letters are text until the last answer or Backspace on the first."""
        self._questions, self._answers, self._texts, self._at = tuple(questions), {}, {}, 0
        self._put_question()

    def _put_question(self) -> None:
        question = self.asking
        if question is None:
            return
        self.set_writing(True, question.label)
        usual = (
            f"Enter takes {question.usual}" if question.usual else "Enter leaves it out" if not question.needed else ""
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
            self.tell(str(error), loud=True)
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
            self._next()

    def _finish(self) -> None:
        answers = dict(self._answers)
        self.stop_asking()
        self.asked(answers)

    def stop_asking(self) -> None:
        """No question is open any more."""
        self._questions, self._at = (), 0
        self.entry.placeholder = self.PLACEHOLDER
        self.set_writing(False, "")
        self.refresh_page()

    def action_leave(self) -> None:
        """Back to the question before; before the first, stop."""
        if self.asking is None or self.entry.value:
            super().action_leave()
        elif self._at == 0:
            self.stop_asking()
        else:
            self._at -= 1
            question = self._questions[self._at]
            self._answers.pop(question.name, None)
            self._put_question()
            self.put(self._texts.pop(question.name, ""))

    def accept_line(self, value: str) -> None:
        """A line while nothing is asked."""

    def accept_nothing(self) -> None:
        """Enter while nothing is asked and nothing is typed."""

    def asked(self, answers: Mapping[str, object]) -> None:
        """All questions are answered; those left out aren't in ``answers``."""
