"""The line table: what is repainted, what stays put, where the cursor goes."""

from __future__ import annotations

from typing import Any

from textual.app import App, ComposeResult
from textual.geometry import Region

from paddock.pages.document import Piece
from paddock.tui.theme import DEFAULTS, NIGHT
from paddock.tui.widgets.grid import Cells, Col, Grid

COLUMNS = [Col("no", 4, right=True, stays=True), Col("driver"), Col("time", right=True)]


class _App(App[None]):
    def get_theme_variable_defaults(self) -> dict[str, str]:
        return DEFAULTS

    def compose(self) -> ComposeResult:
        yield Grid(COLUMNS, name_id="grid")

    def on_mount(self) -> None:
        self.register_theme(NIGHT)
        self.theme = "night"


def _rows(count: int) -> list[tuple[str, Cells]]:
    return [(str(at), (str(at), f"driver {at:05}", Piece(f"{at}.512", "strong"))) for at in range(count)]


def _text(app: App[Any]) -> list[str]:
    return [strip.text.rstrip() for strip in app.screen._compositor.render_strips()]


async def test_rows_stand_under_their_heads() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        app.query_one(Grid).fill(_rows(3))
        await pilot.pause()
        assert _text(app)[:4] == [
            "  no driver        time", "   0 driver 00000 0.512", "   1 driver 00001 1.512", "   2 driver 00002 2.512"
        ]  # fmt: skip


async def test_one_new_row_repaints_one_row() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        grid = app.query_one(Grid)
        grid.fill(_rows(10_000))
        await pilot.pause()
        asked: list[tuple[Region, ...]] = []
        grid.refresh = lambda *regions, **_: asked.append(regions)  # type: ignore[method-assign, assignment, return-value]
        grid.replace("2", ("2", "[R] O'Dell", "9.999"))
        assert asked == [(Region(0, 3, 40, 1),)]
        asked.clear()
        rows = _rows(10_000)
        rows[2] = ("2", ("2", "[R] O'Dell", "9.999"))
        rows[4] = ("4", ("4", "new", "1.000"))
        grid.fill(rows)
        assert asked == [(Region(0, 5, 40, 1),)]


async def test_brackets_and_control_characters_are_only_text() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        app.query_one(Grid).fill([("1", ("1", "[/b] \x1b[31m\u202e", "[red]x"))])
        await pilot.pause()
        assert _text(app)[1] == "   1 [/b]  [31m  [red]x"


async def test_the_cursor_stays_with_its_row() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        grid = app.query_one(Grid)
        grid.fill(_rows(50))
        grid.go_to("20")
        await pilot.pause()
        assert any("driver 00020" in item for item in _text(app))
        grid.fill(list(reversed(_rows(50))))
        assert grid.picked == "20"
        grid.fill(_rows(5))
        assert grid.picked == "4"
        grid.fill([])
        assert grid.picked is None


async def test_moving_stops_at_the_ends() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        grid = app.query_one(Grid)
        grid.fill(_rows(3))
        await pilot.pause()
        grid.move(-1)
        assert grid.picked == "2"
        grid.move(1)
        assert grid.picked == "2"
        grid.page(-1)
        assert grid.picked == "0"


async def test_the_first_columns_stay_when_scrolled_aside() -> None:
    app = _App()
    async with app.run_test(size=(16, 6)) as pilot:
        grid = app.query_one(Grid)
        grid.fill(_rows(3))
        await pilot.pause()
        grid.scroll_to(x=7, animate=False)
        await pilot.pause()
        assert _text(app)[1].startswith("   0       0.512")


async def test_a_tap_takes_a_row_and_a_second_opens_it() -> None:
    picked: list[str] = []

    class Tapped(_App):
        def on_grid_picked(self, event: Grid.Picked) -> None:
            picked.append(event.row)

    app = Tapped()
    async with app.run_test(size=(40, 6)) as pilot:
        grid = app.query_one(Grid)
        grid.fill(_rows(3))
        await pilot.pause()
        await pilot.click(offset=(3, 2))
        assert grid.picked == "1"
        assert picked == []
        await pilot.click(offset=(3, 2))
        assert picked == ["1"]


async def test_wide_characters_keep_the_columns() -> None:
    app = _App()
    async with app.run_test(size=(40, 6)) as pilot:
        app.query_one(Grid).fill([("1", ("1", "日本", "1.000")), ("2", ("2", "abcd", "2.000"))])
        await pilot.pause()
        assert [item.index(".") for item in _text(app)[1:3]] == [11, 13]
