"""The same standings by other means, for the benchmark: DuckDB, SQLite, pandas and plain Python.

Rules: best run of a day, two days added, 2 s a cone, index on the total, truncated to the millisecond,
shared ranks. Each gives per entrant: number, raw and index score, rank in class, on index and raw, and
the gaps to the first and to the next in class.
"""

from __future__ import annotations

import sqlite3
from typing import Any

import duckdb
import pandas as pd
import polars as pl

COLUMNS = ["number", "total", "indexed", "class_rank", "index_rank", "raw_rank", "to_first", "to_next"]

_SQL = """
with runs as (
  select t.e, t.day, t.time_ms + 2000 * t.cones as total,
         (t.time_ms + 2000 * t.cones) * n.num {div} n.den as indexed
  from times t join entrants n on n.e = t.e
  where not t.void and not n.dsq and t.misses = 0 and t.time_ms is not null),
days as (select e, day, min(total) as total, min(indexed) as indexed from runs group by e, day),
totals as (select e, sum(total) as total, sum(indexed) as indexed from days group by e having count(*) = 2)
select n.number, s.total, s.indexed,
  case when s.total is null then null else rank() over (partition by n.class_at order by s.total nulls last) end as class_rank,
  case when s.total is null then null else rank() over (order by s.indexed nulls last) end as index_rank,
  case when s.total is null then null else rank() over (order by s.total nulls last) end as raw_rank,
  s.total - min(s.total) over (partition by n.class_at) as to_first,
  s.total - lag(s.total) over (partition by n.class_at order by s.total nulls last, n."order") as to_next
from entrants n left join totals s on s.e = n.e order by n."order"
"""


def duck(times: pl.DataFrame, entrants: pl.DataFrame) -> Any:
    """A closure that runs the query on tables already inside DuckDB."""
    connection = duckdb.connect()
    arrow = {"t": times.to_arrow(), "n": entrants.with_row_index("e").to_arrow()}
    for name, table in (("times", "t"), ("entrants", "n")):
        connection.register(table, arrow[table])
        connection.execute(f"create table {name} as select * from {table}")
    query = _SQL.format(div="//")
    return lambda: connection.sql(query).to_arrow_table()


def sqlite(times: pl.DataFrame, entrants: pl.DataFrame) -> Any:
    """The same in SQLite, in memory."""
    connection = sqlite3.connect(":memory:")
    for name, frame in (("times", times), ("entrants", entrants.with_row_index("e"))):
        columns = ", ".join(f'"{column}"' for column in frame.columns)
        connection.execute(f"create table {name} ({columns})")
        marks = ", ".join("?" * frame.width)
        connection.executemany(f"insert into {name} values ({marks})", frame.rows())
    query = _SQL.format(div="/")
    return lambda: connection.execute(query).fetchall()


def pandas(times: pl.DataFrame, entrants: pl.DataFrame) -> Any:
    """The same in pandas, from frames already there."""
    runs = pd.DataFrame({name: times[name].to_numpy() for name in times.columns})
    people = pd.DataFrame({name: entrants[name].to_list() for name in entrants.columns})
    num, den, dsq = (people[name].to_numpy() for name in ("num", "den", "dsq"))

    def work() -> pd.DataFrame:
        at = runs["e"].to_numpy()
        total = runs["time_ms"] + 2000 * runs["cones"]
        kept = pd.DataFrame({"e": runs["e"], "day": runs["day"], "total": total, "indexed": total * num[at] // den[at]})
        kept = kept[~runs["void"] & ~dsq[at] & (runs["misses"] == 0)]
        days = kept.groupby(["e", "day"], sort=False).min()
        grouped = days.groupby("e")
        totals = grouped.sum()[grouped.size() == 2]
        table = people[["number", "class_at", "order"]].join(totals)
        table["class_rank"] = table.groupby("class_at")["total"].rank(method="min")
        table["index_rank"] = table["indexed"].rank(method="min")
        table["raw_rank"] = table["total"].rank(method="min")
        table = table.sort_values(["class_at", "total", "order"])
        by_class = table.groupby("class_at")["total"]
        table["to_first"] = table["total"] - by_class.transform("min")
        table["to_next"] = by_class.diff()
        return table.sort_values("order")[COLUMNS]

    return work


def plain(times: pl.DataFrame, entrants: pl.DataFrame) -> Any:
    """The same in plain Python over tuples."""
    runs = times.select("e", "day", "time_ms", "cones", "misses", "void").rows()
    people = entrants.select("num", "den", "dsq", "number", "class_at", "order").rows()

    def work() -> list[tuple[Any, ...]]:
        best: dict[tuple[int, int], tuple[int, int]] = {}
        for e, day, time_ms, cones, misses, void in runs:
            if void or misses or people[e][2]:
                continue
            total = time_ms + 2000 * cones
            indexed = total * people[e][0] // people[e][1]
            held = best.get((e, day))
            best[e, day] = (total, indexed) if held is None else (min(held[0], total), min(held[1], indexed))
        scores = []
        for e in range(len(people)):
            days = [best.get((e, day)) for day in (1, 2)]
            both = None not in days
            scores.append((sum(d[0] for d in days), sum(d[1] for d in days)) if both else (None, None))  # type: ignore[index]
        return _placed(people, scores)

    return work


def _ranks(keys: list[tuple[Any, int]]) -> dict[int, tuple[int, int | None, int]]:
    """Position to (rank, the one ahead, the first), of keys (score, position)."""
    found: dict[int, tuple[int, int | None, int]] = {}
    keys = sorted(keys)
    for place, (score, at) in enumerate(keys):
        rank = found[keys[place - 1][1]][0] if place and keys[place - 1][0] == score else place + 1
        found[at] = (rank, keys[place - 1][1] if place else None, keys[0][1])
    return found


def _placed(people: list[tuple[Any, ...]], scores: list[tuple[Any, Any]]) -> list[tuple[Any, ...]]:
    ranked = [at for at, score in enumerate(scores) if score[0] is not None]
    classes: dict[Any, list[tuple[Any, int]]] = {}
    for at in sorted(ranked, key=lambda at: people[at][5]):
        classes.setdefault(people[at][4], []).append((scores[at][0], at))
    in_class: dict[int, tuple[int, int | None, int]] = {}
    for keys in classes.values():
        in_class |= _ranks(keys)
    by_index = _ranks([(scores[at][1], at) for at in ranked])
    by_raw = _ranks([(scores[at][0], at) for at in ranked])
    rows = []
    for at in sorted(range(len(people)), key=lambda at: people[at][5]):
        if at not in in_class:
            rows.append((people[at][3], *(None,) * 7))
            continue
        rank, ahead, first = in_class[at]
        to_next = None if ahead is None else scores[at][0] - scores[ahead][0]
        rows.append(
            (
                people[at][3],
                *scores[at],
                rank,
                by_index[at][0],
                by_raw[at][0],
                scores[at][0] - scores[first][0],
                to_next,
            )
        )
    return rows
