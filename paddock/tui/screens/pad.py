"""A run by taps alone: balance, mistake, time and cones, for a tablet without a keyboard."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from textual.widget import Widget

from paddock import words
from paddock.pages.document import Piece, TextLine
from paddock.render.pieces import line, rule, width_of
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.tui.desk import Desk


_PHASES = ("entry", "middle", "exit")
_ENDS = ("", "dnf", "dns", "re")
_SURFACES = ("", "dry", "drying", "damp", "wet", "standing")


@dataclass(frozen=True, slots=True)
class Pad:
    """What is tapped so far. ``felt`` None: not said; ``digits``: of the time, as typed."""

    felt: tuple[int | None, ...] = (None, None, None)
    mistake: bool | None = None
    digits: str = ""
    cones: int = 0
    gates: int = 0
    surface: str = ""
    end: str = ""

    def line(self) -> str:
        """The line it stands for, the same as if typed."""
        felt = [("-" if value is None else words.balance(value)) for value in self.felt]
        parts = felt if any(value is not None for value in self.felt) else []
        parts += {True: ["m"], False: ["ok"], None: []}[self.mistake]
        parts += [self.digits] if self.digits else []
        parts += [f"+{self.cones}"] if self.cones else []
        parts += [f"miss{self.gates}"] if self.gates else []
        parts += [self.surface] if self.surface else []
        return " ".join([*parts, *([self.end] if self.end else [])])

    def lean(self, phase: int, by: int) -> Pad:
        """One step of balance; the first tap says neutral."""
        now = self.felt[phase]
        value = 0 if now is None else max(-3, min(3, now + by))
        return replace(self, felt=(*self.felt[:phase], value, *self.felt[phase + 1 :]))


def pad_lines(pad: Pad, width: int, height: int = 0) -> list[TextLine]:
    """Rows of things to tap with a blank between, where so many rows have room for them; 0: any."""
    lines: list[TextLine] = [rule("how it felt: understeer - neutral + oversteer", width)]
    for at, phase in enumerate(_PHASES):
        shown = "?" if pad.felt[at] is None else words.balance(pad.felt[at])
        lines += [
            line(f" {phase:<7}", ("[  -  ]", "key", f"lean({at},-1)"), (f"  {shown:^4}  ", "strong", f"lean({at},0)"),
                 ("[  +  ]", "key", f"lean({at},1)")),
            (),
        ]  # fmt: skip
    lines += [_mistake(pad), (), rule("time and cones", width)]
    lines += [
        *_digits(pad, width),
        (),
        _cones(pad),
        (),
        _gates(pad),
        (),
        line(("[   save the run   ]", "hand", "save")),
    ]
    return lines if not height or len(lines) <= height else [item for item in lines if item]


def _mistake(pad: Pad) -> TextLine:
    no, yes = (" > no ", " > yes ") if pad.mistake is not None else ("   no ", "   yes ")
    return line(
        " mistake ", (f"[{no if pad.mistake is False else '   no '}]", "key", "slip(False)"), "  ",
        (f"[{yes if pad.mistake else '   yes '}]", "key", "slip(True)"),
    )  # fmt: skip


def _digits(pad: Pad, width: int) -> list[TextLine]:
    rows = ("12345", "67890")
    lines: list[TextLine] = []
    for row in rows:
        pieces = [Piece(f"[ {digit} ]", "key", f"digit({digit})") for digit in row]
        lines.append((Piece(" "), *pieces))
    back = Piece("[ back ]", "key", "rub")
    last = (*lines[1], Piece("  "), back)
    shown = (*last, Piece(f"  {pad.digits or '_____'}", "strong"))
    return [lines[0], (), shown if width_of(shown) <= width else last]


def _cones(pad: Pad) -> TextLine:
    return line(
        " cones ", ("[  -  ]", "key", "cone(-1)"), (f"  {pad.cones}  ", "strong"), ("[  +  ]", "key", "cone(1)"),
        (" [ " + (pad.end or "no time?") + " ]", "key", "end"),
    )  # fmt: skip


def _gates(pad: Pad) -> TextLine:
    return line(
        " gates ", ("[  -  ]", "key", "gate(-1)"), (f"  {pad.gates}  ", "strong"), ("[  +  ]", "key", "gate(1)"),
        (" [ " + (pad.surface or "wet?") + " ]", "key", "surface"),
    )  # fmt: skip


class PadPage(Page):
    """Taps write the line; Enter, or a tap on save, takes it."""

    NAME: ClassVar[str] = "pad"
    PLACEHOLDER: ClassVar[str] = "tap above, or type the run"
    HINTS: ClassVar[tuple[str, ...]] = ("go.home", "any.undo")
    HELP: ClassVar[str] = """
For one finger and no keyboard. Tap - for understeer, + for oversteer (the first tap says neutral), whether there was
a mistake, the digits of the time, the cones and missed gates, the surface where it changed, then save. What is tapped
is written on the line below as it would be typed, and may be mended there.
"""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pad = Pad()

    def body(self) -> Iterable[Widget]:
        """One board."""
        yield Board(name_id="pad")

    def show_event(self) -> None:
        """The pad as tapped."""
        from paddock.engine.clock.when import next_run

        board = self.query_one("#pad", Board)
        board.show(pad_lines(self._pad, self.columns, board.size.height))
        self.set_label(f"run {next_run(self.desk.event, self.desk.number, self.desk.day)}")

    def _now(self, pad: Pad) -> None:
        if self.desk.session is None:
            return
        self._pad = pad
        self.put(pad.line())
        self.show_event()

    def action_lean(self, phase: int, by: int) -> None:
        """A step of balance."""
        self._now(self._pad.lean(phase, by))

    def action_slip(self, made: bool) -> None:
        """Whether there was a mistake."""
        self._now(replace(self._pad, mistake=made))

    def action_digit(self, digit: int) -> None:
        """A digit of the time."""
        self._now(replace(self._pad, digits=f"{self._pad.digits}{digit}"))

    def action_rub(self) -> None:
        """Take the last digit away."""
        self._now(replace(self._pad, digits=self._pad.digits[:-1]))

    def action_cone(self, by: int) -> None:
        """A cone more or less."""
        self._now(replace(self._pad, cones=max(0, self._pad.cones + by)))

    def action_gate(self, by: int) -> None:
        """A missed gate more or less."""
        self._now(replace(self._pad, gates=max(0, self._pad.gates + by)))

    def action_surface(self) -> None:
        """Another surface than before."""
        self._now(replace(self._pad, surface=_SURFACES[(_SURFACES.index(self._pad.surface) + 1) % len(_SURFACES)]))

    def action_end(self) -> None:
        """A word instead of a time."""
        self._now(replace(self._pad, end=_ENDS[(_ENDS.index(self._pad.end) + 1) % len(_ENDS)]))

    def action_save(self) -> None:
        """Take the line."""
        self.action_enter()

    def accept(self, text: str) -> None:
        """Log the run as home would."""
        from paddock.actions.runs import log_run
        from paddock.entry import Wrong, read_run

        desk = self.desk
        found = read_run(text, desk.decimals)
        if isinstance(found, Wrong) or not desk.number:
            self.tell(
                found.sentence if isinstance(found, Wrong) else "no entry of yours yet: your numbers go on @",
                loud=True,
            )
            return
        logged = log_run(desk.event, desk.number, desk.day, found, desk.clock)
        done = desk.apply(logged.edit, logged.said)
        if done.kept:
            self._now(Pad())
        self.tell(done.text + logged.doubt, loud=not done.ok or bool(logged.doubt))
