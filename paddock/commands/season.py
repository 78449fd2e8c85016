"""``paddock season``: points, runs and changes over a directory of events."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer
from paddock.errors import Problem

if TYPE_CHECKING:
    from paddock.engine.season.points import Need, Outlook, SeasonTable
    from paddock.engine.season.year import Year
    from paddock.folders.seasons import SeasonView

HELP = "Add up a season: points with drops and ties, what each event left could change, all my runs and changes."
EXAMPLES = (
    "paddock season 2026",
    "paddock season 2026 --json",
    "paddock season 2026 --year -o 2026.html",
    "paddock season 2026 --parquet tables --xlsx 2026.xlsx",
)


def configure(parser: ArgumentParser) -> None:
    """The directory, and where tables go."""
    parser.add_argument("directory", type=Path, metavar="DIR", help="a directory of event folders, with season.toml")
    parser.add_argument("--year", action="store_true", help="also what the year taught; each change is judged anew")
    parser.add_argument("-o", "--output", type=Path, metavar="HTML", help="write the season as a page, the year in it")
    parser.add_argument("--parquet", type=Path, metavar="DIR", help="write runs, changes and tyres there as Parquet")
    parser.add_argument("--xlsx", type=Path, metavar="FILE", help="write them and the points to a spreadsheet file")


def run(args: Namespace) -> Answer:
    """Points by table, my runs, my changes; what could not be read is named."""
    from paddock.folders.seasons import open_season
    from paddock.pages.season import whole
    from paddock.pages.year import read_year, year_page
    from paddock.render.lines import text
    from paddock.store.folder import no_collecting

    with no_collecting():
        view = open_season(args.directory)
        today = date.today()
        seen = read_year(view) if args.year or args.output else None
        year = year_page(view, seen) if seen is not None else None
        written = _write(view, args)
        if args.output is not None and year is not None:
            from paddock.render.season import write_season

            written.append(f"{write_season(view, year, today, args.output)}: the season as a page")
        shown = year if args.year else None
        said = {"year": _year(seen) if seen is not None and args.year else None}
        return Answer(data(view) | said, lambda: text(whole(view, today, written, shown)))


def _year(seen: Year) -> dict[str, Any]:
    """The year's figures, times in ms, at the time of the runs they come from."""
    return {
        "changes": [
            {"car": item.car, "key": item.setting, "label": item.label, "verdict": item.verdict,
             "events": [name for name, _ in item.effects],
             "extra_ms": item.pooled.mean if item.pooled else None,
             "interval80_ms": [item.pooled.low, item.pooled.high] if item.pooled else None,
             "p_helped": item.pooled.p_faster if item.pooled else None}
            for item in seen.changes
        ],
        "rises": [
            {"car": item.car, "event": item.event, "day": item.day, "axle": item.axle, "surface": item.surface,
             "air_c": item.air_c, "rise_psi": item.psi} for item in seen.rises
        ],
        "wear": [
            {"car": item.car, "event": item.event, "axle": item.axle, "edge": item.edge, "wear_mm_per_run": item.mm,
             "runs": item.runs} for item in seen.wear
        ],
        "depths_in_range": seen.held,
        "depths_asked": seen.asked,
        "parts": [
            {"car": item.car, "part": item.part, "runs_since": item.since, "seen_to": item.done,
             "interval_runs": item.interval, "due": item.due} for item in seen.parts
        ],
        "costs": [
            {name: getattr(item, name) for name in (
                "event", "number", "runs", "cones", "gates", "void", "mistakes", "mistakes_s", "score_ms", "clean_ms",
                "rank", "clean_rank", "best_parts_ms")} for item in seen.costs
        ],
    }  # fmt: skip


_UNRULED = Problem(
    "season.toml", 0, "there is none: these points are by a rule of the program's own (every score counts)", "warning"
)


def data(view: SeasonView) -> dict[str, Any]:
    """The answer as the contract has it, then tyres, events, what is left, and problems."""
    return {
        "points": [_table(table, view) for table in view.tables],
        "runs": _plain(view.runs),
        "changes": _plain(view.changes),
        "tyres": _plain(view.tyres),
        "events": [
            {"event": folder, "name": event.settings.name, "days": [f"{day}" for day in event.settings.days]}
            for folder, event in view.events
        ],
        "outlook": [_outlook(item) for item in view.outlooks],
        "problems": (*view.problems, *([] if view.ruled else [_UNRULED])),
    }


def _table(table: SeasonTable, view: SeasonView) -> dict[str, Any]:
    return {
        "name": table.name,
        "counted": table.limit,
        "rows": [
            {
                "rank": row.rank, "driver": row.driver, "number": row.number, "mine": row.driver in view.mine,
                "points": float(row.points),
                "events": [
                    {"event": item.folder, "day": item.day, "place": item.place, "score_ms": item.score_ms,
                     "points": float(item.points), "counts": item.counts}
                    for item in row.events
                ],
            }
            for row in table.rows
        ],
    }  # fmt: skip


def _outlook(item: Outlook) -> dict[str, Any]:
    return {
        "table": item.table, "driver": item.driver, "rank": item.rank, "points": float(item.points),
        "most": float(item.most), "best_rank": item.best_rank, "worst_rank": item.worst_rank,
        "events": [
            {"event": stake.event, "win": float(stake.win), "gain": float(stake.gain),
             "counts_above": float(stake.counts_above), "pass_next": _need(stake.pass_next),
             "hold_next": _need(stake.hold_next)}
            for stake in item.stakes
        ],
    }  # fmt: skip


def _need(need: Need | None) -> dict[str, Any] | None:
    if need is None:
        return None
    points = None if need.points is None else float(need.points)
    return {"driver": need.driver, "points": points, "place": need.place, "ratio": need.ratio}


def _plain(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{name: f"{cell}" if isinstance(cell, date) else cell for name, cell in row.items()} for row in rows]


def _write(view: SeasonView, args: Namespace) -> list[str]:
    """The tables asked for; where they went."""
    if args.parquet is None and args.xlsx is None:
        return []
    from paddock.engine.season.rows import CHANGES, RUNS, TYRES
    from paddock.session.loading import need_polars
    from paddock.store.tables_out import frame, write_partitioned, write_spreadsheet
    from paddock.words import plural

    need_polars("writing tables")
    rows = {"runs": (view.runs, RUNS), "changes": (view.changes, CHANGES), "tyres": (view.tyres, TYRES)}
    frames = {name: frame(found, columns) for name, (found, columns) in rows.items()}
    written = []
    if args.parquet is not None:
        for name, table in frames.items():
            files = write_partitioned(table, args.parquet / name, ("season", "event"))
            written.append(f"{args.parquet / name}: {plural(len(files), 'Parquet file')}")
    if args.xlsx is not None:
        points = frame(_flat_points(view), _POINTS)
        write_spreadsheet({"points": points, **frames}, args.xlsx)
        written.append(f"{args.xlsx}: points, runs, changes, tyres")
    return written


_POINTS = {
    "table": str, "rank": int, "driver": str, "number": str, "event": str, "day": int, "place": int, "score_ms": int,
    "points": float, "counts": bool,
}  # fmt: skip


def _flat_points(view: SeasonView) -> list[dict[str, Any]]:
    return [
        {"table": table["name"], "rank": row["rank"], "driver": row["driver"], "number": row["number"]} | item
        for table in data(view)["points"]
        for row in table["rows"]
        for item in row["events"]
    ]
