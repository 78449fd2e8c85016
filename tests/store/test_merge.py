"""Two copies of a folder joined on the disk."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.errors import FolderError, LockedError, SaveError, UsageError
from paddock.folders.merging import merge_folders, strays
from paddock.session import load
from paddock.store import disk
from tests.store.folders import TIMES, every_byte, small_folder

MORE = TIMES + "2,1,26,46.100,,,,10:01,\n"


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    return small_folder(tmp_path / "a"), small_folder(tmp_path / "b")


def files(folder: Path) -> dict[str, bytes | None]:
    return {name: data for name, data in every_byte(folder).items() if not name.startswith(".paddock")}


def test_two_copies_that_are_alike_stay_as_they_are(pair: tuple[Path, Path]) -> None:
    a, b = pair
    before = files(a)
    found = merge_folders(a, b)
    assert (found.added, found.updated, found.clashes, found.files) == (0, 0, (), ())
    assert files(a) == files(b) == before


def test_rows_of_the_other_device_come_in_and_the_other_is_only_read(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (b / "times.csv").write_text(MORE)
    (b / "weather.csv").write_text("day,at,air_c\n1,10:00,21\n")
    before = files(b)
    found = merge_folders(a, b)
    assert (found.added, found.updated) == (2, 0)
    assert (a / "times.csv").read_text() == MORE
    assert (a / "weather.csv").read_text() == "day,at,air_c\n1,10:00,21\n"
    assert files(b) == before


def test_rows_taken_out_on_one_device_come_back(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (b / "times.csv").write_text(TIMES.replace("1,1,7,48.003,1,,,10:02,\n", ""))
    assert merge_folders(b, a).added == 1
    assert files(b) == files(a)


def test_a_conflict_is_kept_both_ways_listed_and_harmless(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (a / "times.csv").write_text(TIMES.replace("46.512", "46.612"))
    found = merge_folders(a, b)
    (clash,) = found.clashes
    assert (clash.file, clash.row, clash.column, clash.pair) == (
        "times.csv", "day 1 run 2 number 26", "time", ("46.612", "46.512"),
    )  # fmt: skip
    assert (a / "merge-conflicts.csv").read_text() == (
        "file,row,column,kept,other\ntimes.csv,day 1 run 2 number 26,time,46.612,46.512\n"
    )
    assert load(a).problems == load(b).problems


def test_a_choice_made_by_hand_is_not_undone_by_the_next_merge(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (a / "times.csv").write_text(TIMES.replace("46.512", "46.612"))
    merge_folders(b, a)
    assert "46.612" in (b / "times.csv").read_text()
    (b / "times.csv").write_text(TIMES)
    assert merge_folders(b, a).files == ("merge-conflicts.csv",)
    assert (b / "times.csv").read_text() == TIMES
    assert (b / "merge-conflicts.csv").read_text() == (
        "file,row,column,kept,other\ntimes.csv,day 1 run 2 number 26,time,46.512,46.612\n"
    )
    merge_folders(a, b)
    assert (a / "times.csv").read_text() == TIMES


def test_keys_of_toml_files_meet_and_comments_stay(pair: tuple[Path, Path]) -> None:
    a, b = pair
    text = (a / "event.toml").read_text()
    (b / "event.toml").write_text(text.replace('numbers = ["26"]', 'numbers = ["7"]') + "[grid]\ninterval_s = 35\n")
    (b / "cars" / "saloon.toml").write_text('name = "saloon"\n')
    found = merge_folders(a, b)
    joined = (a / "event.toml").read_text()
    assert "# rules as posted on the board" in joined
    assert "cone_s = 2.0   # a cone" in joined
    assert load(a).settings.mine.numbers == ("26", "7")
    assert load(a).settings.grid.interval_s == 35
    assert (a / "cars" / "saloon.toml").exists()
    assert found.clashes == ()


def test_a_key_that_differs_is_a_conflict(pair: tuple[Path, Path]) -> None:
    a, b = pair
    text = (a / "cars" / "estate.toml").read_text()
    (b / "cars" / "estate.toml").write_text(text.replace("50.0", "51.5"))
    (clash,) = merge_folders(a, b).clashes
    assert (clash.file, clash.column, clash.pair) == ("cars/estate.toml", "limits.max_cold_psi", ("50.0", "51.5"))
    assert "max_cold_psi = 51.5" in (a / "cars" / "estate.toml").read_text()


def test_other_files_are_kept_and_two_of_one_name_both(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (a / "plan.txt").write_text("short")
    (b / "plan.txt").write_text("the longer plan")
    (b / "pictures").mkdir()
    (b / "pictures" / "grid.bin").write_bytes(bytes(range(256)))
    found = merge_folders(a, b)
    assert (a / "plan.txt").read_text() == "the longer plan"
    assert [file for file, _ in found.beside] == ["plan.txt"]
    assert (a / found.beside[0][1]).read_text() == "short"
    assert (a / "pictures" / "grid.bin").read_bytes() == bytes(range(256))
    before = files(a)
    assert merge_folders(a, b).files == ()
    assert files(a) == before


@pytest.mark.parametrize("spoilt", [b"", b"\x00\x01\x02", b"\xff\xfe\x00", b'day,run\n1,"open\n'])
def test_a_spoilt_file_is_kept_beside_the_good_one(pair: tuple[Path, Path], spoilt: bytes) -> None:
    a, b = pair
    (a / "times.csv").write_bytes(spoilt)
    found = merge_folders(a, b)
    assert (a / found.beside[0][1]).read_bytes() == spoilt
    assert {row.number for row in load(a).times} == {"26", "7"}
    assert merge_folders(a, b).added == 0


def test_a_record_that_can_not_be_split_is_kept_in_a_whole_copy(pair: tuple[Path, Path]) -> None:
    a, b = pair
    (b / "times.csv").write_text(TIMES + '2,1,26,"46.1\n2,1,7,47.1,,,,,\n')
    found = merge_folders(a, b)
    assert found.added == 1
    assert '"46.1' in (a / found.beside[0][1]).read_text()


@pytest.mark.parametrize("left", ["1", "1,", "1,2,", "1,2,1", "1,2,10", "1,2,108,", "1,2,108,45", "1,2,108,45.51"])
def test_a_last_row_cut_in_the_middle_is_no_row_of_its_own(pair: tuple[Path, Path], left: str) -> None:
    a, b = pair
    text = (a / "times.csv").read_text("utf-8")
    cut = text + left
    (a / "times.csv").write_text(text + "1,2,108,45.512,1\n", "utf-8")
    whole = (a / "times.csv").read_bytes()
    (b / "times.csv").write_text(cut, "utf-8")
    for one, other in ((a, b), (b, a)):
        merge_folders(one, other)
    for folder in (a, b):
        assert (folder / "times.csv").read_bytes() == whole
        (kept,) = folder.glob("times.csv.kept-*")
        assert kept.read_text("utf-8") == cut


def test_a_last_row_that_no_copy_goes_on_from_is_a_row(pair: tuple[Path, Path]) -> None:
    a, b = pair
    text = (a / "times.csv").read_text("utf-8")
    (b / "times.csv").write_text(text + "1,2,108,45.512", "utf-8")
    merge_folders(a, b)
    assert "1,2,108,45.512" in (a / "times.csv").read_text("utf-8")
    (b / "times.csv").write_text((a / "times.csv").read_text("utf-8").rstrip("\n,"), "utf-8")
    assert merge_folders(a, b).beside == ()


def test_into_a_third_folder(pair: tuple[Path, Path], tmp_path: Path) -> None:
    a, b = pair
    (a / "times.csv").write_text(TIMES.replace("46.512", "46.612"))
    (b / "times.csv").write_text(MORE)
    before = files(a), files(b)
    c, d = tmp_path / "c", tmp_path / "d"
    there, back = merge_folders(a, b, c), merge_folders(b, a, d)
    assert files(c) == files(d)
    assert there.added == back.added
    assert (files(a), files(b)) == before
    assert merge_folders(a, b, c).files == ()
    again = tmp_path / "copy of a"
    shutil.copytree(a, again)
    merge_folders(again, b)
    assert files(again) == files(c)


def test_what_is_refused(pair: tuple[Path, Path], tmp_path: Path) -> None:
    a, b = pair
    with pytest.raises(UsageError, match="one and the same"):
        merge_folders(a, a)
    with pytest.raises(FolderError, match="there is no such folder"):
        merge_folders(a, tmp_path / "nothing")
    with pytest.raises(UsageError, match="lies inside"):
        merge_folders(a, b, a / "inner")
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("x")
    with pytest.raises(UsageError, match="holds no event"):
        merge_folders(a, b, other)
    with pytest.raises(FolderError, match="is no copy of an event"):
        merge_folders(a, other)
    assert not (a / "letter.txt").exists()
    assert sorted(item.name for item in other.iterdir()) == ["letter.txt"]


@pytest.mark.parametrize(
    "name",
    [
        "times (conflict).csv",
        "times (1).csv",
        "times - copy.csv",
        "times.sync-conflict-20260509-1015.csv",
        "Times_2.csv",
    ],
)
def test_a_sync_programs_second_copy_is_noticed_and_offered(pair: tuple[Path, Path], name: str) -> None:
    a, b = pair
    (a / name).write_text(MORE)
    (stray,) = strays(a)
    assert (stray.path.name, stray.file, stray.news) == (name, "times.csv", 1)
    assert merge_folders(a, b).strays == (stray,)
    assert (a / "times.csv").read_text() == TIMES
    taken = merge_folders(a, a, copies=True)
    assert (taken.added, taken.strays) == (1, ())
    assert (a / "times.csv").read_text() == MORE
    assert strays(a)[0].news == 0


@pytest.mark.parametrize("name", ["times.csv", "timesheet.csv", "notes for me.txt", "guests (1).csv", "runs.csv"])
def test_other_names_are_no_second_copies(tmp_path: Path, name: str) -> None:
    a = small_folder(tmp_path / "a")
    (a / name).write_text("day,run,number\n")
    assert strays(a) == ()


def test_an_open_event_that_is_saving_is_waited_for_and_then_named(
    pair: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    import filelock

    a, b = pair
    (b / "times.csv").write_text(MORE)
    monkeypatch.setattr("paddock.store.merge._LOCK_WAIT_S", 0.05)
    (a / ".paddock").mkdir()
    with filelock.FileLock(a / ".paddock" / "lock"), pytest.raises(LockedError, match="another copy"):
        merge_folders(a, b)
    assert (a / "times.csv").read_text() == TIMES


def test_a_file_changed_meanwhile_stops_the_merge(pair: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    a, b = pair
    (b / "times.csv").write_text(MORE)
    monkeypatch.setattr(disk, "sweep", lambda folder: (folder / "times.csv").write_text(TIMES + "3,"))
    with pytest.raises(SaveError, match="changed while it was joined"):
        merge_folders(a, b)
    assert (a / "times.csv").read_text() == TIMES + "3,"


LINES = st.lists(
    st.tuples(
        st.sampled_from("12"), st.sampled_from(["1", "2", "?"]), st.sampled_from(["26", "7"]),
        st.sampled_from(["", "46.5", '"46,5"', "46.512"]), st.sampled_from(["", "1"]), st.sampled_from(["", "dnf", "rerun"]),
    ).map(",".join),
    max_size=5,
)  # fmt: skip
OTHER = st.sampled_from(["", "x", "yy"])


@st.composite
def folders(draw: st.DrawFn) -> dict[str, str]:
    """The files of a copy: times in one of three manners, a TOML file, one other file."""
    ending = draw(st.sampled_from(["\n", "\r\n"]))
    head = "day,run,number,time,cones,status"
    found = {"times.csv": ending.join([head, *draw(LINES), ""])}
    found["event.toml"] = f'# {draw(OTHER)}\nname = "e"\nsite = "{draw(OTHER)}"\n'
    if text := draw(OTHER):
        found["plan.txt"] = text
    return found


def put(folder: Path, made: dict[str, str]) -> Path:
    folder.mkdir()
    for name, text in made.items():
        (folder / name).write_bytes(text.encode())
    return folder


@settings(max_examples=60, deadline=None)
@given(one=folders(), other=folders())
def test_either_order_and_once_more_give_the_same_bytes(
    tmp_path_factory: pytest.TempPathFactory, one: dict[str, str], other: dict[str, str]
) -> None:
    place = tmp_path_factory.mktemp("merge")
    a, b = put(place / "a", one), put(place / "b", other)
    c, d = put(place / "c", one), put(place / "d", other)
    merge_folders(a, b)
    merge_folders(d, c)
    first = files(a)
    assert files(d) == first
    assert merge_folders(a, b).files == ()
    assert files(a) == first
    merge_folders(b, a)
    assert files(b) == first


@pytest.mark.parametrize("figure", ["nan", "-inf", "inf", "1e30", "2", "-0.0", "1_000.5"])
def test_any_figure_anywhere_in_a_list_can_be_joined(tmp_path: Path, figure: str) -> None:
    """Lists of lists are written anew by the writer: every figure TOML knows must get through it."""
    a = put(tmp_path / "a", {"event.toml": f'name = "e"\nodd = [[{{x = [{figure}]}}, 1.5]]\n'})
    b = put(
        tmp_path / "b", {"event.toml": 'name = "e"\nsite = "x" # longer, so that this text is brought to say both\n'}
    )
    merge_folders(a, b)
    assert merge_folders(a, b).files == ()
    kept = tomllib.loads((a / "event.toml").read_text(), parse_float=str)["odd"][0][0]["x"][0]
    assert float(kept) == pytest.approx(float(figure.replace("_", "")), nan_ok=True)
