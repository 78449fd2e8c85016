"""What the verbs of the course say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import FaultsLeftOut, RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereElementSaid:
    """``elements[]`` of ``paddock where``."""

    element: Annotated[
        int, "as in `course.csv`; elements without a mark of their own in both runs are one with the next"
    ]
    name: Annotated[
        str | None, "as in `course.csv`; elements without a mark of their own in both runs are one with the next"
    ]
    kind: Annotated[
        str | None, "as in `course.csv`; elements without a mark of their own in both runs are one with the next"
    ]
    mine_ms: Annotated[int, "both times; mine less theirs"]
    theirs_ms: Annotated[int, "both times; mine less theirs"]
    delta_ms: Annotated[int, "both times; mine less theirs"]
    error_ms: Annotated[int, "half-width of the delta's 80 % range: at least 50, a phone's 150"]
    verdict: Annotated[str, "`lost`, `gained`; `can't tell` under two errors"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereOverRunSaid:
    """``over_runs[]`` of ``paddock where``."""

    element: Annotated[int, "which, and in how many runs it has a time"]
    name: Annotated[str | None, "which, and in how many runs it has a time"]
    runs: Annotated[int, "which, and in how many runs it has a time"]
    mean_lost_ms: Annotated[int, "lost on average against theirs; in how many runs the verdict is `lost`"]
    sd_ms: Annotated[int | None, "from run to run, what marking adds taken off; null: fewer than three runs"]
    lost_in: Annotated[int, "lost on average against theirs; in how many runs the verdict is `lost`"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereSaid:
    """What ``paddock where`` says."""

    number: Annotated[str, "my run"]
    day: Annotated[int, "my run"]
    run: Annotated[int, "my run"]
    against: Annotated[
        str, "`best elements`, a run as `1.3` (run 3 of day 1), or another entry's: `number 12, run 1.3`"
    ]
    elements: Annotated[
        tuple[WhereElementSaid, ...], "one object an element, in the order driven: from the mark before it to its own"
    ]
    official_delta_ms: Annotated[
        int, "official raw time less theirs (of the best elements: less their sum), and the sum of the deltas: the same"
    ]
    sum_ms: Annotated[
        int, "official raw time less theirs (of the best elements: less their sum), and the sum of the deltas: the same"
    ]
    best_elements_ms: Annotated[
        int, "the best of each element over my runs of the day together, and with the bias of picking them taken off"
    ]
    best_elements_unbiased_ms: Annotated[
        int | None,
        "the best of each element over my runs of the day together, and with the bias of picking them taken off",
    ]
    source: Annotated[str, "where the marks come from: `video`, `track`, `hand`, or several with commas"]
    official_ms: Annotated[int, "raw time of my run; my runs of the day with splits"]
    runs: Annotated[int, "raw time of my run; my runs of the day with splits"]
    over_runs: Annotated[tuple[WhereOverRunSaid, ...], "one object an element, over those runs"]
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackSaid:
    """What ``paddock track`` says."""

    file: Annotated[str, "where it lies in the folder"]
    fixes: Annotated[int, "fixes of the run with some seconds around it, how many a second, whether it has speed"]
    hz: Annotated[float, "fixes of the run with some seconds around it, how many a second, whether it has speed"]
    speed: Annotated[bool, "fixes of the run with some seconds around it, how many a second, whether it has speed"]
    skipped: Annotated[int, "fixes and sentences that could not be used: bad checksums, jumps, no time"]
    length_s: Annotated[
        float | None, "start to finish as the track has it, null: start or finish have no place; the official raw time"
    ]
    official_s: Annotated[
        float | None, "start to finish as the track has it, null: start or finish have no place; the official raw time"
    ]
    written: Annotated[int, "splits written to `splits.csv` for this run; 0: the course has no places yet"]
    phone: Annotated[bool, "taken as a phone's: `--phone`, or 1 Hz and slower without speed"]
    doubts: Annotated[tuple[str, ...], "sentences: what speaks against it"]
    again: Annotated[tuple[str, ...], "runs whose splits were worked out again because the day's line is new"]
    replaced: Annotated[tuple[str, ...], "what the run had before: an earlier track, marks from elsewhere"]
