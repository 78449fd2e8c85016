"""A folder in memory, for tests that save thousands of times."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from paddock.store import keeper

MEMORY = Path("/dev/shm")


@pytest.fixture
def quick_path() -> Iterator[Path]:
    """An empty folder, in memory where the system has that."""
    path = Path(tempfile.mkdtemp(dir=MEMORY if MEMORY.is_dir() else None))
    yield path
    shutil.rmtree(path)


@pytest.fixture(autouse=True)
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file caught half written is looked at again at once."""
    monkeypatch.setattr(keeper, "_PAUSE_S", 0.0)
