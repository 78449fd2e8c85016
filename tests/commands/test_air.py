"""The verb ``air``."""

from __future__ import annotations

import argparse

import pytest

from paddock.commands import air
from paddock.errors import UsageError


def ask(line: str) -> float:
    parser = argparse.ArgumentParser()
    air.configure(parser)
    answer = air.run(parser.parse_args(line.split()))
    assert set(answer.data) == {"gauge"}
    assert answer.text()
    return float(answer.data["gauge"])


def test_the_case_of_the_contract() -> None:
    line = "--gauge 38 --temp-c 25 --altitude-m 1600 --to-temp-c 5 --to-altitude-m 0"
    assert ask(line) == pytest.approx(32.1, abs=0.05)


def test_the_same_in_other_units() -> None:
    psi = ask("--gauge 38 --temp-c 25 --altitude-m 1600 --to-temp-c 5 --to-altitude-m 0")
    feet = ask("--gauge 38 --temp-f 77 --altitude-ft 5249.3438320209975 --to-temp-f 41 --to-altitude-ft 0")
    bar = ask("--gauge 2.6200077744 --unit bar --temp-c 25 --altitude-m 1600 --to-temp-c 5 --to-altitude-m 0")
    assert feet == pytest.approx(psi, abs=1e-9)
    assert bar == pytest.approx(psi * 0.0689475729, abs=1e-6)


def test_the_place_stays_when_only_the_heat_changes() -> None:
    assert ask("--gauge 38 --temp-c 50 --to-temp-c 8") == pytest.approx(31.2, abs=0.05)
    assert ask("--gauge 38 --temp-c 20 --altitude-m 1600 --to-temp-c 20") == pytest.approx(38)
    assert ask("--gauge 38 --station-hpa 840") == pytest.approx(38)
    assert ask("--gauge 38 --station-hpa 840 --to-station-hpa 1000") < 36


def test_a_decimal_comma_and_a_negative_temperature() -> None:
    assert ask("--gauge 38,0 --temp-c 20 --to-temp-c -5") < 34


@pytest.mark.parametrize(
    "line",
    [
        "--gauge 38 --temp-c -300 --to-temp-c 5",
        "--gauge 38 --temp-c 20 --to-temp-c -273.15",
        "--gauge -4 --temp-c 20 --to-temp-c 5",
        "--gauge nan --temp-c 20",
        "--gauge 5000 --temp-c 20",
        "--gauge 38 --to-temp-c 5",
        "--gauge 38 --temp-c 20 --altitude-m 90000",
        "--gauge 38 --temp-c 20 --to-station-hpa 0",
    ],
)
def test_what_cannot_be_is_wrong_use(line: str) -> None:
    with pytest.raises(UsageError) as caught:
        ask(line)
    assert caught.value.exit_code == 2
    assert "\n" not in str(caught.value)


def test_both_places_are_said() -> None:
    parser = argparse.ArgumentParser()
    air.configure(parser)
    words = "--gauge 28.1 --temp-c 15 --altitude-m 640 --to-temp-c 20 --to-altitude-m 3".split()
    assert "28.1 psi at 15.0 C and 640 m reads 27.7 psi at 20.0 C and 3 m." in air.run(parser.parse_args(words)).text()
    words = "--gauge 30 --temp-c 20 --altitude-m 640 --to-station-hpa 1000".split()
    assert " psi at 20.0 C and 1000 hPa." in air.run(parser.parse_args(words)).text()


def test_a_flat_tyre_is_said() -> None:
    parser = argparse.ArgumentParser()
    air.configure(parser)
    answer = air.run(parser.parse_args(["--gauge", "1", "--temp-c", "60", "--to-temp-c", "0"]))
    assert "flat" in answer.text()
