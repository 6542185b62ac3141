"""Cooling of a wrapped block in its box: one lump behind one resistance.

The block is a rounded body of its measured proportions inside an even cushion; heat then crosses the air of the box,
the wall and the film outside. The sheet docs/models/heat.md says what this leaves out and how much it matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatPath:
    """What heat crosses between a block and the air round its box."""

    block_m: tuple[float, float, float]
    cushion_m: float
    box_area_m2: float
    wall_m: float
    k_cushion: float
    """Conductivity of the cushion [W/(m K)]."""
    k_wall: float
    """Conductivity of the wall [W/(m K)]."""
    film_inside: float
    """Heat transfer from the cushion to the air and wall of the box [W/(m2 K)]."""
    film_outside: float
    """Heat transfer from the box to its surroundings [W/(m2 K)]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """Thermal resistances in series: cushion [K/W], film_inside [K/W], wall [K/W], film_outside [K/W]."""

    cushion: float
    film_inside: float
    wall: float
    film_outside: float

    @property
    def total(self) -> float:
        """Sum of the parts [K/W]."""
        return self.cushion + self.film_inside + self.wall + self.film_outside

    @property
    def wall_share(self) -> float:
        """Where the inside of the wall stands between the air outside (0) and the block (1)."""
        return (self.wall + self.film_outside) / self.total


def rounded_axes_m(block_m: tuple[float, float, float]) -> tuple[float, float, float]:
    """Half axes [m] of the ellipsoid with the volume and proportions of a rectangular block [m].

    Source
        Geometry: 4/3 pi a b c = l w h with a : b : c = l : w : h, so each half axis is (3/(4 pi))^(1/3) of its side.
    """
    share = (3.0 / (4.0 * math.pi)) ** (1.0 / 3.0)
    length, width, height = (side * share for side in block_m)
    return length, width, height


def ellipsoid_area_m2(half_axes_m: tuple[float, float, float]) -> float:
    """Surface of an ellipsoid [m2] from its half axes [m].

    Source
        Knud Thomsen's approximation (p = 1.6075), within 1.1 % for any axes and exact for a sphere; memory.
    """
    a, b, c = half_axes_m
    power = 1.6075
    mean = ((a * b) ** power + (a * c) ** power + (b * c) ** power) / 3.0
    return float(4.0 * math.pi * mean ** (1.0 / power))


def shell_shape_m(block_m: tuple[float, float, float], thickness_m: float) -> float:
    """What passes an even shell round a block, over the conductivity of the shell [m].

    The same figure serves heat (times W/(m K)) and vapour through still air (times kg/(m s Pa)).

    Parameters
    ----------
    block_m : sides of the block [m].
    thickness_m : of the shell, above 0 [m].

    Returns
    -------
    Shape factor [m].

    Source
        S = A/t + 2 sqrt(pi A), exact for a sphere.
    """
    area = ellipsoid_area_m2(rounded_axes_m(block_m))
    return area / thickness_m + 2.0 * math.sqrt(math.pi * area)


def resistance(path: HeatPath) -> Resistance:
    """Thermal resistance between a wrapped block and the air outside its box.

    Parameters
    ----------
    path : sizes [m], [m2], conductivities [W/(m K)] and films [W/(m2 K)].

    Returns
    -------
    The four resistances in series [K/W].

    Valid for
        Steady conduction through an even cushion; a cushion squeezed thin under the block conducts better.
    Source
        Conduction from a convex body through a shell of thickness t: S = A/t + 2 sqrt(pi A), exact for a sphere.
    """
    axes = rounded_axes_m(path.block_m)
    outer = ellipsoid_area_m2((axes[0] + path.cushion_m, axes[1] + path.cushion_m, axes[2] + path.cushion_m))
    cushion = 0.0
    if path.cushion_m > 0.0:
        cushion = 1.0 / (path.k_cushion * shell_shape_m(path.block_m, path.cushion_m))
    return Resistance(
        cushion=cushion,
        film_inside=1.0 / (path.film_inside * outer),
        wall=path.wall_m / (path.k_wall * path.box_area_m2),
        film_outside=1.0 / (path.film_outside * path.box_area_m2),
    )


def cushion_m(
    block_m: tuple[float, float, float], *, side_l_m: float, side_w_m: float, bed_m: float, lid_gap_m: float
) -> float:
    """Thickness of an even cushion that passes as much heat as the uneven one.

    Heat leaves each face in proportion to its area over the thickness before it, so the thin sides count most.

    Parameters
    ----------
    block_m : length along the box, width across it, height [m].
    side_l_m : clearance at each end of the length [m]. side_w_m : at each side of the width [m].
    bed_m : under the block [m]. lid_gap_m : over it [m].

    Returns
    -------
    float : thickness [m]; 0 when a face touches the wall.

    Source
    ------
    Conduction in parallel (closed form).
    """
    length, width, height = block_m
    faces = [
        (2.0 * width * height, side_l_m),
        (2.0 * length * height, side_w_m),
        (length * width, bed_m),
        (length * width, lid_gap_m),
    ]
    if min(thickness for _, thickness in faces) <= 0.0:
        return 0.0
    return sum(area for area, _ in faces) / sum(area / thickness for area, thickness in faces)


def biot_number(block_m: tuple[float, float, float], resistance_k_per_w: float, k_block: float) -> float:
    """How uneven the temperature inside the block is while it cools: below 0.1 one lump is a good picture.

    Parameters
    ----------
    block_m : sides of the block [m].
    resistance_k_per_w : from its surface to the air outside [K/W].
    k_block : conductivity of the block [W/(m K)].

    Returns
    -------
    h r / k with h = 1/(R A) and r the radius of the sphere of equal volume [1].

    Source
        Definition for a sphere, as used with the series solutions of Carslaw and Jaeger.
    """
    axes = rounded_axes_m(block_m)
    radius = float((axes[0] * axes[1] * axes[2]) ** (1.0 / 3.0))
    return radius / (resistance_k_per_w * ellipsoid_area_m2(axes) * k_block)


def lumped_c(time_s: Array, start_c: float, outside_c: float, tau_s: float) -> Array:
    """Temperature of a lump in surroundings that stay the same.

    Parameters
    ----------
    time_s : since the lump had start_c, any shape [s].
    start_c, outside_c : temperatures of the lump at the start and of the surroundings [degC].
    tau_s : resistance times heat capacity [s].

    Returns
    -------
    Temperature, shape of time_s [degC].

    Source
        Newton's law of cooling.
    """
    return np.asarray(outside_c + (start_c - outside_c) * np.exp(-np.asarray(time_s) / tau_s))


def lumped_response_c(time_s: Array, outside_c: Array, start_c: Array | float, tau_s: Array | float) -> Array:
    """Temperature of a lump in changing surroundings, exact for surroundings that are straight between the points.

    Parameters
    ----------
    time_s : points in time, shape (n,), increasing [s].
    outside_c : surroundings at those points, shape (..., n) [degC].
    start_c : temperature of the lump at time_s[0], scalar or shape (...) [degC].
    tau_s : resistance times heat capacity, scalar or shape (...) [s].

    Returns
    -------
    Temperature of the lump, shape (..., n) [degC].

    Source
        Exact solution of tau dT/dt = T_outside(t) - T on each straight piece.
    """
    lead = np.broadcast_shapes(np.shape(start_c), np.shape(tau_s), outside_c.shape[:-1])
    tau = float(tau_s) if np.ndim(tau_s) == 0 else np.asarray(tau_s, dtype=np.float64)
    steps = np.diff(time_s)
    # Time first, so that each step reads one piece of memory; a single lump runs on plain numbers.
    air = np.ascontiguousarray(np.moveaxis(outside_c, -1, 0))
    slopes = np.diff(air, axis=0) / steps.reshape(-1, *(1,) * (air.ndim - 1))
    lump = np.empty((len(time_s), *lead))
    lump[0] = start_c
    ahead = lump[0] - air[0]
    for index, (step_s, slope) in enumerate(zip(steps.tolist(), slopes, strict=True), 1):
        # On a ramp of slope m the lump runs m tau behind; what it is short of that dies away with tau.
        behind = slope * tau
        ahead = (ahead + behind) * np.exp(-step_s / tau) - behind
        lump[index] = ahead + air[index]
    return np.asarray(np.moveaxis(lump, 0, -1))
