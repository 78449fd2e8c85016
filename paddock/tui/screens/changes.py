"""Changes to the car: what, from, to, why, what I expect; kept, reverted or taken back later."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.tui.asking import Question, kind_of_change, one_of, text
from paddock.tui.listing import AskingListing

if TYPE_CHECKING:
    from paddock.model.rows import SetupChange
    from paddock.pages.document import Document


_DECISIONS = {"keep": "keep", "revert": "revert", "back": "back", "open": "open"}


def _run_to(most: int) -> Callable[[str], int]:
    def read(value: str) -> int:
        from paddock.entry.said import whole

        run = whole(value.strip().removeprefix("r"))
        if run is None or not 1 <= run <= most:
            raise ValueError(f"{value!r}: the run it was first driven in is wanted, 1 to {most}")
        return run

    return read


class ChangesPage(AskingListing):
    """The list, the row in hand in full, and the questions of a new change."""

    NAME: ClassVar[str] = "changes"
    PLACEHOLDER: ClassVar[str] = "a: a new change; Enter: decide on the one in hand"
    HINTS: ClassVar[tuple[str, ...]] = ("changes.add", "go.verdict", "go.home", "any.undo")
    HELP: ClassVar[str] = """
{changes.add} asks for a change, one thing after another: what, from, to, why, what you expect, and whether it is a
test, a correction or a repair. Enter takes what is offered or leaves it out; Backspace on the empty line goes back
one. The change counts from your next run; once the runs of the day are done it is asked which was the first with it.

Up and down take a change in hand. Enter then asks what becomes of it: keep, revert (you will), back (the old setting
goes back on now) or open. One change at a time tells more than three at once.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "new change", id="changes.add", tooltip="Log a change to the car"),
    ]

    # showing

    def document(self) -> Document:
        """Every change, newest first."""
        from paddock.pages.changes import changes_page

        return changes_page(self.desk.event)

    def whole(self, row_id: str) -> Document:
        """The change in hand: from, to, why, what was expected."""
        from paddock.pages.changes import change_in_full, change_states

        return change_in_full(change_states(self.desk.event)[row_id][0])

    # asking

    def action_add(self) -> None:
        """Ask for a change."""
        if self.desk.session is None:
            return
        from paddock.engine.car.setup_sheet import setup_in_force

        known = [item.key for item in setup_in_force(self.desk.event, self.desk.number)]
        hint = ", ".join(key.replace("_", " ") for key in known[:4])
        if left := self.left_answer("item"):
            self._ask_rest(left)
        else:
            self.ask([Question("item", "what", hint or "rear bar", needed=True)])

    def _ask_rest(self, item: str) -> None:
        from paddock.actions.car import setting_reader
        from paddock.engine.car.setup_sheet import setup_in_force

        name = item.strip().replace(" ", "_").casefold()
        holes = setting_reader(self.desk.event.car_of(self.desk.number), name)
        known = {found.key.casefold(): found.value for found in setup_in_force(self.desk.event, self.desk.number)}
        self.ask(
            [
                Question("item", "what", usual=item),
                Question("before", "from", usual=known.get(name, ""), read=holes),
                Question("after", "to", read=holes),
                Question("reason", "why", "what the car does"),
                Question("expect", "expect", "turns in, 0.2 s"),
                kind_of_change(),
                *self._first_run(),
            ]
        )
        if self.asking is not None and self.asking.name == "item":
            self.accept_empty()

    def _first_run(self) -> list[Question]:
        """Once the day's runs are done a change is written down afterwards, or is made for what comes: it is asked."""
        from paddock.engine.clock.when import next_run

        desk = self.desk
        runs, coming = desk.event.settings.runs_on(desk.day), next_run(desk.event, desk.number, desk.day)
        if runs is None or coming <= runs:
            return []
        whose = ", after the runs of this day"
        return [Question("run", "first run with it", f"1 to {runs}", str(coming), read=_run_to(coming), whose=whose)]

    def asked(self, answers: Mapping[str, object]) -> None:
        """A new change, or a decision on one."""
        if "decision" in answers:
            self._decide(str(answers["decision"]))
        elif set(answers) == {"item"}:
            self._ask_rest(str(answers["item"]))
        else:
            self._log(answers)

    def _log(self, answers: Mapping[str, object]) -> None:
        from paddock.actions.car import add_change
        from paddock.engine.clock.when import next_run

        desk = self.desk
        run = next_run(desk.event, desk.number, desk.day)
        edit = add_change(desk.event, desk.number, desk.day, run, desk.clock, answers)
        self.do(edit)

    def accept_nothing(self) -> None:
        """Decide on the change in hand."""
        found = self._picked()
        if found is None:
            self.tell("up and down take a change in hand, a logs a new one")
            return
        self.ask(
            [
                Question(
                    "decision", f"{found.item}", "keep, revert, back or open", needed=True, read=one_of(**_DECISIONS)
                )
            ]
        )

    def accept_line(self, value: str) -> None:
        """A line typed before a command: it is the thing changed."""
        self._ask_rest(text(value))
        self.clear()

    def _picked(self) -> SetupChange | None:
        from paddock.model.rows import SetupChange

        if self.desk.session is None:
            return None
        return next((row for row in self.desk.event.of(SetupChange) if row.id == self.grid.picked), None)

    def _decide(self, word: str) -> None:
        from paddock.actions.car import decide, take_back

        desk, found = self.desk, self._picked()
        if found is None:
            return
        edit = (
            take_back(desk.event, found, desk.number, desk.day, desk.clock) if word == "back"
            else decide(found, None if word == "open" else word)
        )  # fmt: skip
        self.do(edit)
