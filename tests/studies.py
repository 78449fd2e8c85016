"""The studies of docs/studies, loaded so that a small piece of each runs among the tests."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType


def study(name: str) -> ModuleType:
    """``docs/studies/<name>.py``."""
    place = Path(__file__).parents[1] / "docs" / "studies" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, place)
    assert spec is not None
    assert spec.loader is not None
    found = importlib.util.module_from_spec(spec)
    sys.modules[name] = found
    spec.loader.exec_module(found)
    return found
