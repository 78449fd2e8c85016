"""The season told in one page: what its changes, pressures, heat, tyres and parts showed, and what faults cost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import groupby

from paddock.engine.season.points import SeasonRow
from paddock.engine.season.year import CourseWear, EventCost, PartRuns, Year, usual_rises, year_of
from paddock.folders.seasons import SeasonView
from paddock.model.season import Booking
from paddock.pages.document import (
    Block,
    Column,
    Document,
    Heading,
    PageTable,
    Plot,
    Ranges,
    Series,
    TableRow,
    paragraphs,
    words,
)
from paddock.pages.effect import curve_words, pooled_blocks
from paddock.pages.season import figure, part_words
from paddock.pages.tyres import Beside, Tyres, all_tyres
from paddock.pages.tyres import table as tyre_table
from paddock.words import plural, seconds

EDGE_RUNS = 3
"""Points from which a line is drawn."""


def read_year(view: SeasonView) -> Year:
    """What the events of a season show together."""
    return year_of(view.events, view.rules.parts)


def year_page(view: SeasonView, year: Year) -> Document:
    """Changes, pressures, heat, tyres, parts, faults, costs: each answered in a line first, then its figures."""
    blocks: list[Block] = [
        words((_head(view), "strong")),
        *_editions(year),
        *_points(view),
        *_changes(year),
        *_pressures(year),
        *_heat(year),
        *_tyres(view, year),
        *_parts(year.parts),
        *_faults(year.costs),
        *_money(view),
    ]
    return Document("the year", tuple(blocks))


def _editions(year: Year) -> list[Block]:
    if len(year.editions) < 2:
        return []
    told = "; ".join(f"{edition}: {', '.join(names)}" for edition, names in year.editions.items())
    return [words(("! ", "warn"), f"two editions of the index were used ({told}): index times of one can't be held "
                  "against the other's, only places and points can", hang=2)]  # fmt: skip


def _head(view: SeasonView) -> str:
    runs = [row for row in view.runs if row["total_ms"] is not None]
    return f"{view.name}: {plural(len(view.events), 'event')}, {plural(len(runs), 'run')} of mine with a time"


def _points(view: SeasonView) -> list[Block]:
    """My points as they grew, beside the best rival's; what is dropped in the end is in them."""
    if not view.ruled:
        return []
    folders = list(dict.fromkeys(item.folder for item in view.held if item.counts))
    names = {folder: event.settings.name or folder for folder, event in view.events}
    blocks: list[Block] = []
    for table in view.tables:
        mine = [row for row in table.rows if row.driver in view.mine]
        if not mine or len(folders) < EDGE_RUNS:
            continue
        shown = [*mine, *[row for row in table.rows if row not in mine][:1]]
        series = tuple(Series(row.driver, _grown(row, folders)) for row in shown)
        told = "; ".join(f"{line.name} {line.points[-1][1]:g}" for line in series)
        blocks.append(Plot(series, "event", "points", f"Points as they grew, {table.name}. {told}",
                           f"{table.name}: points as they grew, before drops.",
                           tuple(names[folder] for folder in folders)))  # fmt: skip
    return [Heading("points"), *blocks] if blocks else []


def _grown(row: SeasonRow, folders: Sequence[str]) -> tuple[tuple[float, float], ...]:
    total, points = 0.0, []
    for at, folder in enumerate(folders):
        total += sum(float(item.points) for item in row.events if item.folder == folder)
        points.append((float(at), total))
    return tuple(points)


# the car


def _changes(year: Year) -> list[Block]:
    known = [item for item in year.changes if item.pooled is not None]
    blocks: list[Block] = [Heading("the car's changes")]
    if not year.changes:
        return [*blocks, words("no change was logged: c and then a logs one")]
    if known:
        parts = tuple(
            (item.pooled.low / 1000, item.pooled.mean / 1000, item.pooled.high / 1000)
            for item in known if item.pooled is not None
        )  # fmt: skip
        names = tuple(f"{item.car} {item.label}".strip() for item in known)
        told = "; ".join(f"{name} {part[1]:+.2f} s ({part[0]:+.2f} to {part[2]:+.2f})"
                         for name, part in zip(names, parts, strict=True))  # fmt: skip
        blocks.append(Ranges(names, parts, "s, left of nought quicker", f"Effect of each change. {told}",
                             "Each change with its 80 % range."))  # fmt: skip
    for item in year.changes:
        heading, *rest = pooled_blocks(item, year.events)
        blocks += [Heading(heading.text, 2) if isinstance(heading, Heading) else heading, *rest]
    return blocks


def _pressures(year: Year) -> list[Block]:
    blocks: list[Block] = [Heading("pressures")]
    if not year.curves:
        return [
            *blocks,
            words("no axle was moved enough yet, on dry runs read afterwards, to say which way is quicker"),
        ]
    return [*blocks, *(words(f"{car}, {curve_words(curve)}", hang=2) for car, curve in year.curves)]


def _heat(year: Year) -> list[Block]:
    blocks: list[Block] = [Heading("heat: what a day's first run puts on")]
    usual = usual_rises(year.rises)
    if not usual:
        return [*blocks, words("no day has a cold reading and one after its first run: read both")]
    columns = (
        Column("car", most=14), Column("surface"), Column("axle"), Column("psi", figures=True),
        Column("days", figures=True), Column("air °C", drop=1),
    )  # fmt: skip
    rows = [
        TableRow((car, surface, axle, f"{psi:+.1f}", f"{count}", _span(airs)))
        for (car, surface, axle), (psi, count, airs) in sorted(usual.items())
    ]
    return [*blocks, PageTable(columns, tuple(rows)), *_heat_plots(year)]


def _heat_plots(year: Year) -> Iterable[Block]:
    """Rise against air, dry, a line an axle; where there are days enough."""
    known = [item for item in year.rises if item.air_c is not None and item.surface == "dry"]
    for car, of_car in groupby(sorted(known, key=lambda item: item.car), key=lambda item: item.car):
        rows = list(of_car)
        series = []
        for axle in ("front", "rear"):
            points: dict[float, list[float]] = {}
            for item in rows:
                if item.axle == axle:
                    points.setdefault(item.air_c or 0.0, []).append(item.psi)
            series.append(Series(axle, tuple((air, sum(psi) / len(psi)) for air, psi in sorted(points.items()))))
        if all(len(line.points) >= EDGE_RUNS for line in series):
            told = "; ".join(f"{line.name}: " + ", ".join(f"{psi:.1f} at {air:.0f} °C" for air, psi in line.points)
                             for line in series)  # fmt: skip
            yield Plot(tuple(series), "air, °C", "psi", f"Rise of the first run on dry ground by air, {car}. {told}",
                       f"{car}: rise of a day's first run, dry.", least=2.0)  # fmt: skip


def _span(values: Sequence[float]) -> str:
    if not values:
        return ""
    low, high = values[0], values[-1]
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"


# tyres


def _tyres(view: SeasonView, year: Year) -> list[Block]:
    blocks: list[Block] = [Heading("tyres")]
    if not view.events:
        return blocks
    *past, (_, last) = view.events
    found = all_tyres(last, Beside(tuple(event for _, event in past), view.rules.events))
    if not found.lines:
        return [*blocks, words("no tyre is written down: t, then a adds a set")]
    blocks += [*_wear(year.wear), *_held(year), tyre_table(found.lines, "mm"), *_orders(found)]
    return blocks


def _wear(found: Sequence[CourseWear]) -> list[Block]:
    if not found:
        return [words("no tread was read before and after an event: wear by course can't be told")]
    columns = (
        Column("event", most=22), Column("car", drop=2, most=12), Column("axle"), Column("edge"),
        Column("mm a run", figures=True), Column("tyre runs", figures=True, drop=1),
    )  # fmt: skip
    rows = tuple(
        TableRow((item.event, item.car, item.axle, item.edge, f"{item.mm:.3f}", f"{item.runs}")) for item in found
    )
    return [PageTable(columns, rows, "wear of the worst edge by course"), *_wear_plots(found)]


def _wear_plots(found: Sequence[CourseWear]) -> Iterable[Plot]:
    for car in dict.fromkeys(item.car for item in found):
        mine = [item for item in found if item.car == car]
        names = tuple(dict.fromkeys(item.event for item in mine))
        if len(names) < EDGE_RUNS:
            continue
        series = tuple(
            Series(axle, tuple((float(names.index(item.event)), item.mm) for item in mine if item.axle == axle))
            for axle in ("front", "rear") if any(item.axle == axle for item in mine)
        )  # fmt: skip
        told = "; ".join(f"{item.event} {item.axle} {item.mm:.3f}" for item in mine)
        yield Plot(series, "event", "mm a run", f"Wear of the worst edge by course, {car}. {told}",
                   f"{car}: wear of the worst edge by course.", names, least=0.02)  # fmt: skip


def _held(year: Year) -> list[Block]:
    if not year.asked:
        return []
    told = f"{year.held} of {plural(year.asked, 'depth')} read lay in the 80 % range worked out before"
    return [words(f"{told}: {100 * year.held / year.asked:.0f} %; about four in five should")]


def _orders(found: Tyres) -> list[Block]:
    due = [item.sentence for item in found.proposals if item.kind == "buy"]
    return [*(words(text, bullet="- ") for text in due)] or [words("nothing to order for what is booked")]


# parts


def _parts(found: Sequence[PartRuns]) -> list[Block]:
    blocks: list[Block] = [Heading("parts")]
    if not found:
        said = 'no part has its maker\'s interval: write [parts.estate] and "front pads" = 60 (runs) in season.toml'
        return [*blocks, words((said, "quiet"))]
    blocks += [words((f"! due: {part_words(item)}", "warn"), hang=2) for item in found if item.due]
    columns = (
        Column("part", most=24), Column("car", drop=2, most=12), Column("runs", figures=True),
        Column("of", figures=True), Column("left", figures=True), Column("since", drop=1, most=26),
    )  # fmt: skip
    rows = tuple(
        TableRow((item.part, item.car, f"{item.since}", f"{item.interval}", "due" if item.due else f"{item.left}",
             item.done or "the first event here"))
        for item in sorted(found, key=lambda item: item.left)
    )  # fmt: skip
    caution = "Runs are counted, not wear: look at it sooner where anything was heard, felt or seen."
    return [*blocks, PageTable(columns, rows), words((caution, "quiet"))]


# faults and mistakes


def _faults(costs: Sequence[EventCost]) -> list[Block]:
    blocks: list[Block] = [Heading("faults and mistakes")]
    if not costs:
        return [*blocks, words("no run of mine has a result yet")]
    columns = (
        Column("event", most=22), Column("no", drop=3), Column("cones", figures=True),
        Column("gates", figures=True, drop=4), Column("void", figures=True, drop=5),
        Column("mistakes", figures=True, drop=2), Column("score", figures=True), Column("clean", figures=True),
        Column("place"), Column("best parts", figures=True, drop=1),
    )  # fmt: skip
    rows = tuple(
        TableRow((item.event, item.number, f"{item.cones}", f"{item.gates}", f"{item.void}", f"{item.mistakes}",
             seconds(item.score_ms), seconds(item.clean_ms), _places(item),
             _parts_words(item)))
        for item in costs
    )  # fmt: skip
    return [*blocks, *(words((text, "strong")) for text in fault_words(costs)), PageTable(columns, rows),
            *paragraphs(_MEANT, "quiet")]  # fmt: skip


_MEANT = (
    "clean: the same runs without a cone or a gate, scored anew. best parts: the quickest of each element together, "
    "with the bias of picking them taken off; days with splits only.",
)


def fault_words(costs: Sequence[EventCost]) -> tuple[str, ...]:
    """What the year's penalties and mistakes came to."""
    lost = sum(item.lost_ms or 0 for item in costs)
    places = sum((item.rank or 0) - (item.clean_rank or 0) for item in costs if item.rank and item.clean_rank)
    cones, gates, void = (sum(getattr(item, name) for item in costs) for name in ("cones", "gates", "void"))
    mistakes, spoilt = sum(item.mistakes for item in costs), sum(item.mistakes_s for item in costs)
    at = plural(len({item.event for item in costs}), "event")
    head = f"{plural(cones, 'cone')}, {plural(gates, 'gate')} and {plural(void, 'void run')} at {at}"
    took = f"cones and gates cost {lost / 1000:.3f} s of score and {plural(places, 'place')}"
    logged = f"; {plural(mistakes, 'run')} marked a mistake, {spoilt:.1f} s lost in them as logged" if mistakes else ""
    return (f"{head}: {took}{logged}",)


def _parts_words(item: EventCost) -> str:
    if item.best_parts_ms is None:
        return ""
    return seconds(item.best_parts_ms) + (f", {plural(item.part_days, 'day')}" if item.part_days < item.days else "")


def _places(item: EventCost) -> str:
    if item.rank is None:
        return "-"
    return f"{item.rank}" if item.clean_rank in (None, item.rank) else f"{item.rank}, clean {item.clean_rank}"


# money


def _money(view: SeasonView) -> list[Block]:
    """What a run cost, as far as fees and prices are written."""
    runs = {
        folder: sum(row["event"] == folder and row["status"] != "dns" for row in view.runs) for folder, _ in view.events
    }
    paid: list[tuple[Booking, int]] = []
    for item in view.held:
        if (
            item.booking is not None
            and item.booking.fee is not None
            and all(item.booking is not one for one, _ in paid)
        ):
            paid.append((item.booking, runs.get(item.folder, 0)))
    fees, made = sum((one.fee or Decimal(0) for one, _ in paid), Decimal(0)), sum(count for _, count in paid)
    if not made:
        return []
    money = f" {view.rules.currency}" if view.rules.currency else ""
    each = figure(round(fees / made, 2))
    return [
        Heading("what a run cost"),
        words(f"fees {figure(fees)}{money} for {plural(made, 'run')} of mine: {each}{money} a run; each tyre's cost a "
              "run stands with the tyres"),
    ]  # fmt: skip
