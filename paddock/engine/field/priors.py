"""What is believed before a day is seen: seconds in a run of 45 s. Common practice.

The weight of a driver's own scatter against the field's is that measured on timed cone-course results of a like sport
(10,204 runs of 22 events): 2 to 2.5 degrees of freedom; own faults weigh like 3.7 runs of the field, void
runs like 4.4.
"""

from __future__ import annotations

from dataclasses import dataclass

NU = 5.0
"""Degrees of freedom of a run's error: heavy tails."""
TOLD_NU, TOLD_WIDER = 12.0, 0.9
"""Of a run whose driver says that it was no mistake: lighter tails, and its variance against one with ``NU``, whose
scatter also holds what nobody spoke about."""
RUN_S = 0.3
"""Scatter of a usual run."""
SCATTER_FREEDOMS = ((2.5, 0.25), (5.0, 0.4), (12.0, 0.35))
"""How alike drivers' scatters are: degrees of freedom to choose from, and their prior weight."""
SPOILT_SHARE, SPOILT_S, TOLD_SHARE = 0.08, 1.2, 0.015
"""Runs spoilt without a word: how many, what they lose on average; how many where the log denies it."""
LEARNING_S = 0.35
"""Spread of what drivers differ in learning: first run against the last of many."""
FIELD_LEARNING_S = 1.0
"""What everybody learns alike: it moves with the course and is told as one with it."""
LEARNING_RUNS = 1.8
"""Runs in which what is left to learn falls to 1/e."""
OWN_LEARNING_FREEDOM, OWN_LEARNING_WIDER = 2.0, 1.5
"""My learning has the field's variance so many times with a t of so many degrees of freedom: it is what is mistaken
for a change."""
CAR_SHARE, DRIVER_SHARE = 0.2, 0.1
"""A kind of car, and a driver, take the course's movement by so much more or less."""
NIGHT_S = 0.3
"""How far a driver, and a kind of car, suit another day's course better or worse."""
COURSE_STEPS_S = (0.03, 0.08, 0.16, 0.3, 0.6, 1.2, 3.0)
"""Innovations of the course from run to run to choose from."""
COURSE_WEIGHTS = (0.11, 0.17, 0.21, 0.21, 0.16, 0.10, 0.04)
GROUP_STEPS_S = (0.02, 0.12, 0.35, 1.5)
"""Innovations of a run group apart from the others."""
GROUP_WEIGHTS = (0.4, 0.34, 0.22, 0.04)

IDLE_SHARE, IDLE_PART = 0.1, 0.1
"""Of changes so many do next to nothing: they go so small a part of the usual way."""

_USUAL, _SMALL, _TYRES = 0.2, 0.1, 0.5


@dataclass(frozen=True, slots=True)
class ChangePrior:
    """``sd_s``: how far such changes usually go, in 45 s; ``source``: ``default`` or ``own seasons``."""

    sd_s: float
    source: str = "default"


def kind_of_change(key: str | None, item: str | None = None) -> str:
    """``pressure``, ``tyres`` or ``other``, told by the change's key, else by its item."""
    name = (key or (item or "").replace(" ", "_")).casefold()
    if name.endswith("_pressure") or name == "pressure":
        return "pressure"
    return "tyres" if name == "tyres" or name.endswith("_tyres") else "other"


def pressure_step(before: str | None, after: str | None) -> float | None:
    """How far a pressure was moved, in the log's unit taken as psi; None where it can't be read."""
    try:
        return abs(float((after or "").replace(",", ".")) - float((before or "").replace(",", ".")))
    except ValueError:
        return None


def default_prior(kind: str, step_psi: float | None = None) -> ChangePrior:
    """0.1 s for 2 psi, growing with the step (half to two and a half times that); tyres 0.5 s; all else 0.2 s."""
    if kind == "tyres":
        return ChangePrior(_TYRES)
    if kind == "pressure":
        return ChangePrior(_SMALL * min(2.5, max(0.5, (step_psi if step_psi else 2.0) / 2.0)))
    return ChangePrior(_USUAL)


def parts_of(sd_s: float) -> tuple[tuple[float, float], ...]:
    """What is believed of a change that usually goes ``sd_s``, as normals about 0: the share and the sd of each."""
    rest = (1.0 - IDLE_SHARE * IDLE_PART**2) / (1.0 - IDLE_SHARE)
    return (IDLE_SHARE, IDLE_PART * sd_s), (1.0 - IDLE_SHARE, sd_s * rest**0.5)
