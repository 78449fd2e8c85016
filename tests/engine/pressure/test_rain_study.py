"""A piece of docs/studies/rain_study.py: the program's own answers on simulated days whose surface turns."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path


def test_three_of_four_runs_end_within_a_pound_whether_the_surface_turned_or_not() -> None:
    place = Path(__file__).parents[3] / "docs" / "studies" / "rain_study.py"
    spec = importlib.util.spec_from_file_location("rain_study", place)
    assert spec is not None
    assert spec.loader is not None
    study = importlib.util.module_from_spec(spec)
    sys.modules["rain_study"] = study
    spec.loader.exec_module(study)
    lines = {line[0]: line[1:] for line in study.table(12)}
    count, within, miss, _, held = lines["all changes"]
    assert count == 68
    assert within >= 65.0, "it was 22 with the warmth carried back"
    assert abs(miss) < 0.8
    assert held >= 75.0
    count, within, miss, _, _ = lines["no change"]
    assert count == 44
    assert within >= 70.0, "it was 43 with the warmth carried back alone"
    assert abs(miss) < 0.6
