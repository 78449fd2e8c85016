"""The next-pressure answer, second page: everything it rests on, so that a driver can disagree; done in one key."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.pages.document import TextLine
from paddock.render.pieces import line, rule, wrapped
from paddock.tui.reader import ReaderPage, table_lines

if TYPE_CHECKING:
    from paddock.pages.why import Why
    from paddock.tui.desk import Desk


_NONE = (
    "No entry of yours: type your numbers on the event's page, @, then log pressures with p."
)  # fmt: skip


class AdvicePage(ReaderPage):
    """What to set, why, what speaks against it, what was passed over."""

    NAME: ClassVar[str] = "advice"
    PLACEHOLDER: ClassVar[str] = "a: set as said; or read on with down"
    READ_ON: ClassVar[str] = "nothing to set; read on with down"
    HINTS: ClassVar[tuple[str, ...]] = ("advice.do", "go.heat", "go.pressures", "go.home", "any.undo")
    HELP: ClassVar[str] = """
The answer on home in full. First what to set, corner by corner as your gauge reads, then the cautions, then every sign
of the last run, then every rule that was tried before this one and why it was passed over. The first rule that fits
answers; disagree with it where you know better: nothing is set but by you. Notes on elements of the course stand here
too: they are what to think of on the way to the line.

{advice.do} logs the pressures of the answer as set, now; {any.undo} takes that back. The maker's figures and the cold
maximum on the tyre stand above it.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "do", "set as said", id="advice.do", tooltip="Log the pressures of the answer as set"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._sets = True

    def _hint_order(self, known: Iterable[str | None]) -> list[str]:
        """Nothing is offered to be set where nothing is."""
        return [name for name in super()._hint_order(known) if self._sets or name != "advice.do"]

    def _why(self) -> Why | None:
        from paddock.pages.why import why

        desk = self.desk
        known = desk.number and not desk.event.unlisted
        return why(desk.event, desk.number, desk.now(), desk.personal.walk) if known else None

    def leaf_lines(self, width: int) -> list[TextLine]:
        """The whole answer."""
        found = self._why()
        self._sets = found is not None and bool(found.moves)
        self.entry.placeholder = self.PLACEHOLDER if self._sets else self.READ_ON
        if found is None:
            from paddock.pages.faults import unlisted_words

            return wrapped(unlisted_words(self.desk.event) or _NONE, width, "warn")
        return [
            line((f" {self.desk.number} ", "hand", "switch_entry"), f" what to set next, {self.desk.unit}"),
            *_answer(found, width),
            *_noted(found, width),
            *_cautions(found, width),
            *_signs(found, width),
            *_passed(found, width),
        ]

    def action_do(self) -> None:
        """Log what the answer says as set."""
        from paddock.pages.why import as_said

        desk = self.desk
        found = self._why() if desk.session is not None else None
        logged = as_said(found.moment, desk.day, desk.clock) if found is not None else None
        if logged is None:
            self.tell("there is nothing to set" + (f": {found.told.reason}" if found is not None else ""))
            return
        done = desk.apply(logged.edit, logged.said)
        self.refresh_page()
        self.tell(f"{done.text}; z takes it back" if done.ok else done.text, loud=not done.ok)

    def accept(self, text: str) -> None:  # noqa: ARG002
        """Nothing is typed here."""
        self.clear()
        self.tell("a sets as said; other readings are typed on the pressures page (p)")


def _answer(found: Why, width: int) -> list[TextLine]:
    lines = wrapped(found.as_of, width, "quiet") if found.as_of else []
    lines += wrapped(found.line, width, "strong")
    rows = [(item.corner.upper(), item.now, "→", item.to, item.way or "stays") for item in found.corners]
    if found.moves:
        lines += table_lines(rows, width, right=frozenset((1, 3)))
        lines.append(line(("a", "key", "do"), (" sets as said", "", "do")))
    for text in found.later:
        lines += wrapped(text, width)
    return lines


def _noted(found: Why, width: int) -> list[TextLine]:
    if not found.noted:
        return []
    said = [item for text in found.noted for item in wrapped(f"- {text}", width, indent="  ")]
    return [rule("noted at the elements", width), *said]


def _cautions(found: Why, width: int) -> list[TextLine]:
    lines = [rule("cautions", width)]
    for text in found.told.cautions:
        lines += wrapped(f"- {text}", width, indent="  ")
    return lines


def _signs(found: Why, width: int) -> list[TextLine]:
    from paddock.pages.pressure import sign_rows

    rows = sign_rows(found.told)
    none = "none was logged for the last run: the mark on the shoulder, the balance, tread temperatures would help"
    return [rule("signs of the last run", width), *(table_lines(rows, width) or wrapped(none, width))]


def _passed(found: Why, width: int) -> list[TextLine]:
    from paddock.pages.pressure import passed_rows

    rows = passed_rows(found.told)
    return [
        rule("tried before it", width),
        *(table_lines(rows, width) or wrapped("nothing: the first answered", width)),
        *wrapped(f"answered by: {found.told.answered_by}; the moment is {found.moment.name}", width, "strong"),
    ]
