"""Any bytes in any file: problems, never an exception; and what can be read is written back byte for byte."""

from __future__ import annotations

import contextlib
from datetime import date
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from paddock.errors import FolderError
from paddock.model.car import Car
from paddock.model.rows import ROWS
from paddock.model.settings import Settings
from paddock.session.loading import event_of
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Broken, parse
from tests.store.folders import CAR, ENTRANTS, EVENT, TIMES

FILES = st.sampled_from(["event.toml", "cars/estate.toml", "checklist.toml", *ROWS])
SOUND = {"event.toml": EVENT, "cars/estate.toml": CAR, "entrants.csv": ENTRANTS, "times.csv": TIMES}


@given(FILES, st.binary(max_size=200))
def test_any_bytes(file: str, data: bytes) -> None:
    doc = parse(file, data)
    assert isinstance(doc, Broken) or doc.data == data
    for problem in doc.problems:
        assert problem.file == file
        assert problem.line >= 0


@given(st.sampled_from(sorted(SOUND)), st.data())
def test_a_sound_file_spoilt(file: str, data: st.DataObject) -> None:
    sound = SOUND[file].encode()
    spoilt = bytearray(sound)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(spoilt) - 1))
        cut = data.draw(st.integers(0, 20))
        spoilt[at : at + cut] = data.draw(st.sampled_from([b"", b'"', b",", b";", b"\n", b"\r", b"\x00", b"\xff", b"[", b"=", b"-", b"9" * 30, b"1e999"]))  # fmt: skip
        if not spoilt:
            break
    docs = {name: parse(name, text.encode()) for name, text in SOUND.items()}
    docs[file] = parse(file, bytes(spoilt))
    assert isinstance(docs[file], Broken) or docs[file].data == bytes(spoilt)
    if file == "event.toml":
        with contextlib.suppress(FolderError):
            event_of("event", docs)
    else:
        assert {problem.file for problem in event_of("event", docs).problems} <= set(SOUND)


VALUE = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-(10**12), 10**12), st.floats(), st.sampled_from(["", "raw", "invalid", "26", "x" * 300]),
        st.just(date(2026, 5, 9)),
    ),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(st.sampled_from(["code", "a", "front_psi", "best_of_first"]), inner, max_size=3),
    max_leaves=5,
)  # fmt: skip


def _tables(model: Any) -> st.SearchStrategy[dict[str, Any]]:
    names = st.sampled_from([*model.model_fields, "altitude_ft", "nonsense"])
    return st.dictionaries(names, VALUE, max_size=5)


@pytest.mark.parametrize(("file", "model"), [("event.toml", Settings), ("cars/estate.toml", Car)])
@given(data=st.data())
def test_any_value_under_any_key(file: str, model: Any, data: st.DataObject) -> None:
    text = tomli_w.dumps(data.draw(_tables(model)))
    doc = parse(file, text.encode())
    assert not isinstance(doc, CsvFile)
    for problem in doc.problems:
        assert "\n" not in problem.message
    assert isinstance(doc, Broken) or isinstance(doc.model, model)
