"""The place round the box over time: as stated or logged, and in the steps that the box is worked out in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.keep.draws import outside_rh_best
from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.physics.moist_air import saturation_over_water_pa
from findhold.physics.vapour import SECONDS_PER_DAY

LONGEST_STEP_S = 3600.0
"""Longest step of the place as logged."""
BOX_STEP_S = 3.0 * 3600.0
"""Step of the box while a logger speaks; each step has the mean of the place over it."""
JUMP_K = 2.0
"""A place that moves by more within such a step is followed in finer ones."""
_SETTLING = np.concatenate((np.arange(0.0, 2.0, 0.1), np.arange(2.0, 6.0, 0.25), np.arange(6.0, 14.0, 1.0)))
_CALMING = np.concatenate((np.arange(0.0, 2.0, 0.2), np.arange(2.0, 6.0, 0.5), np.arange(6.0, 14.0, 2.0)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """The place on a fine time grid, before any offset."""

    time_s: Array
    """Since packing, shape (n,), from 0 to the horizon."""
    temp_c: Array
    rh: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """The steps of the box: edges of shape (n + 1,), and means of the place over each, shape (n,)."""

    edge_s: Array
    temp_c: Array
    pressure_pa: Array
    """Vapour pressure of the air outside."""

    @property
    def step_s(self) -> Array:
        """Lengths of the steps [s]."""
        return np.diff(self.edge_s)


def surroundings(inputs: HoldInputs) -> Surroundings:
    """The place on a time grid that is fine where the logger speaks; a wave of the place is drawn in hourly points."""
    climate = inputs.climate
    horizon_s = _horizon_s(inputs)
    ends = np.array([horizon_s, *marks_s(inputs)])
    rh = outside_rh_best(inputs)
    if climate.series_s is None or climate.series_temp_c is None:
        constant_c = 0.0 if climate.temp_c is None else climate.temp_c
        wave_k, wave_h = climate.wave_k or 0.0, climate.wave_h or 24.0
        if wave_k == 0.0:
            grid = _grid([np.array([0.0]), ends], horizon_s)
            return Surroundings(time_s=grid, temp_c=np.full_like(grid, constant_c), rh=np.full_like(grid, rh))
        grid = _grid([np.arange(0.0, horizon_s, min(LONGEST_STEP_S, 300.0 * wave_h)), ends], horizon_s)
        wave = wave_k * np.sin(2.0 * np.pi * grid / (3600.0 * wave_h))
        return Surroundings(time_s=grid, temp_c=constant_c + wave, rh=np.full_like(grid, rh))
    series_s, end_s = climate.series_s, float(climate.series_s[-1])
    steps = np.arange(max(float(series_s[0]), 0.0), end_s, LONGEST_STEP_S)
    start = np.array([0.0, max(float(series_s[0]) - 1.0, 0.0)])
    grid = _grid([start, series_s, steps, np.array([end_s + 1.0]), ends], horizon_s)
    after_c = time_mean(series_s, climate.series_temp_c) if climate.temp_c is None else climate.temp_c
    temp_c = np.interp(grid, series_s, climate.series_temp_c, left=climate.temp_c, right=after_c)
    if climate.series_rh is None:
        return Surroundings(time_s=grid, temp_c=temp_c, rh=np.full_like(grid, rh))
    after_rh = time_mean(series_s, climate.series_rh) if climate.rh is None else climate.rh
    return Surroundings(
        time_s=grid, temp_c=temp_c, rh=np.interp(grid, series_s, climate.series_rh, left=climate.rh, right=after_rh)
    )


def before_packing(inputs: HoldInputs) -> tuple[Array, Array]:
    """How long [s] and how warm [degC] the find was from exposure to packing.

    As warm as it was when packed; where it was packed anew, as warm as its store since it stood there.
    """
    whole_s = max(0.0, seconds_between(inputs.exposed_at, inputs.packed_at))
    climate = inputs.climate
    stood_s = min(-min(climate.stood_s, 0.0), whole_s)
    if stood_s == 0.0:
        return np.array([whole_s]), np.array([inputs.find_temp_c])
    edges = np.array([-stood_s, 0.0])
    if climate.series_s is None or climate.series_temp_c is None:
        stood_c = np.array([inputs.find_temp_c if climate.temp_c is None else climate.temp_c])
    else:
        inner = climate.series_s[(climate.series_s > -stood_s) & (climate.series_s < 0.0)]
        edges = np.concatenate(([-stood_s], inner, [0.0]))
        at_edges = np.interp(edges, climate.series_s, climate.series_temp_c)
        stood_c = 0.5 * (at_edges[1:] + at_edges[:-1])
    return np.append(np.diff(edges), whole_s - stood_s), np.append(stood_c, inputs.find_temp_c)


def steps_of_box(inputs: HoldInputs, place: Surroundings, tau_s: float, *, leaky: bool) -> Steps:
    """The steps of the box: fine while it settles, of a few hours while the place changes, long when nothing does.

    tau_s [s] is the time constant of the block; a leaky box dries, and is followed until it has.
    """
    climate, horizon_s = inputs.climate, float(place.time_s[-1])
    parts = [tau_s * _SETTLING, np.array(marks_s(inputs)), np.array([horizon_s])]
    if leaky:
        parts += [2.0 * BOX_STEP_S * np.arange(240), np.arange(60.0, horizon_s / SECONDS_PER_DAY) * SECONDS_PER_DAY]
    if climate.series_s is not None:
        first_s, last_s = max(float(climate.series_s[0]), 0.0), max(float(climate.series_s[-1]), 0.0)
        coarse = np.arange(first_s, last_s + BOX_STEP_S, BOX_STEP_S)
        parts += [coarse, _between_jumps(place, coarse), last_s + 1.0 + tau_s * _CALMING]
    elif climate.wave_k:
        parts.append(np.arange(0.0, horizon_s, min(BOX_STEP_S, 900.0 * (climate.wave_h or 24.0))))
    edges = _grid(parts, horizon_s)
    return Steps(
        edge_s=edges,
        temp_c=step_means(place.time_s, place.temp_c, edges),
        pressure_pa=step_means(place.time_s, place.rh * saturation_over_water_pa(place.temp_c), edges),
    )


def marks_s(inputs: HoldInputs) -> list[float]:
    """Instants at which a result is read or something happens [s] since packing."""
    wanted = (inputs.open_at, inputs.wrapping_renewed_at, *inputs.check_at, *inputs.openings)
    return [seconds_between(inputs.packed_at, when) for when in wanted if when is not None]


def time_mean(time_s: Array, values: Array) -> float:
    """Mean of a series over its time [unit of values], straight between readings at time_s [s], values [any unit]."""
    return float(np.trapezoid(values, time_s) / (time_s[-1] - time_s[0]))


def step_means(time_s: Array, values: Array, edges: Array) -> Array:
    """Mean of a series, straight between its points, over each step between edges.

    time_s [s], values [any unit], edges [s]; shape (len(edges) - 1,) [unit of values].
    """
    total = np.concatenate(([0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(time_s))))
    # The running total is a parabola within a piece: straight interpolation of it would smear the steps.
    place = np.clip(np.searchsorted(time_s, edges, side="right") - 1, 0, len(time_s) - 2)
    into_s = edges - time_s[place]
    slope = (values[place + 1] - values[place]) / (time_s[place + 1] - time_s[place])
    at_edges = total[place] + into_s * (values[place] + 0.5 * slope * into_s)
    return np.asarray(np.diff(at_edges) / np.diff(edges))


def _between_jumps(place: Surroundings, coarse_s: Array) -> Array:
    """Points half an hour apart in the steps in which the place jumps, and an hour and a half apart in the next few."""
    start = np.searchsorted(place.time_s, coarse_s[:-1])
    start = np.minimum(start, len(place.time_s) - 1)
    spread = np.maximum.reduceat(place.temp_c, start) - np.minimum.reduceat(place.temp_c, start)
    jumps = spread > JUMP_K
    after = np.zeros_like(jumps)
    for later in (1, 2, 3):
        after[later:] |= jumps[:-later]
    fine = coarse_s[:-1][jumps][:, None] + BOX_STEP_S * np.arange(1, 6) / 6.0
    middles = coarse_s[:-1][after & ~jumps] + BOX_STEP_S / 2.0
    return np.concatenate((fine.ravel(), middles))


def _horizon_s(inputs: HoldInputs) -> float:
    return max([inputs.policy.horizon_days * SECONDS_PER_DAY, *(mark + SECONDS_PER_DAY for mark in marks_s(inputs))])


def _grid(parts: list[Array], horizon_s: float) -> Array:
    """Points of several series in order, once each, from 0 to the horizon."""
    points = np.unique(np.round(np.concatenate(parts), 3))
    return np.asarray(points[(points >= 0.0) & (points <= horizon_s)], dtype=np.float64)
