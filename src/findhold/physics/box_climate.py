"""Heat and water of a packed box over time, all runs at once: block, headspace, lid, leak, latent heat.

The block is one lump. Headspace and lid answer within minutes, so they are solved at each step from their balances and
not carried as states; what is carried is the block's temperature, the condensate on lid and walls and, where it may
run out, the water of the contents. Each step solves the linearised lump exactly, then moves heat and water by one set
of flows, so that both are conserved to rounding. Equations, symbols and errors: docs/models/box-climate.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from findhold.physics.moist_air import Numbers, saturation_over_water_pa
from findhold.physics.vapour import air_permeability

Array = npt.NDArray[np.float64]

REFERENCE_C = 4.0
"""Temperature at which the inner path is stated [degC]."""
_SMALLEST = 1e-30
"""Keeps sums of conductances above zero when nothing conducts [kg/(s Pa)]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A packed box; arrays have shape (k,) or broadcast to it."""

    heat_capacity_j_per_k: float
    """Of block and wrapping."""
    resistance_k_per_w: Array
    """Between the block and the air outside."""
    wall_share: float
    """Where the inside of lid and walls stands between the air outside (0) and the block (1)."""
    inner_kg_per_s_pa: Array
    """Vapour conductance from the wet contents through their cushion to the headspace, at 4 degC."""
    film_kg_per_s_pa: Array
    """Vapour conductance from the headspace to lid and walls."""
    lid_holds_kg: float
    """Condensate that hangs on lid and walls before it drips."""
    lid_colder_k: float = 0.0
    """By how much the lid is kept below the temperature the balance gives it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """The place, constant over each step: step_s has shape (n,), the others (n, k) or broadcast to it."""

    step_s: Array
    temp_c: Array
    pressure_pa: Array
    """Vapour pressure of the air outside."""
    way_out_kg_per_s_pa: Array
    """Vapour conductance of everything that leads out: walls, lid, breathing or an opening."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What lies in the box at the start."""

    temp_c: Array
    activity: float = 1.0
    """Humidity over the contents while their water lasts [fraction]."""
    water_kg: Array | None = None
    """Water that can run out, shape (k,); None: more than can."""
    drying_kg: Array | None = None
    """Water contents, increasing, shape (m,), for `drying_activity`; needed with water_kg."""
    drying_activity: Array | None = None
    """Humidity over the contents at drying_kg [fraction]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What became of the box; edges of steps have shape (n + 1, k), steps (n, k)."""

    block_c: Array
    block_mean_c: Array
    """Mean over each step."""
    inside_pa: Array
    """Vapour pressure of the headspace, mean over each step."""
    left_kg: Array
    """Water that left the contents in each step, whether to the lid or outside."""
    out_kg: Array
    """Water that left the box in each step."""
    lid_kg: Array
    """Condensate hanging on lid and walls."""
    moved_kg: Array
    """Water condensed on lid and walls since the start, what evaporated again not taken off."""
    drip_kg: Array
    """Water that fell or ran back on to the contents since the start."""


def box_over_time(box: Box, outside: Outside, contents: Contents) -> Course:
    """Heat and water of a packed box over time.

    Not for a box whose lid and walls hold heat of their own that matters: they are taken to follow within a step.

    Parameters
    ----------
    box : resistances, conductances and capacities, shape (k,).
    outside : the place over n steps.
    contents : temperature and water at the start.

    Returns
    -------
    Course of k boxes over n steps.

    Valid for
        Saturated or drying contents, -20 to 60 degC; steps up to about half of the block's time constant while the
        place changes, any length while it does not.
    Source
        docs/models/box-climate.md: balances of heat and vapour; exponential Rosenbrock step of second order. Computed.
    """
    with np.errstate(under="ignore"):
        return _walk(_prepare(box, outside, contents), contents)


def latent_heat_j_per_kg(temp_c: Numbers) -> Array:
    """Heat of evaporation of water [J/kg] at temp_c [degC].

    Valid for
        0 to 40 degC, within 0.02 %.
    Source
        L = 2501.0 - 2.361 t kJ/kg; memory, checked against an independent library.
    """
    return np.asarray(1000.0 * (2501.0 - 2.361 * np.asarray(temp_c, dtype=np.float64)))


def film_conductance(film_w_per_m2_k: Numbers, area_m2: Numbers, temp_c: Numbers) -> Array:
    """Vapour conductance of the film of air over a surface [kg/(s Pa)], from its convection of heat.

    Parameters
    ----------
    film_w_per_m2_k : heat transfer by convection alone, radiation left out [W/(m2 K)].
    area_m2 : surface [m2].
    temp_c : temperature of the air [degC].

    Returns
    -------
    Conductance [kg/(s Pa)].

    Source
        Chilton and Colburn: h / (rho cp Rv T Le^(2/3)), Le 0.85, dry air at 101325 Pa; memory.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + 273.15
    air_kg_per_m3 = 101325.0 / (287.05 * kelvin)
    return np.asarray(
        np.asarray(film_w_per_m2_k) * area_m2 / (air_kg_per_m3 * 1006.0 * 461.523 * kelvin * 0.85 ** (2.0 / 3.0))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """Coefficients of all steps, time first, each (n, k); names follow docs/models/box-climate.md."""

    step_s: list[float]
    outside_c: Array
    q0: Array
    q1: Array
    q2: Array
    q3: Array
    wet_a: Array
    wet_ab: Array
    wet_b_po: Array
    lid_pa: Array
    lid_pa_per_k: Array
    out_s: Array
    out_s_po: Array
    share_r: Array
    per_inner: Array
    latent: Array
    per_heat: Array
    capacity: float
    wall_share: float
    lid_holds_kg: float


@cache
def _log_saturation() -> tuple[Array, Array, Array, Array]:
    """Taylor coefficients of ln(saturation pressure) as polynomials of temperature: value and three derivatives."""
    nodes = 15.0 + 55.0 * np.cos(np.pi * (np.arange(40) + 0.5) / 40.0)
    fitted = np.polynomial.Polynomial.fit(nodes, np.log(saturation_over_water_pa(nodes)), 7).convert()
    first, second, third = fitted.deriv(1), fitted.deriv(2), fitted.deriv(3)
    return fitted.coef[::-1], first.coef[::-1], second.coef[::-1] / 2.0, third.coef[::-1] / 6.0


def _prepare(box: Box, outside: Outside, contents: Contents) -> _Step:
    """Everything that does not depend on the states, for all steps at once."""
    runs = np.broadcast_shapes(
        np.shape(contents.temp_c), np.shape(box.resistance_k_per_w), np.shape(box.inner_kg_per_s_pa)
    )
    shape = (len(outside.step_s), *runs)
    temp_c = np.broadcast_to(outside.temp_c, shape)
    # The inner path is still air: it conducts as its permeability does.
    inner = box.inner_kg_per_s_pa * air_permeability(temp_c) / float(air_permeability(REFERENCE_C)) + _SMALLEST
    out = np.broadcast_to(outside.way_out_kg_per_s_pa, shape)
    value, first, second, third = (np.polyval(part, temp_c) for part in _log_saturation())
    at_lid_c = temp_c - box.lid_colder_k
    lid_pa = np.exp(np.polyval(_log_saturation()[0], at_lid_c))
    slope = lid_pa * np.polyval(_log_saturation()[1], at_lid_c)
    latent = latent_heat_j_per_kg(temp_c)
    # Condensing warms the lid behind its own resistance, which takes off some of the film's conductance.
    lid_k_per_w = box.wall_share * (1.0 - box.wall_share) * box.resistance_k_per_w
    film = box.film_kg_per_s_pa / (1.0 + box.film_kg_per_s_pa * slope * latent * lid_k_per_w)
    total = inner + out + film
    wet_a, wet_b = film * inner / total, film * out / total
    series = inner * out / (inner + out)
    return _Step(
        step_s=outside.step_s.tolist(),
        outside_c=temp_c,
        q0=np.exp(value) * contents.activity,
        q1=first,
        q2=second,
        q3=third,
        wet_a=wet_a,
        wet_ab=wet_a + wet_b,
        wet_b_po=wet_b * outside.pressure_pa,
        lid_pa=lid_pa,
        lid_pa_per_k=slope * box.wall_share,
        out_s=series,
        out_s_po=series * outside.pressure_pa,
        share_r=inner / (inner + out),
        per_inner=1.0 / inner,
        latent=latent,
        per_heat=np.broadcast_to(1.0 / box.resistance_k_per_w, runs),
        capacity=box.heat_capacity_j_per_k,
        wall_share=box.wall_share,
        lid_holds_kg=box.lid_holds_kg,
    )


def _walk(given: _Step, contents: Contents) -> Course:
    """Step through time."""
    count, runs = given.outside_c.shape[0], given.outside_c.shape[1:]
    block_c, lid_kg = np.empty((count + 1, *runs)), np.zeros((count + 1, *runs))
    source_pa, to_lid, over = np.empty((count, *runs)), np.empty((count, *runs)), np.empty((count, *runs))
    left, mean_c = np.empty((count, *runs)), np.empty((count, *runs))
    temp, hanging = np.broadcast_to(np.asarray(contents.temp_c, dtype=np.float64), runs), lid_kg[0]
    water = None if contents.water_kg is None else np.broadcast_to(contents.water_kg, runs)
    block_c[0] = temp
    for i, step_s in enumerate(given.step_s):
        away = temp - given.outside_c[i]
        over_pa = given.q0[i] * np.exp(away * (given.q1[i] + away * (given.q2[i] + away * given.q3[i])))
        if water is not None and contents.drying_kg is not None and contents.drying_activity is not None:
            over_pa = over_pa * np.interp(water, contents.drying_kg, contents.drying_activity)
        lid_pa = given.lid_pa[i] + given.lid_pa_per_k[i] * away
        least = hanging * (-1.0 / step_s)
        free = given.wet_a[i] * over_pa - given.wet_ab[i] * lid_pa + given.wet_b_po[i]
        lid = np.maximum(free, least)
        gone = given.out_s[i] * over_pa - given.out_s_po[i] + given.share_r[i] * lid
        # Derivatives of the flows with the block's temperature; a lid that runs dry no longer answers.
        rise = over_pa * (given.q1[i] + 2.0 * away * given.q2[i])
        d_lid = (free > least) * (given.wet_a[i] * rise - given.wet_ab[i] * given.lid_pa_per_k[i])
        d_gone = given.out_s[i] * rise + given.share_r[i] * d_lid
        latent, share = given.latent[i], given.wall_share
        cooling = away * given.per_heat + latent * (gone - share * lid)
        pace = (given.per_heat + latent * (d_gone - share * d_lid)) * (step_s / given.capacity)
        # Mean departure of the lump from its start over the step, exact for the linearised lump.
        drift = cooling * (step_s / given.capacity) / pace * (-1.0 - np.expm1(-pace) / pace)
        lid = np.maximum(free + d_lid * drift, least)
        over_pa = over_pa + rise * drift
        gone = given.out_s[i] * over_pa - given.out_s_po[i] + given.share_r[i] * lid
        if water is not None:
            gone = np.minimum(gone, water / step_s)
        heat = (away + drift) * given.per_heat + latent * (gone - share * lid)
        temp = temp - heat * (step_s / given.capacity)
        hanging = hanging + lid * step_s
        spill = np.maximum(hanging - given.lid_holds_kg, 0.0)
        hanging = hanging - spill
        if water is not None:
            water = water - gone * step_s + spill
        block_c[i + 1], lid_kg[i + 1], source_pa[i] = temp, hanging, over_pa
        to_lid[i], over[i], left[i], mean_c[i] = lid * step_s, spill, gone * step_s, away + drift + given.outside_c[i]
    steps = np.asarray(given.step_s).reshape(-1, *(1,) * len(runs))
    return Course(
        block_c=block_c,
        block_mean_c=mean_c,
        inside_pa=source_pa - left / steps * given.per_inner,
        left_kg=left,
        out_kg=left - to_lid,
        lid_kg=lid_kg,
        moved_kg=_since_start(np.maximum(to_lid, 0.0)),
        drip_kg=_since_start(over),
    )


def _since_start(amounts: Array) -> Array:
    """Running totals at the edges of the steps, from 0."""
    return np.concatenate((np.zeros_like(amounts[:1]), np.cumsum(amounts, axis=0)))
