"""How a packed box answers its surroundings: temperatures, water lost and growth clock of all runs at once.

Runs differ from the best run by an offset of the outside temperature and by factors on the conductances. So the
integrals over time are made once for a few dozen offsets (rows) and a few parts of the flow, and every run is a
weighted sum of neighbours: the cost of the ensemble no longer depends on the length of the climate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.keep.draws import Draws, outside_rh_best
from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.physics.heat import HeatPath, Resistance, lumped_response_c, resistance
from findhold.physics.moist_air import (
    GAS_CONSTANT,
    STANDARD_PRESSURE_PA,
    VAPOUR_GAS_CONSTANT,
    ZERO_C,
    saturation_over_water_pa,
)
from findhold.physics.mould import growth_rate_per_s
from findhold.physics.vapour import REFERENCE_K, SECONDS_PER_DAY, inside_area_m2
from findhold.tables.keeping import thermal

Places = npt.NDArray[np.intp]

ROWS = 33
"""Temperature offsets computed in full; odd, so that the middle one is the best run itself."""
ACTIVATION_NODES = 4
LONGEST_STEP_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """The place on the time grid of the forecast, before any offset."""

    time_s: Array
    """Since packing, shape (n,), from 0 to the horizon."""
    temp_c: Array
    rh: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """Integrals since packing for the rows, and where each run stands between them."""

    place: Surroundings
    block_c: Array
    """Block in the best run, shape (n,) [degC]."""
    tau_s: float
    heat: Resistance
    offsets_k: Array
    clock: Array
    """Growth clock in saturated air, shape (rows, n) [1]."""
    flow: Array
    """Parts of the water lost, shape (parts, rows, n); `weights` makes kg of them [Pa s, times 1/K, 1/K2 or 1]."""
    weights: Array
    """Of each run on the parts, shape (runs, parts) [kg/(s Pa), over the unit of the part]."""
    row: Places
    """Row below each run, shape (runs,), integer."""
    share: Array
    """Of the row above, shape (runs,)."""

    def loss_at_kg(self, at_s: Array) -> Array:
        """Water lost by each run at some times [s]; shape (runs, times) [kg]."""
        place = np.clip(np.searchsorted(self.place.time_s, at_s, side="right") - 1, 0, len(self.place.time_s) - 2)
        left, right = self.place.time_s[place], self.place.time_s[place + 1]
        part = np.clip((at_s - left) / (right - left), 0.0, 1.0)
        flow = self.flow[:, :, place] * (1.0 - part) + self.flow[:, :, place + 1] * part
        low, high = flow[:, self.row, :], flow[:, self.row + 1, :]
        return np.asarray(np.einsum("ip,pit->it", self.weights, low + (high - low) * self.share[:, None]))

    def block_at_c(self, at_s: Array, draws: Draws) -> Array:
        """Temperature of each run's block at some times [s]; shape (runs, times) [degC]."""
        best = np.interp(at_s, self.place.time_s, self.block_c)
        return np.asarray(best - draws.temp_offset_k[:, None] * np.expm1(-at_s / self.tau_s))

    def place_at_c(self, at_s: Array, draws: Draws) -> Array:
        """Temperature of each run's place at some times [s]; shape (runs, times) [degC]."""
        return np.asarray(np.interp(at_s, self.place.time_s, self.place.temp_c) + draws.temp_offset_k[:, None])

    def clocks_at(self, at_s: Array) -> Array:
        """Growth clock of each run at some times [s] in saturated air; shape (runs, times) [1]."""
        rows = np.array([np.interp(at_s, self.place.time_s, row) for row in self.clock])
        return np.asarray(rows[self.row] + (rows[self.row + 1] - rows[self.row]) * self.share[:, None])

    def loss_reaches_s(self, level_kg: Array) -> Array:
        """Time at which each run has lost its level [kg]; infinite when not before the horizon; shape (runs,) [s].

        A cold block gains water in a warm, humid spell. Should the level be passed more than once for that reason,
        the time is that of one of the passings; they lie within the spell's few hours to days.
        """
        return self._reaches_s(self._loss_points, level_kg)

    def clock_at(self, at_s: float) -> Array:
        """Growth clock of each run at one time [s] in saturated air; shape (runs,) [1]."""
        rows = np.array([np.interp(at_s, self.place.time_s, row) for row in self.clock])
        return np.asarray(rows[self.row] * (1.0 - self.share) + rows[self.row + 1] * self.share)

    def clock_reaches_s(self, target: Array) -> Array:
        """First time each run's growth clock shows its target; infinite past the horizon; shape (runs,) [s]."""
        return self._reaches_s(self._clock_points, target)

    def _reaches_s(self, values_at: Callable[[Places], Array], target: Array) -> Array:
        """Time at which a quantity that starts at 0 and grows reaches each run's target, straight between points."""
        lowest = np.zeros(len(self.row), dtype=np.intp)
        highest = np.full(len(self.row), len(self.place.time_s) - 1, dtype=np.intp)
        beyond = values_at(highest) < target
        while np.any(highest - lowest > 1):
            middle = (lowest + highest) // 2
            short = values_at(middle) < target
            lowest, highest = np.where(short, middle, lowest), np.where(short, highest, middle)
        before, after = values_at(lowest), values_at(highest)
        rise = np.where(after > before, after - before, 1.0)
        left, right = self.place.time_s[lowest], self.place.time_s[highest]
        when = left + np.clip((target - before) / rise, 0.0, 1.0) * (right - left)
        return np.where(beyond, np.inf, np.where(target <= 0.0, 0.0, when))

    def _clock_points(self, point: Places) -> Array:
        """Growth clock of each run at its own grid point."""
        low, high = self.clock[self.row, point], self.clock[self.row + 1, point]
        return np.asarray(low + (high - low) * self.share)

    def _loss_points(self, point: Places) -> Array:
        """Water lost by each run at its own grid point [kg]."""
        low, high = self.flow[:, self.row, point], self.flow[:, self.row + 1, point]
        return np.asarray(np.einsum("ip,pi->i", self.weights, low + (high - low) * self.share))


def heat_path(inputs: HoldInputs) -> HeatPath:
    """What heat crosses between this block and the place, with the table's conductivities."""
    return HeatPath(
        block_m=inputs.block_m,
        cushion_m=inputs.cushion_m,
        box_area_m2=inside_area_m2(inputs.box_inside_m),
        wall_m=inputs.wall_m,
        k_cushion=thermal("conductivity cushion"),
        k_wall=thermal("conductivity wall"),
        film_inside=thermal("film inside"),
        film_outside=thermal("film outside"),
    )


def heat_capacity_j_per_k(inputs: HoldInputs) -> float:
    """Heat capacity of block and wrapping [J/K]: mineral, dry wrapping and their water."""
    mineral = (inputs.block_mass_kg - inputs.block_water_kg) * thermal("specific heat mineral")
    wrapping = inputs.wrapping_dry_kg * thermal("specific heat tissue")
    return mineral + wrapping + inputs.water_kg * thermal("specific heat water")


def surroundings(inputs: HoldInputs, tau_s: float) -> Surroundings:
    """The place on a time grid that is fine where the block still follows and where the logger speaks."""
    climate, policy = inputs.climate, inputs.policy
    wanted = [when for when in (inputs.open_at, inputs.wrapping_renewed_at, *inputs.check_at) if when is not None]
    marks = [seconds_between(inputs.packed_at, when) for when in wanted]
    horizon_s = max([policy.horizon_days * SECONDS_PER_DAY, *(mark + SECONDS_PER_DAY for mark in marks)])
    settling_s = tau_s * np.concatenate(
        (np.arange(0.0, 2.0, 0.05), np.arange(2.0, 6.0, 0.125), np.arange(6.0, 14.0, 0.5), np.arange(14.0, 31.0, 2.0))
    )
    parts = [settling_s, np.array(marks), np.array([horizon_s])]
    rh = outside_rh_best(inputs)
    if climate.series_s is None or climate.series_temp_c is None:
        grid = _grid(parts, horizon_s)
        constant_c = 0.0 if climate.temp_c is None else climate.temp_c
        return Surroundings(time_s=grid, temp_c=np.full_like(grid, constant_c), rh=np.full_like(grid, rh))
    series_s, end_s = climate.series_s, float(climate.series_s[-1])
    steps = np.arange(max(float(series_s[0]), 0.0), end_s, LONGEST_STEP_S)
    grid = _grid([*parts, series_s, steps, end_s + 1.0 + settling_s], horizon_s)
    after_c = time_mean(series_s, climate.series_temp_c) if climate.temp_c is None else climate.temp_c
    before_c = None if climate.temp_c is None else climate.temp_c
    temp_c = np.interp(grid, series_s, climate.series_temp_c, left=before_c, right=after_c)
    if climate.series_rh is None:
        return Surroundings(time_s=grid, temp_c=temp_c, rh=np.full_like(grid, rh))
    after_rh = time_mean(series_s, climate.series_rh) if climate.rh is None else climate.rh
    before_rh = None if climate.rh is None else climate.rh
    return Surroundings(
        time_s=grid, temp_c=temp_c, rh=np.interp(grid, series_s, climate.series_rh, left=before_rh, right=after_rh)
    )


def time_mean(time_s: Array, values: Array) -> float:
    """Mean of a series over its time, straight between readings."""
    return float(np.trapezoid(values, time_s) / (time_s[-1] - time_s[0]))


def respond(inputs: HoldInputs, draws: Draws) -> Response:
    """Work out the response of a packed box for all runs.

    Parameters
    ----------
    inputs : the hold.
    draws : inputs of all runs, best first.

    Returns
    -------
    Integrals since packing, and each run's place among them.

    Valid for
        A headspace that the wet contents keep at its humidity: until the free water is nearly gone.
    Source
        docs/models/forecast.md; conductances [vapour], cooling [heat], growth clock [mould].
    """
    heat = resistance(heat_path(inputs))
    tau_s = heat.total * heat_capacity_j_per_k(inputs)
    place = surroundings(inputs, tau_s)
    block_c = lumped_response_c(place.time_s, place.temp_c, inputs.find_temp_c, tau_s)
    widest = max(float(np.abs(draws.temp_offset_k).max()), 1e-6)
    offsets_k = np.linspace(-widest, widest, ROWS)
    outside = place.temp_c + offsets_k[:, None]
    block = block_c + offsets_k[:, None] * -np.expm1(-place.time_s / tau_s)
    nodes = np.linspace(draws.activation_j_per_mol.min(), draws.activation_j_per_mol.max() + 1.0, ACTIVATION_NODES)
    middle = 1.0 / (time_mean(place.time_s, place.temp_c) + ZERO_C) - 1.0 / REFERENCE_K
    stand = (draws.temp_offset_k + widest) / (2.0 * widest) * (ROWS - 1)
    row = np.clip(np.floor(stand + 1e-9), 0, ROWS - 2).astype(np.intp)
    wall_c = outside + heat.wall_share * (block - outside)
    rh_inside = 1.0 if inputs.headspace_rh is None else inputs.headspace_rh
    # Wet contents and a wet lid share one headspace: the colder of the two sets its vapour pressure.
    inside_pa = rh_inside * saturation_over_water_pa(np.minimum(block, wall_c))
    return Response(
        place=place,
        block_c=block_c,
        tau_s=tau_s,
        heat=heat,
        offsets_k=offsets_k,
        clock=_cumulative(place.time_s, growth_rate_per_s(block, 1.0)),
        flow=_flow_parts(place, outside, inside_pa, nodes, middle),
        weights=_weights(inputs, draws, nodes, middle),
        row=row,
        share=np.clip(stand - row, 0.0, 1.0),
    )


def _grid(parts: list[Array], horizon_s: float) -> Array:
    """Points of several series in order, once each, from 0 to the horizon."""
    points = np.unique(np.round(np.concatenate(parts), 3))
    return np.asarray(points[(points >= 0.0) & (points <= horizon_s)], dtype=np.float64)


def _cumulative(time_s: Array, rate: Array) -> Array:
    """Integral since the first point, trapezium rule, along the last axis."""
    total = np.zeros_like(rate)
    np.cumsum(0.5 * (rate[..., 1:] + rate[..., :-1]) * np.diff(time_s), axis=-1, out=total[..., 1:])
    return total


def _flow_parts(place: Surroundings, outside: Array, inside_pa: Array, nodes: Array, middle: float) -> Array:
    """Integrals of pressure difference and outside saturation, times each part's change with temperature."""
    outside_pa = saturation_over_water_pa(outside)
    kelvin = outside + ZERO_C
    excess = 1.0 / kelvin - 1.0 / REFERENCE_K - middle
    changes = [1.0 / kelvin, 1.0 / kelvin**2, *(np.exp(-node / GAS_CONSTANT * excess) for node in nodes)]
    pressures = (inside_pa - place.rh * outside_pa, outside_pa)
    return np.stack([_cumulative(place.time_s, change * pa) for pa in pressures for change in changes])


def _weights(inputs: HoldInputs, draws: Draws, nodes: Array, middle: float) -> Array:
    """Weights of each run on the parts: lid and barometer, swings, walls; then the same times -rh_offset."""
    per_change = 1.0 / (SECONDS_PER_DAY * VAPOUR_GAS_CONSTANT)
    headspace = inputs.headspace_m3
    barometer = draws.barometric_pa_per_day / STANDARD_PRESSURE_PA * headspace
    exchange = (draws.lid_air_changes * inputs.box_volume_m3 + barometer) * per_change
    swings = draws.cycles_per_day * draws.swing_k * headspace * per_change
    walls = draws.p25 * inside_area_m2(inputs.box_inside_m) / draws.wall_m
    walls = walls * np.exp(-draws.activation_j_per_mol / GAS_CONSTANT * middle)
    lagrange = [
        np.prod([(draws.activation_j_per_mol - other) / (node - other) for other in nodes if other != node], axis=0)
        for node in nodes
    ]
    weights = np.stack([exchange, swings, *(walls * part for part in lagrange)], axis=1)
    return np.concatenate((weights, -draws.rh_offset[:, None] * weights), axis=1)
