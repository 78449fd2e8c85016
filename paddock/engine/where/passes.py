"""When runs pass the gates of a line: each run shifted onto the line, then the instant it crosses each gate.

Works on a frame of many runs at once: ``run``, ``t_s``, ``x_m``, ``y_m``, ``speed_mps``, sorted by run and time.

The shift is the slow offset of a receiver between two runs; it is read off the distances across the line, all round the
course, by a robust least-squares fit (Huber's weights), and may itself drift evenly while the run lasts. Time is never
warped. A gate is looked for within a window of the distance driven, in the direction driven, and the gates of a run in
their order, since courses cross themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from paddock.engine.where.line import DrivenLine, in_order

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

POINTS = 160
"""Places along a run that are held against the line."""
REACH_SHARE = 0.10
"""How far along, as a share of the length, a place may lie from where the distance driven puts it."""
FAR_M = 12.0
HUBER_M = 0.8
GATE_M = 15.0
"""Half the width of a gate."""
WINDOW_SHARE = 0.15
_MISS = 30.0
_PRIOR, _PRIOR_DRIFT = 0.5, 4.0
"""Weight of "no shift" and of "no drift within the run", in places: keep a straight course solvable."""
ALIKE_M = 20.0
"""Places nearer to each other than this err alike."""


@dataclass(frozen=True, slots=True)
class Fits:
    """Of each run, in order: the shift in the middle of the run and how it drifts to either end (``x, y, dx, dy`` in
    metres), how far its places lie across the line (robust sd), the share of places on the line, the share driven the
    line's way, and the covariance of ``shift_m``."""

    runs: tuple[Any, ...]
    shift_m: Floats
    across_m: Floats
    on_line: Floats
    forward: Floats
    covariance: Floats


def gate_times(fixes: pl.DataFrame, line: DrivenLine, register: bool = True) -> tuple[pl.DataFrame, Fits]:
    """(``run``, ``element``, ``t_s``, ``along_mps``, ``sd_m``), a row for each gate passed; and how the runs fit.

    ``along_mps``: speed across the gate; ``sd_m``: what the shift's own error is along the line there.
    """
    import polars as pl

    last = pl.col("run").shift(1) != pl.col("run")
    step = ((pl.col("x_m") - pl.col("x_m").shift(1)) ** 2 + (pl.col("y_m") - pl.col("y_m").shift(1)) ** 2).sqrt()
    driven = (
        fixes.with_columns(step=pl.when(last.fill_null(True)).then(0.0).otherwise(step))
        .with_columns(far=pl.col("step").cum_sum())
        .with_columns(far=pl.col("far") - pl.col("far").first().over("run"))
        .with_columns(share=pl.col("far") / pl.max_horizontal(pl.col("far").last().over("run"), pl.lit(1e-9)))
        .drop("step", "far")
    )
    fits = _fitted(driven, line, register)
    shifts = pl.DataFrame({"run": list(fits.runs)} | {f"by{at}": fits.shift_m[:, at] for at in range(4)})
    shifts = shifts.with_columns(pl.col("run").cast(fixes["run"].dtype))
    late = 2 * pl.col("share") - 1
    moved = driven.join(shifts, on="run", how="left", maintain_order="left").with_columns(
        x_m=pl.col("x_m") + pl.col("by0") + late * pl.col("by2"),
        y_m=pl.col("y_m") + pl.col("by1") + late * pl.col("by3"),
    )
    return _chosen(_crossings(moved, line), line, fits), fits


# ---- the shift


def _fitted(driven: pl.DataFrame, line: DrivenLine, register: bool) -> Fits:
    import numpy as np

    runs, starts = np.unique(driven["run"].to_numpy(), return_index=True)
    order = np.argsort(starts)
    runs, starts = runs[order], starts[order]
    ends = np.append(starts[1:], driven.height)
    x, y, share = (driven[name].to_numpy() for name in ("x_m", "y_m", "share"))
    wanted = np.linspace(0.02, 0.98, POINTS)
    place = np.empty((len(runs), POINTS, 2))
    for at, (a, b) in enumerate(zip(starts, ends, strict=True)):
        place[at, :, 0] = np.interp(wanted, share[a:b], x[a:b])
        place[at, :, 1] = np.interp(wanted, share[a:b], y[a:b])
    heading = place[:, 2:] - place[:, :-2]
    stations = np.linspace(0, len(line.x_m) - 1, min(len(line.x_m), 400)).round().astype(int)
    q = np.stack([line.x_m[stations], line.y_m[stations]], axis=1)
    along = np.stack([line.ax[stations], line.ay[stations]], axis=1)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    shift = np.zeros((len(runs), 4))
    late = 2 * wanted - 1
    prior = np.diag([_PRIOR, _PRIOR, _PRIOR_DRIFT, _PRIOR_DRIFT])
    guess = np.broadcast_to(np.round(wanted * (len(stations) - 1)).astype(int), place.shape[:2])
    reach = max(2, round(REACH_SHARE * len(stations)))
    for turn in range(3):
        moved = place + shift[:, None, :2] + late[None, :, None] * shift[:, None, 2:]
        guess = nearest = _nearest(moved, q, guess, reach if turn == 0 else 8)
        n = normal[nearest]
        ways = np.concatenate([n, n * late[None, :, None]], axis=2)  # what each part of the shift does across the line
        bare = np.einsum("rkc,rkc->rk", place - q[nearest], n)
        if not register:
            break
        for _ in range(4):
            across = bare + np.einsum("rkc,rc->rk", ways, shift)
            weight = np.minimum(1.0, HUBER_M / np.maximum(np.abs(across), 1e-9))
            left = np.einsum("rki,rkj->rij", ways * weight[..., None], ways) + prior
            shift = np.linalg.solve(left, -np.einsum("rki,rk->ri", ways, weight * bare)[..., None])[..., 0]
    across = bare + np.einsum("rkc,rc->rk", ways, shift)
    moved = place + shift[:, None, :2] + late[None, :, None] * shift[:, None, 2:]
    gap = np.linalg.norm(moved - q[nearest], axis=2)
    spread = 1.4826 * np.median(np.abs(across), axis=1)
    same = np.einsum("rkc,rkc->rk", heading, along[nearest][:, 1:-1]) > 0
    apart = max(1.0, ALIKE_M * POINTS / line.length_m)
    covariance = np.linalg.inv(np.einsum("rki,rkj->rij", ways, ways) + prior) * (spread**2 * apart)[:, None, None]
    return Fits(tuple(runs.tolist()), shift, spread, np.mean(gap < FAR_M, axis=1), np.mean(same, axis=1), covariance)


def _nearest(place: Floats, q: Floats, guess: NDArray[np.int64], reach: int) -> NDArray[np.int64]:
    """The station nearest to each place, within ``reach`` stations of a guess."""
    import numpy as np

    best = np.full(place.shape[:2], np.inf)
    found = guess.copy()
    px, py, qx, qy = place[..., 0], place[..., 1], q[:, 0], q[:, 1]
    for offset in range(-reach, reach + 1):
        at = np.clip(guess + offset, 0, len(q) - 1)
        apart = (px - qx[at]) ** 2 + (py - qy[at]) ** 2
        closer = apart < best
        best = np.where(closer, apart, best)
        found = np.where(closer, at, found)
    return found


# ---- the gates


def _crossings(moved: pl.DataFrame, line: DrivenLine) -> pl.DataFrame:
    """Every time a run crosses a gate the way the line goes: the instant by cubic Hermite on place and speed."""
    import polars as pl

    col = pl.col
    same = (col("run").shift(-1) == col("run")).fill_null(False)
    held = (col("run").shift(1) == col("run")).fill_null(False)
    ahead = [pl.when(same).then(col(c).shift(-1)).otherwise(col(c)) for c in ("x_m", "y_m")]
    behind = [pl.when(held).then(col(c).shift(1)).otherwise(col(c)) for c in ("x_m", "y_m")]
    hx, hy = ahead[0] - behind[0], ahead[1] - behind[1]
    size = pl.max_horizontal((hx**2 + hy**2).sqrt(), pl.lit(1e-9))
    flown = moved.lazy().with_columns(vx=col("speed_mps") * hx / size, vy=col("speed_mps") * hy / size)
    flown = flown.with_columns(
        same=same, dt=col("t_s").shift(-1) - col("t_s"),
        x1=col("x_m").shift(-1), y1=col("y_m").shift(-1), share1=col("share").shift(-1),
        vx1=col("vx").shift(-1), vy1=col("vy").shift(-1),
    ).filter("same")  # fmt: skip
    parts = []
    for gate in line.gates:
        ax, ay = gate.along
        d0 = (col("x_m") - gate.x_m) * ax + (col("y_m") - gate.y_m) * ay
        d1 = (col("x1") - gate.x_m) * ax + (col("y1") - gate.y_m) * ay
        side = (col("y_m") - gate.y_m) * ax - (col("x_m") - gate.x_m) * ay
        side1 = (col("y1") - gate.y_m) * ax - (col("x1") - gate.x_m) * ay
        parts.append(
            flown.filter(
                (d0 <= 0) & (d1 > 0) & (col("share") - gate.share < WINDOW_SHARE)
                & (gate.share - col("share1") < WINDOW_SHARE)
                & ((side - side1 / 2 - side / 2).abs() + (side + side1).abs() / 2 < 2 * GATE_M)
            ).select(
                "run", "t_s", "dt", "share", "share1",
                element=pl.lit(gate.element, pl.Int64), gate_share=pl.lit(gate.share),
                d0=d0, d1=d1, m0=(col("vx") * ax + col("vy") * ay) * col("dt"),
                m1=(col("vx1") * ax + col("vy1") * ay) * col("dt"), side=side, side1=side1,
            )
        )  # fmt: skip
    if not parts:
        return pl.DataFrame()
    found = pl.concat(parts).collect().sort("run", "element", "t_s")
    return _solved(found)


def _solved(found: pl.DataFrame) -> pl.DataFrame:
    """The share of the step at which the Hermite cubic of the distance passes nought, by bisection of its sign."""
    import numpy as np
    import polars as pl

    d0, d1, dt = (found[name].to_numpy() for name in ("d0", "d1", "dt"))
    m0, m1 = (found[name].fill_null(found["d1"] - found["d0"]).to_numpy() for name in ("m0", "m1"))
    low, high = np.zeros_like(d0), np.ones_like(d0)
    for _ in range(30):
        s = (low + high) / 2
        value = _hermite(s, d0, d1, m0, m1)
        low, high = np.where(value <= 0, s, low), np.where(value <= 0, high, s)
    s = (low + high) / 2
    slope = (_hermite(s + 1e-4, d0, d1, m0, m1) - _hermite(s - 1e-4, d0, d1, m0, m1)) / 2e-4 / np.maximum(dt, 1e-9)
    side = found["side"].to_numpy() * (1 - s) + found["side1"].to_numpy() * s
    return found.with_columns(
        t_s=pl.Series(found["t_s"].to_numpy() + s * dt),
        along_mps=pl.Series(np.maximum(slope, 0.3)),
        side=pl.Series(side),
        share=found["share"] + pl.Series(s) * (found["share1"] - found["share"]),
    ).filter(pl.col("side").abs() < GATE_M)


def _hermite(s: Floats, d0: Floats, d1: Floats, m0: Floats, m1: Floats) -> Floats:
    """The cubic with values ``d0``, ``d1`` and slopes ``m0``, ``m1`` at 0 and 1 (Burden and Faires, Numerical
    Analysis, Hermite interpolation)."""
    found: Floats = (
        (2 * s**3 - 3 * s**2 + 1) * d0 + (s**3 - 2 * s**2 + s) * m0 + (3 * s**2 - 2 * s**3) * d1 + (s**3 - s**2) * m1
    )
    return found


def _chosen(found: pl.DataFrame, line: DrivenLine, fits: Fits) -> pl.DataFrame:
    """Of each run one crossing a gate at most, in the gates' order."""
    import numpy as np
    import polars as pl

    places = {gate.element: at for at, gate in enumerate(line.gates)}
    rows: dict[Any, list[list[tuple[float, float]]]] = {run: [[] for _ in line.gates] for run in fits.runs}
    speeds: dict[tuple[Any, int, float], float] = {}
    if found.height:
        columns = found.select("run", "element", "t_s", "share", "gate_share", "side", "along_mps").rows()
        for run, element, t, share, gate_share, side, speed in columns:
            cost = (side / 4) ** 2 + ((share - gate_share) / 0.04) ** 2
            rows[run][places[element]].append((t, cost))
            speeds[run, element, t] = speed
    made = []
    for at, run in enumerate(fits.runs):
        for gate, options, which in zip(line.gates, rows[run], in_order(rows[run], _MISS), strict=True):
            if which is not None:
                t = options[which][0]
                ax, ay = gate.along
                late = 2 * gate.share - 1
                way = np.array([ax, ay, ax * late, ay * late])
                sd = max(0.0, float(way @ fits.covariance[at] @ way)) ** 0.5
                made.append((run, gate.element, float(t), speeds[run, gate.element, t], sd))
    schema = {"run": found["run"].dtype if found.height else pl.Int64, "element": pl.Int64, "t_s": pl.Float64,
              "along_mps": pl.Float64, "sd_m": pl.Float64}  # fmt: skip
    return pl.DataFrame(made, schema=schema, orient="row")
