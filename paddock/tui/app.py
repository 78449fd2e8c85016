"""The doorman: title, themes, pages, opening the session, leaving properly."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import events
from textual.app import App
from textual.binding import Binding, BindingType

from paddock.errors import PaddockError
from paddock.store.personal import Personal, remember
from paddock.tui.desk import Desk
from paddock.tui.opening import collect_as_usual, fast_scoring, make_ready, open_session, ready_for_keys
from paddock.tui.page import Page
from paddock.tui.palette import Actions
from paddock.tui.rooms import ROOMS, build, room_of
from paddock.tui.theme import DEFAULTS, THEMES, other

if TYPE_CHECKING:
    from paddock.session import Session


# open the screens


def run(folder: Path | None) -> int:
    """Show the screens on an event folder, or the first-run page; returns the exit code."""
    os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
    sys.setswitchinterval(_TURN_S)
    from paddock.clean import clean
    from paddock.store.personal import read_personal

    app = PaddockApp(folder, personal=read_personal())
    app.run()
    for said in app.farewell:
        with contextlib.suppress(OSError):
            print(f"paddock: {clean(said)}", file=sys.stderr, flush=True)
    return app.return_code or (3 if app.farewell else 0)


_COME_BACK = 5
"""Ticks for which what was half typed in a browser is looked for."""
_EVERY = 8


_TURN_S = 0.001
"""A thread that reads the event gives the keys their turn so often."""


class PaddockApp(App[None], inherit_bindings=False):
    """``folder`` None: the first-run page. ``opener``: how a folder becomes a session. ``now``: the clock.

    ``lead_after_s``: as the desk has it; ``every_s``: how often it looks up, None: never by itself.
    """

    TITLE = "paddock"
    COMMANDS = {Actions}
    ENABLE_COMMAND_PALETTE = True
    CSS = """
    Tooltip { display: none; }
    CommandPalette > Vertical { margin: 1 0; width: 96%; max-width: 90; }
    CommandPalette SearchIcon { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("colon,ctrl+p", "command_palette", "all actions", id="app.actions", tooltip="Find any action by name"),
        Binding(
            "q",
            "leave",
            "quit",
            id="app.quit",
            tooltip="Press twice to leave; what isn't saved is put beside",
        ),
        Binding("ctrl+q", "quit", "quit at once", show=False, id="app.quit_now", tooltip="Leave at once"),
        Binding("ctrl+c", "leave", "quit", show=False, id="app.stop", tooltip="Press twice to leave"),
    ]

    def __init__(
        self,
        folder: Path | None,
        *,
        now: Callable[[], datetime] = datetime.now,
        personal: Personal | None = None,
        opener: Callable[[Path], Session] = open_session,
        lead_after_s: float | None = 1.0,
        every_s: float | None = 2.0,
    ) -> None:
        super().__init__()
        self._folder, self._now, self._opener = folder, now, opener
        self.personal = personal or Personal()
        self._lead_after_s = lead_after_s
        self._every_s = every_s
        self.desk: Desk | None = None
        self._early: list[events.Key] = []
        self.farewell: list[str] = []
        self._left: Session | None = None
        self._leaving = False
        self._ticks = 0
        self._after_paint: list[Callable[[], None]] = []
        self._dress()

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own colour names, for any theme."""
        return DEFAULTS

    # coming up

    async def on_mount(self) -> None:
        """The first page; the heavy imports start after it is painted."""
        self._catch_signals()
        if self._folder is None:
            await self._welcome("")
        else:
            await self.open_folder(self._folder)
        if self._every_s is not None:
            self.set_interval(self._every_s, self.pass_time)

    def _dress(self) -> None:
        """Themes and keys, before any style is worked out: a theme set later has all of them done twice."""
        for theme in THEMES:
            self.register_theme(theme)
        for name in set(self.available_themes) - {theme.name for theme in THEMES}:
            self.unregister_theme(name) if name not in ("textual-dark", "textual-light") else None
        self.set_reactive(App.theme, self.personal.theme)
        self.stylesheet.set_variables(self.get_css_variables())
        self.set_class(self.current_theme.dark, "-dark-mode", update=False)
        self.set_class(not self.current_theme.dark, "-light-mode", update=False)
        self.set_keymap(dict(self.personal.keys))

    def _catch_signals(self) -> None:
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                try:
                    loop.add_signal_handler(number, self._stopped, number)
                except (NotImplementedError, RuntimeError, ValueError):
                    return

    def _stopped(self, number: int) -> None:
        self.exit(return_code=128 + number)

    async def _welcome(self, why: str) -> None:
        from paddock.tui.screens.welcome import WelcomePage

        desk = Desk(Path(), self._now, self.personal)
        await self._base(WelcomePage(desk, why))

    async def _base(self, page: Page) -> None:
        """Make ``page`` the only one."""
        while len(self.screen_stack) > 1:
            await self.pop_screen()
        await self.push_screen(page)
        for event in self._early[:]:
            self._early.remove(event)
            await page.take_key(event)

    async def open_folder(self, folder: Path, told: str = "") -> None:
        """Show an event folder: its glance at once, the rest as soon as it is read. ``told``: words for it then."""
        said = self.close_session()
        self.desk = Desk(folder, self._now, self.personal, lead_after_s=self._lead_after_s)
        await self._base(build(room_of("home"), self.desk))
        self._once_painted(partial(self._start_reading, self.desk, said, told))

    def _start_reading(self, desk: Desk, said: str, told: str) -> None:
        self.run_worker(self._read(desk, said, told), exclusive=True, group="open")

    async def _read(self, desk: Desk, said: str, told: str) -> None:
        try:
            session = await asyncio.to_thread(make_ready, desk, self._opener)
        except PaddockError as error:
            await self._welcome("; ".join(filter(None, (said, str(error)))))
            return
        desk.take(session)
        remember(desk.folder)
        await self._take_lines()
        self.for_each_page(lambda page: page.opened())
        self._once_painted(self._settled)
        from paddock.session.loading import FEW_RUNS

        if len(session.event.times) > FEW_RUNS:  # the scorer of many is fetched once the page is up
            self.run_worker(asyncio.to_thread(fast_scoring), group="fast")
        loud = [*filter(None, [said]), *self.personal.wrong]
        if (loud or told) and isinstance(self.screen, Page):
            self.screen.tell(loud[0] if loud else told, loud=bool(loud))

    def _settled(self) -> None:
        """Home is painted."""
        collect_as_usual()
        self.run_worker(asyncio.to_thread(ready_for_keys), group="ready")
        self.run_worker(self._look_about(tell=False), group="outside")

    def _once_painted(self, do: Callable[[], None]) -> None:
        """After the next picture; where another page comes over this one before it has one, then."""
        self._after_paint.append(do)
        self.call_after_refresh(self._painted)

    def _painted(self) -> None:
        waiting, self._after_paint = self._after_paint, []
        for do in waiting:
            do()

    def for_each_page(self, do: Callable[[Page], None]) -> None:
        """Do something on every page that is open."""
        for screen in self.screen_stack:
            if isinstance(screen, Page):
                do(screen)

    # keys, in the order typed

    async def on_event(self, event: events.Event) -> None:
        """Hand a key to the page before anything else, and finish with it before the next one."""
        if isinstance(event, events.Key) and not event.is_forwarded:
            if event.key == "ctrl+j":  # Enter, typed before the terminal was ours, or where it sends a line feed
                event = events.Key("enter", "\r")
            screen = self.screen
            if not screen.stands if isinstance(screen, Page) else len(self.screen_stack) < 2:
                self._early.append(event)
                return
            if event.key not in ("q", "ctrl+c"):
                self._leaving = False
            if isinstance(screen, Page) and await screen.take_key(event):
                return
        await super().on_event(event)

    async def run_key(self, key: str) -> bool:
        """Run what a key is bound to on the page in front; False where it is bound to nothing."""
        return await self._check_bindings(key, priority=True) or await self._check_bindings(key)

    async def run_tap(self, action: str) -> None:
        """Run the action of a tapped key or piece."""
        await self.run_action(action, self.app if action.startswith("app.") else self.screen)

    # going about

    async def go(self, name: str) -> None:
        """Put a page in front; home lies under all of them."""
        front = self.screen
        if self.desk is None or not isinstance(front, Page) or name == front.NAME or front.waiting.holds(front):
            return
        front.forget_words()
        if front.entry.value and not front.in_form:
            self.desk.drafts[front.NAME] = front.entry.value
        if name == "home":
            while len(self.screen_stack) > 2:
                await self.pop_screen()
            self._show_front()
            return
        page = build(room_of(name), self.desk)
        await (self.push_screen(page) if len(self.screen_stack) == 2 else self.switch_screen(page))
        self._painted()

    def _show_front(self) -> None:
        if isinstance(self.screen, Page):
            draft = self.desk.drafts.pop(self.screen.NAME, None) if self.desk else None
            if draft:
                self.screen.put(draft)
            self.screen.refresh_page()

    def switch_theme(self) -> None:
        """Night or sun, kept for next time."""
        from paddock.store.personal import write_theme

        self.theme = other(self.theme)
        try:
            write_theme(self.theme)
        except (OSError, ValueError):
            return

    def show_help(self, page: Page) -> None:
        """The page's help over it."""
        from paddock.tui.screens.help import HelpDialog

        self.push_screen(HelpDialog(page))

    # time passing

    async def pass_time(self) -> None:
        """Take in what other hands changed, try again what couldn't be saved, move the clock on."""
        if not self.screen_stack:  # the program is being left: its pages are gone before its clock
            return
        self._ticks += 1
        if self._ticks <= _COME_BACK and self.desk is not None:
            await self._take_lines()
        session = self.desk.session if self.desk else None
        if session is None:
            return
        for said in self.desk.ring() if self.desk else ():
            self.bell()
            self.for_each_page(partial(Page.ring, said=said))
        waiting, aside = len(session.unsaved), len(session.conflicts)
        changed = await asyncio.to_thread(session.poll) if waiting else session.poll()
        if changed or len(session.unsaved) != waiting:
            self.for_each_page(lambda page: page.refresh_page())
        elif self._ticks % _EVERY == 0 and isinstance(self.screen, Page):
            self.screen.tick()
        if not self.screen_stack or not isinstance(self.screen, Page):
            return
        if len(session.conflicts) > aside:
            last = session.conflicts[-1]
            self.screen.tell(f"{last.entry.label}: {last.reason}; ' keeps it", loud=True)
        elif changed:
            await self._look_about(tell=True)

    async def _look_about(self, tell: bool) -> None:
        """What came from outside since it was looked for last is shown, and told where nothing is being typed."""
        fresh = await asyncio.to_thread(self.desk.look_outside) if self.desk else ()
        if not fresh or not self.screen_stack:
            return
        self.for_each_page(lambda page: page.refresh_page())
        if tell and isinstance(self.screen, Page) and not self.screen.entry.value:
            from paddock.pages.outside import told_words

            self.screen.tell(*told_words(fresh))

    # leaving

    def action_leave(self) -> None:
        """Leave on the second press; unsaved entries are said first."""
        if self._leaving or not isinstance(self.screen, Page):
            self.exit()
            return
        self._leaving = True
        waiting = len(self.desk.session.unsaved) if self.desk and self.desk.session else 0
        self.screen.tell(_leaving_words(waiting), loud=waiting > 0)

    def close_session(self) -> str:
        """Let the open folder go; words on entries that could not be saved, blank where there are none."""
        if self.desk is None or self.desk.session is None or self.desk.session is self._left:
            return ""
        self._left = self.desk.session
        said = self._left.leave()
        if said:
            self.farewell.append(said)
        return said

    def on_exit_app(self) -> None:
        """In a browser: what is half typed waits for the tab that comes back."""
        from paddock.store.personal import TAB_VARIABLE, keep

        tab = os.environ.get(TAB_VARIABLE)
        if tab is None or self.desk is None:
            return
        front = self.screen.NAME if isinstance(self.screen, Page) else "home"
        keep(tab, self.desk.folder, front, self._lines())

    async def _take_lines(self) -> None:
        """What was half typed before the page was loaded again; the one before may still be ending, so it is looked for
        a few times, and given only to a page where nothing has been typed meanwhile."""
        from paddock.store.personal import TAB_VARIABLE, take

        tab, front = os.environ.get(TAB_VARIABLE), self.screen
        if tab is None or self.desk is None or not isinstance(front, Page) or front.half_typed:
            return
        found = take(tab, self.desk.folder)
        if found is None:
            return
        name, lines = found
        self.desk.drafts.update(lines)
        if name != front.NAME and name in {room.name for room in ROOMS}:
            await self.go(name)  # puts its line itself
        else:
            self._show_front()
        if isinstance(self.screen, Page):
            self.screen.tell("what you had typed is back")

    def on_unmount(self) -> None:
        """Let the folder go."""
        self.close_session()

    def half_typed(self) -> str:
        """What stands in the lines, for the note of a fault."""
        return "".join(f"\nhalf typed on {name}: {text}" for name, text in self._lines().items())

    def _lines(self) -> dict[str, str]:
        """By page, what stands in its line."""
        lines = dict(self.desk.drafts) if self.desk else {}
        for screen in self.screen_stack:
            if isinstance(screen, Page) and screen.is_mounted and screen.half_typed:
                lines[screen.NAME] = screen.half_typed
        return lines

    def _what_is_saved(self) -> str:
        try:
            said = self.close_session()
        except Exception as error:
            return f"whether every entry is saved is not known ({type(error).__name__})"
        return said if said or self.farewell else "entries are saved"

    def _fatal_error(self) -> None:
        """A fault of the program: a sentence, a note with what was half typed, exit code 1."""
        from paddock.clean import clean
        from paddock.store.machine import note

        error = self._exception or RuntimeError("unknown")
        where = note(error, self.half_typed())
        sentence = f"paddock: a fault in the program itself ({type(error).__name__}); {self._what_is_saved()}; {where}"
        self._exit_renderables.append(Text(clean(sentence)))
        self._close_messages_no_wait()


def _leaving_words(waiting: int) -> str:
    if waiting == 0:
        return "press q again to leave"
    entries = "1 entry is" if waiting == 1 else f"{waiting} entries are"
    return f"{entries} NOT SAVED: q again leaves, and puts what is not saved beside the event"
