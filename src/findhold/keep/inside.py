"""What goes on inside the box: the coupled box worked out for rows of an ensemble, or run by run if it leaks."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs
from findhold.keep.place import Steps
from findhold.keep.ways import Ways, cold_area_m2, drip_share
from findhold.physics.band import first_crossing_s
from findhold.physics.box_climate import (
    REFERENCE_C,
    Box,
    Contents,
    Course,
    Outside,
    box_over_time,
    film_conductance,
    latent_heat_j_per_kg,
)
from findhold.physics.heat import Resistance, shell_shape_m
from findhold.physics.moist_air import saturation_over_water_pa
from findhold.physics.soil import DryTail, water_potential
from findhold.physics.sorption import kelvin_rh
from findhold.physics.vapour import air_permeability
from findhold.tables.keeping import thermal
from findhold.tables.soils import find_soil, soil_constants

Places = npt.NDArray[np.intp]

NODES = 5
"""Inner paths and insulations computed in full; odd, the middle one is the best run."""
THINNEST_M = 0.003
"""Still air over contents that lie open (3 mm, judgement)."""
DRIES_LIKE = "loam"
"""Soil that contents dry like when a box stands open; the class matters only once the free water is gone."""
LEAK_SHARE = 0.15
"""A way out that lowers the vapour pressure inside by more is worked out run by run; below, by the closed form."""
_CHUNK = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """The constants of a packed box, best run."""

    heat_capacity_j_per_k: float
    heat: Resistance
    inner_kg_per_s_pa: float
    """Contents to headspace at 4 degC."""
    film_kg_per_s_pa: float
    lid_holds_kg: float
    lid_colder_k: float
    drip_share: float
    find_temp_c: float
    activity: float
    """Humidity over the contents; 0 for a dry find [fraction]."""
    block_m3: float
    water_kg: float

    def box(self, inner_factor: Array, heat_factor: Array) -> Box:
        """The box with factors on its inner path and its insulation, shape (k,) [1]."""
        return Box(
            heat_capacity_j_per_k=self.heat_capacity_j_per_k,
            resistance_k_per_w=self.heat.total * heat_factor,
            wall_share=self.heat.wall_share,
            inner_kg_per_s_pa=self.inner_kg_per_s_pa * inner_factor,
            film_kg_per_s_pa=np.full_like(inner_factor, self.film_kg_per_s_pa),
            lid_holds_kg=self.lid_holds_kg,
            lid_colder_k=self.lid_colder_k,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """Condensate and drips of all runs, and, where water leaves fast, everything of every run."""

    moved: Array
    """Water gone to lid and walls, rows of shape (k, n); runs themselves when `weights` is None [kg]."""
    drip: Array
    """Water dripped on the find, the same shape [kg]."""
    block_c: Array
    """Block of the rows, shape (k, n); best run first when `weights` is None."""
    weights: Array | None
    """Of each run on the rows, shape (runs, k) [1]."""
    open_loss_kg: Array | None = None
    """Water lost by each run, shape (runs, n)."""

    def runs_kg(self, rows_kg: Array, place: Places, part: Array) -> Array:
        """Amounts of all runs between grid points: place below, part of the next [1]; shape (runs, times)."""
        at = rows_kg[:, place] * (1.0 - part) + rows_kg[:, place + 1] * part
        return np.asarray(np.maximum(at if self.weights is None else self.weights @ at, 0.0))

    def drip_points_kg(self, point: Places) -> Array:
        """Water dripped on each run's find at its own grid point; shape (runs,)."""
        if self.weights is None:
            return np.asarray(self.drip[np.arange(len(point)), point])
        return np.asarray(np.maximum(np.einsum("ik,ki->i", self.weights, self.drip[:, point]), 0.0))

    def falls_below_s(self, time_s: Array, level_c: float, runs: int) -> Array:
        """Time at which the block of each run is first at or below a level [degC]; shape (runs,) [s].

        Valid for
            The first days; a run's time is put together from those of the rows, to a few per cent of the spread.
        """
        when = first_crossing_s(time_s, self.block_c[:, : len(time_s)], level_c)
        if self.weights is None or not np.isfinite(when).any():
            return np.full(runs, when[0])
        if np.isfinite(when).all():
            return np.maximum(self.weights @ when, 0.0)
        # Some rows stay warm: a run that leans on one of them does too.
        warm = (np.abs(self.weights[:, ~np.isfinite(when)]) > 1e-9).any(axis=1)
        return np.where(warm, np.inf, np.maximum(self.weights @ np.where(np.isfinite(when), when, 0.0), 0.0))


def inside_of(inputs: HoldInputs, heat: Resistance, heat_capacity_j_per_k: float) -> Packed:
    """The constants of a hold's box.

    Parameters
    ----------
    inputs : the hold.
    heat : its resistances.
    heat_capacity_j_per_k : of block and wrapping.

    Returns
    -------
    Packed.

    Source
        Inner path: still air of the cushion's thickness, in the shape that heat takes; film: convection inside.
    """
    cold_m2 = cold_area_m2(inputs)
    shape_m = shell_shape_m(inputs.block_m, max(inputs.cushion_m, THINNEST_M))
    wet = inputs.state != "dry"
    return Packed(
        heat_capacity_j_per_k=heat_capacity_j_per_k,
        heat=heat,
        inner_kg_per_s_pa=float(air_permeability(REFERENCE_C)) * shape_m if wet else 0.0,
        film_kg_per_s_pa=float(film_conductance(thermal("convection inside"), cold_m2, REFERENCE_C)) if wet else 0.0,
        lid_holds_kg=thermal("lid holds") * cold_m2 + _absorbent_kg(inputs),
        lid_colder_k=inputs.climate.lid_colder_k or 0.0,
        drip_share=drip_share(inputs),
        find_temp_c=inputs.find_temp_c,
        activity=1.0 if inputs.headspace_rh is None else inputs.headspace_rh,
        block_m3=math.prod(inputs.block_m),
        water_kg=inputs.water_kg,
    )


def _absorbent_kg(inputs: HoldInputs) -> float:
    """What an absorbent adds to what is held: it hangs under the lid, so it meets only the lid's share of drips."""
    share = drip_share(inputs)
    return inputs.absorbent_g / 1000.0 / share if share > 0.0 else 0.0


def rows_inside(packed: Packed, steps: Steps, draws: Draws, ways: Ways, offsets_k: Array) -> tuple[Course, Inside]:
    """The coupled box for the rows: offsets of the place, then inner paths, then insulations.

    Parameters
    ----------
    packed : constants of the box.
    steps : the place.
    draws : inputs of all runs.
    ways : ways out of all runs; the best run's is used for the rows.
    offsets_k : of the place's temperature, increasing, the middle one 0, shape (rows,) [K].

    Returns
    -------
    The course of the rows, and what all runs make of it.

    Source
        box_climate.box_over_time; between rows, straight lines in offset and in the logarithms of the factors, added.
    """
    inner, heat = _nodes(draws.inner_path), _nodes(draws.heat_path)
    others = np.arange(NODES) != NODES // 2
    ones, rows = np.ones(NODES - 1), len(offsets_k)
    shift = np.concatenate((offsets_k, 0.0 * ones, 0.0 * ones))
    box = packed.box(
        np.concatenate((np.ones(rows), inner[others], ones)), np.concatenate((np.ones(rows), ones, heat[others]))
    )
    temp_c = steps.temp_c[:, None] + shift
    saturation = saturation_over_water_pa(temp_c)
    outside = Outside(
        step_s=steps.step_s,
        temp_c=temp_c,
        pressure_pa=steps.pressure_pa[:, None] * saturation / saturation[:, rows // 2 : rows // 2 + 1],
        way_out_kg_per_s_pa=ways.total_kg_per_s_pa(temp_c, run=0),
    )
    start = Contents(temp_c=np.full(len(shift), packed.find_temp_c), activity=packed.activity)
    course = box_over_time(box, outside, start)
    weights = np.zeros((len(draws.inner_path), len(shift)))
    weights[:, :rows] = _hats(draws.temp_offset_k, offsets_k)
    for place, (values, nodes) in enumerate(((draws.inner_path, inner), (draws.heat_path, heat))):
        parts = _hats(np.log(values), np.log(nodes))
        weights[:, rows + place * (NODES - 1) : rows + (place + 1) * (NODES - 1)] = parts[:, others]
        weights[:, rows // 2] += parts[:, NODES // 2] - 1.0
    return course, Inside(
        moved=course.moved_kg.T,
        drip=packed.drip_share * course.drip_kg.T,
        block_c=course.block_c.T,
        weights=weights,
    )


def resistance_to_leaving(packed: Packed, mean_c: float) -> float:
    """What holds water back at mean_c [degC] besides the ways out: the inner path and evaporative cooling [Pa s/kg].

    Source
        Steady balances of heat and vapour: dp = m (1/K_inner + s L R), s the slope of saturation; closed form.
    """
    slope = float(saturation_over_water_pa(mean_c + 0.5) - saturation_over_water_pa(mean_c - 0.5))
    inner = packed.inner_kg_per_s_pa * float(air_permeability(mean_c)) / float(air_permeability(REFERENCE_C))
    return 1.0 / max(inner, 1e-30) + slope * float(latent_heat_j_per_kg(mean_c)) * packed.heat.total


def leaks(packed: Packed, ways: Ways, mean_c: float) -> bool:
    """Whether the way out is so wide that runs differ inside: best run or a twentieth of the runs, at mean_c [degC]."""
    wide = ways.total_kg_per_s_pa(np.asarray(mean_c)) * resistance_to_leaving(packed, mean_c)
    return bool(max(wide[0], np.quantile(wide[1:], 0.95)) > LEAK_SHARE)


def open_course(packed: Packed, steps: Steps, draws: Draws, ways: Ways) -> Inside:
    """The coupled box for every run by itself, with water that can run out.

    Parameters
    ----------
    packed : constants of the box. steps : the place. draws, ways : of all runs.

    Returns
    -------
    Inside, with the loss of every run.

    Source
        box_climate.box_over_time; the contents dry like a loam of the block's volume (kelvin-equation).
    """
    soil, shared = find_soil(DRIES_LIKE).retention, soil_constants()
    if soil is None:
        raise BadInput(f"{DRIES_LIKE} has no retention curve", where="soil table", do="Name a soil that has one")
    theta = np.linspace(0.0, soil.theta_s, 200)
    tail = DryTail(start_pa=shared.tail_start_pa, end_pa=shared.tail_end_pa)
    drying = kelvin_rh(water_potential(theta, soil, tail), REFERENCE_C)
    runs, edges = len(draws.water_kg), len(steps.edge_s)
    loss, moved, drip = (np.zeros((runs, edges)) for _ in range(3))
    best = None
    for first in range(0, runs, _CHUNK):
        some = slice(first, min(first + _CHUNK, runs))
        course = _some_runs(packed, steps, (draws, ways, some), (theta * packed.block_m3 * 1000.0, drying))
        best = course if best is None else best
        loss[some, 1:] = np.cumsum(course.out_kg, axis=0).T
        moved[some], drip[some] = course.moved_kg.T, packed.drip_share * course.drip_kg.T
    if best is None:
        raise ValueError("an ensemble without runs")
    return Inside(moved=moved, drip=drip, block_c=best.block_c[:, :1].T, weights=None, open_loss_kg=loss)


def _some_runs(packed: Packed, steps: Steps, chosen: tuple[Draws, Ways, slice], drying: tuple[Array, Array]) -> Course:
    """The course of some runs."""
    draws, ways, some = chosen
    temp_c = steps.temp_c[:, None] + draws.temp_offset_k[some]
    saturation = saturation_over_water_pa(temp_c)
    stated = steps.pressure_pa[:, None] * saturation / saturation_over_water_pa(steps.temp_c)[:, None]
    # A way out changes with temperature nearly as that of the best run does.
    mean_c = np.asarray(float(np.average(steps.temp_c, weights=steps.step_s)))
    relative = ways.total_kg_per_s_pa(temp_c, run=0) / ways.total_kg_per_s_pa(mean_c, run=0)
    outside = Outside(
        step_s=steps.step_s,
        temp_c=temp_c,
        pressure_pa=np.clip(stated + draws.rh_offset[some] * saturation, 0.0, saturation),
        way_out_kg_per_s_pa=relative * ways.total_kg_per_s_pa(mean_c)[some],
    )
    contents = Contents(
        temp_c=np.full(temp_c.shape[1], packed.find_temp_c),
        water_kg=draws.water_kg[some],
        drying_kg=drying[0],
        drying_activity=drying[1],
    )
    return box_over_time(packed.box(draws.inner_path[some], draws.heat_path[some]), outside, contents)


def _nodes(values: Array) -> Array:
    """Factors about 1, even in their logarithm, that hold all values."""
    widest = max(float(np.abs(np.log(values)).max()), 1e-6)
    return np.asarray(np.exp(np.linspace(-widest, widest, NODES)))


def _hats(values: Array, nodes: Array) -> Array:
    """Weights of straight interpolation between even nodes; shape (values, nodes)."""
    stand = (values - nodes[0]) / (nodes[1] - nodes[0])
    return np.asarray(np.maximum(1.0 - np.abs(stand[:, None] - np.arange(len(nodes))), 0.0))
