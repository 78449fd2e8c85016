"""From the state a tyre is in to the end of its next run: the one projection behind every pressure that is asked for.

Absolute pressure goes with the temperature of the air inside, so what to set now for a wanted pressure then is
(wanted + outside) x T_now / T_end - outside. T_end comes from the axle's heat fit where its 80 % range is within 1 psi;
before a first run from what a first run warms the tyre; on another surface than the last run's from what a first run
there warms it, over what is left of the warmth; else the reading is carried back to its run's end, and the next run is
taken to warm the tyre as the last one did, over what is left of the warmth, but where that one was not finished at
least as a first run does.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.heat import CarHeat
from paddock.engine.pressure.heat_fit import Ahead, HeatFit, cooled
from paddock.engine.pressure.limits import COOLING_MIN
from paddock.engine.pressure.mass import CornerAir, Step
from paddock.engine.pressure.plan import Rise
from paddock.engine.pressure.readings import Reading
from paddock.engine.pressure.timeline import REST_MIN
from paddock.model.units import PSI_PA

FIT_WITHIN_PSI = 1.0
"""A heat fit is used where its 80 % range of the next run's end is no wider."""

AT_ONCE_MIN = 3.0
"""A reading no later than this after a run counts as taken at its end: as one walks round the car."""

WATER_LEAVES = 2 / 3
"""How much of a tyre's warmth a run on a damp or wet surface leaves: our choice between none and all, no source."""

_LEFT_OFF = {True: 0.5, False: 0.3}
"""By which share of it what is left may be off, on water and on none: our choice, from simulated days."""

_HOTTEST_K = 80.0
_HALF_80 = 1.2816
_LAG_K = 1.2
"""The air inside lags the tread, which a tyre of one temperature does not know: half a range, from simulated
tyres of two."""


@dataclass(frozen=True, slots=True)
class CornerAhead:
    """One corner. ``now_c``: the air inside, known or likely, in the state its reading stands for; ``end_c``: at the
    end of the next run, ``low_c`` to ``high_c`` its likely range. ``how``: by the ``fit``, a ``first`` run's rise, that
    of a surface that ``turned``, or carried ``back`` to the last run's end, also an ``unfinished`` one's, for which no
    range is claimed.
    """

    now_c: float
    end_c: float
    low_c: float
    high_c: float
    how: Literal["fit", "first", "turned", "unfinished", "back"]
    known: bool
    outside_psi: float

    def set_for(self, end_psi: float) -> float:
        """What to read now to end the next run at ``end_psi``."""
        return (end_psi + self.outside_psi) * (self.now_c + ZERO_C) / (self.end_c + ZERO_C) - self.outside_psi

    def ends_by(self, share: float) -> CornerAhead:
        """The same with the absolute temperature of the end so many times that of now."""
        end_c = (self.now_c + ZERO_C) * share - ZERO_C
        return replace(self, end_c=end_c, low_c=end_c, high_c=end_c)

    def ends_at(self, psi: float, end_c: float | None = None) -> float:
        """What a tyre that reads ``psi`` now reads at the end of the next run."""
        end_c = self.end_c if end_c is None else end_c
        return (psi + self.outside_psi) * (end_c + ZERO_C) / (self.now_c + ZERO_C) - self.outside_psi


def _fit_range(fit: HeatFit, temp_c: float, ahead: Ahead) -> tuple[float, float]:
    """80 % range of the end of the next run, C: of rise and time constant together, and the readings' scatter."""
    middle = ahead.end_c(fit, temp_c)
    slow = fit.tau_high if fit.tau_high is not None else 240.0
    ends = [
        ahead.end_c(replace(fit, tau_min=tau, rise_k=rise), temp_c)
        for tau, rise in (
            (fit.tau_min, fit.rise_low), (fit.tau_min, fit.rise_high), (fit.tau_low, fit.rise_high),
            (slow, fit.rise_low),
        )
    ]  # fmt: skip
    scatter = math.hypot(_HALF_80 * fit.noise_k, _LAG_K)
    below = math.hypot(middle - min(ends), scatter)
    return middle - below, middle + math.hypot(max(ends) - middle, scatter)


def _read_at(fit: HeatFit, end_c: float, air_c: float, ahead: Mapping[str, float | str | bool | None]) -> float:
    """The run's end as it is read, some minutes later, C."""
    return cooled(fit, end_c, air_c, min(AT_ONCE_MIN, float(ahead["read_min"] or 0.0)))


def run_end_c(heat: CarHeat, read: Reading | None, corner: str) -> float | None:
    """How warm a corner was at the last run's end, C, by the first reading after it; None: ``read`` is the first.

    A corner read again on the same walk because it was out of line counts as read the first time.
    """
    stand, odd_since = None if read is None else (read.timed.day, read.timed.runs_before), None
    for step in heat.track.steps:
        there = step.reading
        same = (there.timed.day, there.timed.runs_before) == stand
        if not same or there.moment != "after":
            continue
        since = there.since_min or 0.0
        if corner in step.odd:
            odd_since = since if odd_since is None else odd_since
            continue
        gas_c, air_c = step.corners[corner].gas_c, there.air_c
        again = odd_since is not None and odd_since <= AT_ONCE_MIN and since - odd_since <= AT_ONCE_MIN
        if there is read:
            return gas_c if again else None
        if gas_c is None or air_c is None or there.rested:
            return None
        at_once = again or since <= AT_ONCE_MIN
        return gas_c if at_once else air_c + max(0.0, gas_c - air_c) * math.exp(since / COOLING_MIN)
    return None


def warmed_before(heat: CarHeat, read: Reading | None, corner: str, usual_min: float) -> tuple[float, float]:
    """What is left at the last run's end of the warmth read before it, K over the air (0: from cold), and how many
    runs' warming lies on top of that: each run since counts for what is left of it.

    The first reading between two runs counts: taken as soon as this one, it is off by as much. ``usual_min``: from run
    to run where no clocks tell.
    """
    if read is None or not read.timed.runs_today:
        return 0.0, 1.0
    count, left = read.timed.runs_before, 0.0
    runs = heat.track.log.runs[count - read.timed.runs_today : count]
    last = runs[-1]
    today = [step for step in heat.track.steps if (read.timed.day, 0) <= _stand(step) < (read.timed.day, count)]
    earlier = [step for step in today if step.corners[corner].gas_c is not None and step.reading.air_c is not None]
    first = next((step for step in earlier if _stand(step) == _stand(earlier[-1])), None)
    if first is not None:
        runs, gap = heat.track.log.runs[_stand(first)[1] : count], usual_min
        if first.reading.timed.clock is not None and read.timed.clock is not None:
            gap = read.timed.clock - stood_min(read) - first.reading.timed.clock
        left = max(0.0, (first.corners[corner].gas_c or 0.0) - (first.reading.air_c or 0.0)) * _left(gap)
    gaps = [
        usual_min * place if last.clock is None or run.clock is None else last.clock - run.clock
        for place, run in enumerate(reversed(runs))
    ]
    return left, sum(_left(gap) for gap in gaps)


def _stand(step: Step) -> tuple[int, int]:
    """Day and runs before: the same for all readings between two runs."""
    return step.reading.timed.day, step.reading.timed.runs_before


def _left(minutes: float) -> float:
    """The share of a tyre's warmth that is left; as a reading counts as cold after so long, nothing is."""
    return 0.0 if minutes > REST_MIN else math.exp(-minutes / COOLING_MIN)


def stood_min(reading: Reading) -> float:
    """How long the car had stood after its run when it was read, minutes; 0: read at once."""
    since = reading.since_min or 0.0
    return since if since > AT_ONCE_MIN else 0.0


def _turned(
    now_c: float, rise: Rise, air: tuple[float, float], minutes: float, water: bool
) -> tuple[float, float, float]:  # fmt: skip
    """The end of a run on another surface than the last, C: low, likely, high. ``air``: at the reading, and then."""
    left = max(0.0, now_c - air[0]) * math.exp(-minutes / COOLING_MIN) * (WATER_LEAVES if water else 1.0)
    off = _LEFT_OFF[water] * left
    end = air[1] + left + rise.k
    return end - math.hypot(off, rise.k - rise.low_k), end, end + math.hypot(off, rise.high_k - rise.k)


def way_ahead(
    reading: Reading | None,
    corner: CornerAir,
    fit: HeatFit | None,
    rise: Rise,
    air_c: float,
    air_then_c: float,
    ambient_pa: float,
    ahead: Mapping[str, float | str | bool | None],
) -> CornerAhead:
    """How one corner gets to the end of its next run.

    ``reading`` None or rested: it is at ``air_c``, the air now. ``air_then_c``: the air of that run. ``ahead``:
    ``wait_min`` from the reading to its start, ``break`` whether that was asked or seen, ``run_min``, ``read_min`` from
    its end to the gauge, ``again_min`` from the last run to it where no start is known and the run before tells,
    ``end_c`` of the last run where a reading right after it tells, ``before_k`` and ``runs`` of ``warmed_before``,
    ``cooling`` and ``sunny``;
    ``turned`` whether that run's surface is another than the last one's, which warms a tyre ``ran_k``; ``water``: it is
    damp or wet; ``unfinished``: the last run was.
    """
    outside = ambient_pa / PSI_PA
    wait, run_min = float(ahead["wait_min"] or 0.0), float(ahead["run_min"] or 0.0)
    if reading is None or reading.rested:
        end = air_then_c + rise.k
        return CornerAhead(air_c, end, air_then_c + rise.low_k, air_then_c + rise.high_k, "first", True, outside)
    since, turned = stood_min(reading), bool(ahead["turned"])
    known = corner.gas_c if corner.gas_c is not None else corner.temp_c
    before, runs = float(ahead["before_k"] or 0.0), float(ahead["runs"] or 1.0)
    warmth = (before + runs * float(ahead["ran_k"] or 0.0)) * math.exp(-since / COOLING_MIN)
    now_c = known if known is not None else air_c + warmth
    first = air_then_c + rise.k
    if reading.timed.runs_today == 0:
        end = max(first, now_c)
        return CornerAhead(now_c, end, end, end, "first", known is not None, outside)
    rested = since > REST_MIN or (bool(ahead["break"]) and since + wait > REST_MIN)
    warms = 0.0
    if fit is not None and corner.gas_c is not None:
        way = Ahead(air_then_c, ambient_pa, wait, run_min, str(ahead["cooling"]), bool(ahead["sunny"]))
        low, high = (_read_at(fit, end, air_then_c, ahead) for end in _fit_range(fit, corner.gas_c, way))
        width = (high - low) / (corner.gas_c + ZERO_C) * ((corner.psi or 0.0) + outside)
        end = _read_at(fit, way.end_c(fit, corner.gas_c), air_then_c, ahead)
        if width <= FIT_WITHIN_PSI:
            return CornerAhead(corner.gas_c, end, low, high, "fit", True, outside)
        warms = end if rested else 0.0
    until = wait + run_min + float(ahead["read_min"] or 0.0)
    low, anew, high = _turned(now_c, rise, (air_c, air_then_c), until, bool(ahead["water"]))
    if turned:
        return CornerAhead(now_c, anew, low, high, "turned", known is not None, outside)
    if rested:
        start = air_then_c + max(0.0, now_c - air_c) * math.exp(-wait / COOLING_MIN)
        low, end, high = (max(start, warms, air_then_c + k) for k in (rise.low_k, rise.k, rise.high_k))
        return CornerAhead(now_c, end, low, high, "first", known is not None, outside)
    over = max(0.0, now_c - air_c) * math.exp(since / COOLING_MIN)
    if known is not None and ahead["end_c"] is not None:
        over = max(now_c, float(ahead["end_c"])) - air_c
    hottest = max(_HOTTEST_K, now_c - air_c)
    over, again = min(over, hottest), float(ahead["again_min"] or 0.0)
    until = since + run_min + float(ahead["read_min"] or 0.0) + (0.0 if again else wait)
    end_k = over * _left(max(until, again)) + max(0.0, over - before) / runs
    end = air_then_c + min(hottest, end_k) if now_c > air_c else now_c
    if ahead["unfinished"]:  # a whole run warms no less
        most = max(end, anew)
        return CornerAhead(now_c, most, most, most, "unfinished", known is not None, outside)
    return CornerAhead(now_c, end, end, end, "back", known is not None, outside)
