"""Sentences about the car at home: the road pressures on the way there, the evening before in a garage."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from paddock import words
from paddock.model.units import plain_number


def axles(figures: Iterable[tuple[str, float]]) -> str:
    return ", ".join(f"{axle} {plain_number(psi, 1)}" for axle, psi in figures)


def road_words(road: Sequence[tuple[str, float]]) -> str:
    """``for the road, cold: front 32.5, rear 33.5 psi``."""
    return f"for the road, cold: {f'{axles(road)} psi' if road else 'the pressures of the placard'}"


def for_the_road(driven: bool | None, road: Sequence[tuple[str, float]]) -> str:
    """The setting after the last run of a car that goes home on its own wheels; asked for where nobody said so."""
    if driven is False or (driven is None and not road):
        return ""
    asked = "" if driven else "if it is driven home (the event's page has a line for that), "
    return f"; {asked}{road_words(road)}"


def event_done(driven: bool | None, road: Sequence[tuple[str, float]]) -> str:
    return f"no run is left: nothing to set for the course{for_the_road(driven, road)}"


def day_done(driven: bool | None, road: Sequence[tuple[str, float]], tomorrow: str) -> str:
    return f"no run is left today{for_the_road(driven, road)}; for tomorrow: {tomorrow}"


def at_home(first: str, here_c: float, air_c: float, plan: Sequence[tuple[str, float]]) -> str:
    there = f"; at {plain_number(air_c, 0)} °C that is {axles(plan)} psi" if plan else ""
    return f"{first}. As the gauge shows here at {plain_number(here_c, 0)} °C{there}"


def eve_air_unknown(first: str, air_c: float) -> str:
    return (
        f"{first}. Read the evening before, taken as at {plain_number(air_c, 0)} °C: if it stands warmer here, type "
        "the four with its temperature, like t15"
    )


def for_others(
    first: str, others: Sequence[tuple[str, int]], driven: bool | None, road: Sequence[tuple[str, float]]
) -> str:
    """What is to be set is for somebody else's run; the road's pressures, where there will be none."""
    whose = " and ".join(f"{number}, who has {words.plural(left, 'run')} left" for number, left in others)
    home = "" if driven is False else f"; if nobody drives any more, {road_words(road)}"
    return f"for {whose}: {first}{home}"


def road_caution(road: Sequence[tuple[str, float]]) -> str:
    by = f" ({axles(road)} psi by the placard)" if road else ""
    return f"Before driving home on these tyres: back to the maker's road pressures, cold{by}."
