"""Growth on one surface of a hold: when it reaches the policy's index, and what index it has at an instant."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.keep.place import before_packing, step_means
from findhold.keep.response import Response
from findhold.physics.mould import (
    MouldClass,
    clock_to_index,
    decline,
    grown_index,
    growth_rate_per_s,
    index_ceiling,
)
from findhold.tables.keeping import mould_row

STEP_S = 3.0 * 3600.0
"""Longest step of growth in air that is not saturated, while the place changes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A surface and its start: clock already run at packing, and a restart when it is renewed."""

    kind: MouldClass
    exposed_s: float
    """Time it was wet and warm before packing, as long as it would take at the temperature of packing [s]."""
    renewed_s: float | None
    """Since packing; None when it is not renewed [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A hold with its draws and its response: what every result is read from."""

    inputs: HoldInputs
    draws: Draws
    response: Response

    @property
    def saturated(self) -> bool:
        """Whether the air in the box is saturated, so that growth follows the clock alone."""
        return self.inputs.state != "dry" and self.inputs.headspace_rh in (None, 1.0)


def mould_class(name: str) -> MouldClass:
    """A tabled sensitivity class as the growth law takes it."""
    row = mould_row(name)
    return MouldClass(
        name=row.name, k1_below=row.k1_below, k1_above=row.k1_above, a=row.a, b=row.b, c=row.c, rh_min=row.rh_min
    )


def surface_of_find(inputs: HoldInputs, class_name: str) -> Surface:
    """The find's own surface: its clock starts at first exposure."""
    long_s, warm_c = before_packing(inputs)
    rate = float(growth_rate_per_s(inputs.find_temp_c, 1.0))
    exposed_s = float(np.sum(long_s))
    if len(long_s) > 1 and rate > 0.0:
        exposed_s = float(np.sum(long_s * growth_rate_per_s(warm_c, 1.0))) / rate
    return Surface(kind=mould_class(class_name), exposed_s=exposed_s, renewed_s=None)


def surface_of_wrapping(inputs: HoldInputs) -> Surface | None:
    """The wrapping's surface: its clock starts at packing, and again when it is renewed."""
    if inputs.wrapping_class is None:
        return None
    renewed = inputs.wrapping_renewed_at
    return Surface(
        kind=mould_class(inputs.wrapping_class),
        exposed_s=0.0,
        renewed_s=None if renewed is None else seconds_between(inputs.packed_at, renewed),
    )


def reached_s(surface: Surface, hold: Hold) -> Array:
    """Time since packing at which the policy's growth index is met in each run; shape (runs,) [s].

    Valid for
        As `mould.first_growth_days`; submerged surfaces are outside the model.
    Source
        [hukka-viitanen-1999], [ojanen-2010]; saturated air through the growth clock, other air step by step.
    """
    inputs, response = hold.inputs, hold.response
    if not hold.saturated:
        return _in_other_air(surface, hold, np.array([0.0]))[0]
    ceiling = float(index_ceiling(20.0, 1.0, surface.kind))
    units = float(clock_to_index(inputs.policy.growth_index, 0.0, surface.kind, ceiling)) * hold.draws.growth_time
    before_rate = float(growth_rate_per_s(inputs.find_temp_c, 1.0))
    ahead = surface.exposed_s * before_rate
    reached = response.clock_reaches_s(units - ahead)
    if ahead > 0.0:
        # Met before packing already: count from exposure at the temperature the find had then.
        reached = np.where(units <= ahead, units / before_rate - surface.exposed_s, reached)
    if surface.renewed_s is None:
        return reached
    again = response.clock_reaches_s(units + response.clock_at(surface.renewed_s))
    return np.where(reached < surface.renewed_s, reached, again)


def index_at(surface: Surface, hold: Hold, at_s: float) -> Array:
    """Growth index of each run at one instant [s] since packing; shape (runs,) [1].

    Valid for
        As `reached_s`.
    Source
        As `reached_s`.
    """
    return indices_at(surface, hold, np.array([at_s]))[:, 0]


def indices_at(surface: Surface, hold: Hold, at_s: Array) -> Array:
    """Growth index of each run at some instants [s] since packing; shape (runs, instants) [1].

    Valid for
        As `reached_s`.
    Source
        As `reached_s`.
    """
    if not hold.saturated:
        return _in_other_air(surface, hold, at_s)[1]
    # In saturated air the ceiling is the same at every temperature, so the clock alone tells the index.
    ceiling = float(index_ceiling(20.0, 1.0, surface.kind))
    clocks = hold.response.clocks_at(at_s)
    shown = clocks + surface.exposed_s * float(growth_rate_per_s(hold.inputs.find_temp_c, 1.0))
    if surface.renewed_s is not None:
        fresh = clocks - hold.response.clock_at(surface.renewed_s)[:, None]
        shown = np.where(at_s >= surface.renewed_s, fresh, shown)
    return grown_index(0.0, shown / hold.draws.growth_time[:, None], surface.kind, ceiling)


def _in_other_air(surface: Surface, hold: Hold, at_s: Array) -> tuple[Array, Array]:
    """Times and indices step by step, each step exact for its mean air, with decline in dry spells."""
    inputs, kind = hold.inputs, surface.kind
    index = _index_at_packing(surface, hold)
    reached = np.where(index >= inputs.policy.growth_index, 0.0, np.inf)
    shown = np.broadcast_to(index[:, None], (len(index), len(at_s))).copy()
    dry_h = np.zeros_like(index)
    for air in _air(hold, kind, [*at_s.tolist(), surface.renewed_s or 0.0]):
        if air.left_s == surface.renewed_s:
            index = np.zeros_like(index)
        shown[:, at_s >= air.left_s] = index[:, None]
        hours = air.length_s / 3600.0
        fall = inputs.policy.decline_factor * (decline(dry_h + hours) - decline(dry_h))
        fallen = np.maximum(index - fall, 0.0)
        if air.ceiling is None:
            index, dry_h = fallen, dry_h + hours
            continue
        needed = clock_to_index(inputs.policy.growth_index, index, kind, air.ceiling)
        passes = np.isinf(reached) & (air.pace > 0.0) & (needed <= air.pace * air.length_s)
        reached = np.where(passes, air.left_s + needed / np.where(passes, air.pace, 1.0), reached)
        dry = air.ceiling <= 0.0
        index = np.where(dry, fallen, grown_index(index, air.pace * air.length_s, kind, air.ceiling))
        dry_h = np.where(dry, dry_h + hours, 0.0)
    return reached, shown


@dataclass(frozen=True, slots=True, kw_only=True)
class _Air:
    """One step: its start and length [s], ceiling of the index (None: too dry in every run) and pace [1/s] by run."""

    left_s: float
    length_s: float
    ceiling: Array | None
    pace: Array


def _air(hold: Hold, kind: MouldClass, marks_s: list[float]) -> Iterator[_Air]:
    """Mean air of each step of a few hours; steps also end at the marks."""
    draws, response = hold.draws, hold.response
    time_s, rh_s, humid, rh_offset = response.time_s, *_humidity(hold)
    edges = np.concatenate((np.arange(0.0, time_s[-2], STEP_S), time_s[-2:], marks_s))
    edges = np.unique(np.clip(edges, 0.0, time_s[-1]))
    lag = -np.expm1(-time_s / response.tau_s)
    means = [
        step_means(time_s, response.block_c, edges),
        step_means(rh_s, humid, edges),
        step_means(time_s, lag, edges),
    ]
    wettest = float(rh_offset.max())
    for left_s, length_s, block_c, rh_mean, lag_mean in zip(edges, np.diff(edges), *means, strict=False):
        if rh_mean + wettest < kind.rh_min:
            yield _Air(left_s=left_s, length_s=length_s, ceiling=None, pace=np.zeros_like(rh_offset))
            continue
        temp_c = block_c + draws.temp_offset_k * lag_mean
        rh = np.clip(rh_mean + rh_offset, 0.01, 1.0)
        ceiling = index_ceiling(temp_c, rh, kind)
        pace = np.where(ceiling > 0.0, growth_rate_per_s(temp_c, rh) / draws.growth_time, 0.0)
        yield _Air(left_s=left_s, length_s=length_s, ceiling=ceiling, pace=pace)


def _humidity(hold: Hold) -> tuple[Array, Array, Array]:
    """Humidity at the surface over time, and what each run adds to it: stated, or of the place."""
    draws, response, own_rh = hold.draws, hold.response, hold.inputs.headspace_rh
    if own_rh is not None:
        return response.time_s, np.full_like(response.time_s, own_rh), np.zeros_like(draws.rh_offset)
    return response.place.time_s, response.place.rh, draws.rh_offset


def _index_at_packing(surface: Surface, hold: Hold) -> Array:
    """What grew between exposure and packing grew in saturated air; a dry find starts clean."""
    wet_s = 0.0 if hold.inputs.state == "dry" else surface.exposed_s
    units = wet_s * growth_rate_per_s(hold.inputs.find_temp_c, 1.0) / hold.draws.growth_time
    return grown_index(0.0, units, surface.kind, float(index_ceiling(20.0, 1.0, surface.kind)))
