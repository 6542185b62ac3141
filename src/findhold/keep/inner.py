"""Two things a forecast tells beside its limits: water that wrapping and block share, and growth in days of cold."""

from __future__ import annotations

import math

import numpy as np

from findhold.keep.inputs import Array, HoldInputs
from findhold.keep.surface import Hold
from findhold.physics.growth_laws import arrhenius_rate, q10_rate, ratkowsky_rate, rosso_rate
from findhold.physics.moist_air import Numbers
from findhold.physics.sorption import gab_moisture
from findhold.tables.keeping import GrowthLaw, thermal
from findhold.tables.materials import tissue


def tissue_gain_kg(hold: Hold, at_s: float) -> Array:
    """Water the wrapping has taken from the block by contact at an instant; negative: given to it.

    Not for wrapping that lies apart from the block, nor for what either loses to the air of the box.

    Parameters
    ----------
    hold : the hold with its draws.
    at_s : since packing [s].

    Returns
    -------
    Gain of each run, shape (runs,) [kg]; 0 for a dry or waterlogged find.

    Valid for
        A block with pores to spare: fibres then hold their moisture at saturation, and free water goes to the soil.
    Source
        Balance of the closed pair [tryding-2022] reached with one time constant; the time constant is a judgement.
    """
    inputs, draws = hold.inputs, hold.draws
    if inputs.state != "damp" or inputs.wrapping_dry_kg == 0.0:
        return np.zeros(draws.members + 1)
    start = draws.water_kg / inputs.water_kg
    held = inputs.wrapping_water_kg * start
    wanted = inputs.wrapping_dry_kg * float(gab_moisture(1.0, inputs.find_temp_c, tissue())) - held
    room = np.maximum(_pores_kg(inputs) - inputs.block_water_kg * start, 0.0)
    settled = np.clip(wanted, -room, inputs.block_water_kg * start)
    return np.asarray(settled * -np.expm1(-at_s / (3600.0 * draws.wrapping_exchange_h)))


def relative_growth(law: GrowthLaw, temp_c: Numbers) -> Array:
    """Growth by one law at temp_c [degC], in a unit of its own [1]: only ratios mean something."""
    if law.law == "q10":
        return q10_rate(temp_c, law.q10)
    if law.law == "ratkowsky":
        return ratkowsky_rate(temp_c, law.temp_min_c)
    if law.law == "rosso":
        return rosso_rate(temp_c, law.temp_min_c, law.temp_opt_c, law.temp_max_c)
    return arrhenius_rate(np.clip(temp_c, law.temp_min_c, law.temp_max_c), 1000.0 * law.activation_kj_per_mol)


def _pores_kg(inputs: HoldInputs) -> float:
    """Water that the pores of the block can hold [kg]."""
    return thermal("block pores") * math.prod(inputs.block_m) * 1000.0
