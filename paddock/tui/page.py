"""What every page has: the top line, one line to type into, words under it, and the keys.

The page is handed every key before any widget sees it, in the order typed, so no digit is lost to a
change of focus or of page. What a key means is said once, in :meth:`Page.is_text`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, cast

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from paddock.log import note
from paddock.render.pieces import fit, line, spread, wrapped
from paddock.tui.desk import TellPage, Waiting
from paddock.tui.rooms import LEAST, ROOMS, too_small
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.keys import BEGUN_HINTS, TEXT_HINTS, Echo, EntryLine, KeyHint, KeyRow, letter_of

if TYPE_CHECKING:
    from paddock.model.edit import Batch
    from paddock.tui.desk import Desk, Done
    from paddock.tui.doorman import Doorman


class Page(Screen[None]):
    """Base of the pages. A page shows ``desk.event`` in :meth:`show_event` and takes lines in :meth:`accept`."""

    AUTO_FOCUS = "#entry"
    NAME: ClassVar[str] = "page"
    PLACEHOLDER: ClassVar[str] = ""
    HELP: ClassVar[str] = ""
    HINTS: ClassVar[tuple[str, ...]] = ()
    TAKES_WORDS: ClassVar[bool] = False
    """Every sign typed is text; commands are Enter, the arrows, Esc, Ctrl with a letter, and ``:``."""
    DEFAULT_CSS = """
    Page { layout: vertical; background: $background; }
    Page #top { height: 1; background: $band; overflow: hidden; }
    Page #entry-row { height: 1; background: $panel; }
    Page #label { width: auto; max-width: 40%; height: 1; background: $panel; overflow: hidden; }
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
        Binding("space", "begin_line", "type", id="any.type", tooltip="Begin a line: every sign is text until Enter"),
        Binding("question_mark,f1", "help", "help", id="any.help", tooltip="What this page does and its keys"),
        Binding("up", "step(-1)", "up", show=False, id="any.up", tooltip="The row above"),
        Binding("down", "step(1)", "down", show=False, id="any.down", tooltip="The row below"),
        Binding("pageup", "leaf(-1)", "page up", show=False, id="any.page_up", tooltip="A screen up"),
        Binding("pagedown", "leaf(1)", "page down", show=False, id="any.page_down", tooltip="A screen down"),
        Binding("home", "leaf(-1000)", "first", show=False, id="any.first", tooltip="The first row, or the top"),
        Binding("end", "leaf(1000)", "last", show=False, id="any.last", tooltip="The last row, or the end"),
        Binding("ctrl+g", "leave_form", "leave the form", id="any.leave_form",
                tooltip="Leave all the questions at once; what is answered waits for you (Escape does so too)"),
        Binding("escape", "leave", "back", show=False, id="any.back", tooltip="Clear the line, then go back"),
    ]  # fmt: skip

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.writing = False
        self.label = ""
        self.waiting = Waiting()
        self._told_of = ""
        self._laid_out = False
        self._begun = False

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
        yield Echo(name_id="echo")
        yield KeyRow()
        yield Board(name_id="small")

    def body(self) -> Iterable[Widget]:
        """The page's own widgets."""
        return ()

    @property
    def columns(self) -> int:
        """Cells a line of the body may take: the last column is the scrollbar's."""
        return max(20, self.size.width - 1)

    @property
    def entry(self) -> EntryLine:
        """The line typed into."""
        return self.query_one("#entry", EntryLine)

    @property
    def words(self) -> Echo:
        """The words under the line."""
        return self.query_one("#echo", Echo)

    @property
    def stands(self) -> bool:
        """Its widgets are there: not yet while it is put up, no more while it is taken down."""
        return self._laid_out and bool(self.query("#entry"))

    def on_mount(self) -> None:
        """Show what there is."""
        if self._laid_out:  # a page with more to do when it is put up has called this already
            return
        self._laid_out = True
        note(f"page {self.NAME} at {self.size.width}x{self.size.height}")
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
            self.query_one("#small", Board).show(
                wrapped(too_small(event.size.width, event.size.height), max(8, event.size.width))
            )
        self.set_label(self.label)
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
        from paddock.pages.home import top_words

        return top_words(self.desk.event, self.desk.day, self.desk.saved_mark(), self.size.width)

    def paint_top(self) -> None:
        """The top line."""
        left, right = self.top()
        width = self.size.width
        self.query_one("#top", Board).show([spread(line((f" {left}", "band")), line((f" {right} ", "band")), width)])

    def paint_keys(self) -> None:
        """The keys that do something now, the page's own first."""
        self._begun = bool(self.entry.value)
        known = {
            found.binding.id: (key, found.binding, found.node is self.app)
            for key, found in reversed(self.active_bindings.items())
            if self.acts(key, found)
        }
        order = self._hint_order(known)
        hints = [*BEGUN_HINTS] if self.entry.value else [*TEXT_HINTS] if self.takes_words else []
        hints += [self._hint(*known[name]) for name in order if known[name][1].show or name in self.HINTS]
        last = [self._hint(*known[name]) for name in ("any.help", "app.actions") if name in known]
        self.query_one(KeyRow).tell(hints, last)

    def _hint_order(self, known: Iterable[str | None]) -> list[str]:
        rest = [name for name in known if name and name not in self.HINTS and not name.startswith("app.")]
        rest = [name for name in reversed(rest) if name not in ("any.help", f"go.{self.NAME}")]
        return [name for name in self.HINTS if name in known] + rest

    def _hint(self, key: str, binding: Binding, of_app: bool) -> KeyHint:
        action = f"app.{binding.action}" if of_app else binding.action
        return KeyHint(self.app.get_key_display(binding.with_key(key)), binding.description, action)

    # typing

    @property
    def takes_words(self) -> bool:
        """Words are typed here now: all of the page's time, or while it asks for some."""
        return self.TAKES_WORDS or self.writing

    def is_text(self, key: str, letter: str) -> bool:
        """Whether a printable key is text; else it is a command, where it is bound to one.

        Once the line holds anything all is text. On an empty line all is text where words are taken, but the sign of
        the palette; where figures are taken whatever is no command there.
        """
        return bool(self.entry.value) or self._begins(letter, self.active_bindings.get(key))

    def _begins(self, letter: str, found: ActiveBinding | None) -> bool:
        if self.takes_words:
            return letter.isalnum() or found is None or found.binding.id != "app.actions"
        return found is None

    def acts(self, key: str, found: ActiveBinding) -> bool:
        """Whether a key is a command now. ``found``: what it is bound to."""
        letter = letter_of(key)
        text = self._begun or (letter is not None and self._begins(letter, found))
        return letter is None or not (letter.isprintable() and text)

    async def take_key(self, event: events.Key) -> bool:
        """Do what a key means here, at once; False where it is nothing of ours."""
        if self.focused is not None and self.focused is not self.entry:
            return False
        letter = event.character if event.is_printable else None
        if letter is not None and self.is_text(event.key, letter):
            self._type(letter)
        elif event.key == "enter":
            self.action_enter()
        elif event.key == "backspace" and self.goes_back():
            self.action_back()
        elif not await self.paddock.run_key(event.key):
            return letter is not None
        return True

    def _type(self, letter: str) -> None:
        self.words.stays = False
        self.entry.insert_text_at_cursor(letter)
        self._told_of = self.entry.value
        self.typed(self._told_of)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Pasted or cut: the words below follow. A change the page made itself says nothing new.

        The keys in the bottom row follow where the line has begun or is empty again.
        """
        if self.stands and self._begun != bool(self.entry.value):
            self.paint_keys()
        if self.stands and event.value == self.entry.value != self._told_of:
            self._told_of, self.words.stays = event.value, False
            self.typed(event.value)

    def on_entry_line_pasted(self, event: EntryLine.Pasted) -> None:
        """Several lines are the page's to take."""
        event.stop()
        self.pasted(event.text)

    def pasted(self, text: str) -> None:
        """Take several pasted lines: words become one; where figures are typed nothing is taken, and that is said."""
        rows = [row.strip() for row in text.splitlines() if row.strip()]
        if self.takes_words:
            self.entry.insert_text_at_cursor(" ".join(rows))
        else:
            self.tell(f"{len(rows)} lines were pasted, one is typed here at a time: none is taken", loud=True)

    def action_enter(self) -> None:
        """Enter, or a tap on it: hand the line to the page, once the event is open."""
        text = self.entry.value.strip()
        if self.desk.session is None:
            self.tell(self.waiting.keep(text))
            self.clear()
            return
        self.words.stays = False
        self.take(text)
        self.waiting.hand_over(self, told=True)

    def take(self, text: str) -> None:
        """Do what Enter does with a line, or with none."""
        self.accept(text) if text else self.accept_empty()

    def opened(self) -> None:
        """The event is open: show it, and take the lines that waited for it, one after another."""
        self.refresh_page()
        if self.waiting and self.stands:
            self.waiting.put_by(self.entry.value)
            self.clear()
            self.waiting.hand_over(self, told=False)

    @property
    def half_typed(self) -> str:
        """What stands in the line and what waits, for the note of a fault."""
        return "\n".join(part for part in (*self.waiting.parts, self.entry.value) if part)

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
        self.writing = on
        if label is not None:
            self.set_label(label)
        self.paint_keys()

    def set_label(self, label: str) -> None:
        """The words before the line."""
        self.label = label
        room = max(8, self.size.width * 2 // 5 - 3)
        shown = fit(label, room) if cell_len(label) > room else label
        self.query_one("#label", Board).show([line((f"{shown} > " if label else " > ", "key"))])

    def tell(self, text: str, loud: bool = False, stays: bool = False) -> None:
        """Words under the line; ``loud``: something is wrong; ``stays``: until the next thing typed or done."""
        if self.query("#echo"):
            self.words.tell(text, loud, stays)

    def ring(self, said: str) -> None:
        """Words of the bell, before what was told last."""
        before = "" if self.words.said.startswith("bell:") else self.words.said
        self.tell("; ".join(filter(None, (f"bell: {said}", before))), loud=self.words.loud, stays=True)

    def do(self, edit: Batch, said: str = "", joins: bool = False) -> Done:
        """Do and save an edit, show the page as it is then, and tell how it went.

        ``said``: words for it, else the edit's own label; ``joins``: one with the edit before, for undo.
        """
        done = self.desk.apply(edit, said or edit.label, joins)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)
        return done

    def forget_words(self) -> None:
        """Words under the line go, whatever they are."""
        self.words.stays = False
        self.tell("")

    def on_tell_page(self, event: TellPage) -> None:
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
        self.tell(self.desk.undo(), stays=True)
        self.refresh_page()

    def action_redo(self) -> None:
        """Do the last undone edit again."""
        self.tell(self.desk.redo(), stays=True)
        self.refresh_page()

    def action_begin_line(self) -> None:
        """What follows is text, whatever it is."""
        self._type(" ")
        self.tell("every sign is text now: Enter takes the line, Esc leaves it")

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
