"""The debrief and the pages say the same figures: who a place is counted among, what a picture shows, how good air is."""

from __future__ import annotations

import re
from pathlib import Path

from paddock.engine.pressure import air
from paddock.engine.scoring.gap import contenders
from paddock.pages.debrief.build import build
from paddock.pages.reasons import uncertainty_words
from paddock.session.loading import gap_of, standings_of
from tests import factories

DOCS = Path(__file__).parents[2] / "docs"


def _event() -> object:
    entrants = [factories.entrant(number) for number in ("26", "7", "8", "9")]
    entrants += [factories.entrant(number, status="withdrawn") for number in ("10", "12")]
    return factories.event(entrants, [*factories.runs("26", 1, "47.0", "46.5"), *factories.runs("7", 1, "46.0"),
                                      *factories.runs("8", 1, "48.0"), *factories.runs("10", 1, "45.0")])  # fmt: skip


def test_the_debrief_counts_a_place_among_those_home_counts() -> None:
    """9 has no time yet; 10 went home with a time, 12 without one: 3rd of five, on both."""
    event = _event()
    gap = gap_of(event, "26", 1).class_  # type: ignore[arg-type]
    table = standings_of(event, None).table("PINE")  # type: ignore[arg-type]
    assert gap is not None
    assert table is not None
    assert (gap.rank, gap.seen.of, len(contenders(event, table))) == (3, 5, 5)  # type: ignore[arg-type]
    said = [line for section in build(event).sections for line in section.summary]  # type: ignore[arg-type]
    assert any("class PINE: 3rd of 5 with" in line for line in said), said


def test_what_air_says_of_itself_is_what_the_docs_measured() -> None:
    use, most = air.GAS_LAW_PSI
    assert f"good to {use:g} psi in use, {most:g} psi at most" in uncertainty_words()
    row = next(line for line in (DOCS / "methods" / "air.md").read_text().splitlines() if "real dry air" in line)
    assert f"up to {use:g} psi in use, {most:g} psi from 0 to 90 C" in row


def test_a_pictures_words_say_the_figures_of_the_prose() -> None:
    """Changes of 94.9 and 85.1 ms a run: told in the sentence, in the grid and beside the picture by one rounding."""
    times = [row for number, base in (("26", 47_000), ("7", 46_004), ("8", 48_001), ("9", 46_500), ("11", 45_995))
             for row in factories.runs(number, 1, *[f"{(base - 95 * run + int(number) % 3) / 1000:.3f}" for run in range(4)])]  # fmt: skip
    event = factories.event([factories.entrant(number) for number in ("26", "7", "8", "9", "11")], times)
    sections = build(event).sections
    for section in sections:
        printed = {cell for grid in section.grids for row in grid.rows for cell in row.cells}
        for figure in section.figures:
            if figure.alt.startswith("Change of the field"):
                shown = re.findall(r"run [2] ([-+]?\d\.\d\d) s", figure.alt)
                assert shown
                assert set(shown) <= printed
