"""A wide terminal for the commands, so that their sentences stand on one line."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def wide(own_folders: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
