"""The sums that docs/methods/tyres.md and work.md do by hand are right, and end where the program ends."""

from __future__ import annotations

import math
from datetime import date

import pytest

from paddock.commands.new import carry
from paddock.model.rows import TreadRow
from paddock.session.loading import load
from tests.renew.blocks import ROOT, carried, in_a_season, rears

TYRES = (ROOT / "docs/methods/tyres.md").read_text(encoding="utf-8")
WORK = (ROOT / "docs/methods/work.md").read_text(encoding="utf-8")


def test_the_sums_of_the_tyres() -> None:
    s, tau = math.sqrt(2) * 0.12 / 8, 0.25 * 0.04375
    pull = s**2 / (s**2 + tau**2)
    drawn = pull * 0.04375 + (1 - pull) * 0.05
    variance = (1 - pull) * s**2 + pull**2 * (s**2 + tau**2) / 2
    vague, doubt = (0.7 * 0.05) ** 2, variance + (0.33 * drawn) ** 2
    kept = vague / (vague + doubt)
    rate = kept * drawn + (1 - kept) * 0.05
    left = 0.9 / rate - 7
    for figure in (
        f"{s:.5f}",
        f"{tau:.5f}",
        f"{pull:.4f}",
        f"{drawn:.5f}",
        f"{variance:.7f}",
        f"{doubt:.7f}",
        f"{kept:.4f}",
        f"{rate:.5f}",
        f"{left:.2f}",
        f"{112 / (67 + left):.2f} a run",
    ):
        assert figure in TYRES
    assert (date(2026, 10, 11) - date(2024, 3, 3)).days == 952
    assert "952 days" in TYRES
    assert f"{2.9 - 7 * rate:.2f} mm" in WORK
    said = rears()
    assert f"{rate:.3f}/" in said
    assert f"{112 / (67 + left):.2f}" in said
    assert f"about {int(left)} runs left" in " ".join(said.split())
    assert "order by 2026-11-04" in " ".join(said.split())


def test_the_worklist_carried_into_the_next_event() -> None:
    assert [row[1:] for row in carried()] == [
        ("next run", "50"), ("next run", ""), ("next run", ""), ("2026-11-04", ""),
        ("before run 1", "30"), ("before run 1", ""), ("before run 1", ""),
    ]  # fmt: skip


def test_the_tread_carried_forward() -> None:
    with in_a_season() as folder:
        carry(folder, folder.parent / "inland", "Inland", [date(2026, 11, 14)])
        rows = load(folder.parent / "inland").of(TreadRow)
    assert next(row.inner_mm for row in rows if row.tyre == "E4") == pytest.approx(2.57)
