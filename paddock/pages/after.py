"""The page that closes a day: questions answered or left, the plan for next time, what lands beside the folder."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from paddock.engine.season.carry import Carried
from paddock.engine.work.due import NEXT, QUESTIONS, ClosingQuestion, closing_note, plan_for_next, questions_of
from paddock.model.event import Event
from paddock.pages.document import Block, Column, Document, PageTable, TableRow, words
from paddock.store.archive import Packed
from paddock.words import plural

DONE, LEFT = "x", "."
ASKED: tuple[ClosingQuestion, ...] = tuple(item for item in QUESTIONS if item.topic != NEXT)
"""The questions but the last, which is the plan."""
_ZIPS = {
    "share": "Only the files an event is made of, rivals' names put out of them.",
    "zip": "Every file as it is, names and all, with checksums.",
}
_CARRIES = (
    "Enter asks for its folder, days, place and forecast. Cars as they stand, tyres with their runs, open work, rules "
    "and the plan are carried; nothing here changes."
)


def question_name(question: ClosingQuestion) -> str:
    """A word for it."""
    return question.topic.removeprefix("debrief ")


def answered(event: Event, topic: str) -> str:
    """The answer so far, "" = none."""
    row = closing_note(event, topic)
    return (row.text or "") if row else ""


def plan_now(event: Event) -> tuple[str, str, bool]:
    """What to test, what is expected, and whether somebody wrote it; blank where there is nothing."""
    found = plan_for_next(event)
    return ("", "", False) if found is None else (found.test, found.expect, found.written)


def asked_of(event: Event) -> tuple[ClosingQuestion, ...]:
    """The questions of this event, but the plan's."""
    return tuple(item for item in questions_of(event) if item.topic != NEXT)


def files_beside(home: Path) -> dict[str, Path]:
    """What lands beside the folder, by step."""
    names = {"page": f"{home.name}-debrief.html", "share": f"{home.name}-shared.zip", "zip": f"{home.name}.zip"}
    return {name: home.parent / file for name, file in names.items()}


def steps_table(event: Event, there: Collection[str], made: Path | None, named: bool) -> PageTable:
    """A row for each thing that closes a day. ``there``: steps whose file is there; ``made``: the next event."""
    steps = []
    for item in asked_of(event):
        said = answered(event, item.topic)
        steps.append((item.topic, DONE if said else LEFT, question_name(item), said or item.text))
    test, expect, written = plan_now(event)
    plan = test + (f"; expect {expect}" if expect else "")
    if not test:
        plan = "one thing to test next time, and what is expected of it"
    steps.append(("plan", DONE if written else LEFT, "plan", plan if written or not test else f"proposed: {plan}"))
    for name, word, said in (
        ("page", "debrief", f"a page to keep and a text to post, rivals by {'name' if named else 'letter'}"),
        ("share", "to share", "a zip without rivals' names"),
        ("zip", "to keep", "a zip of the whole folder as it is"),
    ):
        steps.append((name, DONE if name in there else LEFT, word, said))
    steps.append(("next", DONE if made else LEFT, "next", "the next event's folder, made from this one"))
    if made is not None:
        steps.append(("open", "", "open", f"{made.name}: Enter goes there"))
    columns = (Column(""), Column(""), Column("x is done, . is left", most=200))
    return PageTable(columns, tuple(TableRow((mark, word, said), name) for name, mark, word, said in steps))


def step_in_full(
    step: str, event: Event, home: Path, there: Collection[str], said: str = "", named: bool = False
) -> Document:
    """The question with its answer, or what Enter does; ``said``: how it went, once it was done."""
    if said:
        first, *rest = said.splitlines()
        return Document(step, (words((first, "strong")), *map(_told, rest)))
    if step == "plan":
        return Document(step, _plan(event))
    if step == "next":
        return Document(step, (words(_CARRIES),))
    if step in files_beside(home):
        return Document(step, _file(step, files_beside(home)[step], step in there, named))
    question = next((item for item in ASKED if item.topic == step), None)
    told = answered(event, step)
    if question is None:
        return Document(step, ())
    return Document(step, (words((question.text, "strong")), *([words(told)] if told else [])))


def _told(text: str) -> Block:
    return words((text, "warn"), hang=2) if text.startswith("! ") else words(text, bullet="- ")


def _plan(event: Event) -> tuple[Block, ...]:
    test, expect, written = plan_now(event)
    asks = words(("What is the one thing to test next time, and what is expected of it?", "strong"))
    if not test:
        return (asks,)
    plan = words(f"{'test' if written else 'proposed, from the test still open'}: {test}")
    return (asks, plan, *([words(f"expected: {expect}")] if expect else []))


def _file(step: str, path: Path, there: bool, named: bool) -> tuple[Block, ...]:
    again = "Enter writes anew" if there else "Enter writes"
    where = (words(("in", "quiet")), words((f"{path.parent}", "quiet")))
    if step != "page":
        return (words(f"{again} {path.name}. {_ZIPS[step]}"), *where)
    by = f"Rivals by {'name' if named else 'letter'}; j changes that."
    return (words(f"{again} {path.name} beside the folder, and the same as .txt."), words(by), *where)


def packed_words(packed: Packed) -> str:
    """Where the zip is, what is in it, and below what was left out."""
    head = f"{packed.file}: {plural(len(packed.members), 'file')}, sha256 begins {packed.sha256[:16]}"
    return "\n".join((head, *(f"left out: {name}" for name in packed.left_out)))


def carried_lines(carried: Carried) -> tuple[str, ...]:
    """What was carried, then what a person must look at, a phrase each."""
    return (*carried.words, *(f"! {item}" for item in carried.questions))
