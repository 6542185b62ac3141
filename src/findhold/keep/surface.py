"""Growth on one surface of a hold: when it reaches the policy's index, and what index it has at an instant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.keep.draws import Draws
from findhold.keep.inputs import Array, HoldInputs, seconds_between
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A surface and its start: clock already run at packing, and a restart when it is renewed."""

    kind: MouldClass
    exposed_s: float
    """Time it was wet and warm before packing [s]."""
    renewed_s: float | None
    """Since packing; None when it is not renewed [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Growth of all runs, best first: time since packing at which the limit is met [s], and index at one instant."""

    reached_s: Array
    index: Array


def mould_class(name: str) -> MouldClass:
    """A tabled sensitivity class as the growth law takes it."""
    row = mould_row(name)
    return MouldClass(
        name=row.name, k1_below=row.k1_below, k1_above=row.k1_above, a=row.a, b=row.b, c=row.c, rh_min=row.rh_min
    )


def surface_of_find(inputs: HoldInputs, class_name: str) -> Surface:
    """The find's own surface: its clock starts at first exposure."""
    return Surface(
        kind=mould_class(class_name),
        exposed_s=seconds_between(inputs.exposed_at, inputs.packed_at),
        renewed_s=None,
    )


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


def growth(surface: Surface, inputs: HoldInputs, draws: Draws, response: Response, at_s: float) -> Growth:
    """Growth on a surface in all runs.

    Parameters
    ----------
    surface, inputs, draws, response : the surface and the hold it belongs to.
    at_s : instant of the index asked for, since packing [s].

    Returns
    -------
    Times and indices, shape (runs,) each [s], [1].

    Valid for
        As `mould.first_growth_days`; submerged surfaces are outside the model.
    Source
        [hukka-viitanen-1999], [ojanen-2010]; saturated air through the growth clock, other air step by step.
    """
    if inputs.state != "dry" and inputs.headspace_rh in (None, 1.0):
        return _in_saturated_air(surface, inputs, draws, response, at_s)
    return _in_other_air(surface, inputs, draws, response, at_s)


def _in_saturated_air(surface: Surface, inputs: HoldInputs, draws: Draws, response: Response, at_s: float) -> Growth:
    """Growth through the clock alone: in saturated air the ceiling does not depend on temperature."""
    ceiling = float(index_ceiling(20.0, 1.0, surface.kind))
    units = float(clock_to_index(inputs.policy.growth_index, 0.0, surface.kind, ceiling)) * draws.growth_time
    before_rate = float(growth_rate_per_s(inputs.find_temp_c, 1.0))
    ahead = surface.exposed_s * before_rate
    reached = response.clock_reaches_s(units - ahead)
    if before_rate > 0.0:
        # Met before packing already: count from exposure at the temperature the find had then.
        reached = np.where(units <= ahead, units / before_rate - surface.exposed_s, reached)
    shown = response.clock_at(at_s) + ahead
    if surface.renewed_s is not None:
        fresh = response.clock_at(surface.renewed_s)
        again = response.clock_reaches_s(units + fresh)
        reached = np.where(reached < surface.renewed_s, reached, again)
        if at_s >= surface.renewed_s:
            shown = response.clock_at(at_s) - fresh
    return Growth(reached_s=reached, index=grown_index(0.0, shown / draws.growth_time, surface.kind, ceiling))


def _in_other_air(surface: Surface, inputs: HoldInputs, draws: Draws, response: Response, at_s: float) -> Growth:
    """Growth step by step, each step exact for its mean temperature and humidity, with decline in dry spells."""
    place, kind = response.place, surface.kind
    runs = len(draws.growth_time)
    humid = place.rh if inputs.headspace_rh is None else np.full_like(place.rh, inputs.headspace_rh)
    offset_rh = draws.rh_offset if inputs.headspace_rh is None else np.zeros(runs)
    reached, shown, dry_h = np.full(runs, np.inf), np.zeros(runs), np.zeros(runs)
    # What grew between exposure and packing grew in saturated air; a dry find starts clean.
    wet_s = 0.0 if inputs.state == "dry" else surface.exposed_s
    units = wet_s * growth_rate_per_s(inputs.find_temp_c, 1.0) / draws.growth_time
    index = grown_index(0.0, units, kind, float(index_ceiling(20.0, 1.0, kind)))
    reached[index >= inputs.policy.growth_index] = 0.0
    if float(np.max(humid)) + float(offset_rh.max()) < kind.rh_min:
        return Growth(reached_s=reached, index=index)
    lag = -np.expm1(-place.time_s / response.tau_s)
    for step, (left_s, right_s) in enumerate(zip(place.time_s[:-1], place.time_s[1:], strict=True)):
        if surface.renewed_s == left_s:
            index = np.zeros(runs)
        if left_s <= at_s:
            shown = index
        temp_c = 0.5 * (response.block_c[step] + response.block_c[step + 1])
        temp_c = temp_c + draws.temp_offset_k * 0.5 * (lag[step] + lag[step + 1])
        rh = np.clip(0.5 * (humid[step] + humid[step + 1]) + offset_rh, 0.0, 1.0)
        ceiling = index_ceiling(temp_c, rh, kind)
        pace = growth_rate_per_s(temp_c, np.maximum(rh, 0.01)) / draws.growth_time * (ceiling > 0.0)
        needed = clock_to_index(inputs.policy.growth_index, index, kind, ceiling)
        passes = np.isinf(reached) & (needed <= pace * (right_s - left_s)) & (pace > 0.0)
        reached = np.where(passes, left_s + needed / np.where(passes, pace, 1.0), reached)
        hours = (right_s - left_s) / 3600.0
        fall = inputs.policy.decline_factor * (decline(dry_h + hours) - decline(dry_h))
        index = np.where(
            ceiling > 0.0,
            grown_index(index, pace * (right_s - left_s), kind, ceiling),
            np.maximum(index - fall, 0.0),
        )
        dry_h = np.where(ceiling > 0.0, 0.0, dry_h + hours)
    return Growth(reached_s=reached, index=shown)
