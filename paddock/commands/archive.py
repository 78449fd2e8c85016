"""``paddock archive``: season tables over many seasons of Parquet, on this machine or on several."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer
from paddock.errors import UsageError

if TYPE_CHECKING:
    from paddock.folders.archiving import TakenIn

HELP = "Take events into an archive of seasons, each once by its content, and add up every season in it."
EXAMPLES = (
    "paddock archive archive --take 2026 autumn.zip",
    "paddock archive archive",
    "paddock archive archive --workers 4 --json",
    "paddock archive archive --cluster tcp://10.0.0.5:8786",
)


def configure(parser: ArgumentParser) -> None:
    """The archive, what to take, who counts."""
    parser.add_argument("archive", type=Path, metavar="ARCHIVE", help="a directory of season=... folders")
    parser.add_argument(
        "--take", type=Path, nargs="+", default=[], metavar="SOURCE",
        help="event zips, event folders or directories of them; the same results twice change nothing",
    )  # fmt: skip
    parser.add_argument(
        "--replace", action="store_true", help="with --take: other results of an event held take their place"
    )
    parser.add_argument("--workers", type=int, metavar="N", help="count in N processes of this machine")
    parser.add_argument("--cluster", metavar="ADDRESS", help="count on a dask cluster that reads the same path")


def run(args: Namespace) -> Answer:
    """What was taken; without ``--take`` every season's tables."""
    from paddock.session.loading import need_polars

    need_polars("an archive")
    if args.take:
        return _taken(args)
    if args.replace:
        raise UsageError("--replace goes with --take")
    if args.workers is not None and args.cluster is not None:
        raise UsageError("--workers counts here, --cluster elsewhere: give one of them")
    if args.workers is not None and not 1 <= args.workers <= 64:
        raise UsageError(f"--workers {args.workers}: 1 to 64")
    return _tables(args)


def _taken(args: Namespace) -> Answer:
    from paddock.folders.archiving import take
    from paddock.pages.archive import taken_page
    from paddock.render.lines import text

    found = take(args.archive, args.take, args.replace)
    return Answer({"taken": [_one(item) for item in found], "seasons": [], "problems": []},
                  lambda: text(taken_page(args.archive.name, found)))  # fmt: skip


def _one(item: TakenIn) -> dict[str, Any]:
    return {
        "source": item.source, "event": item.event, "season": item.season, "state": item.state,
        "file": None if item.file is None else f"{item.file}",
    }  # fmt: skip


def _tables(args: Namespace) -> Answer:
    from paddock.folders.archiving import parts_of, season_tables
    from paddock.pages.archive import tables_page
    from paddock.render.lines import text
    from paddock.store.tables_out import season_file

    rules, problems = season_file(args.archive)
    parts = parts_of(args.archive.resolve())
    with _executor(args) as executor:
        found = season_tables(parts, rules, executor)
    rows = found.table.to_dicts()
    data = {"taken": [], "seasons": _seasons(rows), "problems": (*problems, *found.problems)}
    return Answer(data, lambda: text(tables_page(rows, (*problems, *found.problems))))


def _seasons(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    seasons: dict[str, dict[str, list[dict[str, Any]]]] = {}
    for row in rows:
        own = {name: row[name] for name in ("rank", "driver", "points", "counted", "events", "runs")}
        seasons.setdefault(row["season"], {}).setdefault(row["class"], []).append(own)
    return [
        {"season": season, "tables": [{"name": name, "rows": found} for name, found in tables.items()]}
        for season, tables in seasons.items()
    ]


@contextmanager
def _executor(args: Namespace) -> Iterator[Executor | None]:
    """Who counts: nobody else, processes of this machine, or a cluster."""
    if args.workers is not None:
        from paddock.folders.archiving import local_workers

        with local_workers(args.workers) as pool:
            yield pool
    elif args.cluster is not None:
        try:
            from distributed import Client
        except ImportError:
            raise UsageError('--cluster needs the extra: pip install "paddock[cluster]"') from None
        try:
            client: Any = Client(args.cluster, timeout=10)  # type: ignore[no-untyped-call]
        except (OSError, ValueError) as error:
            raise UsageError(f"no cluster answers at {args.cluster}: {error}") from None
        with client:
            yield client.get_executor()
    else:
        yield None
