"""After the event: questions answered while it is fresh, the plan, a page and a zip to share, the next event."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.render.lines import lines
from paddock.render.pieces import line
from paddock.tui.asking import Job, JobPage, Question, one_of
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.pressure.plan import SitePlace
    from paddock.model.edit import Batch
    from paddock.model.event import Event
    from paddock.store.archive import Packed
    from paddock.tui.desk import Desk


def next_questions(event: Event, home: Path, hottest: Callable[[], object]) -> list[Question]:
    """Folder, name, days, site, altitude, forecast. ``hottest``: what was answered to it, once it was."""
    from paddock.entry.event import folder_of, read_altitude, read_days

    def read_folder(text: str) -> Path:
        folder = folder_of(text, home)
        if os.path.lexists(folder) and not (os.path.isdir(folder) and _empty(folder)):
            raise ValueError(f"{folder.name} is there already: choose another name")
        return folder

    old = event.settings
    altitude = "" if old.altitude_m is None else f"{old.altitude_m:g}"
    return [
        Question("folder", "folder", "beside this one, like november_inland", needed=True, read=read_folder),
        Question("name", "name", "as it should be shown"),
        Question("days", "days", "2026-07-11, or 2026-07-11 +1", needed=True, read=read_days),
        Question("site", "site", "where it is held", usual=old.site or "", whose=", the old one"),
        Question("altitude", "altitude m", "- not known", usual=altitude, whose=", the old site's", read=read_altitude),
        *_forecast(hottest),
    ]


def _empty(folder: Path) -> bool:
    try:
        return not any(folder.iterdir())
    except OSError:
        return False


def _forecast(hottest: Callable[[], object]) -> list[Question]:
    from paddock.entry.event import read_air, read_coldest

    return [
        Question("hottest", "hottest air C", "of the forecast", read=read_air),
        Question("coldest", "coldest air C", "of the forecast", read=lambda text: read_coldest(text, hottest())),
    ]


def index_question(event: Event, given: Mapping[str, object]) -> str | None:
    """What to ask about the index table, None: nothing, or it was answered."""
    from paddock.engine.season.carry import index_question as asks

    days = given["days"]
    assert isinstance(days, tuple)
    return None if "index" in given else asks(event, days)


def index_answer() -> Question:
    """Whether the index table still holds."""
    return Question("index", "still holds", "yes or no", usual="yes", read=one_of(yes="yes", no="no"))


def make_next(home: Path, event: Event, given: Mapping[str, object], place: SitePlace) -> tuple[Path, str]:
    """The folder, and what was carried in words. Raises FolderError."""
    from paddock.folders.starting import carry_on
    from paddock.pages.after import carried_lines

    folder, days, site = given["folder"], given["days"], given.get("site")
    assert isinstance(folder, Path)
    assert isinstance(days, tuple)
    name = str(given.get("name") or folder.name.replace("_", " ").replace("-", " "))
    carried = carry_on(
        home, event, folder, name, days, place, None if site is None else str(site), given.get("index") != "no"
    )
    return folder, "\n".join((f"{folder} is ready; Enter goes there", *carried_lines(carried)))


_UNSAVED = "some entries are not saved yet and would be missing: ! shows them"


@dataclass
class Made:
    """What was written. ``there``: what lies beside the folder; ``said``: how it went; ``folder``: the next event."""

    there: frozenset[str] = frozenset()
    said: dict[str, str] = field(default_factory=dict)
    folder: Path | None = None

    def look(self, home: Path) -> None:
        """See what lies beside the folder."""
        from paddock.pages.after import files_beside

        self.there = frozenset(name for name, path in files_beside(home).items() if path.is_file())


class AfterPage(JobPage):
    """The list of what closes a day, and the line in hand in full."""

    NAME: ClassVar[str] = "after"
    PLACEHOLDER: ClassVar[str] = "Enter does the line in hand; a asks the questions left"
    HINTS: ClassVar[tuple[str, ...]] = (
        "after.answer", "after.plan", "after.page", "after.share", "after.next", "go.home",
    )  # fmt: skip
    HELP: ClassVar[str] = """
What closes a day, from top to bottom: x is done, . is not. Up and down take a line in hand, Enter does it.
{after.answer} asks the questions nobody has answered yet, one after another: Enter on the empty line leaves one out,
Backspace stops. Answers are notes; the plan is one thing to test and what is expected of it, and goes into the next
event.

{after.page} writes the debrief: one page that needs nothing but itself, and a short text to post. Rivals stand under
letters there; {after.names} shows their names. {after.share} makes a zip to share without rivals' names, {after.zip} a
zip of the whole folder as it is, to keep or to move to another machine. All of it lands beside the event's folder.
{after.next} makes the next event's folder from this one: cars as they stand, tyres with their runs, open work, the
plan.
"""
    DEFAULT_CSS = """
    AfterPage Grid { height: auto; max-height: 60%; }
    AfterPage #under { height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "answer", "questions", id="after.answer", tooltip="Answer the questions left, one after another"),
        Binding("m", "plan", "plan", id="after.plan", tooltip="Write what to test next time"),
        Binding("o", "page", "debrief", id="after.page", tooltip="Write the debrief page and the text to post"),
        Binding("j", "names", "rivals' names", id="after.names", tooltip="Rivals on the page by name or by letter"),
        Binding("u", "share", "zip to share", id="after.share", tooltip="Zip the event without rivals' names"),
        Binding("r", "zip", "zip all", id="after.zip", tooltip="Zip the whole folder as it is"),
        Binding("d", "next", "next event", id="after.next", tooltip="Make the next event's folder from this one"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._named = False
        self._made = Made()
        self._left: list[str] = []
        self._given: dict[str, object] = {}

    def body(self) -> Iterable[Widget]:
        """The list, and the line in hand in full."""
        yield Grid(name_id="steps")
        yield Board(name_id="under")

    @property
    def grid(self) -> Grid:
        """The list."""
        return self.query_one("#steps", Grid)

    @property
    def _home(self) -> Path:
        return self.desk.folder.resolve()

    # showing

    def on_mount(self) -> None:
        """See what was written before."""
        self._made.look(self._home)
        super().on_mount()

    def show_event(self) -> None:
        """What is done and what isn't."""
        from paddock.pages.after import steps_table

        table = steps_table(self.desk.event, self._made.there, self._made.folder, self._named)
        self.grid.show_table(table)
        if self.grid.picked is None:
            self.grid.go_to(table.rows[0].id)
        self._show_under()

    def _show_under(self) -> None:
        from paddock.pages.after import step_in_full

        width, made, picked = self.columns, self._made, self.grid.picked or ""
        said = made.said.get("next" if picked == "open" else picked, "")
        shown = lines(step_in_full(picked, self.desk.event, self._home, made.there, said, self._named), width)
        if self.asking is not None and picked in ("next", "open"):
            shown = self.asked_lines(width)[::-1] or shown
        busy = [line((f"{self.busy} …", "strong"))] if self.busy else []
        self.query_one("#under", Board).show([*busy, *shown])

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The line in hand in full."""
        event.stop()
        self._show_under()

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap does it."""
        event.stop()
        if self.asking is None:
            self.accept_nothing()

    # doing

    def accept_nothing(self) -> None:
        """Do the line in hand."""
        picked = self.grid.picked or ""
        doing: dict[str, Callable[[], object]] = {
            "plan": self.action_plan, "page": self.action_page, "share": self.action_share, "zip": self.action_zip,
            "next": self.action_next, "open": self._open,
        }  # fmt: skip
        doing.get(picked, lambda: self._ask_for([picked]))()

    def accept_line(self, value: str) -> None:
        """A typed line answers the question in hand."""
        from paddock.actions.notes import answer_edit

        picked = self.grid.picked or ""
        if not picked.startswith("debrief"):
            self.tell("take a question in hand to answer it; a asks those left", loud=True)
            return
        self.clear()
        self._do(answer_edit(self.desk.event, picked, value, self.desk.day))

    def _do(self, edit: Batch) -> None:
        self.do(edit)

    def action_answer(self) -> None:
        """Ask the questions left."""
        from paddock.pages.after import answered, asked_of

        left = [item.topic for item in asked_of(self.desk.event) if not answered(self.desk.event, item.topic)]
        if left:
            self._ask_for(left)
        else:
            self.tell("every question is answered: Enter on one answers it anew")

    def _ask_for(self, topics: Sequence[str]) -> None:
        from paddock.pages.after import ASKED, answered, question_name

        self._left = list(topics)
        found = next(item for item in ASKED if item.topic == topics[0])
        self.grid.go_to(found.topic)
        self.ask([Question("answer", question_name(found), "your answer")])
        self.put(answered(self.desk.event, found.topic))

    def action_plan(self) -> None:
        """Ask for the plan."""
        from paddock.pages.after import plan_now

        test, expect, _ = plan_now(self.desk.event)
        self.grid.go_to("plan")
        self.ask(
            [
                Question("test", "to test", "one thing", usual=test, needed=True),
                Question("expect", "expected", "what will show that it works", usual=expect),
            ]
        )

    def asked(self, answers: Mapping[str, object]) -> None:
        """An answer, the plan, or the next event."""
        from paddock.actions.notes import plan_edit

        if "folder" in answers or "index" in answers:
            self._next_asked(answers)
        elif "test" in answers:
            expect = str(answers.get("expect", ""))
            self._do(plan_edit(self.desk.event, str(answers["test"]), expect, self.desk.day))
        elif self._left:
            self._answered(str(answers.get("answer", "")))

    def _answered(self, text: str) -> None:
        from paddock.actions.notes import answer_edit

        topic, *rest = self._left
        if text:
            self._do(answer_edit(self.desk.event, topic, text, self.desk.day))
        if rest:
            said = self._echo_text() if text else ""
            self._ask_for(rest)
            self.tell(said)

    def _echo_text(self) -> str:
        return " ".join(piece.text.strip() for item in self.query_one("#echo", Board).lines for piece in item).strip()

    # what lands beside the folder

    def action_names(self) -> None:
        """Rivals by name, or by letter again."""
        self._named = not self._named
        self.grid.go_to("page")
        self.refresh_page()
        self.tell(f"the page shows rivals by {'name' if self._named else 'letter'}; o writes it")

    def action_page(self) -> None:
        """Write the debrief."""
        from paddock.render.debrief import debrief_path, write_debrief

        event, home, named = self.desk.event, self._home, self._named

        def write(told: Callable[[str], None]) -> str:
            page, text = write_debrief(event, home, debrief_path(home), named, told)
            return f"{page}, and {text.name} to post"

        self._start("page", "the debrief", write)

    def action_share(self) -> None:
        """Zip without names."""
        from paddock.folders.importing import pack_unnamed

        event, home = self.desk.event, self._home
        self._zip("share", lambda: pack_unnamed(home, event, home.parent / f"{home.name}-shared.zip"))

    def action_zip(self) -> None:
        """Zip all of it."""
        from paddock.store.archive import pack

        home = self._home
        self._zip("zip", lambda: pack(home, home.parent / f"{home.name}.zip"))

    def _zip(self, name: str, job: Callable[[], Packed]) -> None:
        from paddock.pages.after import packed_words

        if self.desk.open_session.unsaved:
            self.tell(_UNSAVED, loud=True)
            return
        self._start(name, "the zip", lambda _: packed_words(job()))

    def _start(self, name: str, what: str, job: Job) -> None:
        self.grid.go_to(name)
        self.start(name, what, job)

    def job_moved(self) -> None:
        """Say how far it has come."""
        self._show_under()

    def job_done(self, name: str, said: str) -> None:
        """Show how it went."""
        self._made.said[name] = said
        self._made.look(self._home)
        self.refresh_page()
        self.grid.go_to("open" if name == "next" else name)

    # the next event

    def action_next(self) -> None:
        """Ask for the next event."""
        if self.desk.open_session.unsaved:
            self.tell(_UNSAVED, loud=True)
            return
        self.grid.go_to("next")
        self.ask(next_questions(self.desk.event, self._home, lambda: self._answers.get("hottest")))

    def _next_asked(self, answers: Mapping[str, object]) -> None:
        """Make it where all is known, or ask one thing once more."""
        from paddock.entry.event import place_of

        self._given = {**self._given, **answers} if "index" in answers else dict(answers)
        question = index_question(self.desk.event, self._given)
        if question is not None:
            self.ask([index_answer()])
            self.tell(question)
            return
        event, home, given = self.desk.event, self._home, self._given
        place = place_of(given)

        def make(_: Callable[[str], None]) -> str:
            self._made.folder, said = make_next(home, event, given, place)
            return said

        self._start("next", "the next event", make)

    def _open(self) -> None:
        if self._made.folder is not None:
            self.app.call_later(self.paddock.open_folder, self._made.folder)

    def action_step(self, by: int) -> None:
        """The line above or below."""
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """Move what stands under the list."""
        under = self.query_one("#under", Board)
        under.scroll_relative(y=by * max(1, under.size.height - 1), animate=False)
