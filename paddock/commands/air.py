"""``paddock air``: a gauge reading carried to another temperature and place."""

from __future__ import annotations

import argparse

from paddock.commands.common import Answer
from paddock.errors import UsageError

HELP = "Say what a tyre pressure will read at another temperature and altitude."
EXAMPLES = (
    "paddock air --gauge 38 --temp-c 25 --altitude-m 1600 --to-temp-c 5 --to-altitude-m 0",
    "paddock air --gauge 2.6 --unit bar --temp-c 50 --to-temp-c 8",
    "paddock air --gauge 38 --temp-f 77 --altitude-ft 5250 --to-temp-f 41 --to-station-hpa 1002",
)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _either(parser: argparse.ArgumentParser, first: str, second: str, help_: str) -> None:
    group = parser.add_mutually_exclusive_group()
    group.add_argument(f"--{first}", type=_number, metavar="X", help=help_)
    group.add_argument(f"--{second}", type=_number, metavar="X", help="the same in the other unit")


def configure(parser: argparse.ArgumentParser) -> None:
    """The flags of the verb."""
    parser.add_argument("--gauge", type=_number, required=True, metavar="P", help="what the gauge reads")
    parser.add_argument("--unit", choices=("psi", "kpa", "bar"), default="psi", help="of both pressures")
    _either(parser, "temp-c", "temp-f", "temperature of the air in the tyre when read")
    _either(parser, "altitude-m", "altitude-ft", "altitude where it was read (default: sea level)")
    parser.add_argument("--station-hpa", type=_number, metavar="X", help="true local pressure there, before altitude")
    _either(parser, "to-temp-c", "to-temp-f", "temperature to carry it to (default: the same)")
    _either(parser, "to-altitude-m", "to-altitude-ft", "altitude to carry it to (default: the same)")
    parser.add_argument("--to-station-hpa", type=_number, metavar="X", help="true local pressure to carry it to")


def _celsius(in_c: float | None, in_f: float | None) -> float | None:
    return (in_f - 32.0) * 5 / 9 if in_f is not None else in_c


def _metres(in_m: float | None, in_ft: float | None) -> float | None:
    return in_ft * 0.3048 if in_ft is not None else in_m


def _temperatures(args: argparse.Namespace) -> tuple[float, float]:
    here, there = _celsius(args.temp_c, args.temp_f), _celsius(args.to_temp_c, args.to_temp_f)
    if here is None and there is not None:
        raise UsageError("--temp-c is wanted too: the temperature of the air in the tyre when it was read")
    here = 20.0 if here is None else here
    return here, here if there is None else there


def run(args: argparse.Namespace) -> Answer:
    """``gauge``: what the gauge reads there, in the asked unit."""
    from paddock.engine.pressure.air import air_state, carry, checked_gauge
    from paddock.model.units import from_psi, to_psi
    from paddock.pages.reasons import uncertainty_words

    here_c, there_c = _temperatures(args)
    here_m = _metres(args.altitude_m, args.altitude_ft)
    there_m = _metres(args.to_altitude_m, args.to_altitude_ft)
    here = air_state(here_c, here_m, args.station_hpa)
    moved = there_m is not None or args.to_station_hpa is not None
    there = air_state(there_c, there_m if moved else here_m, args.to_station_hpa if moved else args.station_hpa)
    gauge = from_psi(carry(checked_gauge(to_psi(args.gauge, args.unit)), here, there), args.unit)
    to_m, to_hpa = (there_m, args.to_station_hpa) if moved else (here_m, args.station_hpa)
    places = (f"{here_c:.1f} C{_at(here_m, args.station_hpa)}", f"{there_c:.1f} C{_at(to_m, to_hpa)}")
    return Answer({"gauge": gauge}, lambda: _text(args, gauge, places, uncertainty_words(args.unit)))


def _at(altitude_m: float | None, station_hpa: float | None) -> str:
    if station_hpa is not None:
        return f" and {station_hpa:g} hPa"
    return "" if altitude_m is None else f" and {altitude_m:.0f} m"


def _text(args: argparse.Namespace, gauge: float, places: tuple[str, str], why: str) -> str:
    from paddock import words
    from paddock.model.units import to_psi

    unit = args.unit
    label = {"psi": "psi", "kpa": "kPa", "bar": "bar"}[unit]
    there = words.pressure(to_psi(gauge, unit), unit)
    flat = "\nBelow the pressure outside: the tyre is flat there." if gauge < 0 else ""
    return (
        f"{args.gauge:g} {label} at {places[0]} reads {there} {label} at {places[1]}.{flat}\n"
        f"({why[0].upper()}{why[1:]}.)"
    )
