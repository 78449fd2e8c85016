"""What every page has: the top line, one line to type into, words under it, and the keys.

The page is handed every key before any widget sees it, in the order typed, so no digit is lost to a
change of focus or of page. On an empty line a letter is a command; after ``writing`` begins it is text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from paddock.tui.messages import Told
from paddock.tui.paint import Piece, TextLine, line, spread, wrapped
from paddock.tui.rooms import ROOMS
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.entry_line import EntryLine
from paddock.tui.widgets.keys import KeyHint, KeyRow

if TYPE_CHECKING:
    from paddock.model.edit import Batch
    from paddock.tui.desk import Desk, Done
    from paddock.tui.doorman import Doorman

__all__ = ["LEAST", "Page"]

LEAST = (36, 12)
"""Columns and rows below which a page says so instead of showing half of itself."""


class Page(Screen[None]):
    """Base of the pages. A page shows ``desk.event`` in :meth:`show_event` and takes lines in :meth:`accept`."""

    AUTO_FOCUS = "#entry"
    NAME: ClassVar[str] = "page"
    PLACEHOLDER: ClassVar[str] = ""
    HELP: ClassVar[str] = ""
    HINTS: ClassVar[tuple[str, ...]] = ()
    DEFAULT_CSS = """
    Page { layout: vertical; background: $background; }
    Page #top { height: 1; background: $band; overflow: hidden; }
    Page #entry-row { height: 1; background: $panel; }
    Page #label { width: auto; max-width: 40%; height: 1; background: $panel; overflow: hidden; }
    Page #echo { height: auto; min-height: 1; max-height: 3; }
    Page #small { display: none; height: 1fr; }
    Page.-small > * { display: none; }
    Page.-small > #small { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(room.key, f"go('{room.name}')", room.label, id=f"go.{room.name}", tooltip=room.tip)
            for room in ROOMS
        ),
        Binding("e", "switch_entry", "other entry", id="any.entry", tooltip="Enter for my co-driver or second car"),
        Binding("z,ctrl+z", "undo", "undo", id="any.undo", tooltip="Take the last entry back"),
        Binding("y,ctrl+y", "redo", "redo", id="any.redo", tooltip="Do again what was undone"),
        Binding("x,f2", "theme", "sun/night", id="any.theme",
                tooltip="The theme: black on white for sun, dark for night"),
        Binding("question_mark", "help", "help", id="any.help", tooltip="What this page does and its keys"),
        Binding("up", "step(-1)", "up", show=False, id="any.up", tooltip="The row above"),
        Binding("down", "step(1)", "down", show=False, id="any.down", tooltip="The row below"),
        Binding("pageup", "leaf(-1)", "page up", show=False, id="any.page_up", tooltip="A screen up"),
        Binding("pagedown", "leaf(1)", "page down", show=False, id="any.page_down", tooltip="A screen down"),
        Binding("backslash,ctrl+g", "leave_form", "leave the form", id="any.leave_form",
                tooltip="Leave all the questions at once; what is answered waits for you (Escape does so too)"),
        Binding("escape", "leave", "back", show=False, id="any.back", tooltip="Clear the line, then go back"),
    ]  # fmt: skip

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.writing = False
        self.label = ""
        self._enter_waits = False
        self._told_of = ""
        self._loud = False
        self._laid_out = False

    @property
    def paddock(self) -> Doorman:
        """The app, for what only the doorman can do."""
        return cast("Doorman", self.app)

    # laying out

    def compose(self) -> ComposeResult:
        """Top line, body, entry, words, keys."""
        yield Board(name_id="top")
        yield from self.body()
        with Horizontal(id="entry-row"):
            yield Board(name_id="label")
            yield EntryLine(self.PLACEHOLDER, name_id="entry")
        yield Board(name_id="echo")
        yield KeyRow()
        yield Board(name_id="small")

    def body(self) -> Iterable[Widget]:
        """The page's own widgets."""
        return ()

    @property
    def entry(self) -> EntryLine:
        """The line typed into."""
        return self.query_one("#entry", EntryLine)

    @property
    def stands(self) -> bool:
        """Its widgets are there: not yet while it is put up, no more while it is taken down."""
        return self._laid_out and bool(self.query("#entry"))

    def on_mount(self) -> None:
        """Show what there is."""
        self._laid_out = True
        self.put(self.desk.drafts.pop(self.NAME, ""))
        self.set_label(self.label)
        self.refresh_page()

    def on_resize(self, event: events.Resize) -> None:
        """Lay out again; say so where there is too little room. A size that comes before the widgets waits for them."""
        if not self.stands:
            return
        small = event.size.width < LEAST[0] or event.size.height < LEAST[1]
        self.set_class(small, "-small")
        if small:
            self.query_one("#small", Board).show(_too_small(event.size.width, event.size.height))
        self.refresh_page()

    def refresh_page(self) -> None:
        """Paint everything from the event as it is now, once there is something to paint on."""
        if not self.stands:
            return
        self.paint_top()
        if self.desk.session is not None:
            self.show_event()
        else:
            self.show_opening()
        self.paint_keys()

    def show_event(self) -> None:
        """Paint the page's body; the event is open."""

    def show_opening(self) -> None:
        """Paint what can be told before the event is open."""

    def tick(self) -> None:
        """A quarter of a minute passed: repaint what depends on the clock."""
        if self.stands:
            self.paint_top()

    def top(self) -> tuple[str, str]:
        """Left and right text of the top line."""
        if self.desk.session is None:
            return self.desk.folder.name, self.desk.saved_mark()
        from paddock.views.home import day_words, weather_words

        name = self.desk.event.settings.name or self.desk.event.name
        weather = weather_words(self.desk.event, self.desk.day) if self.size.width >= 70 else ""
        right = f"{weather}   {self.desk.saved_mark()}" if weather else self.desk.saved_mark()
        return f"{day_words(self.desk.event, self.desk.day, self.size.width < 60)} · {name}", right

    def paint_top(self) -> None:
        """The top line."""
        left, right = self.top()
        width = self.size.width
        self.query_one("#top", Board).show([spread(line((f" {left}", "band")), line((f" {right} ", "band")), width)])

    def paint_keys(self) -> None:
        """The keys that do something now, the page's own first."""
        known = {found.binding.id: (key, found.binding) for key, found in reversed(self.active_bindings.items())}
        hints = [self._hint(*known[name]) for name in self._hint_order(known) if known[name][1].show]
        last = [self._hint(*known[name]) for name in ("any.help", "app.actions") if name in known]
        self.query_one(KeyRow).tell(hints, last)

    def _hint_order(self, known: Iterable[str | None]) -> list[str]:
        rest = [name for name in known if name and name not in self.HINTS and not name.startswith("app.")]
        rest = [name for name in reversed(rest) if name not in ("any.help", f"go.{self.NAME}")]
        return [name for name in self.HINTS if name in known] + rest

    def _hint(self, key: str, binding: Binding) -> KeyHint:
        return KeyHint(self.app.get_key_display(binding.with_key(key)), binding.description, binding.action)

    # typing

    async def take_key(self, event: events.Key) -> bool:
        """Do what a key means here, at once; False where it is nothing of ours."""
        if self.focused is not None and self.focused is not self.entry:
            return False
        letter = event.character if event.is_printable else None
        if letter is not None and self.entry.check_consume_key(event.key, letter):
            self._type(letter)
        elif event.key == "enter":
            self.enter()
        elif event.key == "backspace" and self.goes_back():
            self.action_back()
        elif not await self.paddock.run_key(event.key):
            if letter is None:
                return False
            self._type(letter)
        return True

    def _type(self, letter: str) -> None:
        self.entry.insert_text_at_cursor(letter)
        self._told_of = self.entry.value
        self.typed(self._told_of)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Pasted or cut: the words below follow. A change the page made itself says nothing new."""
        if self.stands and event.value == self.entry.value != self._told_of:
            self._told_of = event.value
            self.typed(event.value)

    def enter(self) -> None:
        """Enter: hand the line to the page, once the event is open."""
        if self.desk.session is None:
            self._enter_waits = True
            self.tell("still opening the event: your line is kept and taken in a moment")
            return
        text = self.entry.value.strip()
        self.accept(text) if text else self.accept_empty()

    def opened(self) -> None:
        """The event is open: show it, and take a line that waited for it."""
        self.refresh_page()
        if self._enter_waits and self.stands:
            self._enter_waits = False
            self.enter()

    def accept(self, text: str) -> None:
        """Take a line; a page that can't read it leaves it standing and tells why."""

    def accept_empty(self) -> None:
        """Enter on an empty line."""

    def typed(self, text: str) -> None:
        """The line changed: say what it would mean."""

    def clear(self) -> None:
        """Empty the line."""
        self.put("")

    def put(self, text: str) -> None:
        """Set the line without words about it."""
        self._told_of = text
        self.entry.put(text)

    def set_writing(self, on: bool, label: str | None = None) -> None:
        """Letters are text from now on (or commands again)."""
        self.writing = self.entry.writing = on
        if label is not None:
            self.set_label(label)
        self.paint_keys()

    def set_label(self, label: str) -> None:
        """The words before the line."""
        self.label = label
        self.query_one("#label", Board).show([line((f" {label} > " if label else " > ", "key"))])

    def tell(self, text: str, loud: bool = False) -> None:
        """Words under the line. Loud ones begin with a mark, so that no colour is needed to see it."""
        try:
            echo = self.query_one("#echo", Board)
        except NoMatches:
            return
        self._loud = loud
        width = max(20, self.size.width - 1)
        role = "warn" if loud else "quiet"
        echo.show([(Piece(" "), *pieces) for pieces in wrapped(f"! {text}" if loud else text, width, role)[:3]])

    def do(self, edit: Batch, said: str = "", joins: bool = False) -> Done:
        """Do and save an edit, show the page as it is then, and tell how it went.

        ``said``: words for it, else the edit's own label; ``joins``: one with the edit before, for undo.
        """
        done = self.desk.apply(edit, said or edit.label, joins)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)
        return done

    def hush(self) -> None:
        """Take a warning away that is no longer so; other words stay."""
        if self._loud:
            self.tell("")

    def on_told(self, event: Told) -> None:
        """A widget has something to say."""
        event.stop()
        self.tell(event.text, event.loud)

    # actions every page has

    def goes_back(self) -> bool:
        """Whether Backspace is a step back now, not the end of what is typed."""
        return not self.entry.value

    def action_back(self) -> None:
        """What Backspace on the empty line does."""
        self.action_leave()

    def action_leave_form(self) -> None:
        """Pages that ask have a form to leave."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A form can be left only while it asks."""
        return self.in_form if action == "leave_form" else super().check_action(action, parameters)

    @property
    def in_form(self) -> bool:
        """Questions are being asked."""
        return False

    def action_leave(self) -> None:
        """One step back: clear the line, stop writing, then home."""
        if self.entry.value:
            self.clear()
            self.typed("")
        elif self.writing:
            self.set_writing(False)
            self.stopped_writing()
        elif self.NAME != "home":
            self.app.call_later(self.paddock.go, "home")

    def stopped_writing(self) -> None:
        """Writing ended without an entry."""
        self.tell("")

    async def action_go(self, name: str) -> None:
        """Open another page."""
        await self.paddock.go(name)

    def action_switch_entry(self) -> None:
        """My next entry."""
        self.tell(self.desk.switch_entry() if self.desk.session else "still opening")
        self.refresh_page()

    def action_undo(self) -> None:
        """Take the last edit back."""
        self.tell(self.desk.undo(), loud=False)
        self.refresh_page()

    def action_redo(self) -> None:
        """Do the last undone edit again."""
        self.tell(self.desk.redo())
        self.refresh_page()

    def action_theme(self) -> None:
        """Night or sun."""
        self.paddock.switch_theme()

    def action_help(self) -> None:
        """This page's help."""
        self.paddock.show_help(self)

    def action_step(self, by: int) -> None:
        """A row up or down."""

    def action_leaf(self, by: int) -> None:
        """A screen up or down."""

    def on_board_tapped(self, event: Board.Tapped) -> None:
        """A tap on a key or a tagged piece runs its action, in turn with the keys."""
        event.stop()
        self.app.call_later(self.paddock.run_tap, event.tag)


def _too_small(width: int, height: int) -> Sequence[TextLine]:
    text = (
        f"This window is {width}x{height}. paddock needs {LEAST[0]}x{LEAST[1]} or more: make it larger, "
        "or the letters smaller. Nothing typed is lost."
    )
    return wrapped(text, max(8, width))
