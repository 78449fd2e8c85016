"""The engineer's answers, written first, against the program's."""

from __future__ import annotations

import pytest

from tests.engine.pressure.situations import SITUATIONS, Told, now, story
from tests.engine.said import cautions, reason


@pytest.mark.parametrize("told", SITUATIONS, ids=lambda told: told.title)
def test_the_program_answers_as_the_engineer(told: Told) -> None:
    found = now(story(told), at=told.at)
    assert (found.name, found.action, found.rule) == (told.moment, told.action, told.rule), (
        reason(found),
        found.passed_over,
        cautions(found),
    )
    if told.wanted is None:
        assert not found.moves
        return
    assert found.set is not None
    for (corner, psi), engineer in zip(found.set.items(), told.wanted, strict=True):
        assert psi == (None if engineer is None else pytest.approx(engineer, abs=0.3)), corner
