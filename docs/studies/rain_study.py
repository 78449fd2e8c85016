"""How close to its target does a tyre end a run when the surface has changed? Whole days, advised by the program.

Run: python docs/studies/rain_study.py [DAYS]

Prints the table of docs/studies/rain.md (seeded). A day: a car read after each run and set as the program says, a
surface that turns at a moment of a wait; its driver logs it, reads again where the reading is old, and sets as he is
told. The tyres are of two nodes (tread, and carcass with the air inside), which the program's model is not.
"""

from __future__ import annotations

import dataclasses
import random
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from paddock.engine.clock import as_of
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, PressureRow, Row, RunRow, TimeRow, WeatherRow
from paddock.model.settings import Settings

SEED, DAYS = 20261130, 300
OUT_PSI = 101_325.0 / 6894.757293168361
STEP_MIN, RUN_MIN = 0.1, 0.8
ME = "26"
AXLES = {"front": ("lf", "rf"), "rear": ("lr", "rr")}
TARGETS = {"dry": (34.0, 44.0), "damp": (30.0, 38.0), "wet": (33.0, 40.0)}

RISES = {"dry": (20.0, 5.0), "damp": (8.0, 3.0), "wet": (5.0, 2.0), "standing": (4.0, 1.5)}
"""K, mean and sd over cars, that a first run warms the air inside: the program's own usual figures. A drying course: in
any share between damp and dry."""

CARRIED = {"dry": (2.0, 4.0), "drying": (2.0, 4.0), "damp": (3.0, 6.0), "wet": (4.0, 12.0), "standing": (5.0, 16.0)}
"""How many times faster than at rest a tread loses heat in a run, from and to over days: our guess, wide for that."""

IN_RAIN = 1.6
"""At most so many times faster than in the dry a car cools that stands on damp or wet ground: our guess."""

WATER = {"damp", "wet", "standing"}

STORIES = (
    ("dry", "dry", "wet", "wet", "drying", "dry"),
    ("dry", "dry", "damp", "damp", "dry", "dry"),
    ("wet", "wet", "drying", "dry", "dry"),
    ("dry", "standing", "wet", "wet", "dry"),
    ("dry", "dry", "dry", "damp", "wet", "drying"),
    ("damp", "dry", "dry", "wet", "dry", "wet"),
)


@dataclass
class Axle:
    """K over the air of tread and inside; conductances per minute; ``psi_per_k``: the air that is in it."""

    inward: float
    outward: float
    share: float
    rises: dict[str, float]
    carried: dict[str, float]
    in_rain: float = 1.0
    psi_per_k: float = 0.0
    tread: float = 0.0
    inside: float = 0.0
    heats: dict[str, float] = field(default_factory=dict)

    def stand(self, minutes: float, heat: float = 0.0, carried: float = 1.0) -> None:
        """Small steps of both balances."""
        for _ in range(round(minutes / STEP_MIN)):
            flow = self.inward * (self.tread - self.inside)
            self.tread += STEP_MIN * (heat - self.share * flow - self.outward * carried * self.tread)
            self.inside += STEP_MIN * flow

    def run(self, surface: str) -> None:
        """The balances are linear: the heat of a surface is what ends a first run at its rise."""
        if surface not in self.heats:
            trial = Axle(self.inward, self.outward, self.share, {}, {})
            trial.stand(RUN_MIN, 1.0, self.carried[surface])
            trial.stand(2.0)
            self.heats[surface] = self.rises[surface] / trial.inside
        self.stand(RUN_MIN, self.heats[surface], self.carried[surface])


@dataclass(frozen=True)
class Landed:
    """One axle's end of a run: ``off_psi`` over the target, ``inside`` the range the program had for it (None: it
    claimed none); ``came``: from which surface to which, or else."""

    came: str
    off_psi: float
    inside: bool | None


class Day:
    """One day as it is driven, typed and advised."""

    def __init__(self, chance: random.Random, story: tuple[str, ...]) -> None:
        self.chance, self.story, self.minute, self.run = chance, story, 480.0, 0
        self.air_c = chance.uniform(8.0, 22.0)
        self.rows: list[Row] = []
        self.surface = ""
        self.said: Moment | None = None
        self.times: list[TimeRow] = []
        rises = {name: max(1.0, chance.gauss(mean, sd)) for name, (mean, sd) in RISES.items()}
        carried = {name: chance.uniform(*found) for name, found in CARRIED.items()}
        in_rain = chance.uniform(1.0, IN_RAIN)
        self.axles = {}
        for axle, psi in (("front", 30.0), ("rear", 39.0)):
            own = {name: k * chance.uniform(0.85, 1.15) for name, k in rises.items()}
            own["drying"] = own["damp"] + chance.random() * (own["dry"] - own["damp"])
            made = Axle(
                chance.uniform(0.3, 0.8), chance.uniform(0.04, 0.09), chance.uniform(0.3, 0.6), own, carried, in_rain
            )
            made.psi_per_k = (psi + OUT_PSI) / (273.15 + self.air_c)
            self.axles[axle] = made

    def psi(self, axle: str) -> float:
        tyre = self.axles[axle]
        return tyre.psi_per_k * (273.15 + self.air_c + tyre.inside) - OUT_PSI

    def clock(self) -> str:
        return f"{int(self.minute) // 60:02d}:{int(self.minute) % 60:02d}:{round(self.minute % 1 * 60) % 60:02d}"

    def gauge(self, moment: str) -> None:
        four = {
            f"{corner}_psi": round(self.psi(axle) + self.chance.gauss(0.0, 0.05), 1)
            for axle, pair in AXLES.items()
            for corner in pair
        }
        run = None if moment == "cold" else self.run + (moment == "before")
        self.rows.append(PressureRow(day=1, run=run, number=ME, moment=moment, at=self.clock(), gauge="dial",
                                     air_c=round(self.air_c, 1), **four))  # fmt: skip

    def event(self) -> Event:
        targets = {name: {"front_psi": front, "rear_psi": rear} for name, (front, rear) in TARGETS.items()}
        limits = {"front_min_psi": 22.0, "rear_min_psi": 24.0, "max_cold_psi": 51.0}
        car = Car.model_validate({"name": "estate", "targets": targets, "limits": limits})
        settings = Settings.model_validate({
            "name": "a day", "days": ["2026-05-09"], "altitude_m": 0.0, "runs_per_day": 9,
            "mine": {"numbers": [ME]}, "gauges": [{"id": "dial", "step_psi": 0.1, "repeat_psi": 0.2}],
        })  # fmt: skip
        tables: dict[str, tuple[Row, ...]] = defaultdict(tuple)
        for row in (EntrantRow(number=ME, driver="Driver 26", car="estate"), *self.times, *self.rows):
            tables[type(row).FILE] = (*tables[type(row).FILE], row)
        return dataclasses.replace(Event("rain", settings, dict(tables)), cars={"estate": car})

    def set_as_told(self) -> None:
        whole = self.event()
        told = moment_of(whole, ME, as_of(whole, datetime(2030, 1, 1), None))
        for axle, (left, right) in AXLES.items():
            to = [psi for corner in (left, right) if (psi := told.moves.get(corner)) is not None]
            if to:
                wanted = sum(to) / len(to) + self.chance.gauss(0.0, 0.05)
                tyre = self.axles[axle]
                tyre.psi_per_k = (wanted + OUT_PSI) / (273.15 + self.air_c + tyre.inside)
        if told.moves:
            self.minute += 0.5
            self.gauge("set")
            whole = self.event()
            told = moment_of(whole, ME, as_of(whole, datetime(2030, 1, 1), None))
        self.said = told

    def stand(self, minutes: float) -> None:
        for tyre in self.axles.values():
            tyre.stand(minutes, carried=tyre.in_rain if self.surface in WATER else 1.0)
        self.minute += minutes

    def weather(self, word: str) -> None:
        self.rows.append(WeatherRow(day=1, at=self.clock(), air_c=round(self.air_c, 1), surface=word))

    def drive(self) -> Iterator[Landed]:
        self.surface = self.story[0]
        self.weather(self.surface)
        self.gauge("cold")
        self.set_as_told()
        self.minute = 540.0
        for place, word in enumerate(self.story):
            came = f"{self.surface} to {word}" if word != self.surface else ""
            wait = self.chance.uniform(8.0, 22.0)
            turns = self.chance.uniform(0.0, wait - 3.0) if came else None
            if place:
                if turns is not None and turns < 2.0:
                    self.turn(word)
                self.stand(2.0)
                self.gauge("after")
                self.set_as_told()
                self.stand(max(0.0, (turns or 0.0) - 2.0))
                if turns is not None and turns >= 2.0:
                    self.turn(word)
                    self.stand(1.0)
                    self.gauge("before")
                    self.set_as_told()
                self.stand(max(0.0, wait - max(turns or 0.0, 2.0)))
            self.surface = word
            self.run += 1
            self.times.append(TimeRow(day=1, run=self.run, number=ME, time_ms=48_000, at=self.clock()))
            self.rows.append(RunRow(day=1, run=self.run, number=ME, at=self.clock(), entry=0, mid=0, exit=0,
                                    slalom=0, surface=word, mistake=False))  # fmt: skip
            for tyre in self.axles.values():
                tyre.run(word)
            self.minute += RUN_MIN
            yield from self.landed(came, place, word)

    def turn(self, word: str) -> None:
        """It rains, or stops: the air by a kelvin or two, the tyres as warm as they were."""
        by_c = self.chance.uniform(0.0, 2.0) * (-1.0 if word in WATER else 1.0)
        self.surface = word
        self.air_c += by_c
        for tyre in self.axles.values():
            tyre.tread -= by_c
            tyre.inside -= by_c
        self.weather(word)

    def landed(self, came: str, place: int, word: str) -> Iterator[Landed]:
        """As read two minutes after the run, whose state this leaves as it was."""
        like = {"drying": "dry", "standing": "wet"}.get(word, word)
        more = 1.0 if word == "standing" else 0.0
        for axle, wanted in zip(AXLES, TARGETS[like], strict=True):
            tyre = self.axles[axle]
            kept = tyre.tread, tyre.inside
            tyre.stand(2.0)
            ends, off = self.psi(axle), self.psi(axle) - wanted - more
            tyre.tread, tyre.inside = kept
            yield Landed(came or ("no change" if place else "first run"), off, self.inside(axle, ends))

    def inside(self, axle: str, ends: float) -> bool | None:
        """Whether an end lies in the 80 % range that the last answer had."""
        said = self.said
        if said is None or (psi := said.known.now[AXLES[axle][0]]) is None:
            return None
        way = said.known.way[AXLES[axle][0]]
        low, high = way.ends_at(psi, way.low_c), way.ends_at(psi, way.high_c)
        return low <= ends <= high if low < high and way.how != "back" else None


def table(days: int) -> list[tuple[str, int, float, float, float, float | None]]:
    """Per change: how many ends, % within 1 psi, mean and mean size of the miss, psi, % inside a range claimed."""
    found: dict[str, list[Landed]] = defaultdict(list)
    chance = random.Random(SEED)
    for count in range(days):
        day = Day(random.Random(chance.random()), STORIES[count % len(STORIES)])
        for landed in day.drive():
            found[landed.came].append(landed)
            if " to " in landed.came:
                found["all changes"].append(landed)
    return [_line(name, ends) for name, ends in sorted(found.items())]


def _line(name: str, ends: list[Landed]) -> tuple[str, int, float, float, float, float | None]:
    offs, inside = [end.off_psi for end in ends], [end.inside for end in ends if end.inside is not None]
    count = len(offs)
    within, mean, size = sum(abs(off) <= 1.0 for off in offs), sum(offs) / count, sum(map(abs, offs)) / count
    return name, count, 100 * within / count, mean, size, 100 * sum(inside) / len(inside) if inside else None


if __name__ == "__main__":
    print(
        "| the surface went | ends | within 1 psi | mean miss | mean size | in its range |\n|---|---|---|---|---|---|"
    )
    for name, count, within, miss, size, held in table(int(sys.argv[1]) if len(sys.argv) > 1 else DAYS):
        shown = "none given" if held is None else f"{held:.0f} %"
        print(f"| {name} | {count} | {within:.0f} % | {miss:+.1f} | {size:.1f} | {shown} |")
