"""Heat and water of a packed box over time, all runs at once: block, headspace, lid, leak, latent heat.

The block is one lump. Headspace and lid answer within minutes, so they are solved at each step from their balances and
not carried as states; what is carried is the block's temperature, the condensate on lid and walls and, where it may
run out, the water of the contents. Each step solves the linearised lump exactly, then moves heat and water by one set
of flows, so that both are conserved to rounding. Equations, symbols and errors: docs/models/box-climate.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

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
    with np.errstate(under="ignore", over="ignore"):
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
        [chilton-colburn]: h / (rho cp Rv T Le^(2/3)), Le 0.85, dry air at 101325 Pa; memory.
    """
    kelvin = np.asarray(temp_c, dtype=np.float64) + 273.15
    air_kg_per_m3 = 101325.0 / (287.05 * kelvin)
    return np.asarray(
        np.asarray(film_w_per_m2_k) * area_m2 / (air_kg_per_m3 * 1006.0 * 461.523 * kelvin * 0.85 ** (2.0 / 3.0))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """Coefficients of all steps, time first, each (n, k); letters follow docs/models/box-climate.md.

    Pressure over the contents q0 exp(q1 d + q2 d2 + q3 d3), d the block ahead of the place; flow to a wet lid
    a p - b d + c, net flow that takes heat s p - t + u lid, each pair side by side (n, 2, k); heat [1] and latent
    [K s/kg] are over the capacity and times the step.
    """

    step_s: Array
    outside_c: Array
    q0: Array
    q1: Array
    q2: Array
    q3: Array
    a_s: Array
    b_0: Array
    c_t: Array
    u: Array
    heat: Array
    latent: Array
    inner: Array
    share: Array
    lid_holds_kg: float

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """Coefficients step by step, in the order in which `_walk` takes them."""
        return zip(
            *(self.step_s.tolist(), self.outside_c, self.q0, self.q1, self.q2, self.q3),
            *(self.a_s, self.b_0, self.c_t, self.u, self.heat, self.latent),
            strict=True,
        )


@cache
def _log_saturation() -> tuple[Array, Array, Array]:
    """Taylor coefficients of ln(saturation pressure) as polynomials of temperature, highest power first.

    First, half of the second and a sixth of the third derivative, from a fit through -40 to 70 degC (1e-6).
    """
    nodes = 15.0 + 55.0 * np.cos(np.pi * (np.arange(40) + 0.5) / 40.0)
    fitted = np.polynomial.Polynomial.fit(nodes, np.log(saturation_over_water_pa(nodes)), 7).convert()
    first, second, third = (np.asarray(fitted.deriv(order).coef[::-1], dtype=np.float64) for order in (1, 2, 3))
    return first, second / 2.0, third / 6.0


def _polynomial(coefficients: Array, temp_c: Array) -> Array:
    """Value of a polynomial at temp_c [degC], highest power first (Horner)."""
    value = np.full_like(temp_c, coefficients[0])
    for coefficient in coefficients[1:]:
        value = value * temp_c + coefficient
    return value


def _prepare(box: Box, outside: Outside, contents: Contents) -> _Given:
    """Everything that does not depend on the states, for all steps at once."""
    runs = np.broadcast_shapes(
        np.shape(contents.temp_c), np.shape(box.resistance_k_per_w), np.shape(box.inner_kg_per_s_pa)
    )
    shape = (len(outside.step_s), *runs)
    temp_c = np.broadcast_to(outside.temp_c, shape)
    # The inner path is still air: it conducts as its permeability does.
    inner = box.inner_kg_per_s_pa * air_permeability(temp_c) / float(air_permeability(REFERENCE_C)) + _SMALLEST
    out = np.broadcast_to(outside.way_out_kg_per_s_pa, shape)
    value = saturation_over_water_pa(temp_c)
    first, second, third = (_polynomial(part, temp_c) for part in _log_saturation())
    at_lid_c = temp_c - box.lid_colder_k
    lid_pa = value if box.lid_colder_k == 0.0 else saturation_over_water_pa(at_lid_c)
    slope = lid_pa * (first if box.lid_colder_k == 0.0 else _polynomial(_log_saturation()[0], at_lid_c))
    latent = latent_heat_j_per_kg(temp_c)
    # Condensing warms the lid behind its own resistance, which takes off some of the film's conductance.
    lid_k_per_w = box.wall_share * (1.0 - box.wall_share) * box.resistance_k_per_w
    film = box.film_kg_per_s_pa / (1.0 + box.film_kg_per_s_pa * slope * latent * lid_k_per_w)
    to_lid, lid_to_out = film * inner / (inner + out + film), film * out / (inner + out + film)
    series, share = inner * out / (inner + out), inner / (inner + out)
    per_kelvin = outside.step_s.reshape(-1, *(1,) * len(runs)) / box.heat_capacity_j_per_k
    return _Given(
        step_s=outside.step_s,
        outside_c=temp_c,
        q0=value * contents.activity,
        q1=first,
        q2=second,
        q3=third,
        a_s=np.stack((to_lid, series), axis=1),
        b_0=np.stack(((to_lid + lid_to_out) * slope * box.wall_share, np.zeros(shape)), axis=1),
        c_t=np.stack(
            (lid_to_out * outside.pressure_pa - (to_lid + lid_to_out) * lid_pa, -series * outside.pressure_pa), axis=1
        ),
        u=share - box.wall_share,
        heat=np.broadcast_to(per_kelvin / box.resistance_k_per_w, shape),
        latent=latent * per_kelvin,
        inner=inner,
        share=share,
        lid_holds_kg=box.lid_holds_kg,
    )


def _walk(given: _Given, contents: Contents) -> Course:
    """Step through time."""
    count, runs = given.outside_c.shape[0], given.outside_c.shape[1:]
    block_c, lid_kg = np.empty((count + 1, *runs)), np.zeros((count + 1, *runs))
    drifts, lid_flow = np.empty((count, *runs)), np.empty((count, *runs))
    temp, hanging = np.broadcast_to(np.asarray(contents.temp_c, dtype=np.float64), runs), lid_kg[0]
    drying = _Drying(contents, runs)
    block_c[0] = temp
    for i, (step_s, air, q0, q1, q2, q3, a_s, b_0, c_t, u, heat, latent) in enumerate(given.rows()):
        away = temp - air
        over_pa = q0 * drying.activity() * np.exp(away * (q1 + away * (q2 + away * q3)))
        least = hanging * (-1.0 / step_s)
        # First the flow to a lid that is wet, then the rest of the flow that takes heat.
        flows = a_s * over_pa - b_0 * away + c_t
        lid = np.maximum(flows[0], least)
        rises = a_s * (over_pa * (q1 + away * (q2 + q2))) - b_0
        # A lid that runs dry gives what hangs on it and no longer answers to the block.
        rises[0] *= flows[0] > least
        net = flows[1] + u * lid
        net_rise = rises[1] + u * rises[0]
        cooling = away * heat + latent * net
        slower = -heat - latent * net_rise
        # Mean departure of the lump from its start over the step, exact for the linearised lump.
        spent = np.expm1(slower) / slower
        drift = cooling / slower * (1.0 - spent)
        foreseen = net + net_rise * drift
        flows = flows + rises * drift
        lid = np.maximum(flows[0], least)
        net = flows[1] + u * lid
        if drying.limited:
            net = net - drying.shortage(net + (given.share[i] - u) * lid, step_s)
        # A lid or a find that ran dry within the step moved less water than foreseen, and less heat with it.
        temp = temp + spent * (latent * (foreseen - net) - cooling)
        full = hanging + lid * step_s
        hanging = np.minimum(full, given.lid_holds_kg)
        if drying.limited:
            drying.take(net + (given.share[i] - u) * lid, full - hanging, step_s)
        block_c[i + 1], lid_kg[i + 1], drifts[i], lid_flow[i] = temp, hanging, drift, lid
    return _course(given, (block_c, lid_kg), (drifts, lid_flow), drying)


class _Drying:
    """Water of the contents where it can run out: what humidity it keeps, and what it cannot give."""

    def __init__(self, contents: Contents, runs: tuple[int, ...]) -> None:
        self.limited = contents.water_kg is not None and contents.drying_kg is not None
        self._held = np.broadcast_to(0.0 if contents.water_kg is None else contents.water_kg, runs)
        self._at = np.zeros(1) if contents.drying_kg is None else contents.drying_kg
        self._rh = np.ones(1) if contents.drying_activity is None else contents.drying_activity
        self._seen: list[Array] = []
        self.short: list[Array] = []

    def activity(self) -> Array | float:
        """Humidity over the contents now [fraction]."""
        if not self.limited:
            return 1.0
        self._seen.append(np.interp(self._held, self._at, self._rh))
        return self._seen[-1]

    def past(self, count: int) -> Array | float:
        """Humidity over the contents at the start of each of `count` steps gone by [fraction]."""
        return np.array(self._seen[:count]) if self.limited else 1.0

    def shortage(self, wanted: Array, step_s: float) -> Array:
        """What of a wanted flow [kg/s] the contents do not have for a whole step."""
        self.short.append(np.maximum(wanted - self._held / step_s, 0.0))
        return self.short[-1]

    def take(self, flow: Array, back_kg: Array, step_s: float) -> None:
        """Take a flow [kg/s] out over a step and put back what dripped."""
        self._held = np.maximum(self._held - flow * step_s + back_kg, 0.0)


def _course(given: _Given, states: tuple[Array, Array], flows: tuple[Array, Array], drying: _Drying) -> Course:
    """Flows and amounts from what was kept of each step."""
    (block_c, lid_kg), (drift, lid_flow) = states, flows
    step_s = given.step_s.reshape(-1, *(1,) * (lid_flow.ndim - 1))
    away = block_c[:-1] - given.outside_c
    over_pa = given.q0 * drying.past(len(step_s)) * np.exp(away * (given.q1 + away * (given.q2 + away * given.q3)))
    over_pa = over_pa * (1.0 + drift * (given.q1 + 2.0 * away * given.q2))
    net = given.a_s[:, 1] * over_pa + given.c_t[:, 1] + given.u * lid_flow
    if drying.limited:
        net = net - np.array(drying.short)
    left = net + (given.share - given.u) * lid_flow
    # Heat and water are moved by one set of flows: the mean lump is the one whose insulation passed the rest.
    mean_c = given.outside_c - (np.diff(block_c, axis=0) + given.latent * net) / given.heat
    return Course(
        block_c=block_c,
        block_mean_c=mean_c,
        inside_pa=over_pa - left / given.inner,
        left_kg=left * step_s,
        out_kg=(left - lid_flow) * step_s,
        lid_kg=lid_kg,
        moved_kg=_since_start(np.maximum(lid_flow * step_s, 0.0)),
        drip_kg=_since_start(lid_kg[:-1] + lid_flow * step_s - lid_kg[1:]),
    )


def _since_start(amounts: Array) -> Array:
    """Running totals at the edges of the steps, from 0."""
    return np.concatenate((np.zeros_like(amounts[:1]), np.cumsum(amounts, axis=0)))
