"""Growth on one surface of a hold: when it reaches the policy's index, and what index it has at an instant."""

from __future__ import annotations

from collections.abc import Iterator
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


def reached_s(surface: Surface, hold: Hold) -> Array:
    """Time since packing at which the policy's growth index is met in each run; shape (runs,) [s].

    Valid for
        As `mould.first_growth_days`; submerged surfaces are outside the model.
    Source
        [hukka-viitanen-1999], [ojanen-2010]; saturated air through the growth clock, other air step by step.
    """
    inputs, response = hold.inputs, hold.response
    if not hold.saturated:
        return _in_other_air(surface, hold, 0.0)[0]
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
    if not hold.saturated:
        return _in_other_air(surface, hold, at_s)[1]
    # In saturated air the ceiling is the same at every temperature, so the clock alone tells the index.
    ceiling = float(index_ceiling(20.0, 1.0, surface.kind))
    shown = hold.response.clock_at(at_s) + surface.exposed_s * float(growth_rate_per_s(hold.inputs.find_temp_c, 1.0))
    if surface.renewed_s is not None and at_s >= surface.renewed_s:
        shown = hold.response.clock_at(at_s) - hold.response.clock_at(surface.renewed_s)
    return grown_index(0.0, shown / hold.draws.growth_time, surface.kind, ceiling)


def _in_other_air(surface: Surface, hold: Hold, at_s: float) -> tuple[Array, Array]:
    """Times and indices step by step, each step exact for its mean air, with decline in dry spells."""
    inputs, draws, kind, time_s = hold.inputs, hold.draws, surface.kind, hold.response.place.time_s
    runs = len(draws.growth_time)
    index = _index_at_packing(surface, hold)
    reached, shown, dry_h = np.where(index >= inputs.policy.growth_index, 0.0, np.inf), index, np.zeros(runs)
    for step, air in enumerate(_air(hold, kind)):
        left_s, length_s = time_s[step], time_s[step + 1] - time_s[step]
        if surface.renewed_s is not None and left_s <= surface.renewed_s < left_s + length_s:
            index = np.zeros(runs)
        if left_s <= at_s:
            shown = index
        needed = clock_to_index(inputs.policy.growth_index, index, kind, air.ceiling)
        passes = np.isinf(reached) & (air.pace > 0.0) & (needed <= air.pace * length_s)
        reached = np.where(passes, left_s + needed / np.where(passes, air.pace, 1.0), reached)
        hours = length_s / 3600.0
        fall = inputs.policy.decline_factor * (decline(dry_h + hours) - decline(dry_h))
        dry = air.ceiling <= 0.0
        grown = grown_index(index, air.pace * length_s, kind, air.ceiling)
        index = np.where(dry, np.maximum(index - fall, 0.0), grown)
        dry_h = np.where(dry, dry_h + hours, 0.0)
    return reached, shown


@dataclass(frozen=True, slots=True, kw_only=True)
class _Air:
    """One step's ceiling of the index and pace of the growth clock [1/s], shape (runs,) each."""

    ceiling: Array
    pace: Array


def _air(hold: Hold, kind: MouldClass) -> Iterator[_Air]:
    """Ceiling and pace for each step of the grid, at its mean temperature and humidity."""
    inputs, draws, response = hold.inputs, hold.draws, hold.response
    own_rh = inputs.headspace_rh
    humid = response.place.rh if own_rh is None else np.full_like(response.place.rh, own_rh)
    rh_offset = draws.rh_offset if own_rh is None else np.zeros_like(draws.rh_offset)
    lag = -np.expm1(-response.place.time_s / response.tau_s)
    for step in range(len(humid) - 1):
        temp_c = 0.5 * (response.block_c[step] + response.block_c[step + 1])
        temp_c = temp_c + draws.temp_offset_k * 0.5 * (lag[step] + lag[step + 1])
        rh = np.clip(0.5 * (humid[step] + humid[step + 1]) + rh_offset, 0.01, 1.0)
        ceiling = index_ceiling(temp_c, rh, kind)
        pace = np.where(ceiling > 0.0, growth_rate_per_s(temp_c, rh) / draws.growth_time, 0.0)
        yield _Air(ceiling=ceiling, pace=pace)


def _index_at_packing(surface: Surface, hold: Hold) -> Array:
    """What grew between exposure and packing grew in saturated air; a dry find starts clean."""
    wet_s = 0.0 if hold.inputs.state == "dry" else surface.exposed_s
    units = wet_s * growth_rate_per_s(hold.inputs.find_temp_c, 1.0) / hold.draws.growth_time
    return grown_index(0.0, units, surface.kind, float(index_ceiling(20.0, 1.0, surface.kind)))
