"""What a season says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonScoreSaid:
    """``points[].rows[].events[]`` of ``paddock season``."""

    event: Annotated[str | None, "folder; day null: the whole event"]
    day: Annotated[str | None, "folder; day null: the whole event"]
    place: Annotated[int | None, "counts false: dropped"]
    score_ms: Annotated[int | None, "counts false: dropped"]
    points: Annotated[float, "counts false: dropped"]
    counts: Annotated[bool, "counts false: dropped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRowSaid:
    """``points[].rows[]`` of ``paddock season``."""

    rank: Annotated[int, "mine: one of my entries"]
    driver: Annotated[str, "mine: one of my entries"]
    number: Annotated[str, "mine: one of my entries"]
    mine: Annotated[bool, "mine: one of my entries"]
    points: Annotated[float, "mine: one of my entries"]
    events: Annotated[tuple[SeasonScoreSaid, ...], "event by event"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPointsSaid:
    """``points[]`` of ``paddock season``."""

    name: Annotated[str | None, "its name, and how many scores count (null: all but the drops)"]
    counted: Annotated[str | None, "its name, and how many scores count (null: all but the drops)"]
    rows: Annotated[tuple[SeasonRowSaid, ...], "the drivers, the first at the top"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRunSaid:
    """``runs[]`` of ``paddock season``."""

    season: Annotated[str, "where and when"]
    event: Annotated[str, "where and when"]
    name: Annotated[str, "where and when"]
    date: Annotated[str, "where and when"]
    day: Annotated[int, "where and when"]
    run: Annotated[int, "where and when"]
    try_: Annotated[str | None, "where and when"]
    at: Annotated[str | None, "where and when"]
    number: Annotated[str, "who"]
    driver: Annotated[str, "who"]
    car: Annotated[str | None, "who"]
    class_: Annotated[str, "who"]
    raw_ms: Annotated[int | None, "what; total and index with penalties"]
    cones: Annotated[int, "what; total and index with penalties"]
    misses: Annotated[int, "what; total and index with penalties"]
    status: Annotated[str | None, "what; total and index with penalties"]
    total_ms: Annotated[int | None, "what; total and index with penalties"]
    index_ms: Annotated[int | None, "what; total and index with penalties"]
    mistake: Annotated[bool | None, "as logged"]
    unsafe: Annotated[str | None, "as logged"]
    entry: Annotated[int | None, "as logged"]
    mid: Annotated[int | None, "as logged"]
    exit: Annotated[int | None, "as logged"]
    slalom: Annotated[int | None, "as logged"]
    surface: Annotated[str | None, "as logged"]
    lost_s: Annotated[float | None, "as logged"]
    lost_where: Annotated[str | None, "as logged"]
    note: Annotated[str | None, "as logged"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonChangeSaid:
    """``changes[]`` of ``paddock season``."""

    season: Annotated[str, "where and when"]
    event: Annotated[str, "where and when"]
    name: Annotated[str, "where and when"]
    date: Annotated[str, "where and when"]
    day: Annotated[int, "where and when"]
    run: Annotated[int, "where and when"]
    at: Annotated[str, "where and when"]
    id: Annotated[str, "what"]
    number: Annotated[str, "what"]
    car: Annotated[str, "what"]
    kind: Annotated[str, "what"]
    key: Annotated[str, "what"]
    item: Annotated[str | None, "what"]
    before: Annotated[str | None, "what"]
    after: Annotated[str | None, "what"]
    reason: Annotated[str | None, "why, and what became of it"]
    expect: Annotated[str | None, "why, and what became of it"]
    undoes: Annotated[str | None, "why, and what became of it"]
    decision: Annotated[str | None, "why, and what became of it"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonTyreSaid:
    """``tyres[]`` of ``paddock season``."""

    season: Annotated[str, "which tyre, in which event"]
    event: Annotated[str, "which tyre, in which event"]
    name: Annotated[str, "which tyre, in which event"]
    date: Annotated[str, "which tyre, in which event"]
    tyre: Annotated[str, "which tyre, in which event"]
    set: Annotated[str, "which tyre, in which event"]
    kind: Annotated[str, "which tyre, in which event"]
    size: Annotated[str | None, "which tyre, in which event"]
    car: Annotated[str | None, "which tyre, in which event"]
    runs: Annotated[int, "runs there and before, tread at the end"]
    runs_before: Annotated[int, "runs there and before, tread at the end"]
    inner_mm: Annotated[float, "runs there and before, tread at the end"]
    middle_mm: Annotated[float, "runs there and before, tread at the end"]
    outer_mm: Annotated[float, "runs there and before, tread at the end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonEventSaid:
    """``events[]`` of ``paddock season``."""

    event: Annotated[str, "folder, name, dates"]
    name: Annotated[str, "folder, name, dates"]
    days: Annotated[tuple[str, ...], "folder, name, dates"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonNeedSaid:
    """``outlook[].events[].hold_next`` of ``paddock season``."""

    driver: Annotated[str, "who"]
    points: Annotated[float | None, "with how many points"]
    place: Annotated[int | None, "which place"]
    ratio: Annotated[float | None, "or which share of the winner's score"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonStakeSaid:
    """``outlook[].events[]`` of ``paddock season``."""

    event: Annotated[str, "its name, points of a win, what that adds, and from how many points a result counts"]
    win: Annotated[float, "its name, points of a win, what that adds, and from how many points a result counts"]
    gain: Annotated[float, "its name, points of a win, what that adds, and from how many points a result counts"]
    counts_above: Annotated[
        float, "its name, points of a win, what that adds, and from how many points a result counts"
    ]
    pass_next: Annotated[
        SeasonNeedSaid | None, "what passes the one above, and holds the one below; null: nothing does"
    ]
    hold_next: Annotated[
        SeasonNeedSaid | None, "what passes the one above, and holds the one below; null: nothing does"
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonOutlookSaid:
    """``outlook[]`` of ``paddock season``."""

    table: Annotated[str, "now, and what is still possible"]
    driver: Annotated[str, "now, and what is still possible"]
    rank: Annotated[int, "now, and what is still possible"]
    points: Annotated[float, "now, and what is still possible"]
    most: Annotated[float, "now, and what is still possible"]
    best_rank: Annotated[int, "now, and what is still possible"]
    worst_rank: Annotated[int, "now, and what is still possible"]
    events: Annotated[tuple[SeasonStakeSaid, ...], "the booked events"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearChangeSaid:
    """``year.changes[]`` of ``paddock season``."""

    car: Annotated[str, "car file; blank: the events name none"]
    key: Annotated[str, "what pools it over events; its id where it has no key"]
    label: Annotated[str, "in words"]
    verdict: Annotated[str, "as `paddock effect` has it"]
    events: Annotated[tuple[str, ...], "where it was made"]
    extra_ms: Annotated[float | None, "pooled, negative is faster; null: no event gave a figure"]
    interval80_ms: Annotated[tuple[float, float] | None, "its 80 % range"]
    p_helped: Annotated[float | None, "the chance that it helped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearRiseSaid:
    """``year.rises[]`` of ``paddock season``."""

    car: Annotated[str, "car file, or the number"]
    event: Annotated[str, "its name"]
    day: Annotated[int, "of the event"]
    axle: Annotated[str, "`front` or `rear`"]
    surface: Annotated[str, "as logged; `not said`"]
    air_c: Annotated[float | None, "of the reading after the run"]
    rise_psi: Annotated[float, "what the day's first run put on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearWearSaid:
    """``year.wear[]`` of ``paddock season``."""

    car: Annotated[str, "car file, or the number"]
    event: Annotated[str, "its name"]
    axle: Annotated[str, "`front` or `rear`"]
    edge: Annotated[str, "the worst one"]
    wear_mm_per_run: Annotated[float, "of that edge"]
    runs: Annotated[int, "tyre runs it comes from"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearPartSaid:
    """``year.parts[]`` of ``paddock season``."""

    car: Annotated[str, "car file"]
    part: Annotated[str, "as `[parts]` of season.toml names it"]
    runs_since: Annotated[int, "since it was seen to, or in all events here"]
    seen_to: Annotated[str, "the event; blank: never here"]
    interval_runs: Annotated[int, "its maker's"]
    due: Annotated[bool, "the interval is reached"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearCostSaid:
    """``year.costs[]`` of ``paddock season``."""

    event: Annotated[str, "its name"]
    number: Annotated[str, "mine"]
    runs: Annotated[int, "that count"]
    cones: Annotated[int, "hit"]
    gates: Annotated[int, "missed"]
    void: Annotated[int, "runs without a result"]
    mistakes: Annotated[int, "runs marked so"]
    mistakes_s: Annotated[float, "lost in them as logged"]
    score_ms: Annotated[int | None, "in class; null: none"]
    clean_ms: Annotated[int | None, "without a cone or a gate"]
    rank: Annotated[int | None, "in class"]
    clean_rank: Annotated[int | None, "without a cone or a gate"]
    best_parts_ms: Annotated[int | None, "the best elements together, bias of picking taken off; null: no splits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearSaid:
    """``year`` of ``paddock season --year``."""

    changes: Annotated[tuple[YearChangeSaid, ...], "each change over its events"]
    rises: Annotated[tuple[YearRiseSaid, ...], "what a day's first run put on"]
    wear: Annotated[tuple[YearWearSaid, ...], "by course"]
    depths_in_range: Annotated[int, "depths read that lay in the 80 % range worked out before"]
    depths_asked: Annotated[int, "of so many"]
    parts: Annotated[tuple[YearPartSaid, ...], "against their makers' intervals"]
    costs: Annotated[tuple[YearCostSaid, ...], "what faults and mistakes cost"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonSaid:
    """What ``paddock season`` says."""

    points: Annotated[tuple[SeasonPointsSaid, ...], "one object a table"]
    runs: Annotated[tuple[SeasonRunSaid, ...], "all my timed runs, the columns of `times.csv` and `runs.csv`:"]
    changes: Annotated[tuple[SeasonChangeSaid, ...], "all my changes, the columns of `changes.csv`:"]
    tyres: Annotated[tuple[SeasonTyreSaid, ...], "my tyres, event by event"]
    events: Annotated[tuple[SeasonEventSaid, ...], "the events read"]
    outlook: Annotated[tuple[SeasonOutlookSaid, ...], "what is still open for each of my drivers in each table"]
    year: Annotated[YearSaid | None, "what the year taught; null without `--year`"]
    problems: Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveTakenSaid:
    """``taken[]`` of ``paddock archive``."""

    source: Annotated[str, "the zip or folder"]
    event: Annotated[str, "the event's id, else its name and first day"]
    season: Annotated[str, "the season it is counted in"]
    state: Annotated[str, "`new`, `held`, `other` (held with other results), `replaced`, `empty` (no results yet)"]
    file: Annotated[str | None, "where its scores stand, null for `empty`"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveRowSaid:
    """``seasons[].tables[].rows[]`` of ``paddock archive``."""

    rank: Annotated[int, "place, ties shared"]
    driver: Annotated[str, "name, or `number N`"]
    points: Annotated[float, "points of the scores that count"]
    counted: Annotated[int, "how many scores count"]
    events: Annotated[int, "how many events they ran"]
    runs: Annotated[int, "how many runs or scores that is"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveTableSaid:
    """``seasons[].tables[]`` of ``paddock archive``."""

    name: Annotated[str, "a class, `index` or `raw`"]
    rows: Annotated[tuple[ArchiveRowSaid, ...], "the drivers, the first at the top"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveSeasonSaid:
    """``seasons[]`` of ``paddock archive``."""

    season: Annotated[str, "its name"]
    tables: Annotated[tuple[ArchiveTableSaid, ...], "one object a table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveSaid:
    """What ``paddock archive`` says."""

    taken: Annotated[tuple[ArchiveTakenSaid, ...], "with `--take`: what became of each event"]
    seasons: Annotated[tuple[ArchiveSeasonSaid, ...], "without `--take`: one object a season"]
    problems: Problems
