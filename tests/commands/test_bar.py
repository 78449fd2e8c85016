"""The verb ``bar``: the contract's JSON, the readable answer, faults with line and mend, refusals."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from paddock.__main__ import main
from tests.cars import COUPE, SALOON

PAIR = {"left", "right", "end_rate_n_mm", "wheel_rate_n_mm", "roll_nm_per_rad"}
AXLE = {"pairs", "in_use", "front_share_now", "front_share_per_pair"}


def write(folder: Path, base: dict[str, Any] = SALOON, **values: Any) -> Path:
    made = deepcopy(base)
    for key, value in values.items():
        *path, last = key.split("__")
        node = made
        for name in path:
            node = node.setdefault(name, {})
        if value is None:
            node.pop(last)
        else:
            node[last] = value
    file = folder / "car.toml"
    file.write_text(tomli_w.dumps(made), encoding="utf-8")
    return file


def ask(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    assert main(["bar", *map(str, words), "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def read(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main(["bar", *map(str, words)]) == 0
    return capsys.readouterr().out


EVENT = Path(__file__).parents[2] / "example_event"


def test_the_holes_in_use_are_the_logs(capsys: pytest.CaptureFixture[str]) -> None:
    """The example's log moved the special's rear bar from 1-1 to 2-2 on day 2; the car file still has 1-1."""
    car = EVENT / "cars" / "special.toml"
    filed, logged = ask(capsys, car), ask(capsys, car, "--folder", EVENT, "--number", "12")
    assert [filed["rear"]["in_use"][side] for side in ("left", "right")] == [1, 1]
    assert [logged["rear"]["in_use"][side] for side in ("left", "right")] == [2, 2]
    assert filed["rear"]["front_share_now"] != logged["rear"]["front_share_now"]
    text = read(capsys, car, "--folder", EVENT, "--number", "12")
    assert "Rear bar, holes left-right in use: 2-2" in text
    assert "change log of 12 leaves them: rear 2-2 (the car file has 1-1)" in text


def test_a_log_of_another_car_moves_no_holes(capsys: pytest.CaptureFixture[str]) -> None:
    text = read(capsys, EVENT / "cars" / "estate.toml", "--folder", EVENT, "--number", "12")
    assert "The log of 12 is of the car special: the holes in use are estate.toml's own." in text


def test_the_contract(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path))
    for end, holes in (("front", 2), ("rear", 4)):
        axle = found[end]
        assert set(axle) >= AXLE
        assert len(axle["pairs"]) == len(axle["front_share_per_pair"]) == holes**2
        assert all(set(pair) >= PAIR for pair in axle["pairs"])
        now = next(i for i, pair in enumerate(axle["pairs"]) if pair == axle["in_use"])
        assert axle["front_share_per_pair"][now] == pytest.approx(axle["front_share_now"])
    assert (found["rear"]["in_use"]["left"], found["rear"]["in_use"]["right"]) == (3, 3)
    assert found["problems"] == []


def test_figures_of_a_plain_bar(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # Closed forms (check case of 25 mm, 900 mm, holes at 250 and 200 mm, ratio 0.6, track 1.5 m, G 79.3 GPa).
    file = tmp_path / "car.toml"
    file.write_text(
        "[rear]\ntrack_mm = 1500\n[rear.bar]\ndiameter_mm = 25\nlength_mm = 900\narms_mm = [250, 200]\nmr = 0.6\n"
        "left = 1\nright = 2\nshear_gpa = 79.3\n",
        encoding="utf-8",
    )
    found = ask(capsys, file)
    assert found["front"] is None
    assert found["rear"]["pairs"][0]["end_rate_n_mm"] == pytest.approx(54.0643, abs=1e-4)
    assert found["rear"]["pairs"][0]["wheel_rate_n_mm"] == pytest.approx(38.9263, abs=1e-4)
    assert found["rear"]["in_use"]["roll_nm_per_rad"] == pytest.approx(55424.36, abs=0.01)
    assert found["rear"]["in_use"]["heave_end_n"] == pytest.approx([-135.161, 168.951], abs=1e-3)
    assert found["rear"]["front_share_now"] is None
    assert found["rear"]["front_share_per_pair"] == [None] * 4
    assert any(item["message"].startswith("mass_kg: missing") for item in found["problems"])


def test_an_axle_without_a_bar_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path, COUPE))
    assert found["rear"] is None
    assert found["front"]["front_share_now"] is not None


@pytest.mark.parametrize(
    ("values", "key", "words", "left_over"),
    [
        ({"rear__bar__wall_mm": None, "rear__bar__bore_mm": 30}, "bore_mm", "does not fit", 0),
        ({"rear__bar__left": 7}, "left", "hole 7 isn't there", 16),
        ({"rear__bar__arm_length_mm": 200}, "arms_mm", "beyond the arm", 1),
    ],
)
def test_a_bar_that_cant_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], values: dict[str, Any], key: str, words: str, left_over: int
) -> None:
    file = write(tmp_path, **values)
    found = ask(capsys, file)
    assert found["rear"]["in_use"] is None
    assert found["rear"]["front_share_now"] is None
    assert len(found["rear"]["pairs"]) == left_over
    assert found["front"]["in_use"] is not None
    said = next(item for item in found["problems"] if words in item["message"])
    assert said in found["rear"]["problems"]
    assert found["front"]["problems"] == []
    assert said["level"] == "fault"
    assert said["file"] == "cars/car.toml"
    assert key in file.read_text().splitlines()[said["line"] - 1]


def test_a_missing_mass_leaves_the_rates(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path, mass_kg=None))
    assert found["balance"] is None
    assert found["rear"]["in_use"]["roll_nm_per_rad"] > 0
    assert "corner scales" in next(i["message"] for i in found["problems"] if "mass_kg" in i["message"]).lower()


def test_a_word_for_a_number_is_named_and_the_rest_computed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path, rear__bar__mr="about a half"))
    assert found["rear"]["pairs"][0]["end_rate_n_mm"] > 0
    assert found["rear"]["pairs"][0]["wheel_rate_n_mm"] is None
    assert any("rear.bar.mr" in item["message"] and item["level"] == "fault" for item in found["problems"])


def test_a_change_tried(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = ask(capsys, write(tmp_path), "--rear", "1-1", "--lateral-g", "0.5")
    change = found["change"]
    assert change["front_share_after"] > change["front_share_before"] == found["rear"]["front_share_now"]
    assert change["rear_pressure"] is None
    assert change["unknown"].startswith("unknown")
    assert found["balance"]["lateral_g"] == 0.5
    front = ask(capsys, write(tmp_path), "--front", "2/2")["change"]
    assert front["other_bar"]["axle"] == "rear"


def test_the_readable_answer_and_its_cautions_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = read(capsys, write(tmp_path), "--rear", "2-2")
    assert "Rear bar, holes left-right in use: 3-3" in text
    assert "of the load transfer" in text
    assert "unknown" in text
    for word in ("on stands", "maker's torque", "class rules"):
        assert text.count(word) == 1
    assert max(len(line) for line in text.splitlines() if line.startswith(("rear  1-", "bar"))) <= 80


def test_unequal_holes_in_use_are_explained(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = read(capsys, write(tmp_path, rear__bar__left=2, rear__bar__right=4))
    assert "Rear holes 2-4 are unequal: 10 mm of bump" in text
    assert "less with the ride height free" in " ".join(text.split())
    assert "are unequal" not in read(capsys, write(tmp_path))


def test_the_plot_is_drawn_without_colour(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = read(capsys, write(tmp_path), "--plot")
    assert "\x1b" not in text
    assert "cornering, g" in text
    assert re.search("[\u2801-\u28ff]{20}", text)


def test_nothing_to_compute_still_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "car.toml"
    file.write_text("[rear.bar]\n", encoding="utf-8")
    text = read(capsys, file)
    assert "Front bar: none." in text
    assert "Rear bar: nothing to compute" in text
    assert "rear.bar.diameter_mm: missing" in text


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--rear", "9-9"], 2, "no such pair"),
        (["--front", "x"], 2, "no pair of holes"),
        (["--lateral-g", "0"], 2, "cornering"),
        (["--lateral-g", "fast"], 2, "cornering"),
        (["--folder", "."], 2, "go together"),
    ],
)
def test_wrong_use(tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], code: int, said: str) -> None:
    extra = ["--rear", "1-1"] if words[0] == "--folder" else []
    assert main(["bar", str(write(tmp_path)), *words, *extra]) == code
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


def test_a_bar_that_isnt_there_cant_be_tried(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bar", str(write(tmp_path, COUPE)), "--rear", "1-1"]) == 2
    assert "no rear bar" in capsys.readouterr().err


@pytest.mark.parametrize("content", [None, b"", b"[rear\n", b"\xff\xfe\x00", b"a = 1\x00"])
def test_a_file_that_cant_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes | None) -> None:
    file = tmp_path / "car.toml"
    if content is not None:
        file.write_bytes(content)
    assert main(["bar", str(file)]) == 3
    assert capsys.readouterr().err.count("\n") == 1


def test_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = write(tmp_path)
    before = file.read_bytes()
    ask(capsys, file)
    assert [item.name for item in tmp_path.iterdir()] == ["car.toml"]
    assert file.read_bytes() == before
