"""Any numbers in a car file: always an answer or a refusal in words, never a fault of the program, never NaN."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.__main__ import main
from paddock.model.car import measures
from tests.cars import COUPE, SALOON, laws
from tests.examples import share

KEYS = [row.key for row in measures() if row.key.split(".")[0] in {"front", "rear", "gearbox"} or row.unit]
odd = st.sampled_from([0, -1, 1e-9, 1e9, -1e25, 1e25, 0.5, 3, 1000])
number = st.one_of(odd, st.floats(-10, 3000).map(lambda x: round(x, 6)), st.integers(-3, 12))
value = st.one_of(number, st.lists(number, max_size=5), st.sampled_from(["", "x", "3-3", True]))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all examples."""
    return tmp_path_factory.mktemp("cars")


def spoilt(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    made = deepcopy(base)
    for key, new in changes.items():
        *path, last = key.split(".")
        node = made
        for name in path:
            node = node.setdefault(name, {})
        node[last] = new
    return made


@settings(laws, max_examples=share(0.5))
@given(st.sampled_from([SALOON, COUPE]), st.dictionaries(st.sampled_from(KEYS), value, max_size=6))
def test_any_car_is_answered(folder: Path, base: dict[str, Any], changes: dict[str, Any]) -> None:
    file = folder / "car.toml"
    file.write_text(tomli_w.dumps(spoilt(base, changes)), encoding="utf-8")
    stretch = ["--hold", "2", "--from-kmh", "55", "--length-m", "70"]
    for words in (["bar"], ["bar", "--rear", "1-1"], ["gears"], ["gears", *stretch]):
        for ending in (["--json"], []):
            assert main([words[0], str(file), *words[1:], *ending]) in (0, 2)


def test_json_has_no_nan(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = folder / "whole.toml"
    file.write_text(tomli_w.dumps(SALOON), encoding="utf-8")
    assert main(["bar", str(file), "--json"]) == 0
    found = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)
    assert found["rear"]["pairs"]
