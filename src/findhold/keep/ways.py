"""The ways by which water leaves a closed find: wall or film, lid, breathing, an opening; for every closure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs
from findhold.physics.box_climate import REFERENCE_C, film_conductance
from findhold.physics.moist_air import GAS_CONSTANT, STANDARD_PRESSURE_PA, VAPOUR_GAS_CONSTANT, ZERO_C
from findhold.physics.vapour import (
    REFERENCE_K,
    SECONDS_PER_DAY,
    air_permeability,
    inside_area_m2,
    permeability_at,
    wall_conductance,
)
from findhold.tables.keeping import ClosureRow, closure, wall


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductance:
    """Vapour conductances at one temperature.

    wall [kg/(s Pa)], lid [kg/(s Pa)] (its leak, or the opening), breathing [kg/(s Pa)], total [kg/(s Pa)].
    """

    wall: float
    lid: float
    breathing: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Ways out of all runs, shape (runs,), each with its change with temperature T in kelvin.

    exchange [kg K/(s Pa)] over T, swings [kg K2/(s Pa)] over T2, walls [kg/(s Pa)] at 25 degC times Arrhenius,
    opening [kg/(s Pa)] constant; bagged [fraction] of all of them that a bag inside leaves.
    """

    exchange: Array
    lid_share: Array
    """Of the exchange that passes the lid; the rest is the barometer's [fraction]."""
    swings: Array
    walls: Array
    activation_j_per_mol: Array
    opening: Array
    bagged: Array

    def total_kg_per_s_pa(self, temp_c: Array, run: int | None = None) -> Array:
        """All ways together [kg/(s Pa)] at temp_c [degC]: of one run in any shape, or of all runs."""
        kelvin = temp_c + ZERO_C
        pick = slice(None) if run is None else run
        change = np.exp(-self.activation_j_per_mol[pick] / GAS_CONSTANT * (1.0 / kelvin - 1.0 / REFERENCE_K))
        parts = self.exchange[pick] / kelvin + self.swings[pick] / kelvin**2 + self.walls[pick] * change
        return np.asarray(self.bagged[pick] * (parts + self.opening[pick]))

    def best(self, temp_c: float) -> Conductance:
        """Conductances of the best run at a temperature [degC]."""
        kelvin, bagged = temp_c + ZERO_C, float(self.bagged[0])
        exchange, share = float(self.exchange[0]) / kelvin, float(self.lid_share[0])
        change = np.exp(-self.activation_j_per_mol[0] / GAS_CONSTANT * (1.0 / kelvin - 1.0 / REFERENCE_K))
        walls = bagged * float(self.walls[0] * change)
        lid = bagged * (exchange * share + float(self.opening[0]))
        breathing = bagged * (exchange * (1.0 - share) + float(self.swings[0]) / kelvin**2)
        return Conductance(wall=walls, lid=lid, breathing=breathing, total=walls + lid + breathing)


def ways_out(inputs: HoldInputs, draws: Draws, mean_c: float) -> Ways:
    """Ways out of all runs.

    Parameters
    ----------
    inputs : the hold and its closure.
    draws : inputs of all runs.
    mean_c : mean temperature of the place, at which a bag inside a box is set against the box [degC].

    Returns
    -------
    Ways.

    Source
        docs/models/vapour.md; closures.csv.
    """
    row = closure(inputs.closure)
    per_change = 1.0 / (SECONDS_PER_DAY * VAPOUR_GAS_CONSTANT)
    headspace_m3, area_m2 = inputs.headspace_m3, inside_area_m2(inputs.box_inside_m)
    lid = draws.lid_air_changes * inputs.box_volume_m3 * (1.0 if row.lid else 0.0)
    barometer = draws.barometric_pa_per_day / STANDARD_PRESSURE_PA * headspace_m3 * (1.0 if row.breathes else 0.0)
    swings = draws.cycles_per_day * draws.swing_k * headspace_m3 * (1.0 if row.breathes else 0.0)
    both = lid + barometer
    ways = Ways(
        exchange=both * per_change,
        lid_share=np.divide(lid, both, out=np.zeros_like(both), where=both > 0.0),
        swings=swings * per_change,
        walls=draws.p25 * area_m2 / draws.wall_m,
        activation_j_per_mol=draws.activation_j_per_mol,
        opening=_opening(inputs, row) * draws.open_film,
        bagged=np.ones_like(both),
    )
    if row.inner_bag is None:
        return ways
    bag, film = closure(row.inner_bag), wall(str(closure(row.inner_bag).material))
    permeability = permeability_at(film.p25, film.activation_j_per_mol, mean_c)
    inside = float(wall_conductance(permeability, area_m2, bag.film_m or 1.0))
    box = ways.total_kg_per_s_pa(np.asarray(mean_c))
    # One behind the other: the bag passes what the box then lets out.
    return Ways(
        exchange=ways.exchange,
        lid_share=ways.lid_share,
        swings=ways.swings,
        walls=ways.walls,
        activation_j_per_mol=ways.activation_j_per_mol,
        opening=ways.opening,
        bagged=inside / (inside + box),
    )


def lid_area_m2(inputs: HoldInputs) -> float:
    """Area of the lid [m2]."""
    return inputs.box_inside_m[0] * inputs.box_inside_m[1]


def cold_area_m2(inputs: HoldInputs) -> float:
    """Surface on which vapour can condense [m2]: lid and walls, the lid alone when it is the colder, none when open."""
    row = closure(inputs.closure)
    if row.opening != "none" and row.neck_m is None:
        return 0.0
    return lid_area_m2(inputs) if inputs.climate.lid_colder_k else inside_area_m2(inputs.box_inside_m)


def drip_share(inputs: HoldInputs) -> float:
    """Of the condensate that lid and walls cannot hold, the fraction that falls from the lid on to the find."""
    cold_m2 = cold_area_m2(inputs)
    return lid_area_m2(inputs) / cold_m2 if cold_m2 > 0.0 else 0.0


def _opening(inputs: HoldInputs, row: ClosureRow) -> float:
    """Conductance of an opening: a film of moving air, behind a neck of still air where there is one."""
    if row.opening == "none" or row.convection is None:
        return 0.0
    area_m2 = lid_area_m2(inputs) if row.opening == "top" else inside_area_m2(inputs.box_inside_m)
    film = float(film_conductance(row.convection, area_m2, REFERENCE_C))
    if row.neck_m is None:
        return film
    neck = float(air_permeability(REFERENCE_C)) * area_m2 / row.neck_m
    return film * neck / (film + neck)
