"""The tyres page: one table and one set of sentences for the command and the screen, at any width."""

from __future__ import annotations

from paddock.engine.tyres.putting import Put
from paddock.model.event import Event
from paddock.model.rows import TyreRow
from paddock.pages.document import Document
from paddock.pages.tyres import Beside, all_tyres, in_hand, move_asked, steppers, table, tyres_of, whole
from paddock.render.lines import lines, text
from tests.engine.tyres.make import SET, car, clean, fit, tread

NUMBER = "26"
DEPTHS = {"A": (4.0, 5.0, 5.0), "B": (4.0, 5.0, 5.0), "C": (5.5, 5.6, 5.5), "D": (5.5, 5.6, 5.5)}


def event() -> Event:
    rows = [TyreRow(tyre=name, floor_mm=2.0, price=150.0, runs_before=10) for name in (*SET.values(), "N")]
    read = [tread(day, name, *((6.0,) * 3 if not day else depths)) for name, depths in DEPTHS.items() for day in (0, 1)]
    return car(clean(NUMBER, 1, 4), *rows, *fit(1, 1, NUMBER, **SET), *read, mine={"numbers": [NUMBER]})


def test_the_corners_stand_first_then_what_is_not_on_the_car() -> None:
    found = tyres_of(event(), NUMBER, Beside())
    assert [item.id for item in found.lines] == ["lf", "rf", "lr", "rr", "N"]
    rows = table(found.lines, "mm").rows
    assert [row.cells[:3] for row in rows[:1]] == [("lf", "A", "14 (4)")]
    assert rows[-1].cells[:3] == ("off", "N", "10 (0)")
    assert rows[0].cells[3] == "4.0/5.0/5.0"


def test_command_and_screen_say_the_same_of_a_car() -> None:
    screen, command = tyres_of(event(), NUMBER, Beside()), all_tyres(event(), Beside())
    assert {row.cells for row in table(screen.lines, "mm").rows} == {
        row.cells for row in table(command.lines, "mm").rows
    }
    assert screen.proposals == command.proposals != ()
    assert screen.refusals == command.refusals
    said = " ".join(text(whole(command), 200).split())
    assert all(item.sentence in said for item in screen.proposals)


def test_a_narrow_table_drops_columns_never_figures() -> None:
    rows = table(all_tyres(event(), Beside()).lines, "mm")
    for width in (36, 40, 60, 80, 120):
        laid = ["".join(piece.text for piece in line) for line in lines(Document("tyres", (rows,)), width)]
        assert all(len(line) <= width for line in laid)
        assert not any("…" in line for line in laid)
        assert all(row.cells[5] in " ".join(laid) for row in rows.rows)  # type: ignore[operator]
    assert "heats" in laid[0]


def test_an_empty_folder_says_which_files_to_write() -> None:
    bare = car([], mine={"numbers": [NUMBER]})
    assert "tyres.csv" in text(whole(all_tyres(bare, Beside())), 80)
    assert tyres_of(bare, NUMBER, Beside()).lines == ()


def test_the_tyre_in_hand_and_its_steppers() -> None:
    found = tyres_of(event(), NUMBER, Beside())
    first, last = found.lines[0], found.lines[-1]
    assert "4.0/5.0/5.0 mm in/mid/out now" in in_hand(first, "mm").pieces[0].text
    assert "no depth yet" in in_hand(last, "mm").pieces[0].text
    tags = [piece.tag for piece in steppers({"inner": 4.0}, moved=True).pieces if piece.tag]
    assert tags == ["bump('inner', -1)", "bump('inner', 1)", "take"]
    assert "take" not in [piece.tag for piece in steppers({"inner": 4.0}, moved=False).pieces]


def test_a_move_is_told_with_what_to_mind_before_it_is_logged() -> None:
    head, mind = move_asked(tyres_of(event(), NUMBER, Beside()), (Put("lf", "X9"),), 1, 5)
    assert head == "From run 5 of day 1: X9 to lf."
    said = [line.bullet + line.pieces[0].text for line in mind]
    assert said[0].startswith("? X9 isn't in tyres.csv yet")
    assert said[-1].startswith("! ")
    assert "never on a jack alone" in said[-1]
