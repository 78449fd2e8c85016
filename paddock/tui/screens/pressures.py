"""Pressures: which reading is being taken, then four of them in the order one walks round the car."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock import words
from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import cut, fit, line, rule, width_of, wrapped
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.entry import PressureLine
    from paddock.pages.pressing import CornerNow, Taking
    from paddock.tui.desk import Desk


def corner_lines(
    corners: Mapping[str, CornerNow], walk: tuple[str, ...], hand: str | None, unit: str, width: int
) -> list[TextLine]:
    """All four; ``hand``: the corner to be read next, marked with an arrow."""
    if width < 60:
        lines = [item for corner in walk for item in _small(corners[corner], hand, unit, width)]
    else:
        lines = _car(corners, walk, hand, unit, width)
    return lines + _warnings(list(corners.values()), width)


def _warnings(corners: list[CornerNow], width: int) -> list[TextLine]:
    """Each thing to beware of once, with the corners it is about."""
    about: dict[str, list[str]] = {}
    for item in corners:
        if item.over:
            about.setdefault(item.over, []).append(item.corner.upper())
    lines = [row for over, names in about.items() for row in wrapped(f"! {' '.join(names)} {over}", width, "warn")]
    return (
        [*lines, *wrapped("What the tyre and its maker say goes before any figure here.", width, "quiet")]
        if lines
        else []
    )


def _car(
    corners: Mapping[str, CornerNow], walk: tuple[str, ...], hand: str | None, unit: str, width: int
) -> list[TextLine]:  # fmt: skip
    half = (width - 7) // 2
    lines: list[TextLine] = [rule(f"in the order {' '.join(item.upper() for item in walk)}", width)]
    for left, right, car in (("lf", "rf", "╭───╮"), ("lr", "rr", "╰───╯")):
        one, two = corners[left], corners[right]
        lines.append(_beside(_stepper(one, hand, unit), _stepper(two, hand, unit), car, half))
        middle = "│   │"
        for a, b in zip(_meaning(one, unit, half), _meaning(two, unit, half), strict=True):
            lines.append(_beside(a, b, middle if car[0] == "╭" else "     ", half))
    return lines


def _beside(one: TextLine, two: TextLine, middle: str, half: int) -> TextLine:
    left = cut(one, half)
    return (*left, Piece(" " * (half - width_of(left))), Piece(f" {middle} "), *cut(two, half))


def _stepper(item: CornerNow, hand: str | None, unit: str) -> TextLine:
    name = item.corner
    arrow = ">" if name == hand else " "
    reading = f" {words.reading(item.psi, unit):>5} "
    role = "hand" if name == hand else "strong" if item.given else "quiet"
    mark = "  " if item.given else " ?"
    return line(
        f" {arrow} {name.upper()}  ", (" - ", "key", f"bump('{name}',-1)"), (reading, role, f"take('{name}')"),
        (" + ", "key", f"bump('{name}',1)"), mark,
    )  # fmt: skip


def _meaning(item: CornerNow, unit: str, width: int) -> tuple[TextLine, TextLine]:
    known = item.target_psi is not None
    target = f"{item.aim} {words.reading(item.target_psi, unit)}" if known else f"no {item.aim} known"
    off = f", off {words.pressure_difference(item.off_psi, unit)}" if item.off_psi is not None else ""
    gain = f"since cold {words.pressure_difference(item.gain_psi, unit)}" if item.gain_psi is not None else ""
    cold = f"at {item.parked_c:.0f} °C {words.reading(item.cold_psi, unit)}" if item.cold_psi is not None else ""
    parked = f"parked {cold}" if cold else ""
    whole, short = (f"   {', '.join(text for text in (gain, end) if text)}" for end in (parked, cold))
    return line((f"   {target}{off}", "")), line((whole if len(whole) <= width else short, "quiet"))


def _small(item: CornerNow, hand: str | None, unit: str, width: int) -> list[TextLine]:
    """The figure, and its meaning on one line, on two where one is too narrow."""
    first, second = (found[0].text for found in _meaning(item, unit, width))
    told = [first + second] if len(first + second) <= width else [first, second]
    return [
        cut(_stepper(item, hand, unit), width),
        *(line((fit(text, width), "quiet")) for text in told if text.strip()),
    ]


class PressuresPage(Page):
    """Type four readings on one line, one a line, or step each from what is expected."""

    NAME: ClassVar[str] = "pressures"
    PLACEHOLDER: ClassVar[str] = "like 345 350 410 415"
    HINTS: ClassVar[tuple[str, ...]] = (
        "pressures.more", "pressures.less", "pressures.moment", "go.advice", "go.home", "any.undo",
    )  # fmt: skip
    HELP: ClassVar[str] = """
The first line says which reading is being taken: cold, after run 3, set. {pressures.moment} changes it; it begins with
what must come next.

Four readings, in the order you walk round the car (walk = [...] in your settings file changes it).

Type all four on one line and press Enter: 345 350 410 415, or run together 345350410415; 34 is 34.0. Or one at a time
with Enter after each. Or step the expected reading with {pressures.more} and {pressures.less} (or the arrows) and
press Enter when it is right: a question mark means expected, not yet read, and Enter alone saves no such figure;
{pressures.same}, or a tap on the figure, says that the gauge reads just that.
Where pressures are to be set as advised Enter logs them, all at once. . leaves a corner out. Each reading is saved as
it is accepted; {any.undo} takes back all that were taken since the page was opened.

after, before, set or cold on the line say which reading it is; t41 is the tyre's temperature, a24 the air's, w5 the
minutes waited, r3 another run; # begins a note. With the tyre's temperature the line says what it would read parked.

parked at 26 °C 28.6, or at 26 °C 28.6 where there is little room, is what the corner reads parked in the hottest air
expected, 20 °C or more.

{pressures.tread} takes the tread: lf 41 45 52 past is inner, middle, outer and how far the scrub rolled over the
shoulder (short, on, past); f past r on marks both axles.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("plus,equals_sign", "bump_hand(1)", "more", id="pressures.more", tooltip="One gauge step more"),
        Binding("minus", "bump_hand(-1)", "less", id="pressures.less", tooltip="One gauge step less"),
        Binding("o", "as_shown", "as shown", id="pressures.same", tooltip="The corner in hand reads as shown"),
        Binding("m", "moment", "which", id="pressures.moment", tooltip="Which reading: cold, after a run, set"),
        Binding("j", "tread", "tread", id="pressures.tread", tooltip="Tread temperatures and roll-over marks"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._found: Taking | None = None
        self._turn = 0
        self._kind: str | None = None
        self._run: int | None = None
        self._psi: dict[str, float] = {}
        self._given: dict[str, float] = {}
        self._stepped: set[str] = set()
        self._hand = 0
        self._begun = False
        self._at = ""
        self._tyre_c: float | None = None

    def body(self) -> Iterable[Widget]:
        """One board."""
        yield Board(name_id="corners")

    # showing

    @property
    def walk(self) -> tuple[str, ...]:
        """Corners in the order they are read."""
        return self.desk.personal.walk

    @property
    def hand(self) -> str | None:
        """The corner to be read next; None: all are."""
        return self.walk[self._hand] if self._hand < len(self.walk) else None

    def opened(self) -> None:
        """The event is open: what is measured now?"""
        self._begin()
        super().opened()

    def on_mount(self) -> None:
        """Begin a record."""
        if self.desk.session is not None:
            self._begin()
        super().on_mount()

    def _begin(self, kind: str | None = None, turn: int = 0) -> None:
        self._given, self._hand, self._at, self._tyre_c, self._begun = {}, 0, "", None, False
        self._stepped, self._kind, self._turn = set(), kind, turn
        self._expect()

    def _expect(self) -> None:
        from paddock.pages.pressing import taking

        desk = self.desk
        if desk.event.unlisted:
            self._found, self._psi, self._run = None, {}, None
            return
        self._found = taking(desk.event, desk.number, desk.now(), self._turn, self._kind)
        self._psi, self._run = dict(self._found.psi), self._found.run

    def show_event(self) -> None:
        """The four corners."""
        if (self._found is None) is not bool(self.desk.event.unlisted):
            self._expect()
        self._paint(self._psi | self._given, self._tyre_c)
        self.entry.placeholder = self._sample()
        if self._found is not None:
            run = f" run {self._run}" if self._run and self._found.kind != "cold" else ""
            self.set_label(f"{self._found.kind}{run}")
        elif self.desk.event.unlisted:
            self._say_unlisted()

    def _say_unlisted(self) -> None:  # no reading is anybody's
        from paddock.pages.faults import unlisted_words

        self.query_one("#corners", Board).show(wrapped(f"! {unlisted_words(self.desk.event)}", self.columns, "warn"))
        self.set_label("")

    def _paint(self, psi: dict[str, float], tyre_c: float | None, given: frozenset[str] = frozenset()) -> None:
        from paddock.pages.pressing import no_plan_words, pressing, taking_words

        found = self._found
        if found is None:
            return
        desk, width = self.desk, self.columns
        corners = {item.corner: item for item in pressing(found, psi, given | frozenset(self._given), tyre_c)}
        words = taking_words(found if found.run == self._run else replace(found, run=self._run, due=False))
        other = (("   m ", "key", "moment"), ("other", "", "moment"))
        wide = width >= 60
        first = line((f" {desk.number} ", "hand", "switch_entry"), f" {words}", *(other if wide else ()))
        how = (
            f"? {found.how}, not yet read"
            if found.how and not found.advised and len(self._given) < len(self.walk)
            else ""
        )
        if found.kind == "cold" and not psi:
            how = no_plan_words(found)
        under = [line((f" {desk.unit} {how}".rstrip(), "quiet"))]
        if not wide:
            under = [line((f" {desk.unit}", "quiet"), *other), *([line((f" {how}", "quiet"))] if how else [])]
        head: list[TextLine] = [cut(first, width), *(cut(item, width) for item in under)]
        self.query_one("#corners", Board).show([*head, *corner_lines(corners, self.walk, self.hand, desk.unit, width)])

    # taking readings

    def typed(self, text: str) -> None:
        """Every corner follows the line as it is typed."""
        if self.desk.session is None or self.writing:
            return
        found = self._read(text) or self._read(text.rpartition(" ")[0])
        if found is None or not text:
            self._paint(self._psi | self._given, self._tyre_c)
            return
        psi = self._placed(found)
        self._paint(self._psi | self._given | psi, found.tyre_c or self._tyre_c, frozenset(psi))

    def _read(self, text: str) -> PressureLine | None:
        from paddock.entry import Wrong, read_pressures

        found = read_pressures(text, self.desk.unit, self.walk)
        return None if isinstance(found, Wrong) else found

    def _placed(self, found: PressureLine) -> dict[str, float]:
        """A single reading belongs to the corner in hand; more begin at the first."""
        if len(found.psi) == 1 and self.walk[0] in found.psi and self.hand is not None:
            return {self.hand: found.psi[self.walk[0]]}
        return found.psi

    def accept(self, text: str) -> None:
        """Take the readings of the line."""
        from paddock.entry import Wrong, read_pressures

        if self.writing:
            self._take_tread(text)
            return
        found = read_pressures(text, self.desk.unit, self.walk)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
        elif not self.desk.number:
            self.tell("whose car? type your numbers on the event's page, @", loud=True)
        else:
            self._take(found, single=len(text.split()) == 1 and len(found.psi) == 1)

    def accept_empty(self) -> None:
        """Set as advised, or the stepped reading is right: next corner. What nobody read is not saved."""
        from paddock.entry import PressureLine

        corner, found = None if self.writing else self.hand, self._found
        if found is not None and found.advised and not self._given and not self._stepped and self.desk.number:
            self._as_advised()
        elif corner is None or not self.desk.number or corner not in self._psi:
            self.tell("nothing is expected here yet: type the reading", loud=True)
        elif corner not in self._stepped:
            self.tell(
                f"{corner.upper()} is not read yet: type it, o where it reads that, or step it with + and -", loud=True
            )
        else:
            self._take(PressureLine({corner: self._psi[corner]}), single=True)

    def _as_advised(self) -> None:
        """Every corner that was to be moved is set as said."""
        from paddock.pages.why import as_said

        desk = self.desk
        logged = as_said(self._found.moment, desk.day, desk.clock) if self._found is not None else None
        if logged is None:
            self.tell("there is nothing to set", loud=True)
            return
        done = desk.apply(logged.edit, logged.said)
        self.tell(done.text, loud=not done.ok)
        if done.kept:
            self._hand = len(self.walk)
            self.app.call_later(self._home, done.text, done.ok)

    def action_tread(self) -> None:
        """Letters are the tread's words."""
        if self.desk.session is not None:
            self.set_writing(True, f"tread run {self._run or 1}")
            self.entry.placeholder = "like lf 41 45 52 past, or f past r on"

    def _sample(self) -> str:
        """What the readings look like, and where there is room the order they are typed in."""
        like = "like 345 350 410 415"
        return f"{' '.join(self.walk)}, {like}" if self.columns >= 60 else like

    def stopped_writing(self) -> None:
        """Readings again."""
        self.refresh_page()

    def _take_tread(self, text: str) -> None:
        from paddock.actions.runs import log_tread
        from paddock.entry import Wrong
        from paddock.entry.pressures import read_tread

        desk, found = self.desk, read_tread(text)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        edit = log_tread(desk.event, desk.number, desk.day, self._run or 1, found)
        done = desk.apply(edit, edit.label)
        if done.kept:
            self._begun = False
            self.clear()
            self.set_writing(False)
            self.stopped_writing()
        self.tell(done.text, loud=not done.ok)

    def _take(self, found: PressureLine, single: bool) -> None:
        from paddock.actions.runs import log_pressures

        psi = self._placed(found) if single else found.psi
        if found.moment is not None and (self._found is None or found.moment != self._found.kind):
            self._kind = found.moment
            self._expect()
        kind = self._found.kind if self._found is not None else "after"
        self._tyre_c = found.tyre_c or self._tyre_c
        self._at = self._at or self.desk.clock
        self._given |= psi
        self._run = found.run or self._run
        run = None if kind == "cold" else self._run
        logged = log_pressures(
            self.desk.event, self.desk.number, self.desk.day, replace_psi(found, psi), kind, run, self._at,
            len(self._given),
        )  # fmt: skip
        done = self.desk.apply(logged.edit, logged.said, joins=self._begun)
        self.tell(done.text, loud=not done.ok)
        if done.kept:
            self._begun = True
            self._after(single, done.text, done.ok)

    def _after(self, single: bool, said: str, ok: bool) -> None:
        self.clear()
        self._hand = self._hand + 1 if single else len(self.walk)
        if self.hand is None:
            self.app.call_later(self._home, said, ok)
        else:
            self.refresh_page()

    async def _home(self, said: str, ok: bool) -> None:
        """All four are read: back to the page that says what they mean."""
        await self.paddock.go("home")
        front = self.app.screen
        if isinstance(front, Page):
            front.tell(said, loud=not ok)

    def action_undo(self) -> None:
        """The readings of this visit go back together; they are taken anew."""
        super().action_undo()
        self._anew()

    def action_redo(self) -> None:
        """As they were; what is read next is new."""
        super().action_redo()
        self._anew()

    def _anew(self) -> None:
        if self.desk.session is not None:
            self._begin(self._kind, self._turn)
            self.refresh_page()

    # stepping

    def action_bump(self, corner: str, by: int) -> None:
        """One gauge step on a corner."""
        from paddock.pages.pressing import gauge_step

        if self.desk.session is None:
            return
        start = (self._psi | self._given).get(corner)
        if start is None:
            self.tell("nothing is expected here yet: type the reading", loud=True)
            return
        self._psi[corner] = round(start + by * gauge_step(self.desk.event), 3)
        self._stepped.add(corner)
        self._given.pop(corner, None)
        self._hand = self.walk.index(corner)
        self.show_event()

    def action_bump_hand(self, by: int) -> None:
        """One gauge step on the corner in hand."""
        if self.hand is not None:
            self.action_bump(self.hand, by)

    def action_step(self, by: int) -> None:
        """The arrows: up is more."""
        self.action_bump_hand(-by)

    def action_take(self, corner: str) -> None:
        """A tap on a reading accepts it."""
        self._hand = self.walk.index(corner)
        self._stepped.add(corner)
        self.accept_empty()

    def action_as_shown(self) -> None:
        """The gauge reads what is expected of the corner in hand."""
        if self.desk.session is not None and self.hand is not None:
            self.action_take(self.hand)

    def action_moment(self) -> None:
        """Another reading: cold, after a run, set."""
        if self.desk.session is not None:
            self._begin(turn=self._turn + 1)
            self.refresh_page()

    def action_leave(self) -> None:
        """Back a corner, then home."""
        if not self.entry.value and self._hand > 0:
            self._hand -= 1
            self.refresh_page()
        else:
            super().action_leave()


def replace_psi(found: PressureLine, psi: dict[str, float]) -> PressureLine:
    """The line with its readings at the corners they belong to."""
    return replace(found, psi=psi)
