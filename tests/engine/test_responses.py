"""Learned responses against statsmodels, on made-up logs; contrast; what is left out."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm

from paddock.engine.car.balance import front_share
from paddock.engine.pressure.signs import Levels, Response, fitted, learned, levels_of
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange
from tests.cars import saloon
from tests.factories import settings


def levels(balance: list[float], days: list[int] | None = None, **columns: list[float]) -> Levels:
    made = {key: tuple(values) for key, values in columns.items()}
    return Levels(tuple(days or [1] * len(balance)), tuple(balance), made)


def test_against_statsmodels() -> None:
    rng = random.Random(4)
    psi = [38.0 + rng.choice([0, 2, 4, 6]) for _ in range(14)]
    share = [47.0 + rng.choice([0, 1.4, 2.5]) for _ in range(14)]
    days = [1 + i // 7 for i in range(14)]
    balance = [0.3 * p - 0.8 * s + d + rng.gauss(0, 1) for p, s, d in zip(psi, share, days, strict=True)]
    found = {item.key: item for item in fitted(levels(balance, days, rear_psi=psi, front_share=share))}
    dummies = [[float(day == 1), float(day == 2)] for day in days]
    reference = sm.OLS(balance, np.column_stack([psi, share, dummies])).fit()
    assert found["rear_psi"].per_unit == pytest.approx(reference.params[0])
    assert found["front_share"].per_unit == pytest.approx(reference.params[1])
    assert found["rear_psi"].se == pytest.approx(reference.bse[0])
    assert found["front_share"].se == pytest.approx(reference.bse[1])
    assert found["rear_psi"].freedom == reference.df_resid
    low, _ = reference.conf_int(alpha=0.1)[1]
    assert found["front_share"].clear == (low > 0 or reference.conf_int(alpha=0.1)[1][1] < 0)


def test_two_things_changed_together_are_not_told_apart() -> None:
    psi, share = [38.0, 38, 42, 42, 44, 44], [47.0, 47, 49, 49, 50, 50]
    balance = [1.0, 1, 0, 0, -1, -1]
    assert fitted(levels(balance, rear_psi=psi, front_share=share)) == ()
    assert fitted(levels(balance, rear_psi=psi))[0].clear


def test_another_course_is_not_taken_for_the_car() -> None:
    found = fitted(levels([1.0, 1, -1, -1], [1, 1, 2, 2], rear_psi=[38.0, 38, 42, 42]))
    assert found == ()


def test_a_column_that_stood_at_its_mean_once_has_moved_all_the_same() -> None:
    """32, 34 and 36 psi: the middle run is the mean; -0.5 a psi exactly."""
    (found,) = fitted(
        levels([1.0, 0.0, -1.0, 1.0, 0.0, -1.0], front_psi=[32.0, 34, 36, 32, 34, 36], rear_psi=[44.0] * 6)
    )
    assert (found.key, found.per_unit, found.runs, found.freedom) == ("front_psi", pytest.approx(-0.5), 6, 4)


def test_too_few_runs_or_no_contrast() -> None:
    assert fitted(levels([1, 0, 1], rear_psi=[38, 42, 38])) == ()
    assert fitted(levels([1, 0, 1, 0, 1, 0], rear_psi=[38.0] * 6)) == ()
    assert fitted(levels([])) == ()
    assert fitted(levels([1, 0, 1, 0], [1, 1, 2, 2], a=[1, 2, 1, 2], b=[1, 2, 3, 1])) == ()


def test_agreement_by_luck_is_not_certain() -> None:
    # Balance is noted in whole steps: with a perfect fit the scatter is still that of rounding, 1/12.
    found = fitted(levels([0, 0, 0, 0], rear_psi=[38.0, 38, 42, 42]))[0]
    assert found.se == pytest.approx((1 / 12 / 16) ** 0.5)
    assert not found.clear


def test_few_degrees_of_freedom_want_more() -> None:
    # Student's t, 95 %: 2.920 at two degrees of freedom, 1.943 at six.
    assert Response("rear_psi", -0.25, 0.1, 8, 6).clear
    assert not Response("rear_psi", -0.25, 0.1, 8, 2).clear
    assert not Response("rear_psi", -1, 0.1, 3, 6).clear


def made(mids: list[int], rears: list[float], **more: Any) -> Event:
    runs = [RunRow(day=1, run=i, number="26", mid=mid, **more) for i, mid in enumerate(mids, 1)]
    psis = [
        PressureRow(day=1, run=i, number="26", moment="after", lf_psi=34, rf_psi=35, lr_psi=rear, rr_psi=rear + 1)
        for i, rear in enumerate(rears, 1)
    ]
    change = SetupChange(id="c1", day=1, run=3, number="26", setting="rear_bar", before="3-3", after="1-1")
    tables = {RunRow.FILE: tuple(runs), PressureRow.FILE: tuple(psis), SetupChange.FILE: (change,)}
    return Event("e", settings(), tables, cars={"saloon": saloon(setup={"rear_bar": "3-3"})})


def test_levels_from_a_log() -> None:
    found = levels_of(made([1, 1, 0, -1], [40, 42, 40, 42]), "26")
    assert found.balance == (1, 1, 0, -1)
    assert found.columns["rear_psi"] == (40.5, 42.5, 40.5, 42.5)
    assert found.columns["front_psi"] == (34.5,) * 4
    before, after = (100 * (front_share(saloon(), rear=holes) or 0) for holes in ((3, 3), (1, 1)))
    assert list(found.columns["front_share"]) == pytest.approx([before, before, after, after])


def test_a_hole_that_isnt_there_makes_no_jump() -> None:
    event = made([1, 1, 0, -1], [40, 42, 40, 42])
    change = SetupChange(id="c1", day=1, run=3, number="26", setting="rear_bar", before="3-3", after="9-9")
    tables = {**event.tables, SetupChange.FILE: (change,)}
    found = levels_of(Event("e", settings(), tables, cars=event.cars), "26")
    assert found.columns["front_share"] == (0, 0, 0, 0)


def test_learned_from_a_log() -> None:
    found = {item.key: item for item in learned(made([2, 0, 1, -1, 1, -1], [38, 42, 38, 42, 38, 42]), "26")}
    assert set(found) == {"rear_psi", "front_share"}
    assert found["rear_psi"].per_unit == pytest.approx(-0.5)
    assert found["rear_psi"].clear


@pytest.mark.parametrize("more", [{"mistake": True}, {"surface": "wet"}])
def test_mistakes_and_wet_runs_teach_nothing(more: dict[str, Any]) -> None:
    assert levels_of(made([1, 1, 0, -1], [40, 42, 40, 42], **more), "26").balance == ()


def test_another_number_teaches_nothing() -> None:
    assert learned(made([2, 0, 1, -1], [38, 42, 38, 42]), "83") == ()


def test_less_than_a_pound_is_a_move_too() -> None:
    """Eight tenths up and down, a step of balance with it: 1.25 a psi."""
    psi, balance = (30.0, 30.8, 30.0, 30.8, 30.0, 30.8), (0.0, 1.0, 0.0, 1.0, 1.0, 1.0)
    (found,) = fitted(Levels((1,) * 6, balance, {"front_psi": psi}))
    assert (found.key, found.per_unit) == ("front_psi", pytest.approx((1.0 - 1 / 3) / 0.8))
