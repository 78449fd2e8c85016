"""What to test next: the tests nobody has decided, across my cars, the likeliest to settle first.

One thing a day: two changes tested on one day can't be told apart, so the list is an order and not a programme.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.field.case import NO_HABITS, Habits
from paddock.engine.field.effect import Effect
from paddock.engine.field.plan import plan, power_words
from paddock.engine.field.states import label
from paddock.engine.field.verdict import judge_all
from paddock.model.event import Event
from paddock.model.rows import SetupChange


@dataclass(frozen=True, slots=True)
class ToTest:
    """One undecided test. ``car`` blank: no car file is named. ``p_helped`` None: no figure yet."""

    car: str
    change: SetupChange
    label: str
    verdict: str
    p_helped: float | None
    plan: str
    sentence: str

    @property
    def leans(self) -> float:
        """How far the chance that it helped is from even, 0 to 0.5; -1 without a figure."""
        return -1.0 if self.p_helped is None else abs(self.p_helped - 0.5)


def undecided(event: Event) -> tuple[SetupChange, ...]:
    """Tests of my cars that are neither kept, reverted nor taken back."""
    rows, mine = event.of(SetupChange), event.settings.mine.numbers
    taken = {row.undoes for row in rows if row.undoes}
    cars = {item for number in mine for item in event.numbers_of_car(number)}
    return tuple(
        row for row in rows
        if row.kind == "test" and row.decision is None and not row.undoes and row.id not in taken
        and (row.number in cars or (row.number is None and mine))
    )  # fmt: skip


def _one(event: Event, row: SetupChange, effect: Effect) -> ToTest:
    number = row.number or event.settings.mine.numbers[0]
    made = plan(event, number, change_id=row.id)
    car = event.car_name_of(number) or ""
    how = f"{made.sentence}; {power_words(made.power)}" if made else ""
    said = f"{car}: {label(row)}" if car else label(row)
    return ToTest(car, row, label(row), effect.verdict, effect.p_helped, how, f"{said} ({effect.verdict}): {how}")


def to_test(event: Event, habits: Habits = NO_HABITS, judged: Sequence[Effect] = ()) -> tuple[ToTest, ...]:
    """Every undecided test with its plan; verdicts that lean come first, the latest change where they lean alike.

    ``judged``: verdicts at hand; the rest is judged here, with ``habits``.
    """
    rows, known = undecided(event), {item.change_id: item for item in judged}
    missing = [row for row in rows if row.id not in known]
    known |= {item.change_id: item for item in judge_all(event, missing, habits)}
    found = [_one(event, row, known[row.id]) for row in rows]
    found.sort(key=lambda item: (item.change.day or 0, item.change.run or 0), reverse=True)
    found.sort(key=lambda item: -item.leans)
    first = [f"Test next, one thing a day: {item.sentence}." if not at else f"Then, another day: {item.sentence}."
             for at, item in enumerate(found)]  # fmt: skip
    return tuple(
        ToTest(item.car, item.change, item.label, item.verdict, item.p_helped, item.plan, said)
        for item, said in zip(found, first, strict=True)
    )
