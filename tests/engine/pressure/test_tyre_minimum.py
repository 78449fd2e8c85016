"""A tyre's own lowest cold pressure counts where it is higher than the car's: nothing below it is suggested."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock import answer
from paddock.engine.pressure.limits import minimum
from paddock.model.car import Car, Limits
from paddock.model.rows import TyreRow
from tests.small import TYRES, small_event


def test_the_highest_minimum_counts() -> None:
    car = Car(limits=Limits(front_min_psi=25.0))
    low, high, none = TyreRow(tyre="A", min_cold_psi=22.0), TyreRow(tyre="B", min_cold_psi=28.0), TyreRow(tyre="C")
    assert minimum(car, "front", low, none, None) == 25.0
    assert minimum(car, "front", low, high) == 28.0
    assert minimum(car, "rear", low) == 22.0
    assert minimum(None, "rear", none) is None


@pytest.mark.parametrize("least", [None, 36.0])
def test_nothing_is_let_out_below_what_the_tyre_may_stand_at(tmp_path: Path, least: float | None) -> None:
    """Fronts at 35.5 hot against a target under 33: let out, unless the tyre's own minimum is above them, parked."""
    lines = TYRES.splitlines()
    ends = ["" if least is None else f"{least:g}"] * 8
    tyres = "\n".join(
        [f"{lines[0]},min_cold_psi", *(f"{line},{end}" for line, end in zip(lines[1:], ends, strict=True))]
    )
    folder = small_event(tmp_path / "event", {"tyres.csv": tyres + "\n", "worklist.csv": None, "runs.csv": None})
    said = answer("next", folder, "--number", "7", "--at", "2026-06-14T13:00")
    front = [said["set"][corner] for corner in ("lf", "rf")] if said["set"] else []
    if least is None:
        assert min(front) < 34.5
    else:
        assert all(psi is None or psi >= 34.5 for psi in front)
