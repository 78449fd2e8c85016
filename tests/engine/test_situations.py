"""The engineer's answers, written first, against the program's."""

from __future__ import annotations

import pytest

from paddock.engine.pressure.advise import advise
from tests.engine.situations import ME, SITUATIONS, Told, story


@pytest.mark.parametrize("told", SITUATIONS, ids=lambda told: told.title)
def test_the_program_answers_as_the_engineer(told: Told) -> None:
    found = advise(story(told), ME)
    assert (found.action, found.rule) == (told.action, told.rule), (found.reason, found.passed_over, found.cautions)
    wanted = told.wanted or tuple(psi for _, psi in found.now.items())
    for (corner, psi), engineer in zip(found.set.items(), wanted, strict=True):
        assert psi == (None if engineer is None else pytest.approx(engineer, abs=0.3)), corner
