"""Copies of a CSV file joined: what must hold for all copies, then cases one by one."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.merge import Clash, CopiedTable, MergedTable, joined_order, merge_tables

HEADERS = ("day", "run", "number", "time", "cones", "status", "try", "mood")


def cell(*words: str) -> st.SearchStrategy[str]:
    return st.sampled_from(words)


ROW = st.tuples(
    cell("1", "2"), cell("1", "2", "x"), cell("26", "83", "007"), cell("", "46.5", "46,500", "46.512", "bad"),
    cell("", "0", "1"), cell("", "dnf", "rerun"), cell("", "a"), cell("", "calm", "Calm "),
)  # fmt: skip


@st.composite
def copies(draw: st.DrawFn) -> CopiedTable:
    """A copy with columns left out, in any order, keyed rows that may clash, repeat or be unreadable."""
    places = draw(st.permutations(range(len(HEADERS))))
    left_out = draw(st.sets(st.integers(3, 7), max_size=3))
    kept = [place for place in places if place not in left_out]
    rows = draw(st.lists(ROW, max_size=7))
    return CopiedTable(tuple(HEADERS[at] for at in kept), tuple(tuple(row[at] for at in kept) for row in rows))


def merged(*found: CopiedTable) -> MergedTable:
    return merge_tables("times.csv", list(found))


def cells(sheet: CopiedTable) -> set[tuple[tuple[str, str], ...]]:
    """Rows as what they say, blanks aside."""
    return {
        tuple(sorted((h, c.strip()) for h, c in zip(sheet.headers, row, strict=True) if c.strip()))
        for row in sheet.rows
    }


@given(copies(), copies())
def test_either_order_gives_the_same(one: CopiedTable, other: CopiedTable) -> None:
    there, back = merged(one, other), merged(other, one)
    assert there.sheet == back.sheet
    assert {(c.row, c.column, c.kept, c.others) for c in there.clashes} == {
        (c.row, c.column, c.kept, c.others) for c in back.clashes
    }


@given(copies(), copies())
def test_joining_again_changes_nothing(one: CopiedTable, other: CopiedTable) -> None:
    once = merged(one, other)
    for again in (merged(once.sheet, other), merged(once.sheet, one), merged(once.sheet, once.sheet)):
        assert again.sheet == once.sheet
        assert (again.added, again.updated) == (0, 0)


@st.composite
def keyed(draw: st.DrawFn) -> CopiedTable:
    """A copy that has no key twice: rows of one key twice can't be matched with another copy's."""
    found = draw(copies())
    at = [found.headers.index(name) for name in ("day", "run", "number")]
    rows = {tuple(row[place] for place in at): row for row in found.rows}
    return CopiedTable(found.headers, tuple(rows.values()))


@given(keyed(), keyed(), keyed())
def test_three_devices_say_the_same_whoever_joins_first_and_end_with_the_same_file(
    one: CopiedTable, two: CopiedTable, three: CopiedTable
) -> None:
    first = merged(merged(one, two).sheet, three).sheet
    last = merged(one, merged(two, three).sheet).sheet
    assert cells(first) == cells(last) == cells(merged(one, two, three).sheet)
    for _ in range(3):
        one, two = merged(one, two).sheet, merged(two, three).sheet
        three = merged(three, one).sheet
    assert one == merged(one, three).sheet == merged(two, one).sheet == merged(three, two).sheet


@given(copies(), copies())
def test_nothing_is_lost(one: CopiedTable, other: CopiedTable) -> None:
    """Every filled cell of every copy is in the result or in the list of clashes."""
    found = merged(one, other)
    kept = {(h, c.strip()) for row in cells(found.sheet) for h, c in row}
    kept |= {(clash.column, value.strip()) for clash in found.clashes for value in (clash.kept, *clash.others)}
    same = {("time", "46,500"): ("time", "46.5"), ("time", "46.5"): ("time", "46,500")}
    for row in cells(one) | cells(other):
        for pair in row:
            assert pair in kept or same.get(pair) in kept


@given(copies())
def test_a_copy_joined_with_itself_is_itself(one: CopiedTable) -> None:
    found = merged(one, one)
    assert (found.added, found.updated, found.clashes) == (0, 0, ())
    assert cells(found.sheet) == cells(one)


@given(copies(), st.data())
def test_rows_taken_out_of_one_copy_stay(one: CopiedTable, data: st.DataObject) -> None:
    fewer = CopiedTable(one.headers, tuple(row for row in one.rows if data.draw(st.booleans())))
    assert cells(merged(one, fewer).sheet) >= cells(one) or len(cells(one)) != len(one.rows)


@given(st.lists(st.lists(st.integers(0, 9), unique=True), min_size=1, max_size=4), st.randoms())
def test_joined_orders(orders: list[list[int]], shuffle: object) -> None:
    found = joined_order(orders)
    assert sorted(found) == sorted({item for order in orders for item in order})
    mixed = list(orders)
    shuffle.shuffle(mixed)  # type: ignore[attr-defined]
    assert joined_order(mixed) == found
    assert joined_order([found, *orders]) == found
    for order in orders:
        if joined_order([order]) == order and found != sorted(found):
            assert [item for item in found if item in order] == order


def test_the_order_of_a_long_table_asks_for_keys_only_where_two_rows_may_come_next() -> None:
    asked: list[int] = []
    found = joined_order([[*range(1000)], [0, 1, 2000, 999]], lambda item: asked.append(item) or -item)
    assert found == [0, 1, 2000, *range(2, 1000)]
    assert sorted(asked) == [2, 2000]


def times(*rows: str) -> CopiedTable:
    """Rows like ``1 1 26 46.5``: day, run, number, time, cones, status."""
    cut = [row.split() for row in rows]
    return CopiedTable(
        ("day", "run", "number", "time", "cones", "status"), tuple(tuple(w.strip("_") for w in r) for r in cut)
    )


def test_rows_of_both_and_blanks_filled() -> None:
    found = merged(times("1 1 26 46.5 _ _"), times("1 1 26 _ 1 _", "1 1 83 47.1 0 _"))
    assert found.sheet == times("1 1 26 46.5 1 _", "1 1 83 47.1 0 _")
    assert (found.added, found.updated, found.clashes) == (1, 1, ())


def test_a_clash_is_kept_both_ways() -> None:
    found = merged(times("1 1 26 46.5 1 _"), times("1 1 26 46.7 1 _"))
    assert found.sheet == times("1 1 26 46.7 1 _")
    assert found.clashes == (Clash("times.csv", "day 1 run 1 number 26", "time", "46.7", ("46.5", "46.7")),)
    assert (found.clashes[0].pair, found.clashes[0].others) == (("46.5", "46.7"), ("46.5",))


def test_a_run_that_counts_against_a_void_one_is_a_clash() -> None:
    found = merged(times("1 1 26 46.5 _ _"), times("1 1 26 46.5 _ dnf"))
    assert [(c.column, c.kept, c.others) for c in found.clashes] == [("status", "dnf", ("",))]
    quiet = merged(times("1 1 26 _ 1 _"), times("1 1 26 _ _ dnf"))
    assert quiet.clashes == ()


def test_one_time_written_two_ways_is_no_clash() -> None:
    found = merged(times("1 1 26 46.500 _ _"), times("1 1 26 46,5 _ _"))
    assert found.clashes == ()
    assert found.updated == 0


def test_a_granted_rerun_and_its_replacement_stay_two() -> None:
    found = merged(times("1 1 26 _ _ rerun"), times("1 1 26 46.5 _ _"))
    assert len(found.sheet.rows) == 2


def test_the_order_of_a_file_is_kept() -> None:
    found = merged(
        times("1 2 83 47.0 _ _", "1 1 26 46.5 _ _"), times("1 2 83 47.0 _ _", "1 1 26 46.5 _ _", "1 1 4 48.0 _ _")
    )
    assert [row[2] for row in found.sheet.rows] == ["83", "26", "4"]


def test_units_that_differ_meet_in_the_contracts() -> None:
    one = CopiedTable(("day", "number", "moment", "lf_kpa"), (("1", "26", "cold", "220"),))
    other = CopiedTable(
        ("day", "number", "moment", "lf_psi"), (("1", "26", "cold", "31.91"), ("1", "83", "cold", "30"))
    )
    found = merge_tables("pressures.csv", [one, other])
    assert found.sheet.headers[-1] == "lf_psi"
    assert found.sheet.rows == (("1", "26", "cold", "31.91"), ("1", "83", "cold", "30"))
    assert found.clashes == ()


def test_unknown_columns_and_cells_beyond_the_header_stay() -> None:
    one = CopiedTable(("number", "driver", "shoe"), (("26", "Birch", "42"),))
    other = CopiedTable(("number", "hat"), (("26", "red", "", "x"), ("4", "blue")))
    found = merge_tables("entrants.csv", [one, other])
    assert set(found.sheet.headers) == {"number", "driver", "shoe", "hat"}
    assert {"42", "red", "Birch"} <= set(found.sheet.rows[0])
    assert found.sheet.rows[0][-1] == "x"


def test_three_copies() -> None:
    found = merge_tables("times.csv", [times("1 1 26 46.5 _ _"), times("1 1 26 46.5 _ _"), times("1 1 26 46.1 _ _")], 2)
    assert found.updated == 1
    assert found.clashes[0].pair == ("46.5", "46.1")


def test_a_choice_made_stands_against_a_copy_that_has_not_heard_of_it() -> None:
    """Joined, put right by hand, joined again with the other device's old copy."""
    old = times("1 1 26 46.7 _ _")
    seen = {("day 1 run 1 number 26", "time"): frozenset({"46.7", "46.5"})}
    for chosen in ("46.5", "46.6"):
        mine = times(f"1 1 26 {chosen} _ _")
        there = merge_tables("times.csv", [mine, old], 0, [seen, {}])
        back = merge_tables("times.csv", [old, mine], 0, [{}, seen])
        assert there.sheet == back.sheet == mine
        assert there.clashes[0].others == ("46.7",)
    news = times("1 1 26 46.9 _ _")
    assert merge_tables("times.csv", [times("1 1 26 46.5 _ _"), news], 0, [seen, {}]).sheet == news
    both = merge_tables("times.csv", [times("1 1 26 46.5 _ _"), old], 0, [seen, seen])
    assert both.sheet == old
