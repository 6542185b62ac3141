"""How a packed box answers its surroundings: temperatures, water and growth clock of all runs at once.

Under a lid, runs differ from the best run by an offset of the outside temperature and by factors on the conductances,
and hardly change what goes on inside. So the coupled box is worked out for a few dozen rows (offsets, and a few inner
paths and insulations), and every run is a weighted sum of neighbours: the cost of the ensemble does not depend on the
length of the climate. Where water leaves fast enough to cool and dry the find, every run is worked out by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.keep.inside import (
    Inside,
    Packed,
    inside_of,
    leaks,
    open_course,
    resistance_to_leaving,
    rows_inside,
)
from findhold.keep.place import Surroundings, steps_of_box, surroundings, time_mean
from findhold.keep.ways import Ways, ways_out
from findhold.physics.heat import HeatPath, Resistance, resistance
from findhold.physics.moist_air import GAS_CONSTANT, VAPOUR_GAS_CONSTANT, ZERO_C, saturation_over_water_pa
from findhold.physics.mould import growth_rate_per_s
from findhold.physics.vapour import REFERENCE_K, inside_area_m2
from findhold.tables.keeping import thermal

Places = npt.NDArray[np.intp]

ROWS = 33
"""Temperature offsets computed in full; odd, so that the middle one is the best run itself."""
ACTIVATION_NODES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """Integrals since packing for the rows, and where each run stands between them."""

    place: Surroundings
    time_s: Array
    """Edges of the steps, shape (n,)."""
    block_c: Array
    """Block in the best run, shape (n,) [degC]."""
    tau_s: float
    heat: Resistance
    ways: Ways
    rows: Inside
    """Inside as the rows have it."""
    inside: Inside
    """Inside of every run: the rows', or worked out run by run where the box leaks."""
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

    @property
    def gains(self) -> bool:
        """Whether the best run takes water in for some time."""
        if self.inside.open_loss_kg is not None:
            lost = self.inside.open_loss_kg[0]
        else:
            lost = self.weights[0] @ self.flow[:, len(self.clock) // 2, :]
        return bool(np.any(np.diff(lost) < -1e-9))

    @property
    def leaky(self) -> bool:
        """Whether water leaves fast enough to cool and dry the find."""
        return self.inside.open_loss_kg is not None

    def loss_at_kg(self, at_s: Array) -> Array:
        """Water lost by each run at some times [s]; shape (runs, times) [kg]."""
        place, part = self._between(at_s)
        if self.inside.open_loss_kg is not None:
            lost = self.inside.open_loss_kg
            return np.asarray(lost[:, place] * (1.0 - part) + lost[:, place + 1] * part)
        flow = self.flow[:, :, place] * (1.0 - part) + self.flow[:, :, place + 1] * part
        low, high = flow[:, self.row, :], flow[:, self.row + 1, :]
        return np.asarray(np.einsum("ip,pit->it", self.weights, low + (high - low) * self.share[:, None]))

    def block_at_c(self, at_s: Array, draws: Draws) -> Array:
        """Temperature of each run's block at some times [s]; shape (runs, times) [degC]."""
        best = np.interp(at_s, self.time_s, self.block_c)
        return np.asarray(best - draws.temp_offset_k[:, None] * np.expm1(-at_s / self.tau_s))

    def place_at_c(self, at_s: Array, draws: Draws) -> Array:
        """Temperature of each run's place at some times [s]; shape (runs, times) [degC]."""
        return np.asarray(np.interp(at_s, self.place.time_s, self.place.temp_c) + draws.temp_offset_k[:, None])

    def moved_at_kg(self, at_s: Array) -> Array:
        """Water gone to lid and walls since packing, of each run at some times [s]; shape (runs, times) [kg]."""
        return self.inside.runs_kg(self.inside.moved, *self._between(at_s))

    def drip_at_kg(self, at_s: Array) -> Array:
        """Water dripped on the find since packing, of each run at some times [s]; shape (runs, times) [kg]."""
        return self.inside.runs_kg(self.inside.drip, *self._between(at_s))

    def loss_reaches_s(self, level_kg: Array) -> Array:
        """Time at which each run has lost its level [kg]; infinite when not before the horizon; shape (runs,) [s].

        A cold block gains water in a warm, humid spell. Should the level be passed more than once for that reason,
        the time is that of one of the passings; they lie within the spell's few hours to days.
        """
        return self._reaches_s(self._loss_points, level_kg)

    def drip_reaches_s(self, level_kg: float) -> Array:
        """Time at which a given amount [kg] has dripped on each run's find; shape (runs,) [s]."""
        return self._reaches_s(self._drip_points, np.full(len(self.row), level_kg))

    def clock_at(self, at_s: float) -> Array:
        """Growth clock of each run at one time [s] in saturated air; shape (runs,) [1]."""
        return self.clocks_at(np.array([at_s]))[:, 0]

    def clocks_at(self, at_s: Array) -> Array:
        """Growth clock of each run at some times [s] in saturated air; shape (runs, times) [1]."""
        place, part = self._between(at_s)
        rows = self.clock[:, place] * (1.0 - part) + self.clock[:, place + 1] * part
        return np.asarray(rows[self.row] + (rows[self.row + 1] - rows[self.row]) * self.share[:, None])

    def clock_reaches_s(self, target: Array) -> Array:
        """First time each run's growth clock shows its target; infinite past the horizon; shape (runs,) [s]."""
        return self._reaches_s(self._clock_points, target)

    def _between(self, at_s: Array) -> tuple[Places, Array]:
        """Grid point below each time, and the share of the next."""
        place = np.clip(np.searchsorted(self.time_s, at_s, side="right") - 1, 0, len(self.time_s) - 2)
        left, right = self.time_s[place], self.time_s[place + 1]
        return place, np.clip((at_s - left) / (right - left), 0.0, 1.0)

    def _reaches_s(self, values_at: Callable[[Places], Array], target: Array) -> Array:
        """Time at which a quantity that starts at 0 and grows reaches each run's target, straight between points."""
        lowest = np.zeros(len(self.row), dtype=np.intp)
        highest = np.full(len(self.row), len(self.time_s) - 1, dtype=np.intp)
        beyond = values_at(highest) < target
        while np.any(highest - lowest > 1):
            middle = (lowest + highest) // 2
            short = values_at(middle) < target
            lowest, highest = np.where(short, middle, lowest), np.where(short, highest, middle)
        before, after = values_at(lowest), values_at(highest)
        rise = np.where(after > before, after - before, 1.0)
        left, right = self.time_s[lowest], self.time_s[highest]
        when = left + np.clip((target - before) / rise, 0.0, 1.0) * (right - left)
        return np.where(beyond, np.inf, np.where(target <= 0.0, 0.0, when))

    def _clock_points(self, point: Places) -> Array:
        """Growth clock of each run at its own grid point."""
        low, high = self.clock[self.row, point], self.clock[self.row + 1, point]
        return np.asarray(low + (high - low) * self.share)

    def _drip_points(self, point: Places) -> Array:
        """Water dripped on each run's find at its own grid point [kg]."""
        return self.inside.drip_points_kg(point)

    def _loss_points(self, point: Places) -> Array:
        """Water lost by each run at its own grid point [kg]."""
        if self.inside.open_loss_kg is not None:
            return np.asarray(self.inside.open_loss_kg[np.arange(len(point)), point])
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
        Under a lid: contents that stay wet. Open or nearly open: until the water is gone.
    Source
        docs/models/forecast.md and box-climate.md; conductances [vapour], growth clock [mould].
    """
    heat = resistance(heat_path(inputs))
    capacity = heat_capacity_j_per_k(inputs)
    tau_s = heat.total * capacity
    place = surroundings(inputs)
    mean_c = time_mean(place.time_s, place.temp_c)
    ways = ways_out(inputs, draws, mean_c)
    box = inside_of(inputs, heat, capacity)
    leaky = inputs.state != "dry" and inputs.headspace_rh is None and leaks(box, ways, mean_c)
    steps = steps_of_box(inputs, place, tau_s, leaky=leaky)
    widest = max(float(np.abs(draws.temp_offset_k).max()), 1e-6)
    offsets_k = np.linspace(-widest, widest, ROWS)
    course, rows = rows_inside(box, steps, draws, ways, offsets_k)
    inside = rows
    if leaky:
        inside = open_course(box, steps, draws, ways)
    stand = (draws.temp_offset_k + widest) / (2.0 * widest) * (ROWS - 1)
    row = np.clip(np.floor(stand + 1e-9), 0, ROWS - 2).astype(np.intp)
    nodes = np.linspace(draws.activation_j_per_mol.min(), draws.activation_j_per_mol.max() + 1.0, ACTIVATION_NODES)
    middle = 1.0 / (mean_c + ZERO_C) - 1.0 / REFERENCE_K
    outside = steps.temp_c + offsets_k[:, None]
    outside_pa = saturation_over_water_pa(outside)
    drier_pa = course.inside_pa[:, :ROWS].T - steps.pressure_pa * outside_pa / outside_pa[ROWS // 2]
    opened = np.searchsorted(steps.edge_s, [seconds_between(inputs.packed_at, when) for when in inputs.openings])
    return Response(
        place=place,
        time_s=steps.edge_s,
        block_c=inside.block_c[0 if inside.weights is None else ROWS // 2],
        tau_s=tau_s,
        heat=heat,
        ways=ways,
        rows=rows,
        inside=inside,
        clock=_cumulative(steps.step_s, growth_rate_per_s(course.block_mean_c[:, :ROWS].T, 1.0)),
        flow=_flow_parts(steps.step_s, (drier_pa, outside_pa), outside, (nodes, middle), opened),
        weights=_weights(inputs, draws, ways, (nodes, middle)) * _damping(box, ways, mean_c)[:, None],
        row=row,
        share=np.clip(stand - row, 0.0, 1.0),
    )


def _cumulative(step_s: Array, rate: Array) -> Array:
    """Integral since the first edge of rates that are means over their steps, along the last axis."""
    total = np.zeros((*rate.shape[:-1], rate.shape[-1] + 1))
    np.cumsum(rate * step_s, axis=-1, out=total[..., 1:])
    return total


def _flow_parts(
    step_s: Array, pressures: tuple[Array, Array], outside: Array, laws: tuple[Array, float], opened: Places
) -> Array:
    """Integrals of pressure difference and outside saturation, times each part's change with temperature.

    The last part of each is the exchange of air at the openings: an amount at an instant, not over time.
    """
    nodes, middle = laws
    kelvin = outside + ZERO_C
    excess = 1.0 / kelvin - 1.0 / REFERENCE_K - middle
    changes = [1.0 / kelvin, 1.0 / kelvin**2, *(np.exp(-node / GAS_CONSTANT * excess) for node in nodes)]
    flushes = np.zeros_like(kelvin)
    for edge in opened:
        # The air that stood in the box during the step before is gone with the opening.
        before = max(int(edge) - 1, 0)
        flushes[:, before] += 1.0 / (kelvin[:, before] * step_s[before])
    parts = [*changes, np.ones_like(kelvin), flushes]
    return np.stack([_cumulative(step_s, change * pa) for pa in pressures for change in parts])


def _weights(inputs: HoldInputs, draws: Draws, ways: Ways, laws: tuple[Array, float]) -> Array:
    """Weights of each run on the parts: lid and barometer, swings, walls, opening; then the same times -rh_offset."""
    nodes, middle = laws
    energy = ways.activation_j_per_mol
    walls = ways.walls * np.exp(-energy / GAS_CONSTANT * middle)
    lagrange = [
        np.prod([(energy - other) / (node - other) for other in nodes if other != node], axis=0) for node in nodes
    ]
    parts = [ways.exchange, ways.swings, *(walls * part for part in lagrange), ways.opening]
    weights = np.stack([*(ways.bagged * part for part in parts)], axis=1)
    flush = np.full((len(energy), 1), inputs.headspace_m3 / VAPOUR_GAS_CONSTANT)
    weights = np.concatenate((weights, flush), axis=1)
    return np.concatenate((weights, -draws.rh_offset[:, None] * weights), axis=1)


def _damping(packed: Packed, ways: Ways, mean_c: float) -> Array:
    """What a run's leak takes off the vapour pressure inside, against the best run's, which the rows hold already."""
    wide = ways.total_kg_per_s_pa(np.asarray(mean_c)) * resistance_to_leaving(packed, mean_c)
    return np.asarray((1.0 + wide[0]) / (1.0 + wide))
