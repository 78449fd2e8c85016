"""Bars and gears in words and tables, for commands and screens alike."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from paddock.engine.car.balance import Transfer
    from paddock.engine.car.bar_rates import Pair
    from paddock.engine.car.compensation import GiveBack
    from paddock.engine.car.gears import Gear, GearTable
    from paddock.engine.car.hold_or_shift import Hold

__all__ = [
    "GEAR_HEADERS", "PAIR_HEADERS", "gear_cells", "gear_name", "gear_sentences", "give_back_sentences",
    "hold_sentences", "holes", "pair_cells", "share", "tenths", "transfer_sentences", "unequal_sentence",
]  # fmt: skip

PAIR_HEADERS = (
    "holes", "end N/mm", "wheel N/mm", "N·m/deg", "+/- %", "step %", "vs now %", "heave N", "front",
)  # fmt: skip
GEAR_HEADERS = (
    "gear", "ratio", "limiter km/h", "shift rpm", "at km/h", "why", "drops to", "light rpm", "grip below km/h",
)  # fmt: skip
_NAMES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def _number(value: float | None, places: int = 0, sign: bool = False) -> str:
    if value is None:
        return "-"
    shown = round(value, places) + 0.0
    return f"{shown:{'+' if sign and shown else ''}.{places}f}"


def share(value: float | None) -> str:
    """``61.3 %``; a dash where it can't be told."""
    return "-" if value is None else f"{value * 100:.1f} %"


def holes(left: int, right: int) -> str:
    """``3-2``: left hole, right hole."""
    return f"{left}-{right}"


def tenths(seconds: float) -> str:
    """A difference in tenths of a second: ``1.3 tenths``; less than a fifth of one is ``nothing you can drive``."""
    if abs(seconds) < 0.02:
        return "nothing you can drive"
    size = abs(seconds) * 10
    return f"{size:.1f} {'tenth' if f'{size:.1f}' == '1.0' else 'tenths'}"


def gear_name(gear: int) -> str:
    """``second``; ``gear 9`` past the eighth."""
    return _NAMES[gear - 1] if 1 <= gear <= len(_NAMES) else f"gear {gear}"


def _heave(pair: Pair) -> str:
    left, right = pair.end_heave_n
    return "0" if left == 0 == right else f"{_number(left, 0, True)} {_number(right, 0, True)}"


def pair_cells(pair: Pair, front_share: float | None) -> list[str]:
    """One row under ``PAIR_HEADERS``."""
    roll = pair.roll_nm_per_rad
    return [
        holes(pair.left, pair.right), _number(pair.end_rate_n_mm, 1), _number(pair.wheel_rate_n_mm, 1),
        _number(None if roll is None else roll * pi / 180), _number(pair.spread_pct, 1),
        _number(pair.step_pct, 1, True), _number(pair.from_now_pct, 1, True), _heave(pair), share(front_share),
    ]  # fmt: skip


def unequal_sentence(axle: str, pair: Pair | None) -> str | None:
    """What unequal holes in use do beside roll; None for equal ones or no motion ratio."""
    if pair is None or pair.wheel_heave_n is None or pair.wheel_heave_n == (0.0, 0.0):
        return None
    left, right = pair.wheel_heave_n
    free, fixed = pair.roll_heave_free_nm_per_rad, pair.roll_nm_per_rad
    less = "" if free is None or fixed is None else f"; roll stiffness is {(1 - free / fixed) * 100:.1f} % less with "
    less += "the ride height free" if less else ""
    return (
        f"{axle} holes {holes(pair.left, pair.right)} are unequal: 10 mm of bump at both wheels puts {left:+.0f} N on "
        f"the left tyre and {right:+.0f} N on the right, droop the other way round (braking loads a diagonal){less}."
    )


def transfer_sentences(found: Transfer | None) -> list[str]:
    """Share, roll and lifting wheels."""
    if found is None:
        return ["Share of load transfer: not known (see below)."]
    lines = [
        f"At {found.lateral_g:g} g the front takes {share(found.front_share)} of the load transfer "
        f"({found.front.total_n:.0f} N front, {found.rear.total_n:.0f} N rear), roll {degrees(found.roll_rad):.1f} deg."
    ]
    for name, end in (("front", found.front), ("rear", found.rear)):
        if end.lifted and end.lift_g is not None:
            lines.append(f"The inside {name} wheel lifts from {end.lift_g:.2f} g: more {name} bar does nothing there.")
        elif end.lift_g is not None and end.lift_g < found.lateral_g + 0.3:
            lines.append(f"The inside {name} wheel would lift at {end.lift_g:.2f} g.")
    return lines


def _bar_move(found: GiveBack) -> str:
    other = found.other_bar
    if other is None:
        return "The other bar can't give it back: no bar there, or no holes that come nearer."
    left = other.left_over * 100
    rest = "" if abs(left) < 0.05 else f", {abs(left):.1f} points {'over' if left > 0 else 'under'}"
    to = holes(other.pair.left, other.pair.right)
    return (
        f"To give it back, move the {other.axle} bar to {to}: {share(other.share)}{rest} (reckoned: equal share, not "
        "equal feel)."
    )


def _pressure_move(found: GiveBack) -> str:
    move = found.pressure
    if move is None:
        return f"By rear pressure: {found.unknown}."
    way = "up" if move.psi > 0 else "down"
    line = (
        f"Or rear pressure {way} {abs(move.psi):.1f} psi (+/- {move.se_psi:.1f}, learned from {move.runs} runs of this "
        "car)"
    )
    return line + (f": {move.held_back}." if move.held_back else ", within the limits.")


def give_back_sentences(found: GiveBack) -> list[str]:
    """What the change does to the share and what gives it back."""
    if found.change is None:
        return ["What this change does to the balance can't be told (see below)."]
    points = found.change * 100
    if abs(points) < 0.05:
        return [f"The front's share stays at {share(found.before)}."]
    turn = "towards understeer" if points > 0 else "towards oversteer"
    lines = [
        f"Front share {share(found.before)} -> {share(found.after)} ({points:+.1f} points, {turn}: common practice, "
        "as long as both inside wheels carry load)."
    ]
    both_ends = found.unknown is None and found.pressure is None
    return lines if both_ends else [*lines, _bar_move(found), _pressure_move(found)]


def gear_cells(gear: Gear) -> list[str]:
    """One row under ``GEAR_HEADERS``."""
    why = {True: "crosses", False: "limiter", None: "-"}[gear.crosses]
    return [
        str(gear.gear), f"{gear.ratio:g}", _number(gear.limiter_kmh, 1), _number(gear.shift_rpm),
        _number(gear.shift_kmh, 1), why, _number(gear.drop_rpm), _number(gear.light_rpm),
        _number(gear.grip_limited_below_kmh, 1),
    ]  # fmt: skip


def gear_sentences(found: GearTable) -> list[str]:
    """What grip and reaction do to the table."""
    lines = []
    if found.grip_n is not None:
        lines.append(f"The driven wheels hold {found.grip_n:.0f} N: below the last column's speed thrust exceeds that, "
                     "so a longer gear or a short shift costs nothing there.")  # fmt: skip
    spins = [
        f"{item.gear}: {item.spins_below_kmh:.0f} km/h" for item in found.gears if item.spins_below_kmh is not None
    ]
    if spins:
        lines.append("With what the engine needs to speed itself up taken off, that is up to (gear: speed) "
                     + ", ".join(spins) + ".")  # fmt: skip
    if any(item.light_rpm is not None for item in found.gears) and found.line is not None:
        lines.append(f"The light is early by the engine's rise in {found.line.reaction_s:g} s of reaction.")
    return lines


def _until(hold: Hold) -> str:
    name = gear_name(hold.gear)
    if hold.shift_s is None:
        return f"There is no higher gear than {name}."
    if hold.hold_to_m is None or hold.hold_to_kmh is None:
        return f"Holding {name} is never slower than shifting within 600 m."
    full = f"{hold.hold_to_m:.0f} m of full throttle ({hold.hold_to_kmh:.0f} km/h)"
    return f"Hold {name} to {full}; on a longer stretch shift."


def _costs(hold: Hold) -> list[str]:
    name, after = gear_name(hold.gear), gear_name(hold.gear + 1)
    ways: list[tuple[str, float | None]] = [(f"take it in {after} from the start", hold.next_s)]
    if hold.shifts and hold.shift_at_kmh is not None:
        ways.insert(0, (f"shift to {after} at {hold.shift_at_kmh:.0f} km/h", hold.shift_s))
    lines = [f"  hold {name}: {hold.hold_s:.2f} s"]
    for way, seconds in ways:
        if seconds is not None:
            more = seconds - hold.hold_s
            verb = "costs" if more > 0 else "saves"
            what = tenths(more)
            lines.append(f"  {way}: {seconds:.2f} s, {what if what.startswith('nothing') else f'{verb} {what}'}")
    return lines


def hold_sentences(hold: Hold) -> list[str]:
    """Hold or shift over the stretch, in tenths."""
    name, after = gear_name(hold.gear), gear_name(hold.gear + 1)
    verdict = {
        "hold": f"hold {name}",
        "shift": f"shift to {after}",
        "next": f"take it in {after}",
        "level": "the two best ways are level: take the one that is easier to drive",
    }[hold.best]
    lines = [f"Over {hold.length_m:g} m from {hold.from_kmh:g} km/h: {verdict}.", *_costs(hold), _until(hold)]
    if hold.limiter_m is not None:
        lines.append(f"The limiter comes after {hold.limiter_m:.0f} m.")
    return lines


def caution_lines(cautions: Sequence[str]) -> list[str]:
    """The usual cautions, once, at the end."""
    return ["", *(f"! {line}" for line in cautions)]
