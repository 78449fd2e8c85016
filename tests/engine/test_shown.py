"""The example's own log is argued run by run."""

from __future__ import annotations

from tests.engine.example_log import ARGUED, answers, example


def test_every_run_of_the_example_is_argued() -> None:
    assert {(log.number, log.day, log.run) for log, _ in answers(example(), "58")} == set(ARGUED)
