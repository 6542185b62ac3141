"""Long series on paper: cut to an axis, split at gaps, thinned without losing an extreme."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

COLUMN_MM = 0.1
"""Points within one such column are drawn as their first, lowest, highest and last [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One quantity over time with its band; NaN where nothing is known, which leaves a gap."""

    name: str
    time_s: Array
    """Seconds since the chart's origin, increasing, shape (n,)."""
    best: Array
    """Shape (n,), in the chart's unit."""
    low: Array | None = None
    high: Array | None = None
    """The band's edges, both or neither; shape (n,), in the chart's unit."""
    line: Literal["firm", "dashed", "fine"] = "firm"
    hatch: Literal["band", "other band"] | None = "band"
    """None draws the band's edges only."""


def thinned(x_mm: Array, values: Array) -> npt.NDArray[np.intp]:
    """Which points of a long series to draw: the first, lowest, highest and last of each column of 0.1 mm.

    Parameters
    ----------
    x_mm : places on the paper, increasing, shape (n,) [mm].
    values : finite, shape (n,) [any unit].

    Returns
    -------
    Indices, increasing; all of them when no column holds more than four points.
    """
    column = np.floor(x_mm / COLUMN_MM)
    starts = np.flatnonzero(np.diff(column, prepend=column[:1] - 1.0))
    order = np.lexsort((values, column))
    ends = np.append(starts[1:], len(values)) - 1
    return np.unique(np.concatenate([starts, ends, order[starts], order[ends]]))


def cut_to(curve: Curve, first_s: float, last_s: float) -> Curve:
    """The part of a curve between two times [s], drawn straight to both; empty when nothing is known there."""
    time_s = curve.time_s
    inside = (time_s > first_s) & (time_s < last_s)
    edges = [at for at in (first_s, last_s) if len(time_s) and time_s[0] <= at <= time_s[-1]]
    times = np.concatenate([time_s[inside], edges])
    order = np.argsort(times)

    def part(values: Array | None) -> Array | None:
        if values is None:
            return None
        ends = np.interp(edges, time_s, values) if edges else values[:0]
        return np.asarray(np.concatenate([values[inside], ends])[order])

    best = part(curve.best)
    if best is None or not np.any(np.isfinite(best)):
        none = time_s[:0]
        return replace(curve, time_s=none, best=none, low=None, high=None)
    return replace(curve, time_s=times[order], best=best, low=part(curve.low), high=part(curve.high))


def runs(known: npt.NDArray[np.bool_]) -> list[slice]:
    """Stretches without a gap."""
    turns = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]])))
    return [slice(int(a), int(b)) for a, b in zip(turns[::2], turns[1::2], strict=True)]
