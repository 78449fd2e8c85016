"""What is answered at each moment of the ten days, in a line: gone through by hand, each for its reason.

A line: the clock; the action by which rule, how sure, for what reason; what the reading is held against; what is gauged
next (kind, run, ``!`` as advised, ``+`` once the run is typed, how); what is said beside it, the maker's word aside.
"""

from __future__ import annotations

import pytest

from paddock.engine.pressure.answer import Moment
from tests.engine.pressure.days import DAYS, Day, whole
from tests.engine.pressure.test_days import asked, then

LINES = {
    "lunch": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:00 read ran, high: ran | nothing | after 1 expected |
09:02 set heat-drift, high: heat-drift | hot target | set 1! as advised | let-out-hot
09:03 none heat-drift, high: set-as-advised | hot target | after 2+ expected after the run |
09:40 read ran, high: ran | nothing | after 2 expected |
09:42 hold hold, fair: on-target | hot target | after 3+ expected after the run |
10:20 hold hold, fair: on-target | hot target | after 3+ expected after the run |
10:40 read stale, high: stale | hot target | cold - |
13:00 plan cold-plan, fair: cold-plan | cold plan | set 2! as advised |
13:30 none event-done, high: event-done | nothing | after 3 | road-caution
13:32 none event-done, high: event-done | nothing | after 3 | road-caution
""",
    "shared car": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:00 read ran, high: ran | nothing | after 1 expected |
09:02 hold hold, fair: off-but | hot target | after 2+ expected after the run |
09:20 read ran, high: ran | nothing | after 1 expected |
09:22 set heat-drift, high: heat-drift | hot target | set 1! as advised | let-out-hot
09:23 none heat-drift, high: set-as-advised | hot target | after 2+ expected after the run |
09:50 read ran, high: for-others | nothing | after 2 expected |
09:52 hold hold, fair: for-others | hot target | after 2 |
10:10 none event-done, high: event-done | nothing | after 2 | road-caution
""",
    "rain": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:02 hold hold, fair: on-target | hot target | after 2+ expected after the run |
09:20 set damp, low: damp | hot target | set 1! as advised | when-it-dries cooled-since let-out-hot
09:42 set damp, fair: damp | hot target | set 2! as advised | when-it-dries let-out-hot
09:43 none damp, fair: set-as-advised | hot target | after 3+ expected after the run |
10:20 read ran, high: ran | nothing | after 3 expected |
10:22 set standing-water, fair: standing-water | hot target | set 3! as advised | when-the-water-has-gone
""",
    "a re-run": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:00 read ran, high: ran | nothing | after 1 expected |
09:02 hold hold, fair: on-target | hot target | after 1+ expected after the run |
09:26 set heat-drift, high: heat-drift | hot target | set 1! as advised | let-out-hot
09:28 set heat-drift, high: heat-drift | hot target | set 1! as advised | let-out-hot
10:00 read ran, high: ran | nothing | after 2 expected |
10:02 set heat-drift, high: heat-drift | hot target | set 2! as advised | let-out-hot
""",
    "the gauge before the typing": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:02 set heat-drift, high: heat-drift | hot target | set 1! as advised | let-out-hot
09:04 hold hold, fair: off-but | hot target | after 2+ expected after the run |
09:05 none set, fair: set | hot target | after 2+ expected after the run |
09:33 hold hold, fair: on-target | hot target | after 3+ expected after the run |
09:36 hold hold, fair: on-target | hot target | after 3+ expected after the run |
10:03 none event-done, high: event-done | nothing | after 3 | road-caution
10:06 none event-done, high: event-done | nothing | after 3 | road-caution
""",
    "a tyre change": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:00 read ran, high: ran | nothing | after 1 expected |
09:02 read odd-corner, low: odd-corner | hot target | after 1 read again |
09:03 stop odd-corner, high: inspect | hot target | after 1 read again |
09:40 set cold-plan, fair: another-tyre | hot target | set 1! as advised | fresh-tyre
09:45 none cold-plan, fair: set-as-advised | hot target | after 2+ expected after the run |
10:10 read ran, high: ran | nothing | after 2 expected |
10:12 hold hold, low: leak-first | hot target | after 3+ expected after the run | leak
""",
    "no limits": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan | no-floor no-maximum
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised | no-floor no-maximum
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run | no-floor no-maximum
09:00 read ran, high: ran | nothing | after 1 expected | no-floor no-maximum
09:02 set heat-drift, high: heat-drift | hot target | set 1! as advised | no-floor no-maximum let-out-hot
09:40 read ran, high: ran | nothing | after 2 expected | no-floor no-maximum
""",
    "blankets": """
08:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
08:40 set cold-plan, low: found-warm | hot target | set -! as advised | doubt let-out-hot
09:00 read ran, high: ran | nothing | after 1 expected | doubt
09:02 hold hold, fair: on-target | hot target | after 2+ expected after the run | doubt
""",
    "two days": """
07:30 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
07:45 plan cold-plan, low: cold-plan | cold plan | set -! as advised |
07:50 none cold-plan, low: set-as-advised | cold plan | after 1+ expected after the run |
09:00 plan day-done, low: day-done | cold plan | after 1 | road-caution todays-air
09:02 plan day-done, fair: day-done | cold plan | after 1 | road-caution todays-air
18:00 plan day-done, fair: day-done | cold plan | cold - the cold plan | road-caution todays-air
2 07:00 plan cold-plan, fair: cold-plan | cold plan | cold - the cold plan |
2 07:40 hold hold, fair: but | cold plan | after 1+ expected after the run |
2 09:00 none event-done, high: event-done | nothing | after 1 | road-caution
2 09:02 none event-done, high: event-done | nothing | after 1 | road-caution
2 18:00 none event-done, high: event-done | nothing | after 1 | road-caution
""",
    "hot readings alone": """
08:00 plan cold-plan, low: cold-plan | cold plan | cold - the cold plan |
09:00 read ran, high: ran | nothing | after 1 expected |
09:02 set heat-drift, fair: heat-drift | hot target | set 1! as advised | let-out-hot
09:40 read ran, high: ran | nothing | after 2 expected |
09:42 set heat-drift, fair: heat-drift | hot target | set 2! as advised | let-out-hot
10:30 read stale, high: stale | hot target | cold - |
""",
}


def line(at: str, found: Moment) -> str:
    offer = found.offer
    next_ = f"{offer.kind} {offer.run or '-'}{'!' * offer.advised}{'+' * offer.run_due} {offer.how}".strip()
    beside = " ".join(item.name for item in found.cautions[:-1])
    assert found.cautions[-1].name == "maker"
    return (
        f"{at} {found.action} {found.rule}, {found.confidence}: {found.reason.name} | {found.aim_is or 'nothing'} | "
        f"{next_} | {beside}".rstrip()
    )


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.title)
def test_each_moment_of_a_day_is_answered_for_its_reason(day: Day) -> None:
    told = whole(day)
    found = [line(at, asked(told, then(told, at))[1]) for at, _ in day.story]
    assert found == LINES[day.title].strip().splitlines()


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.title)
def test_the_figures_of_a_moment_hold_together(day: Day) -> None:
    """What is to be set ends the next run where it is expected; what is read next is what was advised or expected."""
    told = whole(day)
    for at, _ in day.story:
        found = asked(told, then(told, at))[1]
        s = found.known
        for corner, psi in found.expected.known().items():
            way, start = s.way[corner], (found.set or s.now)[corner]
            if found.name == "before":
                assert psi == s.plan.of("front" if corner in ("lf", "rf") else "rear").hot_psi
                continue
            assert start is not None
            outside = s.step.reading.ambient_pa / 6894.757 if s.step is not None and not s.rested else way.outside_psi
            assert psi == pytest.approx(
                (start + outside) * (way.end_c + 273.15) / (way.now_c + 273.15) - outside, abs=1e-3
            )
        if found.offer.advised:
            assert dict(found.offer.psi) == found.moves
        elif found.offer.kind == "after" and found.offer.how.startswith("expected"):
            assert dict(found.offer.psi) == found.expected.known()
        else:
            assert set(found.offer.psi.values()) <= set((found.set or s.now).known().values())
