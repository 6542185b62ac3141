"""Low, best and high: bands from an ensemble, first crossings, even draws, and which input drives a result."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LOW_SHARE, HIGH_SHARE = 0.05, 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A result with its band: the 5 and 95 % points of the ensemble about the best run."""

    low: float
    best: float
    high: float


def band_edges(values: Array) -> tuple[float, float]:
    """5 and 95 % points of an ensemble; infinite values (never reached) are allowed.

    Parameters
    ----------
    values : ensemble, shape (n,), n at least 1 [any unit].

    Returns
    -------
    Low and high edge, each one of the values [unit of values].

    Source
        Empirical quantiles, the outer of the two neighbours each, so that the band is never too narrow.
    """
    ordered = np.sort(values)
    last = len(ordered) - 1
    return float(ordered[int(np.floor(LOW_SHARE * last))]), float(ordered[int(np.ceil(HIGH_SHARE * last))])


def band(values: Array, best: float) -> tuple[Band, bool]:
    """Band of an ensemble about the best run.

    Parameters
    ----------
    values : ensemble, shape (n,), finite [any unit].
    best : the run with all inputs at their stated or median values [unit of values].

    Returns
    -------
    The band, and whether an edge had to be moved out to hold the best run.

    Source
        `band_edges`; an edge is only ever moved outwards, and the caller must say so.
    """
    low, high = band_edges(values)
    return Band(low=min(low, best), best=best, high=max(high, best)), not low <= best <= high


def first_crossing_s(time_s: Array, values: Array, level: float) -> Array:
    """First time at which each row reaches a level from above.

    Parameters
    ----------
    time_s : points in time, shape (n,), increasing [s].
    values : rows, shape (m, n) [any unit].
    level : the level [unit of values].

    Returns
    -------
    Time, shape (m,), straight between points; infinite for a row that never gets there [s].

    Source
        Linear interpolation.
    """
    there = values <= level
    reached = there.any(axis=1)
    at = there.argmax(axis=1)
    rows = np.arange(len(values))
    before = np.maximum(at - 1, 0)
    fall = values[rows, before] - values[rows, at]
    share = np.where(fall > 0.0, (values[rows, before] - level) / np.where(fall > 0.0, fall, 1.0), 1.0)
    when = time_s[before] + share * (time_s[at] - time_s[before])
    return np.where(reached, np.where(at == 0, time_s[0], when), np.inf)


@cache
def _normal_quantiles(count: int) -> Array:
    """Standard normal values at the middles of `count` equal shares."""
    inverse = NormalDist().inv_cdf
    return np.array([inverse((k + 0.5) / count) for k in range(count)])


def even_normal(rng: np.random.Generator, count: int) -> Array:
    """Standard normal draws, one from each of `count` equal shares, in random order; shape (count,) [1].

    Source
        Latin hypercube sampling with share middles: median and spread come out right at any size.
    """
    return rng.permutation(_normal_quantiles(count))


def even_uniform(rng: np.random.Generator, count: int) -> Array:
    """Draws between 0 and 1, one from each of `count` equal shares, in random order; shape (count,) [1].

    Source
        Latin hypercube sampling with share middles.
    """
    return rng.permutation((np.arange(count) + 0.5) / count)


def ranks(values: Array) -> Array:
    """Ranks of values, ties sharing their mean rank; shape (n,), from 1 [1].

    Source
        Definition used by Spearman's correlation.
    """
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    if np.all(ordered[1:] > ordered[:-1]):
        placed = np.empty(len(values))
        placed[order] = np.arange(1.0, len(values) + 1.0)
        return placed
    _, where, counts = np.unique(values, return_inverse=True, return_counts=True)
    ends = np.cumsum(counts)
    return np.asarray((ends - (counts - 1) / 2.0)[where.reshape(-1)], dtype=np.float64)


def rank_shares(given: Array, results: Array) -> Array:
    """Squared rank correlations of inputs with results: how much of a spread follows one input alone.

    Parameters
    ----------
    given : inputs, shape (k, n) [any units].
    results : results, shape (r, n) [any units]; infinite values count as the largest.

    Returns
    -------
    Shares from 0 to 1, shape (k, r); 0 where either does not vary [1].

    Source
        Spearman's rank correlation, squared.
    """

    def centred(rows: Array) -> Array:
        placed = np.array([ranks(row) for row in rows])
        placed = placed - placed.mean(axis=1, keepdims=True)
        size = np.sqrt((placed**2).sum(axis=1, keepdims=True))
        return np.asarray(placed / np.where(size > 0.0, size, 1.0))

    return np.asarray(np.einsum("kn,rn->kr", centred(given), centred(results)) ** 2)


def first_spell_s(time_s: Array, values: Array, level: float, least_s: float) -> float:
    """Start of the first unbroken spell above a level that lasts long enough; infinite when there is none.

    Parameters
    ----------
    time_s : points in time, shape (n,), increasing [s].
    values : at those points, shape (n,) [any unit]; negate values and level for spells below.
    level : the level [unit of values].
    least_s : shortest spell that counts [s].

    Returns
    -------
    Start of the spell, straight between points [s].

    Source
        Linear interpolation.
    """
    above = values > level
    change = np.flatnonzero(above[1:] != above[:-1])
    rise = values[change + 1] - values[change]
    edges = time_s[change] + (level - values[change]) / rise * (time_s[change + 1] - time_s[change])
    starts = list(edges[above[change + 1]])
    ends = list(edges[above[change]])
    if above[0]:
        starts.insert(0, time_s[0])
    if above[-1]:
        ends.append(np.inf)
    for start, end in zip(starts, ends, strict=True):
        if end - start >= least_s:
            return float(start)
    return float("inf")


def time_above_s(time_s: Array, values: Array, level: float) -> float:
    """Total time above a level of a series that is straight between its points.

    Parameters
    ----------
    time_s : points in time, shape (n,), increasing [s].
    values : at those points, shape (n,) [any unit].
    level : the level [unit of values].

    Returns
    -------
    Time [s].

    Source
        Linear interpolation.
    """
    top, bottom = np.maximum(values[1:], values[:-1]), np.minimum(values[1:], values[:-1])
    span = np.where(top > bottom, top - bottom, 1.0)
    share = np.where(top > bottom, np.clip((top - level) / span, 0.0, 1.0), (top > level).astype(float))
    return float(share @ np.diff(time_s))
