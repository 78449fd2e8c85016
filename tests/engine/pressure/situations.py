"""Invented situations between two runs, each with the answer a careful engineer would give.

The answers were written before the program was asked. ``wanted``: lf, rf, lr, rr in psi, as they are to read in the
state the car is in.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from paddock.engine.clock import AsOf, as_of
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import (
    FittedRow,
    GridRow,
    PressureRow,
    Row,
    RunRow,
    SetupChange,
    TimeRow,
    TreadTempRow,
    TyreRow,
    WeatherRow,
    WorkRow,
)
from paddock.model.settings import GridSettings
from tests.factories import entrant, event, runs, settings

ME = "26"
LATER = datetime(2030, 1, 1)
Four = tuple[float | None, float | None, float | None, float | None]


def clock(whole: Event, at: str | None = None) -> AsOf:
    """As of ``at`` (``2026-05-09T10:07``); None: a minute after the last row."""
    return as_of(whole, LATER, None if at is None else datetime.fromisoformat(at))


def now(whole: Event, number: str = ME, leads_with_one_left: bool | None = None, at: str | None = None) -> Moment:
    """The moment's answer, as of ``at``."""
    return moment_of(whole, number, clock(whole, at), leads_with_one_left)


def car(**limits: Any) -> Car:
    """The estate of all the stories: 34/44 hot when dry, cold maximum 51."""
    found: dict[str, Any] = {
        "front_min_psi": 26.0, "rear_min_psi": 28.0, "placard_front_psi": 33.0, "placard_rear_psi": 32.0,
        "wheel_max_psi": 60.0, "max_cold_psi": 51.0,
    }  # fmt: skip
    targets = {
        "dry": {"front_psi": 34.0, "rear_psi": 44.0},
        "damp": {"front_psi": 30.0, "rear_psi": 38.0},
        "wet": {"front_psi": 33.0, "rear_psi": 40.0},
    }
    return Car.model_validate({"name": "estate", "drive": "front", "targets": targets, "limits": found | limits})


def _pressure(moment: str, psi: Four, **more: Any) -> PressureRow:
    lf, rf, lr, rr = psi
    found: dict[str, Any] = {
        "day": 1,
        "number": ME,
        "gauge": "dial",
        "lf_psi": lf,
        "rf_psi": rf,
        "lr_psi": lr,
        "rr_psi": rr,
    }
    return PressureRow(moment=moment, **(found | more))  # type: ignore[arg-type]


def cold(*psi: float, air_c: float = 12.0, **more: Any) -> PressureRow:
    """Read cold in the morning."""
    return _pressure("cold", psi, air_c=air_c, **({"at": "07:45"} | more))  # type: ignore[arg-type]


def after(run: int, *psi: float, air_c: float = 18.0, **more: Any) -> PressureRow:
    """Read two minutes after a run."""
    return _pressure("after", psi, run=run, air_c=air_c, **({"at": f"{8 + run:02d}:03"} | more))  # type: ignore[arg-type]


def before(run: int, *psi: float, air_c: float = 18.0, **more: Any) -> PressureRow:
    """Read as found before a run."""
    return _pressure("before", psi, run=run, air_c=air_c, **({"at": f"{7 + run:02d}:50"} | more))  # type: ignore[arg-type]


def put(run: int, *psi: float, air_c: float = 18.0, **more: Any) -> PressureRow:
    """Set for a run."""
    return _pressure("set", psi, run=run, air_c=air_c, **({"at": f"{7 + run:02d}:51"} | more))  # type: ignore[arg-type]


def logged(run: int, balance: str = "0 0 0 0", day: int = 1, **more: Any) -> RunRow:
    """My log of a run; balance: entry mid exit slalom."""
    entry, mid, exit_, slalom = (int(word) for word in balance.split())
    found = {"surface": "dry", "mistake": False, "at": f"{8 + run:02d}:00"} | more
    return RunRow(day=day, run=run, number=ME, entry=entry, mid=mid, exit=exit_, slalom=slalom, **found)


def rubber(run: int, axle: str, mark: str | None, over: float = 0.0, level: float = 45.0, day: int = 1) -> list[Row]:
    """Both tyres of an axle: the roll-over mark, and the middle ``over`` the edges."""
    corners = ("lf", "rf") if axle == "front" else ("lr", "rr")
    return [
        TreadTempRow(day=day, run=run, number=ME, corner=corner, inner_c=level, middle_c=level + over, outer_c=level, mark=mark)  # type: ignore[arg-type]
        for corner in corners
    ]  # fmt: skip


MORNING = cold(30.0, 30.0, 39.2, 39.2)
HOT = (34.0, 34.0, 44.0, 44.0)


@dataclass(frozen=True, slots=True)
class Told:
    """``expect``: action, rule, moment; ``wanted`` None: nothing is to be set. ``at``: asked then."""

    title: str
    told: str
    engineer: str
    action: str
    rule: str
    wanted: Four | None
    rows: tuple[Row, ...]
    times: tuple[str, ...] = ("47.1",)
    car: Car = dataclasses.field(default_factory=car)
    rivals: tuple[tuple[str, str], ...] = (("5", "45.0"),)
    per_day: int = 5
    moment: str = "read"
    at: str | None = None
    numbers: tuple[str, ...] = (ME,)


def story(told: Told) -> Event:
    """The event of a situation."""
    entrants = [*(entrant(number) for number in told.numbers), *(entrant(number) for number, _ in told.rivals)]
    times = [row for number, text in told.rivals for row in runs(number, 1, text)]
    found = settings(
        altitude_m=412.0, runs_per_day=told.per_day, forecast={"hottest_c": 30.0, "coldest_c": 12.0},
        gauges=[{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3}], mine={"numbers": list(told.numbers)},
    )  # fmt: skip
    whole = event(entrants, [*runs(ME, 1, *told.times), *times], found, *told.rows)
    return hourly(dataclasses.replace(whole, cars={"estate": told.car}))


def hourly(whole: Event) -> Event:
    """With a running order that sends the car out every hour: nothing is left of its warmth then."""
    logged_at = {(row.number, row.run): row.at for row in whole.of(RunRow) if row.day == 1}
    starts = {ME: "{:02d}:00", "5": "{:02d}:30"}
    times = [
        row.model_copy(update={"at": logged_at.get((row.number, row.run))
                               or starts[row.number].format((8 if row.number == ME else 7) + row.run)})
        if row.number in starts and row.day == 1 and row.at is None else row
        for row in whole.times
    ]  # fmt: skip
    order = (GridRow(day=1, number="5", order=1), GridRow(day=1, number=ME, order=2))
    found = whole.settings.model_copy(update={"grid": GridSettings(interval_s=1800)})
    return dataclasses.replace(
        whole, settings=found, tables={**whole.tables, TimeRow.FILE: tuple(times), GridRow.FILE: order}
    )


SITUATIONS: tuple[Told, ...] = (
    Told(
        "Heat alone", "Warm day. After run 1 all four are 1.5 to 2.5 over the target, the car is neutral, marks on.",
        "Nothing is wrong but heat. Let all four out, back to 34/44.",
        "set", "heat-drift", (34.0, 34.0, 44.0, 44.0),
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), *rubber(1, "front", "on"), *rubber(1, "rear", "on")),
    ),
    Told(
        "Rolling over", "On target hot. The front rolls past the mark and the car pushes clearly on the way in.",
        "Two signs say the front is too soft. Front up 1, rear alone, look at the mark again.",
        "set", "front-past", (35.0, 35.0, 44.0, 44.0),
        (MORNING, after(1, *HOT), logged(1, "-2 -1 0 0"), *rubber(1, "front", "past")),
    ),
    Told(
        "One sign only", "The front is past the mark, the push is only faint.",
        "One sign after one short run. Hold and look again.",
        "hold", "hold", None,
        (MORNING, after(1, *HOT), logged(1, "0 -1 0 0"), *rubber(1, "front", "past")),
    ),
    Told(
        "All signs agree", "Front past the mark, cool in the middle, clear push on entry and in the middle.",
        "Four signs agree, the front is well under. Up 2, no more in one run.",
        "set", "front-past", (36.0, 36.0, 44.0, 44.0),
        (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past", -5)),
    ),
    Told(
        "Too hard in front", "Front short of the mark with a hot middle, clear push in the middle of the corner.",
        "The front stands on its middle. Down 1.",
        "set", "front-short", (33.0, 33.0, 44.0, 44.0),
        (MORNING, after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "short", 6)),
    ),
    Told(
        "Vibration", "A vibration at speed, felt on run 1. The pressures are 2 over as well.",
        "Stop. Look at tyres and wheels before anything else; pressures can wait.",
        "stop", "unsafe", None,
        (MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1, unsafe="vibration at speed")), moment="unsafe",
    ),
    Told(
        "Vibration, found", "The same, and the worklist says: lost wheel weight found, wheel balanced, done.",
        "The cause is found and done. Back to the target.",
        "set", "heat-drift", (34.0, 34.0, 44.0, 44.0),
        (
            MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1, unsafe="vibration at speed"),
            WorkRow(id="w1", opened="day 1 09:10", item="left front wheel weight", reason="vibration", done="day 1 09:30"),
        ),
    ),
    Told(
        "A sudden fall", "The right rear reads 40 after the run, the left rear 45.5; both were at 44 before it.",
        "A tyre is losing air fast. Stop and find the hole.",
        "stop", "odd-corner", None,
        (MORNING, before(1, 33.0, 33.0, 44.0, 44.0), put(1, 33.0, 33.0, 44.0, 44.0), after(1, 34.5, 34.5, 45.5, 40.0), logged(1)),
        moment="odd-corner",
    ),
    Told(
        "A slow leak", "Set to 33/43. After the run 36/36 in front, 45.2 left rear, 43.8 right rear.",
        "The right rear lost over a pound against its mate. Find that before let outing anything by the target.",
        "hold", "hold", None,
        (MORNING, before(1, 33.0, 33.0, 43.0, 43.0), put(1, 33.0, 33.0, 43.0, 43.0), after(1, 36.0, 36.0, 45.2, 43.8), logged(1)),
    ),
    Told(
        "Over the maximum", "Cold morning at 10 C, the fronts were pumped to 52 for the trailer; the sidewall says 51.",
        "Let them out, and not in two steps: 34/44 hot less some 20 K of a first run is 30.8/40.2 cold; the rear is there.",
        "plan", "cold-plan", (30.8, 30.8, 40.0, 40.0),
        (cold(52.0, 52.0, 40.0, 40.0, air_c=10.0),), (), moment="cold-read",
    ),
    Told(
        "Under the minimum", "Bled hot last night; this morning at 6 C the fronts read 25, the minimum is 26.",
        "Up before the car moves, and at once to what the first run wants: 30.8/40.1.",
        "plan", "cold-plan", (30.8, 30.8, 40.1, 40.1),
        (cold(25.0, 25.0, 36.0, 36.0, air_c=6.0),), (), moment="cold-read",
    ),
    Told(
        "Standing water", "A cloudburst: standing water on the course, tyres hot at the dry target.",
        "The wet target plus 1 against floating: 34/41. Down again when the water goes.",
        "set", "standing-water", (34.0, 34.0, 41.0, 41.0),
        (MORNING, after(1, *HOT), logged(1, surface="standing")),
    ),
    Told(
        "It turned damp", "Dry in run 1, damp in run 2, no pooling. Hot at the dry target.",
        "To the damp target once, and a softer bar.",
        "set", "damp", (30.0, 30.0, 38.0, 38.0),
        (MORNING, logged(1), logged(2, "0 -2 0 0", surface="damp"), after(2, *HOT)), ("47.1", "51.0"),
    ),
    Told(
        "Drying", "The course dries from run to run; front past the mark and a clear push.",
        "The track changes faster than I can set the tyre. Hold.",
        "hold", "hold", None,
        (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0", surface="drying"), *rubber(1, "front", "past")),
    ),
    Told(
        "In and out", "Pushes clearly on the way in, loose on the way out. On target.",
        "No pressure cures both. Driver, dampers, toe.",
        "hold", "opposite-phases", None,
        (MORNING, after(1, *HOT), logged(1, "-2 0 2 0")),
    ),
    Told(
        "Only on power", "Pushes strongly on power at the exit, otherwise neutral; front past the mark.",
        "That is the right foot or the gear. Throttle plan first.",
        "hold", "exit-alone", None,
        (MORNING, after(1, *HOT), logged(1, "0 0 -3 0"), *rubber(1, "front", "past")),
    ),
    Told(
        "Loose, rear rolling over", "The rear rolls past the mark, clear oversteer in the middle and the slalom.",
        "The rear is under its best. Rear up 1.",
        "set", "rear-past", (34.0, 34.0, 45.0, 45.0),
        (MORNING, after(1, *HOT), logged(1, "0 2 0 2"), *rubber(1, "rear", "past")),
    ),
    Told(
        "Loose, rear too hard", "The rear is short of the mark, hot in the middle; clear oversteer in the middle.",
        "The rear is over its best. Rear down 1.",
        "set", "rear-short", (34.0, 34.0, 43.0, 43.0),
        (MORNING, after(1, *HOT), logged(1, "0 2 0 0"), *rubber(1, "rear", "short", 6)),
    ),
    Told(
        "A mistake", "Front past the mark, clear push, and I missed the braking point.",
        "A spoilt run says little about the tyre. Hold.",
        "hold", "hold", None,
        (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0", mistake=True), *rubber(1, "front", "past")),
    ),
    Told(
        "In the lead", "First in class, one run left; front past the mark, clear push.",
        "It is fast enough as it is. Change nothing new.",
        "hold", "hold", None,
        (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past")), ("44.0",), per_day=2,
    ),
    Told(
        "Going off", "Three clean runs, each slower; treads at 88 C, all four over the target, the nose slides.",
        "The tyres are cooked. Cool them and go back to the target.",
        "set", "fading", (34.0, 34.0, 44.0, 44.0),
        (
            MORNING, logged(1), logged(2), logged(3, "-2 -1 0 0"), after(3, 37.0, 37.0, 46.0, 46.0),
            *rubber(3, "front", "on", 0, 88.0),
        ),
        ("46.0", "46.3", "46.7"),
    ),
    Told(
        "No maximum known", "Front past the mark, clear push; nobody has read the sidewall.",
        "I would add, but not without knowing the cold maximum. Read the sidewall; hold till then.",
        "hold", "hold", None,
        (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past")),
        car=car(max_cold_psi=None, wheel_max_psi=None, placard_front_psi=None, front_min_psi=26.0),
    ),
    Told(
        "Two things at once", "The bar was changed for this run; front past the mark, clear push.",
        "One thing at a time: run the bar twice before touching the front.",
        "hold", "hold", None,
        (
            MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past"),
            SetupChange(id="c1", day=1, run=1, number=ME, kind="test", setting="rear_bar", item="rear bar", before="3-3", after="3-4"),
        ),
    ),
    Told(
        "The other axle", "Front mark right, clear push mid-corner; the rear is short of the mark with a hot middle.",
        "Leave the front. The rear is over its best: a little more there frees it. Rear up 1.",
        "set", "front-right", (34.0, 34.0, 45.0, 45.0),
        (MORNING, after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "on"), *rubber(1, "rear", "short", 6)),
    ),
    Told(
        "Nothing known of the rear", "Front mark right, clear push mid-corner; the rear was not looked at.",
        "Leave the front, and chalk the rear for the next run.",
        "hold", "front-right", None,
        (MORNING, after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "on")),
    ),
    Told(
        "Cold second day", "Morning of day 2 at 6 C. Last night: loose, rear short of the mark with a hot middle.",
        "A cold tyre that is too hard behind will be a handful: rear 1 under the plan for the first run; front to the plan.",
        "plan", "first-run", (30.8, 30.8, 39.3, 39.3),
        (
            MORNING, after(1, *HOT), logged(1, "0 2 0 0"), *rubber(1, "rear", "short", 6),
            cold(29.2, 29.2, 40.2, 40.2, air_c=6.0, day=2),
        ),
        moment="cold-read",
    ),
    Told(
        "The wrong unit", "The newest reading is typed in kPa under psi: 234, 234, 303, 303.",
        "That can't be psi. Ask, and read again; no advice on a guess.",
        "read", "ran", None,
        (MORNING, after(1, 234.0, 234.0, 303.0, 303.0), logged(1)), moment="ran",
    ),
    Told(
        "First run, cold and damp", "8 C and damp. Read cold: 28/28 in front, 34.5/34.5 behind.",
        "The damp target is 30/38 hot; a first run in the damp gives some 8 K. So 28.8 and 36.6 cold, whatever the dry wants.",
        "plan", "cold-plan", (28.8, 28.8, 36.6, 36.6),
        (cold(28.0, 28.0, 34.5, 34.5, air_c=8.0), WeatherRow(day=1, at="07:40", air_c=8.0, surface="damp")), (),
        moment="cold-read",
    ),
    Told(
        "The evening", "The last run of day 1 is run; the tyres read 36.5/45.5 hot.",
        "Nothing to set tonight; road pressures for the way home. For tomorrow the cold plan: this first run gave 36 K in "
        "front and 28 behind, so 28.6/38.9 at 12 C.",
        "plan", "day-done", (28.6, 28.6, 38.9, 38.9),
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1)), per_day=1, moment="day-done",
    ),
    Told(
        "The last evening", "The last run of the event is run; the tyres read 36.5/45.5 hot.",
        "No setting any more. Before the drive home back to road pressures, cold.",
        "none", "event-done", None,
        (logged(1, day=2), after(1, 36.5, 36.5, 45.5, 45.5, day=2)), (), per_day=1, moment="event-done",
    ),
    Told(
        "A misread corner", "34 left front, 43 right front, 44/44 behind; all were alike this morning.",
        "No tyre gains nine pounds on its mate. Read it again and touch neither front; the rear is on its target.",
        "read", "odd-corner", None,
        (MORNING, after(1, 34.0, 43.0, 44.0, 44.0), logged(1)), moment="odd-corner",
    ),
    Told(
        "One stands still", "After the run 30 left front, 33.7 right front, 46/46 behind.",
        "The left front did not warm or lost what it gained: read it again. The rear goes back to its target meanwhile.",
        "set", "odd-corner", (None, None, 44.0, 44.0),
        (MORNING, after(1, 30.0, 33.7, 46.0, 46.0), logged(1)), moment="odd-corner",
    ),
    Told(
        "Odd, and odd again", "43 right front beside 34, and 43 once more when read again.",
        "Then it is no slip of the gauge. Stop and look at the wheel.",
        "stop", "odd-corner", None,
        (MORNING, after(1, 34.0, 43.0, 44.0, 44.0), after(1, 34.0, 43.0, 44.0, 44.0, at="09:03:40"), logged(1)),
        moment="odd-corner",
    ),
    Told(
        "Gauge first", "Run 1 is driven and not typed yet; the gauge says 36.5/45.5.",
        "Those are the readings after run 1. Back to the target now; what the balance says can wait for the line.",
        "set", "heat-drift", (34.0, 34.0, 44.0, 44.0),
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5)), (), moment="gauge-first",
    ),
    Told(
        "After lunch, nothing read", "Read 36.5/45.5 at 9:03, it is 10:30, nothing was set.",
        "They have cooled, that reading is history. Read again, cold.",
        "read", "stale", None,
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1)), moment="stale", at="2026-05-09T10:30",
    ),
    Told(
        "After lunch, read", "The same, and at 10:30 they read 31.5/40.5 in 18 C air.",
        "A cold reading before a first run. The first one gave 36 K in front and 28 behind, so 28.7/39.0 cold.",
        "plan", "cold-plan", (28.7, 28.7, 39.0, 39.0),
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), before(2, 31.5, 31.5, 40.5, 40.5, at="10:30")),
        moment="cold-read",
    ),
    Told(
        "A new tyre", "On target after run 1; then a puncture, and another tyre on the right rear for run 2.",
        "The others stay. The new one is cold and gets the cold plan.",
        "set", "cold-plan", (34.0, 34.0, 44.0, 40.1),
        (
            MORNING, after(1, *HOT), logged(1), TyreRow(tyre="a"), TyreRow(tyre="b"),
            FittedRow(day=1, run=1, number=ME, corner="rr", tyre="a"), FittedRow(day=1, run=2, number=ME, corner="rr", tyre="b"),
        ),
    ),
    Told(
        "The other driver", "My run pushed hard with the front past the mark; then the other driver drove, and mine is in a "
        "quarter of an hour. 33.2/43 hot.",
        "His run is the last, and I don't know how it felt. Nothing new; warm as they still are they end at 34/44, so hold.",
        "hold", "hold", None,
        (
            MORNING, logged(1, "-2 -2 0 0"), *rubber(1, "front", "past"), after(1, 33.2, 33.2, 43.0, 43.0, number="83", at="09:43"),
            TimeRow(day=1, run=1, number="83", time_ms=47_000, at="09:40"),
        ),
        numbers=(ME, "83"),
    ),
    Told(
        "Set as told", "Read 36.5/45.5, set to 34/44 a minute later.",
        "Done. Leave them.",
        "none", "heat-drift", None,
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), put(2, 34.0, 34.0, 44.0, 44.0, at="09:04")), moment="set",
    ),
    Told(
        "Half of it", "The same, but only the front was let out.",
        "The rear is still to do.",
        "set", "heat-drift", (34.0, 34.0, 44.0, 44.0),
        (MORNING, after(1, 36.5, 36.5, 45.5, 45.5), logged(1), put(2, 34.0, 34.0, 45.5, 45.5, at="09:04")), moment="set",
    ),
)  # fmt: skip
