"""The gate: a hundred wrong guesses, tokens, time without a clock."""

from __future__ import annotations

import hmac

import pytest

from paddock.errors import UsageError
from paddock.serve import guard
from paddock.serve.guard import Limit, PassphraseGate, made_up

RIGHT = "correct horse battery"


class Clock:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_the_right_one_gives_a_token_that_is_known() -> None:
    gate = PassphraseGate(RIGHT, Clock())
    token = gate.enter(RIGHT, "a")
    assert token is not None
    assert gate.knows(token)
    assert not gate.knows(token + "x")
    assert not gate.knows("")
    assert not gate.knows(None)


def test_a_hundred_wrong_ones_are_met_with_waiting() -> None:
    """Five are free; from then on the right one doesn't help either until the pause is over."""
    clock = Clock()
    gate = PassphraseGate(RIGHT, clock)
    tried = 0
    for _ in range(100):
        waited = gate.limit.wait_s("a") > 0
        assert gate.enter("wrong", "a") is None
        tried += not waited
    assert tried == 5
    assert gate.enter(RIGHT, "a") is None
    clock.now += 30
    assert gate.enter(RIGHT, "a") is not None
    assert gate.limit.wait_s("a") == 0


def test_guessing_all_day_gets_few_tries() -> None:
    clock = Clock()
    gate = PassphraseGate(RIGHT, clock)
    tries = 0
    for _ in range(24 * 3600):
        clock.now += 1
        if gate.limit.wait_s("a") == 0:
            gate.enter("wrong", "a")
            tries += 1
    assert tries < 120


def test_many_addresses_share_one_count() -> None:
    clock = Clock()
    gate = PassphraseGate(RIGHT, clock)
    for sender in range(50):
        gate.enter("wrong", f"{sender}")
    assert gate.limit.wait_s("somebody else") > 0
    clock.now += 30
    assert gate.enter(RIGHT, "somebody else") is not None


def test_one_senders_guesses_do_not_shut_out_another() -> None:
    gate = PassphraseGate(RIGHT, Clock())
    for _ in range(20):
        gate.enter("wrong", "a")
    assert gate.enter(RIGHT, "b") is not None


def test_pauses_double_up_to_a_limit() -> None:
    clock = Clock()
    limit = Limit(clock, free=2, pause_s=10, longest_s=60)
    pauses = []
    for _ in range(7):
        limit.wrong("a")
        pauses.append(limit.wait_s("a"))
        clock.now += pauses[-1]
    assert pauses == [0, 10, 20, 40, 60, 60, 60]


def test_old_counts_are_forgotten() -> None:
    clock = Clock()
    limit = Limit(clock)
    for sender in range(1000):
        clock.now += 3600
        limit.wrong(f"{sender}")
    assert len(limit._wrong) == 2


def test_a_token_lasts_a_day_and_only_so_many_are_kept() -> None:
    clock = Clock()
    gate = PassphraseGate(RIGHT, clock)
    first = gate.enter(RIGHT, "a")
    clock.now += 24 * 3600
    assert not gate.knows(first)
    tokens = [gate.enter(RIGHT, "a") for _ in range(65)]
    assert not gate.knows(tokens[0])
    assert all(gate.knows(token) for token in tokens[1:])


def test_without_a_passphrase_the_gate_stands_open() -> None:
    gate = PassphraseGate(None, Clock())
    assert gate.is_open
    assert gate.knows(None)
    assert gate.enter("anything", "a") is None


def test_a_short_one_is_refused() -> None:
    with pytest.raises(UsageError, match="too short"):
        PassphraseGate("eleven long", Clock())


def test_the_comparison_is_the_constant_time_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both sides are digests of one length, compared by hmac.compare_digest and nothing else."""
    seen: list[tuple[int, int]] = []
    real = hmac.compare_digest

    def compare(left: bytes, right: bytes) -> bool:
        seen.append((len(left), len(right)))
        return real(left, right)

    monkeypatch.setattr(guard.hmac, "compare_digest", compare)  # type: ignore[attr-defined]
    gate = PassphraseGate(RIGHT, Clock())
    gate.enter("x", "a")
    gate.enter("x" * 4000, "a")
    gate.enter(RIGHT, "a")
    assert seen == [(32, 32)] * 3


def test_a_made_up_one_is_long_and_never_the_same() -> None:
    made = {made_up() for _ in range(50)}
    assert len(made) == 50
    assert all(len(item) == 19 for item in made)
    PassphraseGate(made.pop(), Clock())


@pytest.mark.parametrize("text", ["\ud800" * 12, "ü" * 12, "\x00" * 12])
def test_any_text_can_be_given(text: str) -> None:
    assert PassphraseGate(text, Clock()).enter(text, "a") is not None
