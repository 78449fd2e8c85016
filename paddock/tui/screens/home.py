"""Home: the page between two runs, and where a run is logged."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.render.home import glance_lines, home_lines
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.engine.scoring.my_runs import MyRun
    from paddock.entry import PressureLine, TypedRun, Wrong
    from paddock.entry.weather import WeatherLine
    from paddock.model.edit import Batch
    from paddock.model.event import Event
    from paddock.pages.home import Home
    from paddock.store.glance import Glance
    from paddock.tui.desk import Desk


_BELL_MIN = 8
"""What Enter takes: the walk to the grid and the belts."""


def _lead_words(event: Event, number: str) -> dict[str, str]:
    from paddock.pages.chances import lead_words

    return lead_words(event, number)


def _outside_words(desk: Desk) -> str:
    items = desk.outside()
    if not items:
        return ""
    from paddock.pages.outside import home_words

    return home_words(items)


def _weather(desk: Desk, said: WeatherLine, text: str) -> tuple[Batch, str]:
    from paddock.actions.notes import add_weather, replaced_weather

    of = (desk.event, desk.day, desk.clock[:5], said)
    return add_weather(*of, text), f"weather: {text}{replaced_weather(*of)}"


def _readings(desk: Desk, said: PressureLine) -> tuple[Batch, str]:
    from paddock.actions.runs import log_pressures
    from paddock.pages.pressing import taking_on_home

    taken = taking_on_home(desk.event, desk.number, desk.now(), said)
    run = None if taken.kind == "cold" else taken.run
    logged = log_pressures(desk.event, desk.number, desk.day, said, taken.kind, run, desk.clock)
    return logged.edit, logged.said


class HomePage(Page):
    """My runs, what to find, the car, what is due; a digit, u, o, m, d or r begins a run."""

    NAME: ClassVar[str] = "home"
    PLACEHOLDER: ClassVar[str] = "like u1 0 o1 55487 +1"
    HINTS: ClassVar[tuple[str, ...]] = ("any.type", "go.pressures", "go.standings", "any.undo", "go.notes", "home.bell")
    HELP: ClassVar[str] = """
Home answers: how did my runs go, what must I find in raw seconds, what do the tyres say, what is due.

To log a run just type it and press Enter: first how the car felt at entry, middle and exit (u1 to u3 understeers,
0 is neutral, o1 to o3 oversteers), then the time. u2 0 o1 46512 is such a run; u20o1 may be written together.
Add m for a mistake, +1 for a cone, miss for a missed gate, l0.3@5 where 0.3 s were lost at element 5 (@third_gate);
dnf, dns or re (a re-run is given) where there is no time; damp or wet; ! and what was not safe; # and a note. 46.512,
46,512 and 46512 are one time.

Four readings of the gauge may be typed here as well, before the run they were read after is typed or when it is: 335
340 305 305; set behind them says they were set to it (Space begins a line that a word like set begins). So may the
weather: 28 air 41 track dry.

What is missing can follow later: half a record is kept. Up and down take a run in hand, Enter opens it to mend.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "bell", "bell", id="home.bell", tooltip="A bell so many minutes before my run, or none any more"),
        Binding(
            "left_square_bracket", "day(-1)", "day before", show=False, id="home.day_before", tooltip="The day before"
        ),
        Binding(
            "right_square_bracket", "day(1)", "day after", show=False, id="home.day_after", tooltip="The day after"
        ),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._glance: Glance | None = None
        self._home: Home | None = None
        self._picked: int | None = None
        self._mending: int | None = None
        self._belling = False
        self._lead: dict[str, str] = {}
        self._lead_of: tuple[int, str] | None = None

    def body(self) -> Iterable[Widget]:
        """One board."""
        yield Board(name_id="home")

    # showing

    @property
    def glance(self) -> Glance:
        """The folder at a glance, for the first paint."""
        if self._glance is None:
            from paddock.store.glance import glance

            self._glance = glance(self.desk.folder)
        return self._glance

    def top(self) -> tuple[str, str]:
        """Before the event is open its name comes from the glance."""
        return super().top() if self.desk.session else (self.glance.name, self.desk.saved_mark())

    def show_opening(self) -> None:
        """My runs at a glance."""
        today, days = self.desk.now().date(), self.glance.days
        day = days.index(today) + 1 if today in days else max(1, len(days))
        self.query_one("#home", Board).show(glance_lines(self.glance, day, self.columns))

    def show_event(self) -> None:
        """Everything, worked out anew."""
        desk = self.desk
        self._ask_lead((desk.open_session.version, desk.number))
        self._home = replace(self._worked_out(), bell=desk.bell_min, outside=_outside_words(desk))
        if self._mending is None and not self.writing:
            self.set_label(self._prompt(self._home) if desk.number else "your car number")
            self.entry.placeholder = self.PLACEHOLDER if desk.number else "like 58, or 58 12 for two"
        self._paint()

    def _worked_out(self) -> Home:
        """As opening the event left it, while nothing has happened since; else worked out now."""
        from paddock.pages.home import home

        desk = self.desk
        first, desk.first_home = desk.first_home, None
        if first is not None and first[0] == desk.state:
            return first[1]
        return home(desk.event, desk.number, desk.now(), desk.gap(), desk.day, desk.personal.walk, self._lead)

    def _prompt(self, found: Home) -> str:
        if found.unlisted:
            return "weather"
        schedule = found.schedule
        done = schedule.of is not None and schedule.run > schedule.of
        return "day done" if done else f"run {schedule.run}{', read' if found.gauged else ''}"

    # the chance to lead, beside the screen

    def _ask_lead(self, of: tuple[int, str]) -> None:
        """Have it worked out for this state of the event, a moment after the page is painted."""
        wait = self.desk.lead_after_s
        if of == self._lead_of:
            return
        self._lead_of, self._lead = of, {}
        if wait is not None and self.desk.number:
            self.set_timer(wait, partial(self._begin_lead, of)) if wait else self._begin_lead(of)

    def _begin_lead(self, of: tuple[int, str]) -> None:
        self.run_worker(self._work_lead(of), group="lead", exclusive=True)

    async def _work_lead(self, of: tuple[int, str]) -> None:
        if of != self._lead_of or not self.stands:
            return
        found = await asyncio.to_thread(_lead_words, self.desk.event, of[1])
        if found and of == self._lead_of and self.stands:
            self._lead = found
            self.refresh_page()

    def _paint(self) -> None:
        if self._home is not None and self.size.width:
            lines = home_lines(self._home, self.columns, self.query_one("#home", Board).size.height, self._picked)
            self.query_one("#home", Board).show(lines)

    def tick(self) -> None:
        """Minutes run on."""
        self.refresh_page()

    # logging a run

    def typed(self, text: str) -> None:
        """Say what the line means so far; what can't be read yet is no fault while typing."""
        if self.desk.session is None or not self.desk.number or self._belling or not text.strip():
            self.tell("")
            return
        self._say(text)

    def _read(self, text: str) -> TypedRun | PressureLine | WeatherLine | Wrong:
        """A run; between two of them four readings or the weather as well."""
        from paddock.entry import read_run
        from paddock.entry.between import read_between

        desk = self.desk
        if self._mending is not None:
            return read_run(text, desk.decimals)
        return read_between(text, desk.decimals, desk.unit, desk.personal.walk)

    def _say(self, text: str) -> None:
        """What Enter would do with the line."""
        from paddock.actions.notes import replaced_weather
        from paddock.actions.runs import replaces, run_words
        from paddock.engine.pressure.corners import Corners
        from paddock.entry import TypedRun, Wrong
        from paddock.entry.weather import WeatherLine
        from paddock.pages.pressing import taking_on_home, taking_words
        from paddock.pages.pressure import corner_words

        desk, found = self.desk, self._read(text)
        if isinstance(found, Wrong):
            self.tell(f"… {found.sentence}")
        elif isinstance(found, WeatherLine):
            over = replaced_weather(desk.event, desk.day, desk.clock[:5], found)
            self.tell(f"Enter logs the weather{over}", loud=bool(over))
        elif isinstance(found, TypedRun):
            run = self._run_of(found)
            over = "" if run == self._mending else replaces(desk.event, desk.number, desk.day, found, run)
            self.tell(f"Enter logs run {run}: {run_words(found, desk.decimals)}{over}", loud=bool(over))
        else:
            taken = taking_on_home(desk.event, desk.number, desk.now(), found)
            read = corner_words(Corners.of(dict(found.psi)), desk.unit, desk.personal.walk).replace("  ", " ")
            self.tell(f"Enter keeps {read}: {taking_words(replace(taken, advised=False))}")

    def _run_of(self, found: TypedRun) -> int:
        from paddock.engine.clock.when import run_for_line

        run = found.run or self._mending
        return run or run_for_line(self.desk.event, self.desk.number, self.desk.day, found.timed)

    def accept(self, text: str) -> None:
        """Log the run, or say what is wrong and leave the line as it is."""
        from paddock.entry import TypedRun, Wrong
        from paddock.entry.weather import WeatherLine

        if self._belling:
            self._set_bell(text)
            return
        if not self.desk.number:
            self._name_mine(text.replace(",", " ").split())
            return
        found = self._read(text)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
        elif isinstance(found, TypedRun):
            self._log(found)
        elif isinstance(found, WeatherLine):
            self._keep(*_weather(self.desk, found, text))
        else:
            self._keep(*_readings(self.desk, found))

    def pasted(self, text: str) -> None:
        """Several lines are entered in turn, an entry to take back each; where one can't be read none is taken."""
        from paddock.entry import Wrong

        if self.desk.session is None:
            self.tell("the event is still opening: paste the lines again in a moment", loud=True)
            return
        if self.writing or not self.desk.number:
            super().pasted(text)
            return
        at = self.entry.cursor_position
        whole = self.entry.value[:at] + text + self.entry.value[at:]
        rows = [row.strip() for row in whole.splitlines() if row.strip()]
        for place, row in enumerate(rows, 1):
            found = self._read(row)
            if isinstance(found, Wrong):
                none = f"none of the {len(rows)} lines is taken (a table of results goes to &)"
                self.tell(f"{none}; line {place}: {found.sentence}", loud=True)
                return
        self.clear()
        for row in rows:
            self.waiting.keep(row)
        self.waiting.hand_over(self, told=False)
        if not self.waiting:
            self.tell(f"{len(rows)} lines entered, z takes back one: {self.words.said}", loud=self.words.loud)

    def _keep(self, edit: Batch, said: str) -> None:
        """Do and save what is no run, and empty the line."""
        if self.do(edit, said).kept:
            self._finish()
            self.refresh_page()

    def _name_mine(self, numbers: list[str]) -> None:
        """No number of mine is known yet: the first line says it."""
        from paddock.actions.event import my_numbers

        if not all(number.isalnum() and len(number) <= 4 for number in numbers):
            self.tell("a car number has up to four letters or digits: 58, or 58 12 for two entries of yours", loud=True)
            return
        edit = my_numbers(self.desk.event, numbers)
        done = self.desk.apply(edit, edit.label)
        if done.kept:
            self.desk.take(self.desk.open_session)
            self._finish()
            self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def _log(self, found: TypedRun) -> None:
        from paddock.actions.runs import log_run

        desk = self.desk
        logged = log_run(desk.event, desk.number, desk.day, found, desk.clock, self._mending)
        done = desk.apply(logged.edit, logged.said)
        if done.kept:
            self._finish()
            self.refresh_page()
        self.tell(done.text + logged.doubt, loud=not done.ok or bool(logged.doubt))

    def _finish(self) -> None:
        self._mending = self._picked = None
        self._belling = False
        self.clear()
        if self.writing:
            self.set_writing(False)

    def accept_empty(self) -> None:
        """Open the run in hand, or begin one."""
        if self._belling:
            self._set_bell(f"{_BELL_MIN}")
        elif self._picked is not None:
            self.action_mend(self._picked)
        else:
            self.action_begin_line()

    def action_begin_line(self) -> None:
        """Begin a run."""
        super().action_begin_line()
        self.tell("entry, middle, exit (u2 0 o1), m for a mistake, then the time; Backspace goes back")

    def action_mend(self, run: int) -> None:
        """Open a logged run to mend it."""
        found = self._run(run)
        if found is None:
            return
        from paddock.actions.runs import typed
        from paddock.entry import write_run

        self._mending = self._picked = run
        self.set_writing(True, f"mend run {run}")
        self.entry.placeholder = "Escape leaves it as it was"
        self.put(write_run(replace(typed(found), run=None), self.desk.decimals))
        self._paint()
        self.tell(f"mending run {run}: Enter saves, Backspace to the start leaves it as it was")

    def _run(self, run: int) -> MyRun | None:
        runs = self._home.mine if self._home else ()
        return next((item for item in reversed(runs) if item.run == run), None)

    def stopped_writing(self) -> None:
        """Nothing is mended or asked any more."""
        self._mending = self._picked = None
        self._belling = False
        self.refresh_page()
        self.tell("")

    # a bell before my run

    def action_bell(self) -> None:
        """Ask how many minutes before."""
        if self.desk.session is None:
            return
        self._belling = True
        self.set_writing(True, "bell, minutes")
        self.entry.placeholder = f"before my run; Enter takes {_BELL_MIN}, 0 none"

    def _set_bell(self, text: str) -> None:
        from paddock.store.personal import LONGEST_BELL_MIN

        desk = self.desk
        if not (text.isascii() and text.isdecimal() and int(text) <= LONGEST_BELL_MIN):
            self.tell(f"{text}: whole minutes before your run, like {_BELL_MIN}; 0 is no bell", loud=True)
            return
        desk.bell = int(text)
        desk.rung.clear()
        self._finish()
        self.refresh_page()
        known = self._home is not None and self._home.schedule.minutes is not None
        self.tell(
            "no bell" if not desk.bell
            else f"a bell {desk.bell} min before each run of yours" if known
            else f"a bell {desk.bell} min before, once it is known when: the order is on _, the seconds between on @"
        )  # fmt: skip

    # going about

    def action_step(self, by: int) -> None:
        """Take the run above or below in hand."""
        runs = [item.run for item in self._home.runs] if self._home else []
        if not runs or self._mending is not None:
            return
        at = runs.index(self._picked) if self._picked in runs else (len(runs) if by < 0 else -1)
        at += by
        self._picked = runs[at] if 0 <= at < len(runs) else None
        self._paint()
        self.tell(f"Enter opens run {self._picked} to mend it" if self._picked else "")

    def action_leaf(self, by: int) -> None:
        """Scroll where the window is too low for all of it."""
        board = self.query_one("#home", Board)
        board.scroll_relative(y=by * max(1, board.size.height - 1), animate=False)

    def action_day(self, by: int) -> None:
        """Another day of the event."""
        if self.desk.session is None:
            return
        last = max(1, len(self.desk.event.settings.days))
        self.desk.day = max(1, min(last, self.desk.day + by))
        self._picked = None
        self.refresh_page()
