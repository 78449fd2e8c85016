"""Fixed words."""

from __future__ import annotations

import pytest

from paddock.engine.field.effect import verdict_of
from paddock.pages.verdict_words import moved, run_list, span


@pytest.mark.parametrize(
    ("p", "words"),
    [(1.0, "very likely helped"), (0.95, "very likely helped"), (0.9499, "probably helped"), (0.8, "probably helped"),
     (0.7999, "leans helped"), (0.6, "leans helped"), (0.5999, "can't tell"), (0.5, "can't tell"),
     (0.4001, "can't tell"), (0.4, "leans hurt"), (0.2001, "leans hurt"), (0.1999, "probably hurt"),
     (0.0501, "probably hurt"), (0.04, "very likely hurt"), (0.0, "very likely hurt"), (None, "can't tell")],
)  # fmt: skip
def test_words_by_probability(p: float | None, words: str) -> None:
    assert verdict_of(p) == words


@pytest.mark.parametrize(
    ("ms", "words"), [(-200, "gained 0.20 s"), (51, "lost 0.05 s"), (0, "stood still"), (-4.9, "stood still")]
)
def test_moved(ms: float, words: str) -> None:
    assert moved(ms) == words


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(-370, -50, "0.05 to 0.37 s faster"), (50, 370, "0.05 to 0.37 s slower"),
     (-250, 150, "0.15 s slower to 0.25 s faster"), (0, 100, "0.00 to 0.10 s slower")],
)  # fmt: skip
def test_span(low: float, high: float, words: str) -> None:
    assert span(low, high) == words


def test_run_list() -> None:
    assert run_list([(1, 3)]) == "run 3"
    assert run_list([(1, 2), (1, 4), (1, 3)]) == "runs 2, 3 and 4"
    assert run_list([(1, 2), (1, 3), (2, 1)]) == "runs 2 and 3 of day 1 and run 1 of day 2"
