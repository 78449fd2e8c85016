"""``paddock next``: what to set."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from paddock.commands.answer import Answer
from paddock.commands.common import add_at, add_folder, add_number, entered, faults_line, load_as_of

if TYPE_CHECKING:
    from paddock.engine.clock import AsOf
    from paddock.engine.pressure.answer import Advice
    from paddock.model.event import Event

__all__ = ["EXAMPLES", "HELP", "configure", "run"]

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
    parser.add_argument("--unit", choices=("psi", "kpa", "bar"), help="of all pressures (default: psi)")
    parser.add_argument("--why", action="store_true", help="every sign, and every rule passed over with the reason")
    parser.add_argument("--plot", action="store_true", help="draw the pressures through the next run")
    parser.add_argument("--altitude-m", type=_number, metavar="X", help="cold plan for the next event: its altitude")
    parser.add_argument("--air-c", type=_number, metavar="X", help="cold plan: the air at the first run")
    parser.add_argument("--hottest-c", type=_number, metavar="X", help="cold plan: the hottest air of that day")


def run(args: Namespace) -> Answer:
    """The advice of the contract."""
    from paddock.engine.pressure.advise import advise

    event, moment = load_as_of(args)
    number = entered(event, args.number)
    _checked(args)
    advice = advise(event, number)
    whole = advice.as_json(args.unit or "psi") | {"as_of": moment.iso}
    return Answer(whole, lambda: _text(event, advice, args, moment) + faults_line(event, moment))


def _checked(args: Namespace) -> None:
    """Raises UsageError for a place or an air that can't be."""
    from paddock.engine.air import air_state

    for value in (args.air_c, args.hottest_c):
        air_state(15.0 if value is None else value, args.altitude_m)


def _minding(event: Event, advice: Advice, moment: AsOf) -> list[str]:
    """Which question the figures answer, and that the reading under them is old."""
    from paddock.views.why import old_words
    from paddock.words import AS_NOW, RUN_AHEAD

    if advice.action != "set":
        return []
    old = old_words(event, advice.number, moment.time)
    which = f"{AS_NOW}. The tyre heat page answers another question, {RUN_AHEAD}."
    return [*([f"! {old}"] if old else []), which[0].upper() + which[1:]]


def _text(event: Event, advice: Advice, args: Namespace, moment: AsOf) -> str:
    from paddock.engine.pressure.say import next_line

    unit = args.unit or event.settings.pressure_unit or "psi"
    blocks = [next_line(advice, unit), *_minding(event, advice, moment), *_plan(event, advice, args, unit)]
    blocks += [f"- {text}" for text in advice.cautions]
    if args.why:
        blocks += ["", *_why(event, advice)]
    if args.plot:
        blocks += ["", _plot(event, advice.number, unit)]
    return "\n".join(blocks)


def _plan(event: Event, advice: Advice, args: Namespace, unit: str) -> list[str]:
    """The cold plan: of another event where asked, of the day's first run where there was none yet."""
    from paddock.engine.pressure.plan import next_event_plan
    from paddock.engine.pressure.say import plan_line
    from paddock.folders.past import earlier_events
    from paddock.views.why import first_plan_words

    if args.altitude_m is not None and args.air_c is not None:
        plan = next_event_plan(event, advice.number, args.altitude_m, args.air_c, hottest_c=args.hottest_c)
        return [plan_line(plan, unit)]
    found = first_plan_words(event, advice.number, unit, args.air_c, earlier_events(args.folder, event))
    return [] if found is None else [found]


def _why(event: Event, advice: Advice) -> list[str]:
    from paddock.commands.table import table
    from paddock.engine.heat.car import heat_of
    from paddock.engine.pressure.say import heat_lines

    signs = [[item.axle or "", item.kind, item.value, item.says, "yes" if item.counts else ""] for item in advice.signs]
    passed = [[str(item.rule), item.name, item.why] for item in advice.passed_over]
    return [
        f"Answered by rule {advice.rule}: {advice.name}.",
        "",
        table(["axle", "sign", "value", "says", "counts"], signs)
        if signs
        else "No signs were logged for the last run.",
        "",
        table(["rule", "passed over", "why"], passed, right=[0]) if passed else "No rule was passed over.",
        "",
        *heat_lines(heat_of(event, advice.number)),
    ]


def _plot(event: Event, number: str, unit: str) -> str:
    """Both axles from now through the next run and twenty minutes after it."""
    from paddock.commands.plot import lines_plot
    from paddock.engine.heat.car import heat_curves
    from paddock.model.units import from_psi

    curves = heat_curves(event, number)
    if not curves:
        return "No plot: no heat could be fitted yet (see --why)."
    series = {axle: [(x, from_psi(y, unit)) for x, y in points] for axle, points in curves.items()}
    return lines_plot(series, "minutes from now", unit)
