"""A forecast over time: the band of each quantity at a row of instants, for charts and tables."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from findhold.keep.inputs import Array
from findhold.keep.limits import instant
from findhold.keep.surface import Hold, Surface, indices_at, surface_of_find, surface_of_wrapping
from findhold.physics.band import HIGH_SHARE, LOW_SHARE


@dataclass(frozen=True, slots=True, kw_only=True)
class BandSeries:
    """One quantity over time: low, best and high, each of shape (n,) in the unit of the quantity."""

    low: Array
    best: Array
    high: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """A forecast at instants; water_lost_g [g], temperatures [degC], growth as index [1]."""

    time_s: Array
    """Since packing, shape (n,) [s]."""
    at: tuple[datetime, ...]
    water_lost_g: BandSeries
    block_temp_c: BandSeries
    place_temp_c: BandSeries
    growth_wrapping: BandSeries | None
    """None when no wrapping can feed growth."""
    growth_find: BandSeries


def series_of(hold: Hold, at_s: Array, loss_kg: Array) -> Series:
    """Read the bands of a hold at some instants.

    Parameters
    ----------
    hold : the hold with its draws and response.
    at_s : since packing, increasing, shape (n,) [s].
    loss_kg : water lost by each run at those instants, shape (runs, n) [kg].

    Returns
    -------
    Series.

    Source
        Empirical 5 and 95 % points of the ensemble, moved outwards where the best run lies beyond them.
    """
    response = hold.response
    wrapping = surface_of_wrapping(hold.inputs)
    instants = [instant(hold.inputs, float(when)) for when in at_s]
    return Series(
        time_s=at_s,
        at=tuple(when for when in instants if when is not None),
        water_lost_g=_bands(1000.0 * loss_kg),
        block_temp_c=_bands(response.block_at_c(at_s, hold.draws)),
        place_temp_c=_bands(response.place_at_c(at_s, hold.draws)),
        growth_wrapping=None if wrapping is None else _growth(wrapping, hold, at_s),
        growth_find=_growth(surface_of_find(hold.inputs, hold.inputs.find_class), hold, at_s),
    )


def _growth(surface: Surface, hold: Hold, at_s: Array) -> BandSeries:
    """Growth index of one surface over time."""
    return _bands(indices_at(surface, hold, at_s))


def _bands(runs: Array) -> BandSeries:
    """Low, best and high of runs of shape (runs, n), best first."""
    ensemble = np.sort(runs[1:], axis=0)
    last = len(ensemble) - 1
    low, high = ensemble[int(np.floor(LOW_SHARE * last))], ensemble[int(np.ceil(HIGH_SHARE * last))]
    best = runs[0]
    return BandSeries(low=np.minimum(low, best), best=best, high=np.maximum(high, best))
