"""What the balance should show at each check: the mass as packed less the water lost, with its band."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs
from findhold.physics.band import band


@dataclass(frozen=True, slots=True, kw_only=True)
class MassBand:
    """Expected mass of the packed box at one check."""

    at: datetime
    low_kg: float
    best_kg: float
    high_kg: float


def mass_bands(inputs: HoldInputs, draws: Draws, loss_kg: Array) -> tuple[tuple[MassBand, ...], bool]:
    """Mass bands at the checks of a hold.

    A reading outside its band says that something was not as forecast: a lid not closed, water run out, a box mixed
    up. Not a proof of dampness: a film of dew on the outside weighs grams, so weigh cold and wiped.

    Parameters
    ----------
    inputs : the hold.
    draws : inputs of all runs, with the weighing error of both readings.
    loss_kg : water lost by each run at each check, shape (runs, checks) [kg].

    Returns
    -------
    One band a check, in the order given, and whether an edge had to be moved out to hold the best run.

    Source
        Conservation of mass; weighing errors of packing and check are independent. What nobody can tell of the packed
        mass before it is weighed is added to both edges outright.
    """
    masses = inputs.gross_mass_kg - loss_kg + draws.reading_g[:, None] / 1000.0
    moved_any = False
    less, more = inputs.gross_spread_kg
    bands = []
    for when, column in zip(inputs.check_at, np.moveaxis(masses, 1, 0), strict=True):
        limits, moved = band(column[1:], float(column[0]))
        moved_any = moved_any or moved
        low_kg, high_kg = limits.low - less, limits.high + more
        bands.append(MassBand(at=when, low_kg=low_kg, best_kg=limits.best, high_kg=high_kg))
    return tuple(bands), moved_any
