"""TOML files: exact numbers, comments and layout kept by edits, lines pointed at."""

from __future__ import annotations

from decimal import Decimal

import pytest

from paddock.model.car import Car
from paddock.model.settings import Settings
from paddock.store.disk import FileFault
from paddock.store.tomlfile import TomlFile
from paddock.store.tomlread import line_of
from tests.store.folders import CAR, EVENT


def test_numbers_are_read_from_their_written_text() -> None:
    text = '[rules]\ncone_s = 0.1\nmiss = "10"\n[index]\nedition = "x"\nA = 0.900\nB = 1\nC = "0,8125"\n'
    settings = TomlFile.parse("event.toml", text.encode()).model
    assert isinstance(settings, Settings)
    assert (settings.rules.cone_s, settings.rules.miss_ms) == (Decimal("0.1"), 10_000)
    assert {code: str(factor) for code, factor in settings.index.factors.items()} == {
        "A": "0.900",
        "B": "1",
        "C": "0.8125",
    }
    assert settings.index.edition == "x"


def test_car_values_of_every_type_are_kept() -> None:
    text = CAR + '[setup]\nbar = "3-3"\nclicks = 4\ntoe_mm = 1.5\nspacer = true\n[rear]\nspring_n_mm = 60\n'
    car = TomlFile.parse("cars/estate.toml", text.encode()).model
    assert isinstance(car, Car)
    assert car.setup == {"bar": "3-3", "clicks": 4, "toe_mm": 1.5, "spacer": True}
    assert isinstance(car.setup["toe_mm"], float)
    assert car.rear.spring_n_mm == 60.0


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_an_edit_changes_its_own_line_only(mark: bytes, ending: str) -> None:
    data = mark + EVENT.replace("\n", ending).encode()
    after = TomlFile.parse("event.toml", data).with_value(("rules", "cone_s"), Decimal("1.50"))
    assert after.data == data.replace(b"cone_s = 2.0   # a cone", b"cone_s = 1.50   # a cone")
    assert TomlFile.parse("event.toml", data).with_value(("runs_per_day",), 5).data == data


def test_tables_are_made_and_keys_taken_out() -> None:
    table = TomlFile.parse("cars/estate.toml", CAR.encode())
    made = table.with_value(("targets", "dry", "front_psi"), 34.0)
    assert made.data.startswith(CAR.encode())
    assert made.value(("targets", "dry")) == {"front_psi": Decimal("34.0")}
    assert table.with_value(("limits", "nothing"), None).data == table.data
    assert b"max_cold" not in table.with_value(("limits", "max_cold_psi"), None).data
    assert table.with_value(("front", "bar", "left"), 3).value(("front", "bar", "left")) == 3


def test_lists_of_tables() -> None:
    table = TomlFile.parse("event.toml", EVENT.encode())
    assert table.value(("classes", "1", "code")) == "OAK"
    changed = table.with_value(("classes", "1", "scored_by"), "raw")
    assert (
        changed.data == EVENT.replace('code = "OAK"\nscored_by = "index"', 'code = "OAK"\nscored_by = "raw"').encode()
    )
    gauges = table.with_value(("gauges",), [{"id": "dial", "step_psi": 0.5, "offset_psi": None}])
    assert gauges.value(("gauges",)) == [{"id": "dial", "step_psi": Decimal("0.5")}]
    assert gauges.data.startswith(EVENT.encode())


def test_what_can_not_be_set_is_refused() -> None:
    table = TomlFile.parse("event.toml", EVENT.encode())
    for path, value in ((("name", "below"), 1), (("classes", "9", "code"), "X"), (("site",), object())):
        with pytest.raises(ValueError, match="can't be set"):
            table.with_value(path, value)


def test_new_files() -> None:
    assert TomlFile.fresh("cars/van.toml", ("limits", "max_cold_psi"), 45).data == b"[limits]\nmax_cold_psi = 45\n"


def test_lines_of_keys() -> None:
    text = 'a = 1\n[t]\nb = 2\n[[c]]\nd = 3\n[[c]]\n"e f" = 4\n[c.g]\nh.i = 5\nj = { k = 6 }\n'
    expected = {
        ("a",): 1, ("t",): 2, ("t", "b"): 3, ("c", 0, "d"): 5, ("c", 1): 6, ("c", 1, "e f"): 7,
        ("c", 1, "g", "h", "i"): 9, ("c", 1, "g", "j", "k"): 10, ("nowhere",): 0,
    }  # fmt: skip
    assert {path: line_of(text, path) for path in expected} == expected


@pytest.mark.parametrize("text", ["a = 'b", "a = [1,", "[a", "a = 1\na = 2", "a = 007", "a = 1e999999999999999999"])
def test_broken_syntax_is_a_fault_of_the_file(text: str) -> None:
    with pytest.raises(FileFault):
        TomlFile.parse("event.toml", text.encode())
