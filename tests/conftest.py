"""What every test shares: the same examples on every run, and no trace in the user's own folders.

``--hypothesis-profile=long`` tries a thousand examples where the suite tries sixty.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers

QUIET = [HealthCheck.too_slow]
settings.register_profile("same", derandomize=True, deadline=None, max_examples=60, suppress_health_check=QUIET)
settings.register_profile("long", derandomize=True, deadline=None, max_examples=1000, suppress_health_check=QUIET)
settings.load_profile("same")
# which numbers stand in which modules read so far would else choose some of the examples: another order, other examples
providers._get_local_constants = lambda: providers._local_constants


_TESTS = itertools.count()


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings and notes of a fault go to a folder of the test's own, made when something is written there."""
    own: Path = tmp_path_factory.getbasetemp() / "own" / f"{next(_TESTS)}"
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(own / name.lower()))
    for name in ("NO_COLOR", "PADDOCK_PLAIN", "COLUMNS", "LINES"):
        monkeypatch.delenv(name, raising=False)
