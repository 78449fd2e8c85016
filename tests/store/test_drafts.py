"""Half-typed lines kept for a browser's tab: given back once, to the same folder, and never a reason to fail."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from platformdirs import user_state_path

from paddock.store.personal import is_tab, keep, take

TAB = "abcdef0123"


def test_kept_lines_come_back_once_and_to_their_folder(tmp_path: Path) -> None:
    keep(TAB, tmp_path, "home", {"home": "2 0 61.4", "notes": "übers"})
    assert take(TAB, tmp_path / "other") is None
    assert take("another000", tmp_path) is None
    assert take(TAB, tmp_path) == ("home", {"home": "2 0 61.4", "notes": "übers"})
    assert take(TAB, tmp_path) is None


def test_nothing_typed_takes_what_was_kept_away(tmp_path: Path) -> None:
    keep(TAB, tmp_path, "home", {"home": "61"})
    keep(TAB, tmp_path, "home", {})
    assert take(TAB, tmp_path) is None


def test_what_nobody_comes_back_for_goes_after_a_day(tmp_path: Path) -> None:
    keep(TAB, tmp_path, "home", {"home": "61"})
    place = user_state_path("paddock") / "drafts"
    os.utime(place / f"{TAB}.json", (0, 0))
    keep("another000", tmp_path, "home", {"home": "62"})
    assert [path.name for path in place.iterdir()] == ["another000.json"]


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"\xff", b'{"folder": 1}', b'{"folder": "@", "page": 3, "lines": []}']
)
def test_a_spoilt_file_gives_nothing(data: bytes, tmp_path: Path) -> None:
    keep(TAB, tmp_path, "home", {"home": "61"})
    path = user_state_path("paddock") / "drafts" / f"{TAB}.json"
    path.write_bytes(data.replace(b"@", f"{tmp_path.resolve()}".encode()))
    assert take(TAB, tmp_path) is None


def test_a_place_that_cannot_be_written_fails_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", f"{tmp_path / 'file'}")
    keep(TAB, tmp_path, "home", {"home": "61"})
    assert take(TAB, tmp_path) is None


@pytest.mark.parametrize(
    ("name", "good"),
    [(TAB, True), ("short", False), ("../../etc/passwd", False), ("ABCDEFGH", False), ("a" * 33, False), ("", False), (None, False)],
)  # fmt: skip
def test_a_tabs_name_can_be_a_files(name: str | None, good: bool) -> None:
    assert is_tab(name) == good
