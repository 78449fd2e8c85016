"""A made-up course, runs over it and receivers that record them: drift of first order, noise, a rate.

The figures of the receivers (drift, its time, noise) are common practice, no source; that a receiver's slow error is
well told by a first-order Gauss-Markov process: Brown and Hwang, Introduction to Random Signals and Applied Kalman
Filtering (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from paddock.engine.where.line import Plane

PLANE = Plane(46.5, 8.9)
TURNS = ((70, 0.0), (18, 0.055), (18, -0.055), (18, 0.055), (18, -0.055), (45, 0.0), (60, 0.045), (30, 0.0), (28, -0.09),
         (50, 0.0), (22, -0.06), (22, 0.06), (22, -0.06), (40, 0.0), (45, 0.07), (60, 0.0), (30, 0.05), (80, 0.0))  # fmt: skip
"""Length in metres and curvature of each piece: a slalom, sweepers, a turnaround, and the line crosses itself."""
MARKS_M = (0.0, 70.0, 142.0, 187.0, 277.0, 355.0, 421.0, 506.0, 0.0)
KINDS = ("start", "straight", "slalom", "straight", "sweeper", "turnaround", "slalom", "sweeper", "finish")


@dataclass(frozen=True)
class Receiver:
    """``drift_m``: sd of the slow error, ``drift_s`` its time; ``speed_mps``: noise of its speed, None: it has none."""

    name: str
    hz: float
    drift_m: float = 1.2
    drift_s: float = 400.0
    noise_m: float = 0.05
    speed_mps: float | None = 0.08
    phone: bool = False


RECEIVERS = (
    Receiver("1 Hz with speed", 1), Receiver("5 Hz", 5), Receiver("10 Hz", 10), Receiver("25 Hz", 25),
    Receiver("phone", 1, drift_m=3.0, drift_s=120.0, noise_m=0.5, speed_mps=None, phone=True),
)  # fmt: skip


class Course:
    """The middle of the course every half metre."""

    def __init__(
        self, turns: tuple[tuple[float, float], ...] = TURNS, marks: tuple[float, ...] = MARKS_M, end_m: float = 42.0
    ) -> None:
        bends = np.concatenate([np.full(round(length * 2), bend) for length, bend in turns])
        soft = np.convolve(np.pad(bends, 20, mode="edge"), np.hanning(41) / np.hanning(41).sum(), "valid")
        heading = np.concatenate(([0.0], np.cumsum(soft) * 0.5))
        self.s = np.arange(len(heading)) * 0.5
        self.x = np.concatenate(([0.0], np.cumsum(np.cos(heading[:-1]) * 0.5)))
        self.y = np.concatenate(([0.0], np.cumsum(np.sin(heading[:-1]) * 0.5)))
        self.nx, self.ny = -np.sin(heading), np.cos(heading)
        bend = np.concatenate((soft, soft[-1:]))
        limit = np.minimum(26.0, np.sqrt(8.5 / np.maximum(np.abs(bend), 1e-3)))
        for at in range(len(limit) - 2, -1, -1):
            limit[at] = min(limit[at], np.sqrt(limit[at + 1] ** 2 + 2 * 7.5 * 0.5))
        self.speed = limit.copy()
        self.speed[0] = 3.0
        for at in range(1, len(limit)):
            self.speed[at] = min(limit[at], np.sqrt(self.speed[at - 1] ** 2 + 2 * 4.5 * 0.5))
        self.marks = (*marks[:-1], float(self.s[-1]) - end_m)

    def points(self) -> list[tuple[int, float, float]]:
        """(element, x, y) of each mark."""
        return [(at, float(np.interp(m, self.s, self.x)), float(np.interp(m, self.s, self.y)))
                for at, m in enumerate(self.marks)]  # fmt: skip

    def run(self, rng: np.random.Generator, spread: float = 0.03, line_m: float = 0.35) -> Run:
        """One run: the pace of each element and the line driven vary smoothly."""
        knots = np.arange(0, self.s[-1] + 30, 30.0)
        pace = np.interp(self.s, knots, 1 + spread * rng.standard_normal(len(knots)))
        aside = np.interp(self.s, np.arange(0, self.s[-1] + 15, 15.0), line_m * rng.standard_normal(len(knots) * 2 + 4)[
            : len(np.arange(0, self.s[-1] + 15, 15.0))])  # fmt: skip
        soft = np.hanning(31) / np.hanning(31).sum()
        aside = np.convolve(np.pad(aside, 15, mode="edge"), soft, "valid")
        speed = self.speed * pace
        t = np.concatenate(([0.0], np.cumsum(1.0 / speed[:-1] * 0.5)))
        return Run(t, self.x + self.nx * aside, self.y + self.ny * aside, speed,
                   tuple(float(np.interp(m, self.s, t)) for m in self.marks))  # fmt: skip


@dataclass(frozen=True)
class Run:
    """``passes_s``: when each mark was truly passed, of the clock of ``t``."""

    t: Any
    x: Any
    y: Any
    speed: Any
    passes_s: tuple[float, ...]

    def recorded(self, receiver: Receiver, rng: np.random.Generator, wait_s: float = 4.0) -> dict[str, Any]:
        """``t_s``, ``x_m``, ``y_m``, ``speed_mps`` as the receiver writes them, from a wait at the start on."""
        t = np.arange(-wait_s - rng.random() / receiver.hz, self.t[-1], 1 / receiver.hz)
        keep = np.exp(-1 / receiver.hz / receiver.drift_s)
        error = np.empty((len(t), 2))
        error[0] = receiver.drift_m * rng.standard_normal(2)
        push = receiver.drift_m * np.sqrt(1 - keep**2) * rng.standard_normal((len(t), 2))
        for at in range(1, len(t)):
            error[at] = keep * error[at - 1] + push[at]
        error += receiver.noise_m * rng.standard_normal((len(t), 2))
        # a car waits just before the line and rolls up to it
        far = np.where(t < 0, -np.minimum(4.5, np.maximum(0, -t) * 1.5), 0.0)
        x, y = np.interp(t, self.t, self.x) + far, np.interp(t, self.t, self.y)
        speed = np.where(t < -3, 0.0, np.where(t < 0, 1.5, np.interp(t, self.t, self.speed)))
        noise = receiver.speed_mps
        said = np.full(len(t), np.nan) if noise is None else np.maximum(0, speed + noise * rng.standard_normal(len(t)))
        return {"t_s": t, "x_m": x + error[:, 0], "y_m": y + error[:, 1], "speed_mps": said}
