"""``paddock next``: what to set."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from paddock.commands.common import (
    Answer,
    add_at,
    add_folder,
    add_number,
    entered,
    faults_data,
    faults_line,
    load_as_of,
)
from paddock.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from paddock.engine.pressure.answer import Moment
    from paddock.engine.pressure.plan import ColdPlan
    from paddock.model.event import Event
    from paddock.pages.document import Block


HELP = "Say what to set the tyres to before the next run, with one reason, or to hold."
EXAMPLES = (
    "paddock next example_event --number 58",
    "paddock next example_event --number 58 --why",
    "paddock next example_event --number 58 --unit bar --plot",
    "paddock next example_event --number 58 --altitude-m 640 --air-c 15",
    "paddock next example_event --number 58 --json",
)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def configure(parser: ArgumentParser) -> None:
    """The folder, a number, and what to show."""
    add_folder(parser)
    add_number(parser)
    add_at(parser)
    parser.add_argument(
        "--unit", choices=("psi", "kpa", "bar"), help="of all pressures (default: the folder's own; with --json psi)"
    )
    parser.add_argument("--why", action="store_true", help="every sign, and every rule passed over with the reason")
    parser.add_argument("--plot", action="store_true", help="draw the pressures through the next run")
    parser.add_argument("--altitude-m", type=_number, metavar="X", help="cold plan for another place: its altitude")
    parser.add_argument(
        "--air-c", type=_number, metavar="X", help="cold plan: the air at the first run; here, or at --altitude-m"
    )
    parser.add_argument("--hottest-c", type=_number, metavar="X", help="cold plan: the hottest air of that day")


def run(args: Namespace) -> Answer:
    """The advice of the contract."""
    from paddock.engine.pressure.moment import moment_of
    from paddock.folders.seasons import earlier_events
    from paddock.pages.pressure import as_json

    event, clock = load_as_of(args)
    number = entered(event, args.number)
    _checked(args)
    past = earlier_events(args.folder, event)
    moment = moment_of(event, number, clock, past=past)
    whole = as_json(moment, args.unit or "psi") | faults_data(event, clock)
    return Answer(whole, lambda: _text(event, moment, args, past) + faults_line(event, clock))


def _checked(args: Namespace) -> None:
    """Raises UsageError for a place or an air that can't be."""
    from paddock.engine.pressure.air import air_state

    if args.air_c is None and (args.altitude_m is not None or args.hottest_c is not None):
        raise UsageError("--air-c is wanted too: the air at the first run of the cold plan")
    for value in (args.air_c, args.hottest_c):
        air_state(15.0 if value is None else value, args.altitude_m)


def _text(event: Event, moment: Moment, args: Namespace, past: Sequence[Event]) -> str:
    from paddock.pages.document import Document
    from paddock.render.lines import text

    return text(Document("next", tuple(_blocks(event, moment, args, past))))


def _blocks(event: Event, moment: Moment, args: Namespace, past: Sequence[Event]) -> Iterator[Block]:
    from paddock.engine.pressure.plan import next_event_plan
    from paddock.pages.document import paragraphs, words
    from paddock.pages.pressure import later_words, next_line, plan_line, told, why_blocks

    unit = args.unit or event.settings.pressure_unit or "psi"
    offset = moment.known.gauge.offset_psi
    yield words((next_line(moment, unit), "strong"))
    if args.air_c is not None:
        there = event.settings.altitude_m if args.altitude_m is None else args.altitude_m
        plan: ColdPlan | None = next_event_plan(event, moment.number, there, args.air_c, hottest_c=args.hottest_c)
    else:
        plan = moment.known.plan if moment.name in {"before", "cold-read", "day-done"} else None
    if plan is not None:
        from paddock.engine.field.hindsight import cold_record

        yield words(plan_line(plan, unit, offset, cold_record((*past, event), moment.number).wider))
    yield from paragraphs([f"{text[:1].upper()}{text[1:]}." for text in later_words(moment, unit)])
    yield from paragraphs(told(moment, unit).cautions, bullet="- ")
    if args.why:
        yield from why_blocks(moment, unit)
    if args.plot:
        yield from _plot(event, moment.number, unit)


def _plot(event: Event, number: str, unit: str) -> Iterator[Block]:
    """Both axles from now through the next run and twenty minutes after it."""
    from paddock.engine.pressure.heat import heat_curves
    from paddock.model.units import from_psi
    from paddock.pages.document import Plot, Series, words

    curves = heat_curves(event, number)
    if not curves:
        yield words("No plot: no heat could be fitted yet (see --why).")
        return
    series = tuple(Series(axle, tuple((x, from_psi(y, unit)) for x, y in points)) for axle, points in curves.items())
    yield Plot(series, "minutes from now", unit, "the pressures of both axles through the next run and after it")
