"""What a lid had to hold back: the vapour-pressure difference it stood against, added up over time.

Weighings are read against it: water lost past the lid = conductance of the lid times exposure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from findhold.keep.forecast import forecast
from findhold.keep.inputs import Array, HoldInputs
from findhold.physics.vapour import exchange_conductance
from findhold.tables.keeping import priors

REFERENCE_C = 5.0
"""Temperature at which a lid's conductance is told; only a convention, undone when it is turned into air changes."""
_MEMBERS = 20  # only the best run is used; this is the smallest ensemble


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """One box at some instants: shape (n,) each.

    lid_conductance [kg/(s Pa)] is that of the stated lid, or of the median unknown one, at 5 degC; one_change
    [kg/(s Pa)] that of one air change a day.
    """

    pa_s: Array
    """Vapour pressure inside less outside, integrated since packing."""
    other_kg: Array
    """Water lost since packing through walls and by breathing."""
    lid_conductance: float
    one_change: float


def exposure(inputs: HoldInputs, at: tuple[datetime, ...]) -> Exposure:
    """Exposure of a box's lid at some instants, and the water lost by other ways, in the best run.

    Parameters
    ----------
    inputs : the hold as packed.
    at : instants not before packing.

    Returns
    -------
    Exposure at each instant.

    Raises
    ------
    BadInput : an instant is before the packing.

    Source
        The forecast, once with the lid and once with one that lets nothing pass; the difference is the lid's.
    """
    stated = inputs.lid_air_changes_per_day
    changes = stated or priors()["lid_air_changes"].centre
    with_lid, without = (_lost_kg(inputs, at, lid) for lid in (changes, 0.0))
    one_change = float(exchange_conductance(1.0, inputs.box_volume_m3, REFERENCE_C))
    return Exposure(
        pa_s=(with_lid - without) / (changes * one_change),
        other_kg=without,
        lid_conductance=changes * one_change,
        one_change=one_change,
    )


def _lost_kg(inputs: HoldInputs, at: tuple[datetime, ...], changes_per_day: float) -> Array:
    """Water lost by the best run at some instants, with a lid of so many air changes a day."""
    asked = replace(inputs, lid_air_changes_per_day=changes_per_day, lid_spread=None, check_at=at)
    told = forecast(asked, members=_MEMBERS)
    return np.array([inputs.gross_mass_kg - band.best_kg for band in told.mass_band])
