"""A piece of docs/studies/warmth_study.py: rules for the next run's end on simulated days, and the program's among them."""

from __future__ import annotations

from types import ModuleType

import pytest

from tests import studies


@pytest.fixture(scope="module")
def study() -> ModuleType:
    return studies.study("warmth_study")


@pytest.mark.parametrize("day_psi", [0.0, 1.5, 3.0])
def test_the_last_runs_own_warming_on_what_is_left_is_the_best_however_days_differ(
    study: ModuleType, day_psi: float
) -> None:
    found = study.scores(study.Case(day_psi=day_psi), 150)
    ours, before = found["left + the last run's"], found["as warm as the last"]
    assert ours.within == max(score.within for score in found.values())
    assert ours.within > before.within + 8.0
    assert ours.worst < before.worst - 0.5
    assert abs(ours.mean) < 0.25 < before.mean


def test_what_a_second_run_gains_was_left_out_and_a_wrong_time_constant_cancels(study: ModuleType) -> None:
    second = study.scores(study.Case(), 150, range(2, 3))
    assert second["as warm as the last"].mean > 1.0
    assert abs(second["left + the last run's"].mean) < 0.3
    for minutes in (10.0, 40.0):
        found = study.scores(study.Case(cooling_min=minutes), 150)
        assert found["left + the last run's"].within == max(score.within for score in found.values())


def test_the_rules_of_the_study_by_hand(study: ModuleType) -> None:
    """Ends of 20 and 26 K, 20 minutes apart: 7.36 K were left, so the second run warmed 18.64; of 26 K 9.56 are left."""
    known = study.Known((20.0, 26.0), (20.0,), 24.0, 2.0)
    ends = {name: rule(known) for name, rule in study.RULES.items()}
    assert ends == pytest.approx({
        "as warm as the last": 26.0, "left + usual": 33.565, "left + today's first": 29.565,
        "left + weighted": 9.565 + (19.321 * 2 + 24.0) / 3, "left + the last run's": 28.207,
    }, abs=0.002)  # fmt: skip
