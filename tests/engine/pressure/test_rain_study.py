"""A piece of docs/studies/rain_study.py: the program's own answers on simulated days whose surface turns."""

from __future__ import annotations

from tests.studies import study


def test_three_of_four_runs_end_within_a_pound_whether_the_surface_turned_or_not() -> None:
    lines = {line[0]: line[1:] for line in study("rain_study").table(12)}
    count, within, miss, _, held = lines["all changes"]
    assert count == 68
    assert within >= 65.0, "it was 22 with the warmth carried back"
    assert abs(miss) < 0.8
    assert held >= 75.0
    count, within, miss, _, _ = lines["no change"]
    assert count == 44
    assert within >= 70.0, "it was 43 with the warmth carried back alone"
    assert abs(miss) < 0.6
