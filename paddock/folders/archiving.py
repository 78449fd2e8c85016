"""An archive of seasons: ``season=2026/*.parquet``, everybody's scores, taken in by content; tables part by part.

A part is one season: parts share nothing, so any executor of the standard library's kind may work on them, in this
process, in others, on other machines. The query is ``engine.season.many_seasons``, the same everywhere.
"""

from __future__ import annotations

import hashlib
import io
import re
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from paddock.engine.season.points import counted_limit
from paddock.engine.season.rows import SCORES, SeasonRows, score_rows
from paddock.errors import FolderError, Problem, UsageError
from paddock.folders.seasons import open_season, scored, season_name
from paddock.model.event import Event
from paddock.model.season import Season
from paddock.session.loading import load
from paddock.store.archive import unpack, write_whole
from paddock.store.folder import why
from paddock.store.tables_out import frame, season_file

if TYPE_CHECKING:
    import polars as pl

# taking in


@dataclass(frozen=True, slots=True)
class TakenIn:
    """One event offered to the archive. ``state``: new, held (the same results), other (held with other results,
    nothing changed), replaced, empty (no results yet). ``file``: where its scores stand, None for empty.
    """

    source: str
    event: str
    season: str
    state: str
    file: Path | None


def take(archive: Path, sources: Sequence[Path], replace: bool = False) -> tuple[TakenIn, ...]:
    """Take event zips, event folders and directories of them into ``archive``, each event once by its content.

    Raises FolderError where a source can't be read or the archive not written.
    """
    return tuple(_take(archive, *found, replace) for source in sources for found in _offered(source))


def _offered(source: Path) -> Iterator[tuple[str, str, Event, Season]]:
    """Source, season, event, rules."""
    if source.is_file():
        with tempfile.TemporaryDirectory() as scratch:
            folder = Path(scratch) / "event"
            unpack(source, folder)
            event = load(folder)
            yield source.name, season_name(Season(), event), event, Season()
    elif (source / "event.toml").is_file():
        rules, _ = season_file(source.resolve().parent)
        event = load(source)
        yield source.name, season_name(rules, event), event, rules
    else:
        view = open_season(source)
        for name, event in view.events:
            yield name, season_name(view.rules, event), event, view.rules


def _take(archive: Path, source: str, season: str, event: Event, rules: Season, replace: bool) -> TakenIn:
    key = (event.settings.id or "").strip() or f"{event.settings.name} {event.settings.days[:1]}"
    rows = [row for item in scored(source, event, rules) if item.counts for row in score_rows(season, key, item)]
    if not rows:
        return TakenIn(source, key, season, "empty", None)
    stem = f"{re.sub(r'[^a-z0-9]+', '-', key.lower())[:40].strip('-')}-{_digest(key)[:8]}"
    target = archive / f"season={quote(season, safe=' ')}" / f"{stem}-{_digest(repr(_bare(rows)))[:16]}.parquet"
    held = sorted(archive.glob(f"season=*/{stem}-*.parquet"))
    if target in held:
        return TakenIn(source, key, season, "held", target)
    if held and not replace:
        return TakenIn(source, key, season, "other", held[0])
    out = io.BytesIO()
    frame(rows, SCORES).drop("season").write_parquet(out)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_whole(target, out.getvalue())
        for old in held:
            old.unlink()
    except OSError as error:
        raise FolderError(f"{target}: {why(error)}") from None
    return TakenIn(source, key, season, "replaced" if held else "new", target)


def _bare(rows: SeasonRows) -> list[tuple[object, ...]]:
    return sorted(tuple(f"{value}" for value in row.values()) for row in rows)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


# tables


@dataclass(frozen=True, slots=True)
class Share:
    """One season: its Parquet files, of ``SCORES`` or of ``many_seasons.RUNS_IN``, without ``season``."""

    season: str
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ArchiveTables:
    """``table``: ``season, class, rank, driver, points, counted, events, runs``; and what was left out or doubled."""

    table: pl.DataFrame
    problems: tuple[Problem, ...]


def parts_of(archive: Path) -> tuple[Share, ...]:
    """The seasons of an archive, by name. Raises FolderError where there is none."""
    try:
        places = sorted(path for path in archive.iterdir() if path.name.startswith("season=") and path.is_dir())
    except OSError as error:
        raise FolderError(f"{archive}: {why(error)}") from None
    found = [
        Share(
            unquote(place.name.removeprefix("season=")), tuple(f"{file}" for file in sorted(place.rglob("*.parquet")))
        )
        for place in places
    ]
    if not any(part.files for part in found):
        raise FolderError(f"{archive}: no season in it: take events in with paddock archive {archive} --take ZIP")
    return tuple(part for part in found if part.files)


def season_tables(
    parts: Sequence[Share], rules: Season, executor: Executor | None = None, cone_ms: int = 2000,
    told: Callable[[int, int, str], None] = lambda _at, _of, _name: None,
) -> ArchiveTables:  # fmt: skip
    """Every season's order in every table, by season, class, rank, driver.

    ``executor`` None: in this process, one part after the other. A part whose worker is lost is counted here.
    ``cone_ms`` is for parts of bare runs; scores have their cones in them. Raises UsageError where a season
    stands twice.
    """
    import polars as pl

    twice = [season for season, times in Counter(part.season for part in parts).items() if times > 1]
    if twice:
        raise UsageError(f"season {twice[0]} stands twice among the parts: it is counted once only; leave one out")
    work = partial(_one_season, rules=rules, cone_ms=cone_ms)
    futures = [] if executor is None else _sent(executor, work, parts)
    tables, problems = [], list(_unlike(rules))
    for at, part in enumerate(parts):
        table, said = _answer(futures[at] if at < len(futures) else None, work, part, executor is not None)
        tables.append(table)
        problems += said
        told(at + 1, len(parts), part.season)
    whole = pl.concat(tables) if tables else _nothing()
    return ArchiveTables(whole.sort("season", "class", "rank", "driver"), tuple(problems))


@contextmanager
def local_workers(count: int) -> Iterator[Executor]:
    """Processes of this machine. A pool that lost one of them can wait for the others for ever: they are ended."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import active_children, get_context

    before = set(active_children())
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"))  # polars has threads: no fork
    try:
        yield pool
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in set(active_children()) - before:
            child.terminate()


_Counted = tuple["pl.DataFrame", tuple[Problem, ...]]


def _sent(executor: Executor, work: Callable[[Share], _Counted], parts: Sequence[Share]) -> list[Future[_Counted]]:
    """As many as it takes: a broken pool takes no more."""
    sent: list[Future[_Counted]] = []
    for part in parts:
        try:
            sent.append(executor.submit(work, part))
        except RuntimeError:
            break
    return sent


def _answer(future: Future[_Counted] | None, work: Callable[[Share], _Counted], part: Share, shared: bool) -> _Counted:
    if future is not None:
        try:
            return future.result()
        except Exception as error:
            lost = f"its worker was lost ({type(error).__name__}): counted here"
    elif shared:
        lost = "no worker was left for it: counted here"
    else:
        return work(part)
    table, said = work(part)
    return table, (*said, Problem(f"season={part.season}", 0, lost, "warning"))


def _one_season(part: Share, rules: Season, cone_ms: int) -> _Counted:
    """One part's tables; a file that can't be read leaves the season out, and is named."""
    import polars as pl

    from paddock.engine.season.many_seasons import points_of

    try:
        scores, said = _scores(part, cone_ms)
        tables = [name for name in rules.points.tables if name != "class"]
        wanted = pl.col("class").is_in(tables)
        if "class" in rules.points.tables:
            wanted = wanted | ~pl.col("class").is_in(["index", "raw"])
        scores = scores.filter(wanted)
        limit = counted_limit(rules.drops, scores.select(pl.col("event").n_unique()).collect().item())
        return points_of(scores, rules.points, limit).collect(engine="streaming"), said
    except (OSError, FolderError, pl.exceptions.PolarsError) as error:
        return _nothing(), (Problem(_at(part), 0, f"left out: {f'{error}'.splitlines()[0]}"),)


def _scores(part: Share, cone_ms: int) -> tuple[pl.LazyFrame, tuple[Problem, ...]]:
    """One row a driver, event and table. Raises FolderError where the files hold something else."""
    import polars as pl

    from paddock.engine.season.many_seasons import RUNS_IN, event_scores

    # a season's folder read by itself has lost the key in its name
    found = pl.scan_parquet(list(part.files), hive_partitioning=False).with_columns(season=pl.lit(part.season))
    names = found.collect_schema().names()
    if "score_ms" not in names:
        if missing := ", ".join(sorted(set(RUNS_IN) - set(names))):
            raise FolderError(f"neither scores nor runs, it lacks {missing}")
        return event_scores(found.select(list(RUNS_IN)), cone_ms), ()
    scores = found.group_by("season", "event", "class", "driver").agg(
        pl.col("score_ms").min(), pl.col("runs").first(), pl.len().alias("times"), pl.col("weight").first()
    ).collect()  # fmt: skip
    said = [
        Problem(_at(part), 0, f"event {event} stands in two files: counted once", "warning")
        for event in sorted(set(scores.filter(pl.col("times") > 1)["event"]))
    ]
    if scores.filter(pl.col("weight") != 1).height:
        said.append(Problem(_at(part), 0, "an event's weight is not 1: counted with weight 1", "warning"))
    return scores.lazy(), tuple(said)


def _at(part: Share) -> str:
    return f"season={part.season}"


def _nothing() -> pl.DataFrame:
    import polars as pl

    from paddock.engine.season.many_seasons import TABLES_OUT

    return pl.DataFrame(schema=TABLES_OUT)


def _unlike(rules: Season) -> Iterator[Problem]:
    if rules.points.season_ties == "wins":
        yield Problem(
            "season.toml", 0, 'season_ties = "wins" is not counted over an archive: ties are shared', "warning"
        )
